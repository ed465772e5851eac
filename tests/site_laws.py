"""What holds for every site, whatever is asked of whatever controller."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from unittest.mock import patch

from schedcomp.answers.build import build_files
from schedcomp.audit_report import AuditReport
from schedcomp.controller import Controller
from schedcomp.dated import mark_years
from schedcomp.diag import Diagnostic, Severity, has_problem
from schedcomp.expand import expand
from schedcomp.findings import unit_problems
from schedcomp.fit.jobs import Unit
from schedcomp.model import MINUTE, Action, Half, Instant
from schedcomp.output.check import check_document
from schedcomp.output.table import table_rows
from schedcomp.phrases.tree import CalendarLine, DatesPhrase, SingleDate
from schedcomp.pipeline import compile as compile_site
from schedcomp.pipeline import plan, prove
from schedcomp.program import Event, Fitted
from schedcomp.records import Record, replace
from schedcomp.shortfall import with_shortfall
from schedcomp.site import DARK, DayType, Site
from schedcomp.target import ChannelTarget, Target, TargetSwitching
from schedcomp.transferfile import read_transfer
from schedcomp.transferlimits import contradictions
from schedcomp.unit_place import unit_clock, unit_sun_of
from schedcomp.unit_sun import UnitSun
from schedcomp.versions import versions
from schedcomp.world import World, read_world
from schedcomp.year import CircuitYear, Year
from tests import brute_force, judge
from tests.whole_sites import WholeSite

Stretch = tuple[Instant, Instant]

MOST_JUDGED_DAYS = 14


class Ran(Record, kw_only=True):
    """A whole site through the stages, up to the test run."""

    site: Site
    controller: Controller
    world: World
    year: Year
    sun: UnitSun
    fitted: Fitted
    target: Target
    audit: AuditReport | None

    @property
    def outcome(self) -> str:
        if self.fitted.program is not None:
            return "built"
        return "out of reach" if self.fitted.slots_needed is None else "too few slots"


class Refused(Record):
    """Not a word about the year: the files themselves have a problem."""

    codes: tuple[str, ...]

    @property
    def outcome(self) -> str:
        return "refused: " + ", ".join(self.codes)


def run(made: WholeSite) -> Ran | Refused:
    site, found = made.site()
    controller, more = made.controller()
    if site is None or controller is None:
        return _refused((*found, *more))
    world, found = read_world(site, made.period)
    found = (*found, *unit_problems(site, controller))
    if world is None or has_problem(found):
        return _refused(found)
    return fitted_to(site, controller, world, expand(site, world))


def fitted_to(site: Site, controller: Controller, world: World, year: Year) -> Ran:
    """The same year on any controller."""
    sun = unit_sun_of(site, controller, world)
    fitted, target = plan(site, controller, world, year, sun)
    if fitted.program is not None:
        fitted = replace(fitted, program=mark_years(fitted.program, year, site))
    return Ran(
        site=site,
        controller=controller,
        world=world,
        year=year,
        sun=sun,
        fitted=fitted,
        target=target,
        audit=prove(site, controller, fitted, target, sun),
    )


def _refused(found: Sequence[Diagnostic]) -> Refused:
    problems = [d for d in found if d.severity is Severity.PROBLEM]
    assert problems
    assert not [d for d in found if d.severity is Severity.FAULT]
    return Refused(tuple(sorted({d.code for d in problems})))


# Of one site


def check(ran: Ran) -> None:
    """Lit and dark add up; the test run is the year within the tolerance; what is claimed is so."""
    lit_and_dark_are_the_year(ran)
    fitted, audit = ran.fitted, ran.audit
    if fitted.program is None:
        assert audit is None
        refusal_is_told(ran)
        return
    assert audit is not None
    assert audit.agrees, (audit.overlaps, audit.interval_differences, audit.runs)
    the_run_is_the_year(ran, audit)
    certificate = fitted.certificate
    assert certificate is not None
    assert certificate.bound <= certificate.slots
    # Plans that have slots of their own stand in the certificate, but take none of these.
    assert fitted.slots_needed is not None
    assert fitted.slots_needed <= ran.controller.event_slots
    wished = ran.site.fit.tolerance_minutes
    assert wished is None or fitted.tolerance_minutes <= max(
        [wished, *(c.tolerance_minutes or 0 for c in ran.site.circuits)]
    )


def lit_and_dark_are_the_year(ran: Ran) -> None:
    year = ran.year
    for circuit in year.circuits:
        spans = [(s.start, s.end) for s in circuit.spans]
        assert all(a < b for a, b in spans)
        assert all(a[1] < b[0] for a, b in pairwise(spans))
        rows = [r for r in table_rows(year) if r.circuit == circuit.circuit]
        assert [r.action for r in rows] == [Action.ON, Action.OFF] * (len(rows) // 2)
        at = [r.instant for r in rows]
        lit = sum(b - a for a, b in zip(at[::2], at[1::2], strict=True))
        edges = [year.start, *at, year.end]
        dark = sum(b - a for a, b in zip(edges[::2], edges[1::2], strict=True))
        assert all(a <= b for a, b in pairwise(edges))
        assert lit + dark == year.end - year.start
        assert lit == sum(b - a for a, b in _inside(spans, year))


def the_run_is_the_year(ran: Ran, audit: AuditReport) -> None:
    """Exact run and exact year differ by the tolerance beside sun times and by what is listed."""
    for circuit, channel in zip(ran.year.circuits, ran.target.channels, strict=True):
        assert circuit.is_lit(ran.year.start) == channel.lit_at_start
        lamps = _lit_by_run(audit, channel, ran.year.end)
        spans = _inside([(s.start, s.end) for s in circuit.spans], ran.year)
        lighter, darker = _allowed(circuit, channel, ran.site.fit.favour)
        for start, end in differences(lamps, spans):
            free = lighter if circuit.span_at(start) is None else darker
            assert any(a <= start and end <= b for a, b in free), (circuit.circuit, start, end)


def _lit_by_run(audit: AuditReport, channel: ChannelTarget, end: Instant) -> list[Stretch]:
    flips = [instant for instant, _, _ in audit.exact_run.of_channel(channel.channel)]
    if channel.lit_at_start:
        flips.insert(0, channel.start)
    flips = [min(flip, end) for flip in flips]
    if len(flips) % 2:
        flips.append(end)
    return [(a, b) for a, b in zip(flips[::2], flips[1::2], strict=True) if a < b]


def _allowed(
    circuit: CircuitYear, channel: ChannelTarget, favour: str
) -> tuple[list[Stretch], list[Stretch]]:
    """Where lamps may be lit that the exact year has dark, and dark where it has them lit.

    What was changed before the fit only ever takes light away, but for the tolerance around it.
    """
    seconds = channel.tolerance_minutes * MINUTE
    lighter = [
        (c.start - seconds, c.end + seconds) for c in channel.changed if c.reason.bound.has_sun
    ]
    darker = [(c.start - seconds, c.end + seconds) for c in channel.changed]
    for switching in circuit.switchings():
        if switching.reason.bound.has_sun:
            at, is_on = switching.instant, switching.action is Action.ON
            if favour != "dark":
                lighter.append((at - seconds, at) if is_on else (at, at + seconds))
            if favour != "light":
                darker.append((at, at + seconds) if is_on else (at - seconds, at))
    return _merged(lighter), _merged(darker)


def _merged(stretches: Iterable[Stretch]) -> list[Stretch]:
    merged: list[Stretch] = []
    for start, end in sorted(stretches):
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], end))
        else:
            merged.append((start, end))
    return merged


def refusal_is_told(ran: Ran) -> None:
    """What does not fit says what it would take, or what nothing at all would do."""
    needed, out_of_reach = ran.fitted.slots_needed, ran.fitted.out_of_reach
    at_limit = ran.fitted.slots_at_limit
    assert at_limit is None or at_limit > ran.controller.event_slots
    if needed is None:
        assert out_of_reach
        assert all(switchings for _, switchings in out_of_reach)
    else:
        assert needed > ran.controller.event_slots


def _inside(spans: Iterable[Stretch], year: Year) -> list[Stretch]:
    cut = [(max(a, year.start), min(b, year.end)) for a, b in spans]
    return [(a, b) for a, b in cut if a < b]


def differences(one: Sequence[Stretch], other: Sequence[Stretch]) -> list[Stretch]:
    """The stretches in which just one of two lists of spans is lit."""
    flips = sorted(instant for spans in (one, other) for span in spans for instant in span)
    return [(a, b) for a, b in zip(flips[::2], flips[1::2], strict=True) if a < b]


def can_be_judged(ran: Ran) -> bool:
    """Whether the judge knows all that such a unit does; it takes no state of the past."""
    rule = ran.controller.exceptions
    return not rule.slots or "recalculates" not in (rule.start, rule.end)


def judged(ran: Ran) -> None:
    """By a judge that reads the program word by word: storable, and right whatever happens."""
    if ran.fitted.program is not None and can_be_judged(ran):
        found = judge.faults(ran.fitted.program, tiny_world(ran))
        assert not found, found


def the_refusal_is_right(ran: Ran) -> None:
    """With as many slots as it would take it fits; what is out of reach no single event could do.

    The latter where events stand for themselves: without special days and shared slots.
    """
    needed, controller = ran.fitted.slots_needed, ran.controller
    if ran.fitted.program is not None:
        return
    if needed is not None:
        enough = replace(controller, event_slots=needed)
        assert fitted_to(ran.site, enough, ran.world, ran.year).fitted.program is not None
        return
    alone = controller.event_covers, controller.slot_holds, controller.offsets
    if controller.exceptions.slots or alone != ("one channel", "one action", "per event"):
        return
    world = tiny_world(ran)
    lanes = {lane.channel.circuit: lane for lane in brute_force.lanes_of(world, world.channels)}
    for circuit, switchings in ran.fitted.out_of_reach:
        for switching in switchings:
            event = _event_for(switching, lanes[circuit], world)
            assert event is None, (circuit, switching, event)


def _event_for(
    switching: TargetSwitching, lane: brute_force.Lane, world: brute_force.World
) -> tuple[object, ...] | None:
    """An event on as few dates as can be that does a switching and is not surely wrong."""
    for start, occasions in world.starts.items():
        for occasion in occasions:
            in_band = switching.earliest <= occasion.first and occasion.last <= switching.latest
            if not (in_band and occasion.certain):
                continue
            for named in _smallest_sets(occasion.dates, world):
                done = brute_force.stretches(occasions, switching.action, named)
                inside = [s for s in done if lane.matters(s.first, s.last)]
                if not any(lane.is_wrong(s.action, s.first, s.last) for s in inside):
                    return start, world.days(named)
    return None


def _smallest_sets(dates: int, world: brute_force.World) -> Iterator[int]:
    """Named dates that hold all of `dates`: one for each set of weekdays allowed."""
    days, controller = world.days(dates), world.controller
    weekdays = frozenset(day.weekday() for day in days)
    ranged = world.dates if controller.date_ranges == "none" else days
    for allowed in controller.weekday_sets or (weekdays,):
        if weekdays <= allowed:
            yield world.bits([day for day in ranged if day.weekday() in allowed])


def tiny_world(ran: Ran) -> brute_force.World:
    """The same job for the search without any of the compiler's ideas."""
    return brute_force.World(
        controller=ran.controller,
        clock=unit_clock(ran.controller, ran.world),
        zone_name=ran.site.timezone,
        sun=ran.sun,
        channels=ran.target.channels,
    )


def what_is_written_can_be_read(ran: Ran) -> None:
    """The whole job comes to the same; its transfer file is one that its controller can hold."""
    compiled, found = compile_site(ran.site, ran.year.period, ran.controller)
    assert compiled is not None
    assert not [d for d in found if d.severity is Severity.FAULT]
    assert compiled.fitted == ran.fitted
    if compiled.fitted.program is None:
        compiled, found = with_shortfall(compiled)
        assert not [d for d in found if d.severity is Severity.FAULT]
    files = build_files(compiled, check_document(compiled, versions()))
    assert ("transfer.json" in files) == compiled.may_write_program
    if compiled.may_write_program:
        transfer, found = read_transfer(files["transfer.json"], "transfer.json")
        assert transfer is not None, found
        assert not contradictions(transfer), contradictions(transfer)
        assert ran.fitted.program is not None
        assert [replace(e, sources=()) for e in transfer.program.events] == [
            replace(e, sources=()) for e in ran.fitted.program.events
        ]


# Of two sites


def another_line_changes_only_what_it_names(ran: Ran, line: CalendarLine) -> None:
    """Where the lamps differ in the period, some window of a date the line names could be lit.

    Bridging and dropping look beyond a window, so they are left out. How far a year is known
    before its period is another matter: dark hours that hold for long make it reach further back.
    """
    site = ran.site
    first = replace(site.circuits[0], shortest_on_seconds=0, shortest_off_seconds=0)
    longer = replace(first, calendar=(*first.calendar, line))
    every = DayType(name="every", windows=tuple(w for t in site.day_types for w in t.windows))
    named = replace(first, keep_dark=(), calendar=(CalendarLine(line.dates, every.name),))
    alone = replace(site, one_offs=(), day_types=(every,))
    before, after, touched = (
        [(s.start, s.end) for s in expand(replace(of, circuits=(c,)), ran.world).circuits[0].spans]
        for of, c in ((site, first), (site, longer), (alone, named))
    )
    for start, end in differences(before, after):
        start, end = max(start, ran.year.start), min(end, ran.year.end)
        if start < end:
            assert any(a <= start and end <= b for a, b in touched), (start, end, line)


def a_bigger_budget_never_fits_worse(ran: Ran, more: int) -> None:
    bigger = replace(ran.controller, event_slots=ran.controller.event_slots + more)
    other = fitted_to(ran.site, bigger, ran.world, ran.year)
    check(other)
    if ran.fitted.program is None:
        return
    assert other.fitted.program is not None
    assert other.fitted.tolerance_minutes <= ran.fitted.tolerance_minutes
    if other.fitted.tolerance_minutes == ran.fitted.tolerance_minutes:
        mine, theirs = ran.fitted.certificate, other.fitted.certificate
        assert mine is not None
        assert theirs is not None
        assert theirs.bound <= mine.slots
        assert mine.bound <= theirs.slots
        if mine.proven and theirs.proven:
            assert mine.slots == theirs.slots


def a_larger_tolerance_never_takes_more(ran: Ran, more: int) -> None:
    """Of a site that gives its tolerance."""
    minutes = ran.site.fit.tolerance_minutes
    if minutes is None or any(c.tolerance_minutes is not None for c in ran.site.circuits):
        return
    wider = replace(ran.site.fit, tolerance_minutes=minutes + more)
    site = replace(ran.site, fit=wider)
    other = fitted_to(site, ran.controller, ran.world, ran.year)
    check(other)
    mine, theirs = ran.fitted, other.fitted
    if mine.slots_needed is not None:
        assert theirs.slots_needed is not None
    if mine.certificate is not None:
        assert theirs.certificate is not None
        assert theirs.certificate.bound <= mine.certificate.slots


def no_start_is_missed(ran: Ran) -> None:
    """The answer is that of a search among all starts that are of use."""
    with (
        patch.object(Unit, "jobs", lambda unit, target: iter([unit.widest_job(target)])),
        patch.object(Unit, "finishing", lambda _unit, job, answer, _target, **_: (job, answer)),
    ):
        other = fitted_to(ran.site, ran.controller, ran.world, ran.year)
    mine, theirs = ran.fitted, other.fitted
    if mine.certificate is None or theirs.certificate is None:
        assert (mine.slots_needed is None) == (theirs.slots_needed is None)
        return
    if mine.tolerance_minutes != theirs.tolerance_minutes:
        return
    assert mine.certificate.bound <= theirs.certificate.slots
    assert theirs.certificate.bound <= mine.certificate.slots
    if mine.certificate.proven and theirs.certificate.proven:
        assert mine.certificate.slots == theirs.certificate.slots
        for one, same in zip(
            mine.certificate.deviations, theirs.certificate.deviations, strict=True
        ):
            assert one.bound_seconds <= same.seconds
            assert same.bound_seconds <= one.seconds


def the_same_answer(ran: Ran, other: Ran | Refused) -> None:
    """Under other names, and in another order of circuits."""
    assert isinstance(other, Ran)
    for circuit in ran.year.circuits:
        same = other.year.circuit(circuit.circuit)
        assert [(s.start, s.end) for s in circuit.spans] == [(s.start, s.end) for s in same.spans]
    assert other.fitted.slots_needed == ran.fitted.slots_needed
    assert other.fitted.tolerance_minutes == ran.fitted.tolerance_minutes
    assert _stored(other) == _stored(ran)


def _stored(ran: Ran) -> object:
    program = ran.fitted.program
    if program is None:
        return None
    return [_bare(e) for e in program.events], program.special_days


def _bare(event: Event) -> Event:
    return replace(event, purpose="", sources=())


def read_again(made: WholeSite, ran: Ran) -> None:
    """What was written comes back: the trees of the phrases are those that were printed."""
    assert [t.name for t in ran.site.day_types] == [name for name, _ in made.day_types]
    assert [t.windows for t in ran.site.day_types] == [windows for _, windows in made.day_types]
    assert [c.calendar for c in ran.site.circuits] == [c.calendar for c in made.circuits]
    assert [c.keep_dark for c in ran.site.circuits] == [c.keep_dark for c in made.circuits]
    assert [(o.circuit, o.lit, o.stretch) for o in ran.site.one_offs] == list(made.one_offs)
    assert all(
        line.day_type in (DARK, *(t.name for t in ran.site.day_types))
        for c in ran.site.circuits
        for line in c.calendar
    )


def check_relations(made: WholeSite, ran: Ran) -> None:
    """Every law of two sites, by one change each."""
    read_again(made, ran)
    what_is_written_can_be_read(ran)
    for other in (made.with_types_renamed(), made.with_circuits_reversed()):
        the_same_answer(ran, run(other))
    line = made.circuits[0].calendar[-1]
    for dates in (SingleDate(made.period.last), line.dates.dates):
        for half in (None, Half.EVENING, Half.MORNING):
            added = CalendarLine(DatesPhrase(dates, half), made.day_types[-1][0])
            another_line_changes_only_what_it_names(ran, added)
            dark = CalendarLine(DatesPhrase(dates, half), DARK)
            another_line_changes_only_what_it_names(ran, dark)
    no_start_is_missed(ran)
    a_bigger_budget_never_fits_worse(ran, 3)
    a_larger_tolerance_never_takes_more(ran, 2)
    if len(made.period.dates()) <= MOST_JUDGED_DAYS:
        judged(ran)
        the_refusal_is_right(ran)
