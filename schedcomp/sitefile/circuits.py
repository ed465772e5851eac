"""Circuits, one-offs and units of a site file."""

from __future__ import annotations

import re
from datetime import date

from schedcomp.coordinates import LATITUDE, LONGITUDE, check_range, read_pair
from schedcomp.diag import Diagnostic, PhraseText, SourceRange
from schedcomp.limits import LARGEST, MOST_WINDOWS, Limits
from schedcomp.messages import meaning
from schedcomp.model import Half
from schedcomp.near import quoted
from schedcomp.phrases import (
    parse_calendar_line,
    parse_duration,
    parse_keep_dark,
    parse_promise,
    parse_stretch,
    parse_sun_definition,
)
from schedcomp.phrases.tree import SunDefinition
from schedcomp.reading import Reader
from schedcomp.site import Circuit, Confirmation, OneOff, PanelFacts, Unit
from schedcomp.sitefile.keys import (
    CIRCUIT,
    CONFIRMED_BY,
    EVERY_PART,
    ONE_OFF,
    PANEL_TEXTS,
    PHOTOCELL,
    SERVES,
    UNIT,
)
from schedcomp.sitefile.lamps import lamp_count, parse_lamps
from schedcomp.tomlnodes import Items, Table, Unreadable, Value, number_of
from schedcomp.words import join_or

CHANNELS = Limits(1, 999)
LOAD_KW = Limits(0, 100_000, above=True)
LUMENS = Limits(0, LARGEST, above=True)
OVERRIDE_MINUTES = Limits(0, 24 * 60)
LOADS_AGREE_WITHIN = 0.01
_CODE = re.compile(r"(?i)[0-9a-f]{4}-[0-9a-f]{4}")

UNNAMED = ""
"""A circuit whose name is missing or cannot be read."""


def read_circuits(top: Reader) -> tuple[Circuit, ...]:
    """Every `[[circuit]]`; with mistakes as far as it can be read."""
    return tuple(_circuit(top, table) for table in top.parts("circuit"))


def _circuit(top: Reader, table: Table) -> Circuit:
    reader = Reader(table, "[[circuit]]", CIRCUIT, top.found)
    reader.check_keys(EVERY_PART)
    reader.missing("name", "The sheet, the label on the door and all findings call it by its name.")
    reader.missing("channel", "It tells which output of the controller drives this circuit.")
    reader.missing("calendar", "A date that no line names is dark: these lamps would never be lit.")
    calendar = reader.parsed_all("calendar", parse_calendar_line)
    _refuse_empty_calendar(reader)
    lamps = reader.blank_or_text("lamps")
    photocell = reader.choice("photocell", PHOTOCELL)
    return Circuit(
        name=reader.text("name") or UNNAMED,
        channel=reader.whole("channel", CHANNELS) or 0,
        load_kw=_load(reader, lamps),
        lamps=lamps,
        serves=reader.choice("serves", SERVES) or "",
        egress=reader.blank_or_text("egress"),
        photocell_level=reader.parsed("photocell_level", _photocell_level),
        lumens=reader.number("lumens", LUMENS),
        lamp_count=lamp_count(lamps),
        photocell="series" if photocell == "in each lamp head" else photocell,
        override_minutes=reader.whole("override_minutes", OVERRIDE_MINUTES),
        shortest_on_seconds=reader.seconds("shortest_on", parse_duration) or 0,
        shortest_off_seconds=reader.seconds("shortest_off", parse_duration) or 0,
        tolerance_minutes=reader.minutes("tolerance", parse_duration),
        calendar=calendar,
        keep_dark=reader.parsed_all("keep_dark", parse_keep_dark, MOST_WINDOWS),
        promises=reader.parsed_all("promise", parse_promise),
        panel=_panel(reader),
        at=reader.place("name") or table.at,
    )


def _photocell_level(phrase: PhraseText) -> tuple[SunDefinition | None, tuple[Diagnostic, ...]]:
    return parse_sun_definition(phrase, Half.EVENING)


def _refuse_empty_calendar(reader: Reader) -> None:
    entry = reader.entry("calendar")
    if entry is not None and isinstance(entry.value, Items) and not entry.value.items:
        name = reader.entry("name")
        of = quoted(name.value.at.text) if name else "this circuit"
        reader.found.append(meaning.NO_CALENDAR.at(entry.value.at, circuit=of))


def _load(reader: Reader, lamps: str) -> float | None:
    """Connected power in kW, from `lamps` or `load_kw`; both may be given if they agree."""
    of_lamps = reader.parsed("lamps", parse_lamps) if lamps else None
    given = reader.number("load_kw", LOAD_KW)
    if of_lamps is None or given is None:
        return given if of_lamps is None else of_lamps
    if abs(of_lamps - given) > LOADS_AGREE_WITHIN * max(of_lamps, given):
        lamps_at = reader.place("lamps")
        also = (("The lamps", lamps_at),) if lamps_at else ()
        reader.found.append(
            meaning.LAMPS_DIFFER.at(
                reader.place("load_kw"), also=also, lamps_kw=f"{of_lamps:g}", load_kw=f"{given:g}"
            )
        )
    return given


def _panel(reader: Reader) -> PanelFacts:
    return PanelFacts(
        volts=reader.number("volts", Limits(0, 1_000_000, above=True)),
        phases=reader.whole("phases", Limits(1, 3)),
        contactor_poles=reader.whole("contactor_poles", Limits(1, 24)),
        contactor_rating_amperes=reader.number(
            "contactor_rating_amperes", Limits(0, LARGEST, above=True)
        ),
        power_factor=reader.number("power_factor", Limits(0, 1, above=True)),
        **{key: reader.blank_or_text(key) for key in PANEL_TEXTS},
    )


def read_one_offs(top: Reader) -> tuple[OneOff, ...]:
    """Every `[[one_off]]` that can be read."""
    read = (_one_off(top, table) for table in top.parts("one_off"))
    return tuple(one_off for one_off in read if one_off is not None)


def _one_off(top: Reader, table: Table) -> OneOff | None:
    reader = Reader(table, "[[one_off]]", ONE_OFF, top.found)
    reader.check_keys(EVERY_PART)
    reader.missing("circuit", "It tells which circuit is lit or kept dark.")
    circuit = reader.text("circuit")
    because = reader.blank_or_text("because")
    lit, dark = reader.given("lit"), reader.given("dark")
    if lit == dark and not table.has_gaps:
        reader.found.append(meaning.LIT_OR_DARK.at(reader.place("dark") or table.at))
    key = "lit" if lit else "dark"
    stretch = reader.parsed(key, parse_stretch)
    if circuit is None or stretch is None:
        return None
    return OneOff(
        circuit=circuit,
        lit=lit,
        stretch=stretch,
        because=because,
        at=reader.place(key),
        circuit_at=reader.place("circuit"),
    )


def read_units(top: Reader) -> tuple[Unit, ...]:
    """Every `[[unit]]`; their labels differ."""
    units: list[Unit] = []
    places: dict[str, SourceRange | None] = {}
    for table in top.parts("unit"):
        reader = Reader(table, "[[unit]]", UNIT, top.found)
        reader.check_keys(EVERY_PART)
        reader.missing("label", "Each unit is told from the others by the label on its door.")
        label = reader.text("label")
        location = _location(reader)
        if label is None:
            continue
        place = reader.place("label")
        first = places.setdefault(label.casefold(), place)
        if first is not place:
            reader.found.append(same_name(place, first, "units", label, "label"))
        units.append(
            Unit(
                label=label,
                where=reader.blank_or_text("where"),
                serial=reader.blank_or_text("serial"),
                wiring=reader.blank_or_text("wiring"),
                location_degrees=location,
                confirmed=_confirmed(reader),
            )
        )
    return tuple(units)


def _confirmed(reader: Reader) -> Confirmation | None:
    """`keyed-back list, 2027-03-12, 7F3A-92C1`."""
    entry = reader.entry("confirmed")
    if entry and isinstance(entry.value, Value) and entry.value.content == "":
        return None
    phrase = reader.phrase("confirmed")
    if phrase is None:
        return None
    parts = [" ".join(part.split()) for part in phrase.text.split(",")]
    if len(parts) == 3 and parts[0].casefold() in CONFIRMED_BY and _CODE.fullmatch(parts[2]):
        try:
            return Confirmation(
                how=parts[0].casefold(),
                day=date.fromisoformat(parts[1]),
                program_code=parts[2].upper(),
            )
        except ValueError:
            pass
    reader.found.append(
        meaning.NOT_CONFIRMED.at(
            phrase.at, found=quoted(phrase.text), known=join_or([f'"{w}"' for w in CONFIRMED_BY])
        )
    )
    return None


def _location(reader: Reader) -> tuple[float, float] | None:
    """`unit_location`: one text, a list of two numbers, or a group of latitude and longitude."""
    entry = reader.entry("unit_location")
    if entry is None or isinstance(entry.value, Unreadable):
        return None
    node = entry.value
    if isinstance(node, Table):
        named = {e.key: number_of(e.value) for e in node.entries}
        numbers = [named.get(axis.name) for axis in (LATITUDE, LONGITUDE) if len(named) == 2]
    elif isinstance(node, Items):
        numbers = [number_of(item) for item in node.items]
    else:
        return reader.parsed("unit_location", read_pair)
    if len(numbers) != 2 or numbers[0] is None or numbers[1] is None:
        reader.found.append(meaning.BAD_PAIR.at(node.at, found=quoted(node.at.text)))
        return None
    written = PhraseText(node.at.text, node.at)
    latitude = reader.take(check_range(written, numbers[0], LATITUDE))
    longitude = reader.take(check_range(written, numbers[1], LONGITUDE))
    return None if latitude is None or longitude is None else (latitude, longitude)


def same_name(
    place: SourceRange | None, first: SourceRange | None, things: str, name: str, key: str
) -> Diagnostic:
    """The finding that two things have one name, at the second."""
    also = (("First given", first),) if first is not None else ()
    return meaning.SAME_NAME.at(
        place, also=also, things=things, name=quoted(name), typed=f'{key} = "{quoted(name)} 2"'
    )
