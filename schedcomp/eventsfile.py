"""Reading events.csv and special_days.csv back, as they were written and no other way."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator, Sequence
from types import MappingProxyType
from typing import Protocol, TypeVar

from schedcomp.controller import Controller
from schedcomp.diag import Diagnostic
from schedcomp.messages import keyed as messages
from schedcomp.model import WEEKDAYS, Action
from schedcomp.near import quoted
from schedcomp.output import events as written
from schedcomp.output import special_days as written_special
from schedcomp.program import (
    EVERY_WEEKDAY,
    ClockStart,
    Event,
    EventDates,
    Program,
    SpecialDays,
    Start,
    SunOffset,
)
from schedcomp.textfile import source_from_bytes
from schedcomp.transferform import NotInForm, Part

Findings = tuple[Diagnostic, ...]
Value = TypeVar("Value")
Row = MappingProxyType[str, str]
_MOST_DIGITS = 6


class _Wrong(Exception):  # noqa: N818 - it is an answer, not an error of ours
    """Carries what is wrong in a row up to whoever reads the file."""


def is_events_file(data: bytes) -> bool:
    """Whether a file begins with the columns of events.csv."""
    first = data.removeprefix(b"\xef\xbb\xbf").partition(b"\n")[0].strip()
    return first == ",".join(written.COLUMNS).encode()


def read_events(
    data: bytes, name: str, special: bytes | None, controller: Controller
) -> tuple[Program | None, Findings]:
    """The program of events.csv; `special` is what special_days.csv beside it holds."""
    events, found = _rows(data, name, written.COLUMNS, lambda row: _event(row, controller))
    days: tuple[SpecialDays, ...] = ()
    if special is not None:
        read, more = _rows(
            special,
            "special_days.csv",
            written_special.COLUMNS,
            lambda row: _special_days(row, controller),
        )
        days, found = read or (), (*found, *more)
    if events is None or found:
        return None, found
    return Program(controller=controller.name, events=events, special_days=days), ()


def _rows(
    data: bytes, name: str, columns: Sequence[str], read: Callable[[Row], Value]
) -> tuple[tuple[Value, ...] | None, Findings]:
    source, found = source_from_bytes(name, data, ".csv")
    if source is None:
        return None, found
    reader = csv.reader(io.StringIO(source.text), strict=True)
    try:
        values = tuple(read(row) for row in _cells(reader, columns))
    except (_Wrong, csv.Error) as wrong:
        what = str(wrong).rstrip(".") + "."
        finding = messages.NOT_EVENTS.at(None, name=name, line=reader.line_num, what=what)
        return None, (finding,)
    return values, ()


class _Reader(Protocol):
    """Rows of a CSV file, and the line that was read last."""

    line_num: int

    def __iter__(self) -> Iterator[list[str]]: ...

    def __next__(self) -> list[str]: ...


def _cells(reader: _Reader, columns: Sequence[str]) -> Iterator[Row]:
    """Every row after the first, each cell by its column."""
    if next(reader, None) != list(columns):
        raise _Wrong(messages.COLUMNS_WRONG.format(columns=", ".join(columns)))
    for row in reader:
        if len(row) != len(columns):
            raise _Wrong(messages.ROW_SHORT.format(count=len(row), wanted=len(columns)))
        yield MappingProxyType(dict(zip(columns, row, strict=True)))


def _event(row: Row, controller: Controller) -> Event:
    plan = row["plan"]
    return Event(
        slot=_whole(row, "slot", 1),
        channels=_channels(row, controller),
        action=Action(_choice(row, "action", [a.value for a in Action])),
        start=_start(row, controller),
        weekdays=EVERY_WEEKDAY if plan else _weekdays(row),
        dates=None if plan else _dates(row),
        plan=plan,
        purpose=row["purpose"],
    )


def _special_days(row: Row, controller: Controller) -> SpecialDays:
    dates = _dates(row)
    if dates is None:
        raise _wrong(row, "from", messages.SPECIAL_WITHOUT_DATES)
    return SpecialDays(
        slot=_whole(row, "slot", 1),
        channels=_channels(row, controller),
        dates=dates,
        plan=_plan(row),
    )


def _plan(row: Row) -> str:
    if not row["plan"]:
        raise _wrong(row, "plan", messages.PLAN)
    return row["plan"]


def _start(row: Row, controller: Controller) -> Start:
    words = [start.word for start in controller.sun_starts]
    word = _choice(row, "starts_at", [written.CLOCK, *words])
    if word != written.CLOCK:
        return SunOffset(word, _whole(row, "offset_min", -720))
    return ClockStart(_as_part(row, "time", messages.START_CLOCK, Part.clock))


def _weekdays(row: Row) -> frozenset[int]:
    days = row["weekdays"].split()
    if not days or not set(days) <= set(WEEKDAYS) or len(set(days)) < len(days):
        raise _wrong(row, "weekdays", messages.WEEKDAY)
    return frozenset(WEEKDAYS.index(day) for day in days)


def _dates(row: Row) -> EventDates | None:
    if not row["from"] and not row["through"]:
        return None
    first, first_year = _as_part(row, "from", messages.DATE, Part.month_day)
    last, last_year = _as_part(row, "through", messages.DATE, Part.month_day)
    if (first_year is None) != (last_year is None):
        raise _wrong(row, "through", messages.YEAR_MISSING)
    if first_year is None or last_year is None:
        return EventDates(first, last)
    if (first_year, first) > (last_year, last):
        raise _wrong(row, "through", messages.BACKWARDS)
    return EventDates(first, last, (first_year, last_year))


def _channels(row: Row, controller: Controller) -> tuple[int, ...]:
    texts = row["channels"].split()
    numbers = tuple(int(t) for t in texts if re.fullmatch(r"[0-9]{1,3}", t))
    good = numbers and len(numbers) == len(texts) == len(set(numbers))
    if not good or not all(1 <= n <= controller.channels for n in numbers):
        raise _wrong(row, "channels", messages.NO_CHANNEL.format(last=controller.channels))
    return numbers


def _whole(row: Row, column: str, low: int) -> int:
    text = row[column]
    if not re.fullmatch(rf"-?[0-9]{{1,{_MOST_DIGITS}}}", text) or int(text) < low:
        raise _wrong(row, column, messages.OFFSET if column == "offset_min" else messages.SLOT)
    return int(text)


def _choice(row: Row, column: str, options: Sequence[str]) -> str:
    if row[column] not in options:
        raise _wrong(row, column, messages.ONE_OF.format(options=", ".join(options)))
    return row[column]


def _as_part(row: Row, column: str, wanted: str, read: Callable[[Part], Value]) -> Value:
    try:
        return read(Part(row[column]))
    except NotInForm:
        raise _wrong(row, column, wanted) from None


def _wrong(row: Row, column: str, wanted: str) -> _Wrong:
    found = quoted(row[column]) or "Nothing"
    return _Wrong(messages.CELL_WRONG.format(found=found, column=column, wanted=wanted))
