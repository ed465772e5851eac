"""What the display shows when a setting is wrong, worked out with that wrong setting."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from schedcomp.clock import Zone
from schedcomp.controller import SUNRISE_LEVEL_DEGREES
from schedcomp.model import HOUR, MINUTE, ONE_DAY, Half, Instant, NoEvent
from schedcomp.records import Record
from schedcomp.sheet.blocks import Column, Table, row
from schedcomp.sheet.blocks import strong as bold
from schedcomp.sheet.making import Job
from schedcomp.sheet.summertime import SummerTime, summer_time
from schedcomp.sheet.wording import WEEKDAYS, Hand
from schedcomp.sun import site_sun
from schedcomp.told_time import both
from schedcomp.words import date_words, length_words

_STEEPEST_DEGREES = 85.0
"""Beyond this latitude no sun is worked out."""
_VISIBLE_SECONDS = 2 * MINUTE


class Shown(Record):
    """Sunrise and sunset of one date as a unit with some settings shows them, in its own clock."""

    sunrise: Instant | NoEvent
    sunset: Instant | NoEvent
    shift: int = 0

    def words(self, here: Zone, hand: Hand) -> tuple[str, str]:
        return _words(here, self.sunrise, self.shift, hand), _words(
            here, self.sunset, self.shift, hand
        )


def shown_at(
    latitude_degrees: float, longitude_degrees: float, here: Zone, day: date, shift: int = 0
) -> Shown:
    """What a unit at this place shows for a date; `shift` seconds are added to its clock."""
    sun = site_sun(latitude_degrees, longitude_degrees, here, day - ONE_DAY, day + ONE_DAY)
    return Shown(
        sun.crossing(day, Half.MORNING, SUNRISE_LEVEL_DEGREES),
        sun.crossing(day, Half.EVENING, SUNRISE_LEVEL_DEGREES),
        shift,
    )


def fault_table(job: Job, day: date) -> Table:
    """Wrong settings that can be told from the display on one date."""
    if not job.compiled.controller.sun_starts:
        return _clock_table(job, day)
    site = job.compiled.site
    here = job.unit_zone(day - ONE_DAY, day + ONE_DAY)
    right = shown_at(site.latitude_degrees, site.longitude_degrees, here, day)
    rows = [row("right", *right.words(here, job.hand), bold("nothing: all is right"))]
    for name, shown in wrong_settings(job, here, day):
        if _differs(right, shown):
            sunrise, sunset = shown.words(here, job.hand)
            rows.append(row("right", sunrise, sunset, bold(name)))
    rows += [row(shows, "", "", bold(wrong)) for shows, wrong in _plain_faults(day)]
    columns = (
        Column(title="Date and clock", width=4),
        Column(title="Sunrise", width=3),
        Column(title="Sunset", width=3),
        Column(title="What is wrong", width=7),
    )
    return Table(columns=columns, rows=tuple(rows))


def _clock_table(job: Job, day: date) -> Table:
    """For a unit that knows no sun: what its clock gives away."""
    here = job.unit_zone(day - ONE_DAY, day + ONE_DAY)
    summer = summer_time(job.compiled.site.timezone, day)
    rows = []
    if summer.pairs:
        shift = _shift_words(summer)
        told = (f"{shift} behind a right watch", "summer time is off, and should be on")
        if not _is_ahead(here, summer, day):
            told = (f"{shift} ahead of what it should show", "summer time is on, and should be off")
        rows.append(row(told[0], bold(told[1])))
    rows += [row(shows, bold(wrong)) for shows, wrong in _plain_faults(day)]
    columns = (Column(title="The unit shows", width=5), Column(title="What is wrong", width=6))
    return Table(columns=columns, rows=tuple(rows))


def _is_ahead(here: Zone, summer: SummerTime, day: date) -> bool:
    """Whether the unit's clock keeps summer time at noon."""
    return here.offset(here.first_pass(day, 12 * HOUR)) > summer.standard_offset


def _shift_words(summer: SummerTime) -> str:
    return "an hour" if summer.shift == HOUR else length_words(summer.shift)


def _plain_faults(day: date) -> Iterator[tuple[str, str]]:
    """What any clock gives away, sun or not."""
    yield f"at {both(12 * 60)} the unit shows midnight", "AM and PM are exchanged"
    other = WEEKDAYS[(day.weekday() + 1) % 7]
    yield f"{other} for {date_words(day)}", "the year, or the date, is wrong"


def wrong_settings(job: Job, here: Zone, day: date) -> Iterator[tuple[str, Shown]]:
    """Settings people get wrong, with what the display then shows on a date."""
    site = job.compiled.site
    latitude, longitude = site.latitude_degrees, site.longitude_degrees
    east = "WEST" if longitude < 0 else "EAST"
    north = "SOUTH" if latitude < 0 else "NORTH"
    yield from _clock_faults(job, here, day)
    yield (
        f"longitude has the wrong sign: it must be {east}",
        shown_at(latitude, -longitude, here, day),
    )
    yield (
        f"latitude has the wrong sign: it must be {north}",
        shown_at(-latitude, longitude, here, day),
    )
    if abs(longitude) <= _STEEPEST_DEGREES and abs(latitude - longitude) > 1:
        yield "latitude and longitude are exchanged", shown_at(longitude, latitude, here, day)
    yield from _date_faults(job, here, day)


def _clock_faults(job: Job, here: Zone, day: date) -> Iterator[tuple[str, Shown]]:
    site = job.compiled.site
    shifts = {
        -HOUR: "the time zone is set an hour too far west",
        HOUR: "the time zone is set an hour too far east",
    }
    summer = summer_time(site.timezone, day)
    if summer.pairs:
        shift, name = summer.shift, "summer time is on and should not be"
        if _is_ahead(here, summer, day):
            shift, name = -summer.shift, "summer time is off"
        shifts[shift] = f"{name}, or {shifts[shift]}" if shift in shifts else name
    for shift, name in shifts.items():
        yield name, shown_at(site.latitude_degrees, site.longitude_degrees, here, day, shift)


def _date_faults(job: Job, here: Zone, day: date) -> Iterator[tuple[str, Shown]]:
    site = job.compiled.site
    place = site.latitude_degrees, site.longitude_degrees
    if day.day <= 12 and day.day != day.month:
        swapped = date(day.year, day.day, day.month)
        other = job.unit_zone(swapped - ONE_DAY, swapped + ONE_DAY)
        shown = shown_at(*place, other, swapped)
        # The unit shows the other date's times under this date's name, in that date's clock.
        yield (
            f"day and month are exchanged ({date_words(swapped)})",
            Shown(
                _moved(shown.sunrise, other, here, day),
                _moved(shown.sunset, other, here, day),
            ),
        )


def _moved(instant: Instant | NoEvent, other: Zone, here: Zone, day: date) -> Instant | NoEvent:
    """The instant on a date at which the clock reads as it does at an instant of another date."""
    if isinstance(instant, NoEvent):
        return instant
    shown = other.local(instant)
    return here.first_pass(day, shown.hour * HOUR + shown.minute * MINUTE + shown.second)


def _differs(right: Shown, shown: Shown) -> bool:
    for a, b in ((right.sunrise, shown.sunrise), (right.sunset, shown.sunset)):
        if isinstance(a, NoEvent) or isinstance(b, NoEvent):
            if type(a) is not type(b):
                return True
        elif abs(a - b - shown.shift) >= _VISIBLE_SECONDS:
            return True
    return False


def _words(here: Zone, instant: Instant | NoEvent, shift: int, hand: Hand) -> str:
    return "none" if isinstance(instant, NoEvent) else hand.time(here, instant + shift)
