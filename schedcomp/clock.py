"""Local clocks: civil date and reading to instant and back, with every clock change.

Zone rules come from the tzdata package, ahead of the operating system's copy, which may be years
old. Only total offsets are used; the daylight flag is never read (Europe/Dublin sets it in
winter).
"""

from __future__ import annotations

from bisect import bisect_right
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from importlib.metadata import version
from importlib.resources import files
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from schedcomp.model import DAY, HOUR, MINUTE, Instant
from schedcomp.records import Record

EPOCH_ORDINAL = date(1970, 1, 1).toordinal()
# The closest two clock changes of any zone from 2001 to 2099 are 6.9 days apart (Asia/Gaza in
# autumn 2040), so a look every five days finds every change.
_LOOK_EVERY = 5 * DAY
_MARGIN = 60 * DAY


class ClockChange(Record):
    """At `instant` the offset from UTC changes; both offsets in seconds."""

    instant: Instant
    before: int
    after: int

    @property
    def skipped(self) -> int:
        """Seconds of clock readings skipped (positive) or repeated (negative)."""
        return self.after - self.before


class Zone(Record):
    """The clock of a zone as a table of changes; before and after the table the offset stays.

    `asked` are the first and last instant (UTC) of the years the table was made for; the table
    reaches beyond them on both sides. None: all of the table. `twelve`: people at the place are
    told times in halves of the day.
    """

    name: str
    starts: tuple[Instant, ...]
    offsets: tuple[int, ...]
    asked: tuple[Instant, Instant] | None = None
    twelve: bool = False

    def offset(self, instant: Instant) -> int:
        """Seconds by which the local clock is ahead of UTC."""
        return self.offsets[max(0, bisect_right(self.starts, instant) - 1)]

    def first_pass(self, day: date, seconds: int) -> Instant:
        """Instant of a clock reading; a skipped reading is the jump, a repeated one its first pass.

        `seconds` counts from 00:00 of `day` on the clock and may be 86400 (24:00) or more.
        """
        return self.first_reading(_reading(day, seconds))

    def last_pass(self, day: date, seconds: int) -> Instant:
        """As `first_pass`, but the last pass of a repeated reading."""
        return self.last_reading(_reading(day, seconds))

    def first_reading(self, reading: int) -> Instant:
        """As `first_pass`, for a reading in seconds since 00:00 of 1970-01-01 on the clock."""
        offset = self._only_offset(reading)
        return self._passes(reading)[0] if offset is None else reading - offset

    def last_reading(self, reading: int) -> Instant:
        """As `last_pass`, for a reading in seconds since 00:00 of 1970-01-01 on the clock."""
        offset = self._only_offset(reading)
        return self._passes(reading)[-1] if offset is None else reading - offset

    def is_skipped(self, day: date, seconds: int) -> bool:
        """Whether the clock never shows this reading."""
        reading = _reading(day, seconds)
        if self._only_offset(reading) is not None:
            return False
        return all(self.offset(reading - offset) != offset for offset in self._near(reading))

    def is_repeated(self, day: date, seconds: int) -> bool:
        """Whether the clock shows this reading twice."""
        reading = _reading(day, seconds)
        return self._only_offset(reading) is None and len(self._passes(reading)) > 1

    def local(self, instant: Instant) -> datetime:
        """What the clock shows, as a naive datetime."""
        shown = datetime.fromtimestamp(instant + self.offset(instant), UTC)
        return shown.replace(tzinfo=None)

    def local_date(self, instant: Instant) -> date:
        return day_of_number((instant + self.offset(instant)) // DAY)

    def changes(self) -> tuple[ClockChange, ...]:
        """Every clock change of the table, also outside the years asked for."""
        return tuple(
            ClockChange(start, before, after)
            for start, before, after in zip(
                self.starts[1:], self.offsets, self.offsets[1:], strict=False
            )
        )

    def _only_offset(self, reading: int) -> int | None:
        """The offset around a reading, None where the clock changes within a day of it."""
        changes_before = bisect_right(self.starts, reading - DAY)
        if changes_before < len(self.starts) and self.starts[changes_before] <= reading + DAY:
            return None
        return self.offsets[max(0, changes_before - 1)]

    def _passes(self, reading: int) -> list[Instant]:
        instants = sorted(
            reading - offset
            for offset in self._near(reading)
            if self.offset(reading - offset) == offset
        )
        return instants or [self._jump(reading)]

    def _near(self, reading: int) -> set[int]:
        return {self.offset(reading - DAY), self.offset(reading), self.offset(reading + DAY)}

    def _jump(self, reading: int) -> Instant:
        """The change that skips a reading: before it the clock is behind, after it ahead."""
        for change in self.changes():
            if change.instant + change.before <= reading < change.instant + change.after:
                return change.instant
        raise AssertionError(f"{reading} is neither shown nor skipped in {self.name}")


def zone(name: str, first: date, last: date) -> Zone:
    """The clock of an IANA zone in the years of `first` to `last` and 60 days around them.

    Raises `zoneinfo.ZoneInfoNotFoundError` for a name that tzdata does not have.
    """
    return _zone(name, first.year, last.year)


def zone_names() -> frozenset[str]:
    """Every zone name of tzdata, spelled as there."""
    return _zone_names()


def country_of_zone(name: str) -> str:
    """The two-letter code of the country of a zone, by the table of tzdata; "" where it has none:
    for an old name, or UTC.
    """
    return _countries_of_zones().get(name, "")


def standard(of: Zone) -> Zone:
    """The same place's clock without summer time: the smallest offset in the years asked for."""
    begin, end = of.asked or (of.starts[0], of.starts[-1])
    ends = (*of.starts[1:], max(end, of.starts[-1]) + 1)
    used = [
        offset
        for start, until, offset in zip(of.starts, ends, of.offsets, strict=True)
        if start <= end and until > begin
    ]
    return Zone(of.name, of.starts[:1], (min(used),), of.asked, of.twelve)


def tzdata_version() -> str:
    return version("tzdata")


def utc_text(instant: Instant) -> str:
    """ISO 8601 with Z."""
    return f"{datetime.fromtimestamp(instant, UTC).isoformat()[:19]}Z"


def offset_text(seconds: int) -> str:
    """`-06:00`."""
    sign = "-" if seconds < 0 else "+"
    return f"{sign}{abs(seconds) // HOUR:02d}:{abs(seconds) % HOUR // MINUTE:02d}"


def day_number(day: date) -> int:
    """Days since 1970-01-01."""
    return day.toordinal() - EPOCH_ORDINAL


def day_of_number(number: int) -> date:
    """The date so many days after 1970-01-01."""
    return date.fromordinal(number + EPOCH_ORDINAL)


def _reading(day: date, seconds: int) -> int:
    return day_number(day) * DAY + seconds


@lru_cache(maxsize=1)
def _zone_names() -> frozenset[str]:
    return frozenset(files("tzdata").joinpath("zones").read_text("ascii").split())


@lru_cache(maxsize=1)
def _countries_of_zones() -> dict[str, str]:
    text = files("tzdata").joinpath("zoneinfo", "zone.tab").read_text("utf-8")
    rows = (line.split("\t") for line in text.splitlines() if not line.startswith("#"))
    return {zone_name: code for code, _, zone_name, *_ in rows}


def _zone_info(name: str) -> ZoneInfo:
    """The rules of a zone straight from tzdata: no search path and no cache of others decides."""
    if name not in _zone_names():
        raise ZoneInfoNotFoundError(f"tzdata has no zone {name!r}")
    with files("tzdata").joinpath("zoneinfo", *name.split("/")).open("rb") as rules:
        return ZoneInfo.from_file(rules, key=name)


@lru_cache(maxsize=256)
def _zone(name: str, first_year: int, last_year: int) -> Zone:
    info = _zone_info(name)
    asked = (
        day_number(date(first_year, 1, 1)) * DAY,
        day_number(date(last_year, 12, 31)) * DAY + DAY - 1,
    )

    def offset_at(instant: Instant) -> int:
        shift = datetime.fromtimestamp(instant, info).utcoffset()
        assert isinstance(shift, timedelta)
        return int(shift.total_seconds())

    begin = asked[0] - _MARGIN
    starts, offsets = [begin], [offset_at(begin)]
    for later in range(begin + _LOOK_EVERY, asked[1] + _MARGIN, _LOOK_EVERY):
        if offset_at(later) != offsets[-1]:
            low, high = later - _LOOK_EVERY, later
            while high - low > 1:
                middle = (low + high) // 2
                low, high = (middle, high) if offset_at(middle) == offsets[-1] else (low, middle)
            starts.append(high)
            offsets.append(offset_at(high))
    return Zone(name, tuple(starts), tuple(offsets), asked)
