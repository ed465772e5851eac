"""Why a program that was right in its own period goes wrong on a later date.

A unit knows a date by month, day and weekday. So a later date is held against the date of the
period that has the same month and day: what holds on it now, and what held on it then.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from schedcomp.clock import ClockChange, Zone
from schedcomp.dated import covers
from schedcomp.diag import SourceRange
from schedcomp.later_lines import Exact, Side, holding, line_at
from schedcomp.messages import renewing as words
from schedcomp.model import DAY, HOUR, MINUTE, ONE_DAY, Action, Half, Instant
from schedcomp.program import Event, EventDates, Program
from schedcomp.records import Record
from schedcomp.site import Circuit, Site
from schedcomp.words import date_words
from schedcomp.year import Reason

_SAME_WISH_SECONDS = HOUR
"""By this much a sun time may move on one calendar date from year to year, near the poles."""


class Cause(Record):
    """Why, in words; the line of the site file behind it, "" and None where there is none."""

    text: str
    line: str = ""
    at: SourceRange | None = None


class Happened(Record):
    """What went wrong: when, by which stored event, and the wish that was not met.

    `event` is None where none acted, `reason` where nothing was asked for.
    """

    instant: Instant
    action: Action
    event: Event | None
    reason: Reason | None


class _Question(Record):
    """All that a cause is looked for in: what happened, after which dates, in which."""

    site: Site
    circuit: Circuit
    program: Program
    happened: Happened
    before: Exact
    after: Exact

    @property
    def day(self) -> date:
        return self.after.world.zone.local_date(self.happened.instant)

    def by(self, text: str) -> Cause:
        """A cause that no line is to blame for: the line of the wish stands with it."""
        reason = self.happened.reason
        return self.by_event(text) if reason is None else Cause(text, reason.line, reason.at)

    def by_event(self, text: str) -> Cause:
        """A cause with the first line that the event serves."""
        event = self.happened.event
        at = None if event is None else next(iter(event.sources), None)
        return Cause(text, line_at(self.site, at), at)

    def then(self, day: date) -> Iterator[Side]:
        """The dates of the period that a unit takes for a later date, at the same clock time."""
        zone, old = self.after.world.zone, self.before.world.zone
        shown = zone.local(self.happened.instant)
        seconds = shown.hour * HOUR + shown.minute * MINUTE + shown.second
        for earlier in self.before.year.period.dates():
            if (earlier.month, earlier.day) == (day.month, day.day):
                instant = old.first_pass(earlier + (shown.date() - day), seconds)
                yield Side(self.before, earlier, instant)


def cause_of(
    site: Site,
    circuit: Circuit,
    program: Program,
    happened: Happened,
    before: Exact,
    after: Exact,
) -> Cause:
    """The likeliest cause of something that goes wrong after the period of `before`."""
    question = _Question(site, circuit, program, happened, before, after)
    return next(_causes(question))


def _causes(question: _Question) -> Iterator[Cause]:
    """The likeliest first; there is always one."""
    yield from _made_for_one_year(question)
    yield from _dates_end(question)
    yield from _never_tested(question)
    differing = list(_differing(question))
    yield from (cause for cause, moves in differing if moves)
    yield from _clock_change(question)
    yield from _sun_moved(question)
    if not differing:
        yield from _sun_decides(question)
    yield from (cause for cause, _ in differing)
    yield question.by(words.CAUSE_UNKNOWN.format(day=date_words(question.day)))


def _made_for_one_year(question: _Question) -> Iterator[Cause]:
    """An event or special days of dated lines that act in a year they were not made for."""
    event, day = question.happened.event, question.day
    if event is not None and event.only_year not in (None, day.year):
        text = words.MADE_FOR_ONE_YEAR.format(slot=event.slot, year=event.only_year)
        yield question.by_event(text)
    for days in question.program.special_days:
        acts = covers(days.dates, day) or covers(days.dates, day - ONE_DAY)
        if (
            acts
            and question.circuit.channel in days.channels
            and days.only_year not in (None, day.year)
        ):
            text = words.SPECIAL_FOR_ONE_YEAR.format(slot=days.slot, year=days.only_year)
            yield question.by(text)


def _dates_end(question: _Question) -> Iterator[Cause]:
    """Nothing acts, and the stored dates carry their year and lie in the past."""
    if question.happened.event is not None:
        return
    stored = [event.dates for event in question.program.events if event.dates is not None]
    ends = [_end_of(dates) for dates in stored if dates.years is not None]
    if ends and max(ends) < question.day:
        yield question.by(words.DATES_END.format(last=date_words(max(ends))))


def _end_of(dates: EventDates) -> date:
    assert dates.years is not None
    return date(dates.years[1], *dates.last)


def _never_tested(question: _Question) -> Iterator[Cause]:
    period = question.before.year.period
    if any(any(question.then(day)) for day, _ in _halves(question)):
        return
    yield question.by(
        words.NEVER_TESTED.format(
            day=date_words(question.day),
            first=date_words(period.first),
            last=date_words(period.last),
        )
    )


def _halves(question: _Question) -> list[tuple[date, Half]]:
    """The dates, with their half, whose lines could be to blame, the likeliest first."""
    reason, after = question.happened.reason, question.after
    if reason is not None:
        asking = {n for n, ln in enumerate(question.circuit.calendar) if ln.at == reason.at}
        decided = after.year.circuit(question.circuit.name).decided
        own = [d.half for d in decided if d.day == reason.date and d.line in asking]
        return [(reason.date, half) for half in own or Half]
    shown = after.world.zone.local(question.happened.instant)
    day = shown.date()
    if shown.hour < 12:
        return [(day, Half.MORNING), (day - ONE_DAY, Half.EVENING)]
    return [(day, Half.EVENING), (day, Half.MORNING)]


def _differing(question: _Question) -> Iterator[tuple[Cause, bool]]:
    """Lines that hold on one of two dates only, and whether their dates move."""
    site, circuit = question.site, question.circuit
    for day, half in _halves(question):
        here = Side(question.after, day, question.happened.instant)
        for there in question.then(day):
            now = holding(site, circuit, here, half)
            then = holding(site, circuit, there, half)
            dates = {"later": date_words(day), "earlier": date_words(there.day)}
            for template, mine, other in (
                (words.HOLDS_NOW, now, then),
                (words.HELD_THEN, then, now),
            ):
                known = {(line.kind, line.number) for line in other}
                for line in mine:
                    if (line.kind, line.number) not in known:
                        text = template.format(line=line.line, **dates)
                        yield Cause(text, line.line, line.at), line.moves


def _clock_change(question: _Question) -> Iterator[Cause]:
    """The clock is ahead on one of the two dates only: it changes on other dates."""
    instant = question.happened.instant
    zone, old = question.after.world.zone, question.before.world.zone
    for there in question.then(question.day):
        now, then = _nearest(zone, instant), _nearest(old, there.instant)
        if zone.offset(instant) == old.offset(there.instant) or now is None or then is None:
            continue
        yield question.by(
            words.CLOCK_CHANGE_MOVED.format(
                later=date_words(zone.local_date(now.instant)),
                earlier=date_words(old.local_date(then.instant)),
            )
        )


def _nearest(zone: Zone, instant: Instant) -> ClockChange | None:
    return min(zone.changes(), key=lambda c: abs(c.instant - instant), default=None)


def _sun_moved(question: _Question) -> Iterator[Cause]:
    """The same wish on the same date of the year, some seconds or minutes away."""
    reason, name = question.happened.reason, question.circuit.name
    if reason is None or not reason.bound.has_sun:
        return
    later = reason.bound.moved(0)
    for there in question.then(reason.date):
        for then in question.before.year.circuit(name).switchings():
            if then.reason.date != there.day or then.reason.phrase != reason.phrase:
                continue
            moved = _moved(question, then.instant, later)
            if 0 < abs(moved) <= _SAME_WISH_SECONDS:
                text = words.SUN_MOVED.format(
                    phrase=reason.phrase,
                    length=_length(abs(moved)),
                    way="later" if moved > 0 else "earlier",
                    later=date_words(reason.date),
                    earlier=date_words(there.day),
                )
                yield question.by(text)


def _moved(question: _Question, then: Instant, later: Instant) -> int:
    """Seconds by which the clock shows more at the later instant, half a day at most."""
    zone, old = question.after.world.zone, question.before.world.zone
    shown = (later + zone.offset(later)) - (then + old.offset(then))
    return (shown + DAY // 2) % DAY - DAY // 2


def _sun_decides(question: _Question) -> Iterator[Cause]:
    """At the same clock time the lamps were lit then and are dark now, or the other way round."""
    instant, name = question.happened.instant, question.circuit.name
    here = question.after.year.circuit(name).span_at(instant + MINUTE)
    for there in question.then(question.day):
        then = question.before.year.circuit(name).span_at(there.instant + MINUTE)
        span = here or then
        if span is None or (here is None) == (then is None):
            continue
        if span.start_reason.bound.has_sun or span.end_reason.bound.has_sun:
            text = words.SUN_DECIDES.format(
                line=span.start_reason.line,
                lit=date_words(question.day if here else there.day),
                dark=date_words(there.day if here else question.day),
            )
            yield Cause(text, span.start_reason.line, span.start_reason.at)


def keyed_changes_wrong_from(zone: Zone, last: date) -> date | None:
    """The first date after `last` on which clock changes keyed as dates differ from the zone's.

    Keyed are the month and day of each change in the year up to `last`. None: they never differ
    in the years `zone` was made for, or there is none.
    """
    dates = [zone.local_date(change.instant) for change in zone.changes()]
    keyed = [(d.month, d.day) for d in dates if 0 <= (last - d).days < 366]
    asked = zone.asked[1] if zone.asked else zone.starts[-1]
    for year in range(last.year, zone.local_date(asked).year + 1):
        real = {d for d in dates if d.year == year and d > last}
        stored = {date(year, *md) for md in keyed if md != (2, 29)}
        wrong = {d for d in stored if d > last} ^ real
        if wrong:
            return min(wrong)
    return None


def _length(seconds: int) -> str:
    return f"{seconds} s" if seconds < 2 * MINUTE else f"{seconds // MINUTE} min"
