"""Every night of the period as a compact record, to be read on the picture."""

from __future__ import annotations

import json
from bisect import bisect_left
from collections.abc import Mapping
from datetime import date
from operator import attrgetter

from schedcomp.clock import ClockChange
from schedcomp.controller import SUNRISE_LEVEL_DEGREES
from schedcomp.model import HOUR, ONE_DAY, Half, Instant, NoEvent
from schedcomp.records import Record
from schedcomp.report.night import holiday_names
from schedcomp.report.words import reason_words
from schedcomp.sheet.blocks import clean
from schedcomp.sheet.lit import night_spans
from schedcomp.sheet.making import Job
from schedcomp.sheet.nearness import nearness_words
from schedcomp.told_time import clock_change_words, clock_words
from schedcomp.words import date_words
from schedcomp.world import World
from schedcomp.year import CircuitYear, Switching

_instant = attrgetter("instant")


def nights_json(job: Job) -> str:
    """`{"circuits", "note", "texts", "nights"}`: a night is date, title, facts, and rows.

    A row is (circuit, "on" or "off" or "lit", time, reason); circuits and texts by their places.
    """
    compiled = job.compiled
    texts: dict[str, int] = {}
    days = compiled.year.period.dates(before=1)
    switchings = {c.circuit: c.switchings() for c in compiled.year.circuits}
    told = _Told.of(compiled.world)
    nights = [_night(job, day, switchings, told, texts) for day in days]
    record = {
        "circuits": [clean(c.circuit) for c in compiled.year.circuits],
        "note": nearness_words(compiled),
        "texts": list(texts),
        "nights": nights,
    }
    return json.dumps(record, ensure_ascii=False, separators=(",", ":"))


class _Told(Record):
    """What is told of some nights: clock changes, and the holidays of each date that has some."""

    changes: tuple[ClockChange, ...]
    holidays: Mapping[date, tuple[str, ...]]

    @classmethod
    def of(cls, world: World) -> _Told:
        days = {holiday.day for holiday in world.holidays.holidays}
        return cls(world.zone.changes(), {day: holiday_names(world, day) for day in days})


def _night(
    job: Job,
    day: date,
    switchings: dict[str, list[Switching]],
    told: _Told,
    texts: dict[str, int],
) -> list[object]:
    zone = job.compiled.world.zone
    start, end = (zone.first_pass(d, 12 * HOUR) for d in (day, day + ONE_DAY))
    rows: list[list[object]] = []
    for number, circuit in enumerate(job.compiled.year.circuits):
        rows += _rows(job, number, circuit, (start, end), switchings[circuit.circuit], texts)
    title = f"{date_words(day)}, evening, to {date_words(day + ONE_DAY, year=False)}, noon"
    return [day.isoformat(), title, _sun(job, told, day, start, end), rows]


def _rows(
    job: Job,
    number: int,
    circuit: CircuitYear,
    night: tuple[Instant, Instant],
    switchings: list[Switching],
    texts: dict[str, int],
) -> list[list[object]]:
    zone, hand = job.compiled.world.zone, job.hand
    rows: list[list[object]] = []
    spans = night_spans(circuit, zone, zone.local_date(night[0]))
    if not spans:
        return [[number, "dark", "", _place(texts, "dark all night")]]
    if spans[0].start < night[0]:
        since = hand.moment(zone, spans[0].start, year=True)
        rows.append([number, "lit", "", _place(texts, f"lit since {since}")])
    first = bisect_left(switchings, night[0], key=_instant)
    for switching in switchings[first:]:
        if switching.instant >= night[1]:
            break
        shown = hand.time(zone, switching.instant)
        why = reason_words(zone, switching.reason, clock_words(zone, switching.instant))
        why = clean(hand.phrase(why))
        rows.append([number, switching.action.value, shown, _place(texts, why)])
    return rows


def _sun(job: Job, told: _Told, day: date, start: Instant, end: Instant) -> str:
    world = job.compiled.world
    parts = []
    for name, when, half in (
        ("sunset", day, Half.EVENING),
        ("sunrise", day + ONE_DAY, Half.MORNING),
    ):
        found = world.sun.crossing(when, half, SUNRISE_LEVEL_DEGREES)
        if isinstance(found, NoEvent):
            parts.append(f"no {name}: {found.reason.value}")
        else:
            parts.append(f"{name} {job.hand.time(world.zone, found)}")
    for when in (day, day + ONE_DAY):
        parts += [f"{date_words(when, year=False)} is {n}" for n in told.holidays.get(when, ())]
    changes = [c for c in told.changes if start <= c.instant < end]
    parts += [
        f"clock change: {job.hand.phrase(clock_change_words(world.zone, c))}" for c in changes
    ]
    return clean("; ".join(parts))


def _place(texts: dict[str, int], text: str) -> int:
    return texts.setdefault(text, len(texts))
