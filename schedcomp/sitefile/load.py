"""A site file as a whole: its parts read, then checked against each other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path

from schedcomp.diag import Diagnostic, PhraseText, Source, has_problem, in_order
from schedcomp.filekind import CONTROLLER_KEY, other_kind
from schedcomp.limits import LARGEST, Limits
from schedcomp.messages import meaning
from schedcomp.model import Half
from schedcomp.phrases import parse_duration, parse_sun_definition
from schedcomp.phrases.tree import DatesPhrase, SunDefinition, SunWord, Window
from schedcomp.reading import Examples, Reader
from schedcomp.records import Record
from schedcomp.site import (
    CLOCKS,
    Assumption,
    Circuit,
    DayType,
    FitWishes,
    HolidayChoice,
    Hours,
    OneOff,
    Paper,
    People,
    Site,
    Unit,
)
from schedcomp.sitefile.assumed import assumptions
from schedcomp.sitefile.circuits import read_circuits, read_one_offs, read_units
from schedcomp.sitefile.keys import (
    EVERY_PART,
    FAVOUR,
    FORMAT_KEY,
    HOURS,
    PAPER,
    PAPER_SIZE,
    PEOPLE,
    SEVERAL,
    SITE,
    SPARE,
    STAFF_KEYS,
    TOP,
)
from schedcomp.sitefile.place import Place, read_place
from schedcomp.sitefile.references import (
    circuit_names,
    day_type_names,
    holiday_words,
    hours_words,
    one_off_circuits,
)
from schedcomp.sitefile.wishes import read_day_types, read_holidays, read_hours
from schedcomp.tomlfile import read_document, read_source
from schedcomp.tomlnodes import Items, Table

FORMAT_VERSION = 1
SITE_EXAMPLE = 'name = "North lot"\nlatitude = 40.5853\nlongitude = -105.0844'
CIRCUIT_EXAMPLE = 'name = "Lot poles"\nchannel = 1\ncalendar = ["every day: usual"]'
DUSK = SunDefinition(SunWord.SUNSET, 15)
DAWN = SunDefinition(SunWord.SUNRISE, -15)

Loaded = tuple[Site | None, tuple[Diagnostic, ...]]


def load_site(path: Path | str) -> Loaded:
    """The site of a file; None with at least one problem. Cautions may come with a site."""
    source, found = read_source(path)
    if source is None:
        return None, found
    return site_from_source(source, str(Path(path).parent))


def site_from_source(source: Source, folder: str = ".") -> Loaded:
    """As `load_site`, for the text of a file; `folder` is where its paths start."""
    root, mistakes = read_tables(source)
    return (None, mistakes) if root is None else site_from_tables(root, mistakes, folder)


def read_tables(source: Source) -> tuple[Table | None, tuple[Diagnostic, ...]]:
    """The tables of a site file, not yet understood."""
    document, mistakes = read_document(source, f"{FORMAT_KEY} = {FORMAT_VERSION}", SEVERAL)
    return (None if document is None else document.root), mistakes


def site_from_tables(root: Table, mistakes: tuple[Diagnostic, ...], folder: str) -> Loaded:
    """As `site_from_source`, for tables with what was found wrong in writing them."""
    found = list(mistakes)
    if other := other_kind(root, FORMAT_KEY, CONTROLLER_KEY, meaning.SITE_EXPECTED):
        return None, (other,)
    top = Reader(root, "the file", TOP, found)
    top.check_version(FORMAT_KEY, FORMAT_VERSION)
    top.check_keys(EVERY_PART)
    parts = _read_parts(top)
    found += _references(parts, top)
    return _site(parts, folder, in_order(found))


class _SitePart(Record, kw_only=True):
    """What `[site]` says."""

    name: str | None
    place: Place | None
    dusk: SunDefinition | None
    dawn: SunDefinition | None
    holidays: HolidayChoice | None
    controller: str
    ordinances: tuple[PhraseText, ...]
    price_per_kwh: float | None
    currency: str
    fit: FitWishes
    reader: Reader


class _Parts(Record, kw_only=True):
    site: _SitePart | None
    hours: Hours | None
    day_types: tuple[DayType, ...]
    circuits: tuple[Circuit, ...]
    one_offs: tuple[OneOff, ...]
    units: tuple[Unit, ...]
    people: People
    paper: Paper


def _read_parts(top: Reader) -> _Parts:
    _missing_part(
        top,
        "site",
        "[site]",
        "It says where the site is and how it is called.",
        SITE_EXAMPLE,
    )
    _missing_part(
        top,
        "circuit",
        "[[circuit]]",
        "Without a circuit there is nothing to switch.",
        CIRCUIT_EXAMPLE,
    )
    site = top.group("site")
    return _Parts(
        site=None if site is None else _site_part(Reader(site, "[site]", SITE, top.found)),
        hours=read_hours(top),
        day_types=read_day_types(top),
        circuits=read_circuits(top),
        one_offs=read_one_offs(top),
        units=read_units(top),
        people=People(**_texts(top, "people", PEOPLE)),
        paper=_paper(top),
    )


def _missing_part(top: Reader, key: str, part: str, why: str, typed: str) -> None:
    entry = top.entry(key)
    empty = entry is not None and isinstance(entry.value, Items) and not entry.value.items
    if empty or top.lacks(key):
        top.found.append(meaning.MISSING_PART.at(top.table.at, part=part, why=why, typed=typed))


def _texts(top: Reader, part: str, examples: Examples) -> Mapping[str, str]:
    table = top.group(part)
    if table is None:
        return {}
    reader = Reader(table, f"[{part}]", examples, top.found)
    reader.check_keys(EVERY_PART)
    return {key: reader.blank_or_text(key) for key in examples}


def _paper(top: Reader) -> Paper:
    table = top.group("paper")
    if table is None:
        return Paper()
    reader = Reader(table, "[paper]", PAPER, top.found)
    reader.check_keys(EVERY_PART)
    return Paper(
        revision=reader.blank_or_text("revision"),
        replaces=reader.blank_or_text("replaces"),
        kept_at=reader.blank_or_text("kept_at"),
        clock=reader.choice("clock", CLOCKS) or Paper().clock,
        size=reader.choice("size", PAPER_SIZE) or Paper().size,
    )


def _site_part(reader: Reader) -> _SitePart:
    reader.check_keys(EVERY_PART)
    reader.missing("name", "It stands at the head of every sheet and file.")
    holidays = read_holidays(reader)
    ordinances = reader.phrases("ordinance", one_is_enough=True) or ()
    return _SitePart(
        name=reader.text("name"),
        place=read_place(reader),
        dusk=reader.parsed("dusk", partial(parse_sun_definition, half=Half.EVENING)),
        dawn=reader.parsed("dawn", partial(parse_sun_definition, half=Half.MORNING)),
        holidays=holidays,
        controller=reader.blank_or_text("controller"),
        ordinances=ordinances,
        price_per_kwh=reader.number("price_per_kwh", Limits(0, LARGEST)),
        currency=reader.blank_or_text("currency"),
        fit=_fit(reader),
        reader=reader,
    )


def _fit(reader: Reader) -> FitWishes:
    usual = FitWishes()
    tolerance = reader.minutes("tolerance", parse_duration)
    limit = reader.minutes("tolerance_limit", parse_duration)
    limit = usual.tolerance_limit_minutes if limit is None else limit
    if tolerance is not None and tolerance > limit and reader.given("tolerance_limit"):
        reader.found.append(
            meaning.OVER_LIMIT.at(reader.place("tolerance"), tolerance=tolerance, limit=limit)
        )
    return FitWishes(
        favour=reader.choice("favour", FAVOUR) or usual.favour,
        tolerance_minutes=tolerance,
        tolerance_limit_minutes=limit if tolerance is None else max(limit, tolerance),
        spare=reader.choice("spare", SPARE) or usual.spare,
    )


def _references(parts: _Parts, top: Reader) -> list[Diagnostic]:
    """What the parts say about each other; of what could not be read nothing is missed."""
    all_types = _all_read(top, "day_types", len(parts.day_types))
    hours_table = top.entry("hours")
    staff = [
        key
        for key in STAFF_KEYS
        if hours_table is not None
        and isinstance(hours_table.value, Table)
        and not Reader(hours_table.value, "[hours]", HOURS, []).lacks(key)
    ]
    found = [
        *circuit_names(parts.circuits),
        *day_type_names(parts.circuits, parts.day_types, all_types),
        *one_off_circuits(parts.one_offs, parts.circuits),
    ]
    if parts.hours is not None or top.lacks("hours"):
        found += hours_words(_windows(parts), parts.hours, staff)
    if parts.site is not None and parts.site.reader.lacks("holidays"):
        place = parts.site.place
        found += holiday_words(_dates(parts), "" if place is None else place.zone)
    return found


def _all_read(top: Reader, key: str, count: int) -> bool:
    """Whether every entry of a part was understood, so that a name can be said to be missing."""
    entry = top.entry(key)
    if entry is None:
        return top.lacks(key)
    table = entry.value
    return isinstance(table, Table) and not table.has_gaps and count == len(table.entries)


def _windows(parts: _Parts) -> Sequence[Window]:
    of_types = [window for day_type in parts.day_types for window in day_type.windows]
    return of_types + [line.window for circuit in parts.circuits for line in circuit.keep_dark]


def _dates(parts: _Parts) -> Sequence[DatesPhrase]:
    found = [line.dates for line in parts.hours.lines] if parts.hours else []
    for circuit in parts.circuits:
        found += [line.dates for line in circuit.calendar]
        found += [line.dates for line in circuit.keep_dark]
        found += [line.dates for line in circuit.promises]
    return found


def _site(parts: _Parts, folder: str, found: tuple[Diagnostic, ...]) -> Loaded:
    site = parts.site
    if has_problem(found) or site is None or site.place is None or site.name is None:
        return None, found
    place = site.place
    return Site(
        name=site.name,
        latitude_degrees=place.latitude,
        longitude_degrees=place.longitude,
        timezone=place.zone,
        timezone_given=place.zone_given,
        dusk=site.dusk or DUSK,
        dawn=site.dawn or DAWN,
        holidays=site.holidays,
        hours=parts.hours,
        day_types=parts.day_types,
        circuits=parts.circuits,
        one_offs=parts.one_offs,
        units=parts.units,
        people=parts.people,
        paper=parts.paper,
        controller=site.controller,
        controller_at=site.reader.place("controller"),
        ordinances=tuple(phrase.text.strip() for phrase in site.ordinances),
        ordinances_at=tuple(phrase.at for phrase in site.ordinances),
        price_per_kwh=site.price_per_kwh,
        currency=site.currency,
        fit=site.fit,
        assumed=_assumed(parts, site, place),
        folder=folder,
        location_at=place.at,
    ), found


def _assumed(parts: _Parts, site: _SitePart, place: Place) -> tuple[Assumption, ...]:
    return tuple(
        assumptions(
            zone=None if place.zone_given else place.zone,
            dusk_given=site.dusk is not None,
            dawn_given=site.dawn is not None,
            holidays_given=site.holidays is not None,
            rule_given=bool(site.ordinances),
            circuits=parts.circuits,
        )
    )
