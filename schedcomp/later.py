"""How long a program, left alone, still does what the wishes say.

All the dates after the period are first looked at together, in columns, for the first one that is
not surely right. Around it the unit's own test run is made, against the exact year of those dates;
it says what goes wrong, or that nothing does.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from schedcomp import clock
from schedcomp.audit import first_doubt, run_program
from schedcomp.audit_report import AuditReport, Difference
from schedcomp.controller import Controller
from schedcomp.days import dates_of, names_single_dates
from schedcomp.diag import Severity, SourceRange
from schedcomp.expand import expand
from schedcomp.later_causes import Cause, Happened, cause_of, keyed_changes_wrong_from
from schedcomp.later_lines import Exact
from schedcomp.messages import renewing as words
from schedcomp.model import DAY, FIRST_YEAR, HOUR, LAST_YEAR, ONE_DAY, Action, Instant, Period
from schedcomp.ordinance.load import load_ordinances
from schedcomp.ordinance.model import Ordinance
from schedcomp.ordinance.rules import rules_of, with_duties
from schedcomp.phrases.tree import Dates
from schedcomp.program import Event, Program
from schedcomp.records import Record, replace
from schedcomp.site import Circuit, Site
from schedcomp.target import Target, make_target
from schedcomp.target_columns import wanted_columns
from schedcomp.unit_place import unit_clock, unit_sun_of
from schedcomp.world import World, read_world
from schedcomp.year import Year

YEARS_AHEAD = 10
FIRST_LOOK_DAYS = 92
"""Most programs go wrong soon, so the first look is a short one."""
OVERLAP_DAYS = 2
"""A switching near midnight may be done on the other side of it; it is judged where it belongs."""
DAYS_BEFORE, DAYS_AFTER, SWITCHINGS_AFTER = 4, 40, 6
"""What is looked at around the first date that is not surely right."""
_EITHER_ORDER = "either order"


class FirstWrong(Record, kw_only=True):
    """The first thing that goes wrong; `what` follows "the lamps of CIRCUIT".

    `expected` and `happened` are None where there is none. `slot` is the stored event that acts,
    None where none does. `cause` says why this date differs from those of the period; `line` is
    the line of the site file behind it, "" where there is none, and `at` its place. Where the
    whole unit is wrong, `circuit` is "" and `channel` 0.
    """

    day: date
    circuit: str
    channel: int
    what: str
    expected: Instant | None
    happened: Instant | None
    cause: str
    line: str = ""
    at: SourceRange | None = None
    slot: int | None = None


class GoodUntil(Record, kw_only=True):
    """`last` is the last date on which all is right; nothing later than `looked_through` was
    looked at. With `wrong` None the program was right on every date looked at.

    `estimated`: holidays that are still to be announced were among those dates. `halted`, ""
    if nothing, is the finding that kept from looking `YEARS_AHEAD` years ahead.
    """

    last: date
    looked_through: date
    wrong: FirstWrong | None
    estimated: bool = False
    halted: str = ""


class Case(Record):
    """A program in a controller at a site, and how far it may be from the exact year.

    Where a clause of `ordinances` is met by the exact year, the program must meet it, too.
    """

    site: Site
    controller: Controller
    program: Program
    tolerance_minutes: int
    ordinances: tuple[Ordinance, ...] = ()
    lengths_kept: bool = False


class Wrong(Record):
    """A disagreement of the test run. `sure`: it also happens with exact sun times."""

    instant: Instant
    difference: Difference
    sure: bool


class Looked(Record):
    """The exact year of some dates, and what the test run found wrong on them, in order."""

    exact: Exact
    target: Target
    report: AuditReport
    wrongs: tuple[Wrong, ...]


def good_until(
    site: Site,
    controller: Controller,
    program: Program,
    world: World,
    year: Year,
    tolerance_minutes: int,
) -> GoodUntil:
    """Look at the dates after the period of `world` and `year` until the first wrong one.

    At most `YEARS_AHEAD` years, and not beyond the last year for which the sun is known. The
    program must be right in the period itself.
    """
    ordinances, _ = load_ordinances(site)
    case = Case(site, controller, program, tolerance_minutes, ordinances or (), year.lengths_kept)
    proven = Exact(world, year)
    last, estimated, halted = world.period.last, False, ""
    wrong = None
    soon = any(event.dates for event in program.events) or _wishes_move(site, world)
    for parts, later, problem in _worlds(site, world.period, soon=soon):
        if later is None:
            halted = problem
            break
        wrong = _first_wrong(case, proven, later, parts)
        last = parts[-1].last
        if wrong is not None:
            last = next(part.last for part in parts if wrong.day in part)
        checked = Period(parts[0].first, wrong.day if wrong else last)
        estimated = estimated or any(h.estimated for h in later.holidays.within(checked))
        if wrong:
            break
    wrong = _sooner(wrong, _keyed_changes(case, world, last))
    return GoodUntil(
        last=last if wrong is None else max(world.period.last, wrong.day - ONE_DAY),
        looked_through=last,
        wrong=wrong,
        estimated=estimated,
        halted=halted,
    )


def _first_wrong(
    case: Case, proven: Exact, world: World, parts: Sequence[Period]
) -> FirstWrong | None:
    """The first thing that goes wrong on some dates in a row, None if nothing does."""
    not_before = proven.world.period.first
    first, through = parts[0].first, parts[-1].last
    while first <= through:
        near = _doubtful(case, world, Period(first, through), parts, not_before)
        if near is None:
            return None
        looked = look(case, world, near, not_before)
        if looked.wrongs:
            return _told(case, proven, looked, looked.wrongs[0])
        first = near.last + ONE_DAY
    return None


def _doubtful(
    case: Case, world: World, dates: Period, parts: Sequence[Period], not_before: date
) -> Period | None:
    """Dates of which those before them are right; None where all are.

    So many that what is wrong on the first of them is told as if all dates were looked at.
    """
    if case.ordinances:
        return Period(dates.first, next(p.last for p in parts if dates.first in p))
    here = replace(world, period=widened(dates, not_before))
    sun = unit_sun_of(case.site, case.controller, here)
    clock_here = unit_clock(case.controller, here)
    asked = wanted_columns(
        case.site, case.controller, here, clock_here, sun, case.tolerance_minutes
    )
    start = world.zone.first_pass(here.period.first, 0)
    end = world.zone.first_pass(here.period.last + ONE_DAY, 0)
    wanted = [one.wanted for one in asked]
    doubts = [one.told_until - DAY for one in asked if one.told_until is not None]
    found = first_doubt(
        case.program, case.controller, wanted, (start, end), sun, case.site.timezone
    )
    doubt = min(doubts if found is None else [*doubts, found], default=end)
    day = world.zone.local_date(doubt)
    if day > dates.last:
        return None
    first = max(dates.first, day - timedelta(days=DAYS_BEFORE))
    enough = [doubt + DAYS_AFTER * DAY]
    for one in wanted:
        enough += one.instants[one.instants > doubt][:SWITCHINGS_AFTER].tolist()[-1:]
    last = world.zone.local_date(min(max(enough), end))
    return Period(first, min(last, next(p.last for p in parts if max(first, day) in p)))


def look(case: Case, world: World, part: Period, not_before: date) -> Looked:
    """The test run of some dates. `world` must reach `OVERLAP_DAYS` further on both sides.

    No date before `not_before` takes part: before it nothing is known of the lamps.
    """
    wide = widened(part, not_before)
    here = replace(world, period=wide)
    year = expand(case.site, here)
    rules, _ = rules_of(case.ordinances, case.site, here)
    if rules is not None:
        year = with_duties(year, rules, lengths=case.lengths_kept)
    sun = unit_sun_of(case.site, case.controller, here)
    clock_here = unit_clock(case.controller, here)
    target = make_target(case.site, year, case.controller, clock_here, sun, case.tolerance_minutes)
    report = run_program(case.program, case.controller, target, sun, case.site.timezone)
    start = world.zone.first_pass(part.first, 0)
    end = world.zone.first_pass(part.last + ONE_DAY, 0)
    wrongs = sorted(
        (w for w in wrongs_of(report) if start <= w.instant < end),
        key=lambda w: (w.instant, not w.sure),
    )
    return Looked(Exact(here, year), target, report, tuple(wrongs))


def widened(part: Period, not_before: date) -> Period:
    """Some dates with the overlap on both sides, as far as the sun is known."""
    overlap = timedelta(days=OVERLAP_DAYS)
    first = max(part.first - overlap, min(not_before, part.first), date(FIRST_YEAR, 1, 1))
    return Period(first, min(part.last + overlap, date(LAST_YEAR, 12, 31)))


def _wishes_move(site: Site, world: World) -> bool:
    """Whether lines for single dates name others in the year after, or single nights are wished."""
    lines = [line.dates.dates for circuit in site.circuits for line in circuit.calendar]
    lines += [line.dates.dates for line in (site.hours.lines if site.hours else ())]
    period = world.period
    years = period.dates(), Period(period.last + ONE_DAY, _years_after(period.last, 1)).dates()
    return bool(site.one_offs) or any(
        len({frozenset(_month_days(dates, days, world)) for days in years}) > 1
        for dates in lines
        if names_single_dates(dates)
    )


def _month_days(dates: Dates, days: Sequence[date], world: World) -> Iterator[tuple[int, int]]:
    return ((day.month, day.day) for day in dates_of(dates, days, world.holidays))


def _worlds(
    site: Site, period: Period, *, soon: bool
) -> Iterator[tuple[tuple[Period, ...], World | None, str]]:
    """The dates after a period in parts with their facts, or why these cannot be read.

    Facts are read for several parts at once: for all of them, or, where something is likely to go
    wrong `soon`, first for those of the next year.
    """
    parts = tuple(_parts(period.last))
    for block in (parts[:2], parts[2:]) if soon else (parts,):
        if not block:
            return
        shared, _ = _world(site, Period(block[0].first, block[-1].last), period.first)
        if shared is not None:
            yield block, shared, ""
            continue
        for part in block:
            yield ((part,), *_world(site, part, period.first))


def _world(site: Site, part: Period, not_before: date) -> tuple[World | None, str]:
    world, findings = read_world(site, widened(part, not_before))
    problems = [f.title for f in findings if f.severity is Severity.PROBLEM]
    return world, problems[0] if world is None and problems else ""


def _parts(last: date) -> list[Period]:
    """Some weeks, the rest of that year, then year by year."""
    end = _years_after(last, YEARS_AHEAD)
    parts = []
    first = last + ONE_DAY
    through = last + timedelta(days=FIRST_LOOK_DAYS)
    while first <= end:
        parts.append(Period(first, min(through, end)))
        first = through + ONE_DAY
        through = date(first.year, 12, 31)
    return parts


def _years_after(day: date, years: int) -> date:
    year = min(day.year + years, LAST_YEAR)
    if year < day.year + years:
        return date(year, 12, 31)
    return date(year, 2, 28) if (day.month, day.day) == (2, 29) else day.replace(year=year)


def wrongs_of(report: AuditReport) -> Iterator[Wrong]:
    """Every disagreement of a test run, in no order."""
    for run in report.runs:
        sure = run is report.exact_run
        yield from (_wrong(difference, sure) for difference in run.differences)
    yield from (_wrong(difference, sure=False) for difference in report.interval_differences)
    for overlap in report.overlaps:
        met = Difference(_EITHER_ORDER, overlap.channel, Action.ON, None, overlap.start)
        yield _wrong(met, sure=True)


def _wrong(difference: Difference, sure: bool) -> Wrong:
    instants = [t for t in (difference.expected, difference.happened) if t is not None]
    return Wrong(min(instants), difference, sure)


def _slot(report: AuditReport, difference: Difference) -> int | None:
    """The slot of the firing that is meant, or of the nearest one of its action."""
    if difference.kind == _EITHER_ORDER:
        met = (o for o in report.overlaps if o.channel == difference.channel)
        return next((o.second_slot for o in met if o.start == difference.happened), None)
    if difference.happened is None:
        return None
    near = [
        (abs(instant - difference.happened), slot)
        for run in report.runs
        for instant, action, slot in run.of_channel(difference.channel)
        if action is difference.action and abs(instant - difference.happened) <= HOUR
    ]
    return min(near)[1] if near else None


def _told(case: Case, proven: Exact, looked: Looked, wrong: Wrong) -> FirstWrong:
    """The first thing that goes wrong, in words and with its cause."""
    difference = wrong.difference
    circuit = _circuit(case.site, difference.channel)
    slot = _slot(looked.report, difference)
    event = _event(case.program, slot, difference.channel)
    channel = next((c for c in looked.target.channels if c.channel == difference.channel), None)
    reason = next(
        (
            s.reason
            for s in (channel.switchings if channel else ())
            if s.instant == difference.expected and s.action is difference.action
        ),
        None,
    )
    happened = Happened(wrong.instant, difference.action, event, reason)
    cause = Cause(words.CHANNEL_UNUSED)
    if circuit in case.site.circuits:
        cause = cause_of(case.site, circuit, case.program, happened, proven, looked.exact)
    return FirstWrong(
        day=looked.exact.world.zone.local_date(wrong.instant),
        circuit=circuit.name,
        channel=difference.channel,
        what=what_words(wrong),
        expected=difference.expected,
        happened=difference.happened,
        cause=cause.text,
        line=cause.line,
        at=cause.at,
        slot=slot,
    )


def what_words(wrong: Wrong) -> str:
    """What the lamps do; it follows "the lamps of CIRCUIT"."""
    kind = wrong.difference.kind
    if kind == _EITHER_ORDER:
        return words.EITHER_ORDER
    told = (words.WRONG_ON if wrong.difference.action is Action.ON else words.WRONG_OFF)[kind]
    return told if wrong.sure else words.NOT_SURE.format(what=told)


def _circuit(site: Site, channel: int) -> Circuit:
    """The circuit of a channel; one without wishes for a channel that the site does not name."""
    named = next((c for c in site.circuits if c.channel == channel), None)
    return named or Circuit(name=f"channel {channel}", channel=channel)


def _event(program: Program, slot: int | None, channel: int) -> Event | None:
    return next((e for e in program.events if e.slot == slot and channel in e.channels), None)


def _keyed_changes(case: Case, world: World, last: date) -> FirstWrong | None:
    """Where a unit keeps clock changes as dates: the first that is another one."""
    if case.controller.summer_time != "dates":
        return None
    zone = clock.zone(world.zone.name, world.period.first, last)
    day = keyed_changes_wrong_from(zone, world.period.last)
    if day is None or day > last:
        return None
    return FirstWrong(
        day=day,
        circuit="",
        channel=0,
        what=words.HOUR_WRONG,
        expected=None,
        happened=None,
        cause=words.CLOCK_CHANGES_KEYED.format(year=day.year),
    )


def _sooner(one: FirstWrong | None, other: FirstWrong | None) -> FirstWrong | None:
    both = [wrong for wrong in (one, other) if wrong is not None]
    return min(both, key=lambda wrong: wrong.day, default=None)
