"""A strict reader of JSON values: every member named, every value of its kind and within limits."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import TypeVar

from schedcomp.messages import transfer as messages
from schedcomp.model import FIRST_YEAR, LAST_YEAR, WEEKDAYS, Instant
from schedcomp.near import quoted
from schedcomp.output.canonical import Json
from schedcomp.records import Record
from schedcomp.words import join_or

Meaning = TypeVar("Meaning")

LARGEST = 10**9
"""For numbers without a limit of their own."""

_DATE = re.compile(r"(20[0-9]{2})-([0-9]{2})-([0-9]{2})")
_MONTH_DAY = re.compile(r"([0-9]{2})-([0-9]{2})")
_INSTANT = re.compile(r"20[0-9]{2}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}Z")
_CLOCK = re.compile(r"([01][0-9]|2[0-3]):([0-5][0-9])")
_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029]")
_LEAP_YEAR = 2028


class NotInForm(Exception):  # noqa: N818 - it is an answer, not an error of ours
    """Carries what is wrong in a document up to whoever reads the whole; never leaves it."""

    def __init__(self, place: str, what: str) -> None:
        super().__init__(what)
        self.place = place
        self.what = what


class Part(Record):
    """A value of a document and where it stands, in words.

    Every method raises NotInForm where the value is another than the method's name says.
    """

    value: Json
    place: str = ""

    def wrong(self, what: str) -> NotInForm:
        """What is wrong with this value, to be raised."""
        return NotInForm(self.place, what)

    def _instead(self, wanted: str) -> NotInForm:
        found = quoted(json.dumps(self.value, ensure_ascii=False))
        return self.wrong(messages.INSTEAD.format(wanted=wanted, found=found))

    # Records and lists

    def only(self, *names: str) -> Part:
        """Itself, where it is a record of exactly these members."""
        if not isinstance(self.value, Mapping):
            raise self._instead(messages.RECORD)
        for name in names:
            if name not in self.value:
                raise self.wrong(messages.MISSING.format(name=name))
        for name in self.value:
            if name not in names:
                raise self.wrong(messages.NOT_KNOWN.format(name=quoted(name)))
        return self

    def __getitem__(self, name: str) -> Part:
        """A member of a record that `only` has checked."""
        assert isinstance(self.value, Mapping)
        return Part(self.value[name], f"{self.place}, {name}" if self.place else name)

    def items(self, least: int = 0) -> list[Part]:
        """The items of a list."""
        if not isinstance(self.value, Sequence) or isinstance(self.value, str):
            raise self._instead(messages.LIST)
        if len(self.value) < least:
            raise self.wrong(messages.EMPTY_LIST)
        return [Part(v, f"{self.place}, number {n}") for n, v in enumerate(self.value, start=1)]

    def each(self, read: Callable[[Part], Meaning], least: int = 0) -> tuple[Meaning, ...]:
        """The items of a list, each read."""
        return tuple(read(item) for item in self.items(least))

    def each_once(self, read: Callable[[Part], Meaning]) -> tuple[Meaning, ...]:
        """The items of a list that is not empty, none of them twice."""
        found = self.each(read, 1)
        if len(set(found)) < len(found):
            raise self.wrong(messages.LISTED_TWICE)
        return found

    def maybe(self, read: Callable[[Part], Meaning]) -> Meaning | None:
        """What is read, or None where nothing is given."""
        return None if self.value is None else read(self)

    # Plain values

    def text(self) -> str:
        """A text for one line that is not empty."""
        if self.blank_or_text():
            return str(self.value)
        raise self.wrong(messages.EMPTY_TEXT)

    def blank_or_text(self) -> str:
        """A text for one line, or an empty one."""
        if not isinstance(self.value, str):
            raise self._instead(messages.TEXT)
        if _CONTROL.search(self.value):
            raise self.wrong(messages.NOT_ONE_LINE)
        return self.value

    def flag(self) -> bool:
        if not isinstance(self.value, bool):
            raise self._instead(messages.FLAG)
        return self.value

    def positive(self) -> float:
        """A number above 0."""
        number = self.number(0)
        if not number:
            raise self._instead(messages.POSITIVE)
        return number

    def number(self, low: float, high: float = LARGEST) -> float:
        """A number from `low` through `high`."""
        if isinstance(self.value, bool) or not isinstance(self.value, int | float):
            raise self._instead(messages.NUMBER)
        if not low <= self.value <= high:
            kind = messages.NUMBER_FROM if high < LARGEST else messages.NUMBER_AT_LEAST
            raise self._instead(kind.format(low=low, high=high))
        return float(self.value)

    def whole(self, low: int, high: int = LARGEST) -> int:
        """A whole number from `low` through `high`."""
        number = self.number(low, high)
        if not number.is_integer():
            raise self._instead(messages.WHOLE)
        return int(number)

    def choice(self, options: Collection[str]) -> str:
        if not isinstance(self.value, str) or self.value not in options:
            raise self._instead(join_or([f'"{option}"' for option in options]))
        return self.value

    # Dates and times

    def year(self) -> int:
        return self.whole(FIRST_YEAR, LAST_YEAR)

    def date(self) -> date:
        """A date of a year that sun times are known for."""
        found = self._matched(_DATE, messages.DATE)
        try:
            day = date(*(int(part) for part in found.groups()))
        except ValueError:
            raise self._instead(messages.REAL_DATE) from None
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise self._instead(messages.DATE_OF_YEARS.format(first=FIRST_YEAR, last=LAST_YEAR))
        return day

    def month_day(self) -> tuple[tuple[int, int], int | None]:
        """(month, day), and the year where the date has one."""
        if isinstance(self.value, str) and _DATE.fullmatch(self.value):
            day = self.date()
            return (day.month, day.day), day.year
        found = self._matched(_MONTH_DAY, messages.MONTH_DAY)
        month, number = (int(part) for part in found.groups())
        try:
            date(_LEAP_YEAR, month, number)
        except ValueError:
            raise self._instead(messages.REAL_DATE) from None
        return (month, number), None

    def instant(self) -> Instant:
        """Seconds since 1970 of a time in UTC."""
        found = self._matched(_INSTANT, messages.TIME)
        try:
            return int(datetime.fromisoformat(found[0]).timestamp())
        except ValueError:
            raise self._instead(messages.TIME) from None

    def clock(self) -> int:
        """Minutes after 00:00 of a clock reading before 24:00."""
        found = self._matched(_CLOCK, messages.CLOCK)
        return int(found[1]) * 60 + int(found[2])

    def clock_or_24(self) -> int:
        """As `clock`, or 24:00."""
        return 24 * 60 if self.value == "24:00" else self.clock()

    def weekdays(self) -> frozenset[int]:
        """Weekdays by their first three letters; Monday is 0."""
        return frozenset(self.each_once(lambda day: WEEKDAYS.index(day.choice(WEEKDAYS))))

    def _matched(self, form: re.Pattern[str], wanted: str) -> re.Match[str]:
        found = form.fullmatch(self.value) if isinstance(self.value, str) else None
        if found is None:
            raise self._instead(wanted)
        return found


def pairs(first: Part, second: Part) -> Iterator[tuple[Part, Part]]:
    """Two lists side by side that must be of one length."""
    one, two = first.items(), second.items()
    if len(one) != len(two):
        raise second.wrong(
            messages.OTHER_LENGTH.format(count=len(two), other=len(one), part=first.place)
        )
    return zip(one, two, strict=True)
