"""Opening hours, day types and the choice of holidays of a site file."""

from __future__ import annotations

from functools import partial

from schedcomp.diag import SourceRange
from schedcomp.limits import MOST_WINDOWS
from schedcomp.messages import meaning
from schedcomp.near import near_words, quoted
from schedcomp.phrases import parse_dates, parse_duration, parse_hours, parse_window
from schedcomp.reading import Reader
from schedcomp.site import DARK, AddedHoliday, DayType, HolidayChoice, Hours, HoursLine
from schedcomp.sitefile.keys import DAY_TYPES, HOLIDAYS, HOURS, STAFF_KEYS
from schedcomp.tomlhints import typed_line
from schedcomp.tomlnodes import Entry, Table

_whole_dates = partial(parse_dates, halves_allowed=False)


def read_hours(top: Reader) -> Hours | None:
    """`[hours]`: every key is a DATES phrase, but for those of the staff; None if left out."""
    table = top.group("hours")
    if table is None:
        return None
    reader = Reader(table, "[hours]", HOURS, top.found)
    lines = [
        _hours_line(reader, entry) for entry in reader.entries() if entry.key not in STAFF_KEYS
    ]
    before, after = (reader.minutes(key, parse_duration) for key in STAFF_KEYS)
    return Hours(
        lines=tuple(line for line in lines if line is not None),
        staff_before_minutes=before or 0,
        staff_after_minutes=after or 0,
    )


def _hours_line(reader: Reader, entry: Entry) -> HoursLine | None:
    near = near_words(entry.key, STAFF_KEYS)
    if near:
        reader.found.append(
            meaning.NEAR_KEY.at(
                entry.key_at,
                key=quoted(entry.key),
                part="[hours]",
                near=near[0],
                typed=reader.example(near[0]),
            )
        )
        return None
    lead = f"{entry.key_at.line_text[: entry.key_at.column - 1 + entry.key_at.length]} = "
    dates = reader.take(_whole_dates(entry.key_phrase))
    phrase = reader.phrase_of(entry.value, quoted(entry.key), lead)
    if phrase is None:
        return None
    value, findings = parse_hours(phrase)
    reader.found.extend(findings)
    if dates is None or value is None:
        return None
    return HoursLine(dates=dates, value=value, text=phrase.text, at=entry.key_at)


def read_day_types(top: Reader) -> tuple[DayType, ...]:
    """`[day_types]`: every key names one, its value is the list of its windows."""
    table = top.group("day_types")
    if table is None:
        return ()
    examples = {entry.key: DAY_TYPES["usual"] for entry in table.entries}
    reader = Reader(table, "[day_types]", examples, top.found)
    found: list[DayType] = []
    first_places: dict[str, SourceRange] = {}
    for entry in reader.entries():
        name = " ".join(entry.key.split())
        folded = name.casefold()
        if folded == DARK:
            typed = typed_line(
                f"closed{entry.key_at.line_text.strip()[len(name) :]}", "closed = []"
            )
            reader.found.append(meaning.DARK_IS_BUILT_IN.at(entry.key_at, typed=typed))
            continue
        if folded in first_places:
            reader.found.append(
                meaning.SAME_NAME.at(
                    entry.key_at,
                    also=(("First given", first_places[folded]),),
                    things="day types",
                    name=quoted(entry.key),
                    typed=f"{quoted(entry.key)}_2 =",
                )
            )
            continue
        first_places[folded] = entry.key_at
        windows = reader.parsed_all(entry.key, parse_window, MOST_WINDOWS)
        found.append(DayType(name=name, windows=windows, at=entry.key_at))
    return tuple(found)


def read_holidays(site: Reader) -> HolidayChoice | None:
    """`holidays` of `[site]`; country and names are looked up later. None if left out."""
    table = site.group("holidays")
    if table is None:
        return None
    reader = Reader(table, "holidays", HOLIDAYS, site.found)
    reader.check_keys()
    if not (reader.given("country") or reader.given("add") or table.has_gaps):
        reader.found.append(meaning.NO_HOLIDAYS_CHOSEN.at(table.at))
    country = reader.text("country")
    subdivision = reader.text("subdivision")
    only = reader.phrases("only", one_is_enough=True)
    left_out = reader.phrases("except", one_is_enough=True) or ()
    if only is not None and reader.given("except"):
        place = reader.place("except")
        reader.found.append(meaning.ONLY_AND_EXCEPT.at(place))
    added = reader.group("add")
    return HolidayChoice(
        country=country,
        subdivision=subdivision,
        only=None if only is None else tuple((phrase.text.strip(), phrase.at) for phrase in only),
        left_out=tuple((phrase.text.strip(), phrase.at) for phrase in left_out),
        added=() if added is None else _added(reader, added),
        observed=reader.flag("observed"),
        at=site.place("holidays"),
    )


def _added(holidays: Reader, table: Table) -> tuple[AddedHoliday, ...]:
    """`add`: names with the dates on which they fall."""
    examples = {entry.key: '"2027-09-03"' for entry in table.entries}
    reader = Reader(table, "add", examples, holidays.found)
    found = []
    for entry in reader.entries():
        dates = reader.parsed(entry.key, _whole_dates)
        if dates is not None:
            found.append(AddedHoliday(name=entry.key.strip(), dates=dates, at=entry.key_at))
    return tuple(found)
