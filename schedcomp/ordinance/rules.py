"""All rules of a site judged: on the exact year, on the test run, against each other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from functools import cache, partial

from schedcomp.audit_report import Run
from schedcomp.controller import Controller
from schedcomp.diag import Diagnostic
from schedcomp.model import HOUR, MINUTE, ONE_DAY
from schedcomp.ordinance.asks import Duty, StateForm, duty_of, nights_touched, wrong_for
from schedcomp.ordinance.bands import dark_stretches, kept_duties, override_seconds
from schedcomp.ordinance.capability import judge_capability, of_controller
from schedcomp.ordinance.clauses import Clause, bind
from schedcomp.ordinance.conflicts import conflicts_of
from schedcomp.ordinance.intervals import Interval, common, moved
from schedcomp.ordinance.judge import Judging, judge, meets
from schedcomp.ordinance.lamps import (
    WITH_PHOTOCELL,
    Counted,
    Lamps,
    PhotocellSky,
    lamps_of_run,
    lamps_of_year,
)
from schedcomp.ordinance.model import Accepted, Capability, Ordinance
from schedcomp.ordinance.people import people_findings
from schedcomp.ordinance.verdict import ClauseVerdict, Drifted, PeopleFinding, RuleReport, Status
from schedcomp.records import Record, replace
from schedcomp.site import Site
from schedcomp.words import join_and
from schedcomp.world import World
from schedcomp.year import Year

Findings = tuple[Diagnostic, ...]


class Rules(Record):
    """The clauses of a site with their duties, ready to judge lamps."""

    ordinances: tuple[Ordinance, ...]
    clauses: tuple[Clause, ...]
    duties: tuple[Duty, ...]


def rules_of(
    ordinances: tuple[Ordinance, ...], site: Site, world: World
) -> tuple[Rules | None, Findings]:
    """The rules bound to a site and period; None while a clause cannot be meant for it."""
    clauses, found = bind(ordinances, site, world)
    if clauses is None:
        return None, found
    return Rules(ordinances, clauses, tuple(duty_of(clause) for clause in clauses)), found


def asked_of_controller(rules: Rules) -> tuple[tuple[str, Capability], ...]:
    """The clauses on the controller that some circuit comes under, with their labels."""
    return tuple(
        (clause.requirement.clause, clause.form)
        for clause in rules.clauses
        if clause.circuits and isinstance(clause.form, Capability) and of_controller(clause.form)
    )


def lacking(rules: Rules, controller: Controller) -> tuple[str, ...]:
    """What clauses ask for and this controller lacks: `clause 4.2: UNIT knows no sun times`."""
    able = [
        (label, judge_capability(form, (), controller))
        for label, form in asked_of_controller(rules)
    ]
    return tuple(f"clause {label}: {a.why}" for label, a in able if a.status is Status.FAIL)


def judge_rules(
    rules: Rules,
    site: Site,
    world: World,
    year: Year,
    controller: Controller | None,
    runs: Sequence[Run],
    accepted: tuple[Accepted, ...] = (),
    run_over: Interval | None = None,
) -> RuleReport:
    """Every verdict on the exact year and, where there are any, on runs of the program.

    The first run has exact sun times, the others those of the unit, early and late: the bands of
    a program made for the year end where most rules begin, but not where several circuits
    together, or a night in all, are over a limit. `run_over` is the time that was run, None: the
    period.
    """
    sky = PhotocellSky(world.sun, (site.dusk, site.dawn))
    whole = judging_range(world)

    @cache
    def exact(counted: Counted) -> Lamps:
        return lamps_of_year(site.circuits, year, sky, whole, counted)

    of_year = _verdicts(rules, controller, exact)
    of_run: tuple[ClauseVerdict, ...] = ()
    if runs:
        whole = run_over or (year.start, year.end)
        of_run = _run_verdicts(rules, site, world, controller, runs, whole)
    return _report(rules, site, world, exact, (of_year, of_run), accepted)


def judge_program(
    rules: Rules,
    site: Site,
    world: World,
    controller: Controller,
    runs: Sequence[Run],
    accepted: tuple[Accepted, ...] = (),
) -> RuleReport:
    """Every verdict on a program played by itself, where there are no wishes to judge."""
    sky = PhotocellSky(world.sun, (site.dusk, site.dawn))
    whole = replay_range(world)
    lamps = partial(lamps_of_run, site.circuits, runs, sky, whole)
    of_run = _run_verdicts(rules, site, world, controller, runs, whole)
    return _report(rules, site, world, lamps, ((), of_run), accepted)


def _report(
    rules: Rules,
    site: Site,
    world: World,
    lamps: Callable[[Counted], Lamps],
    verdicts: tuple[tuple[ClauseVerdict, ...], tuple[ClauseVerdict, ...]],
    accepted: tuple[Accepted, ...],
) -> RuleReport:
    """The verdicts with what else there is to say; `lamps` are those that people meet."""
    of_year, of_run = verdicts
    people: tuple[PeopleFinding, ...] = ()
    if world.hours is not None:
        people = people_findings(site, world, lamps(Counted()), rules.clauses, rules.duties)
    return RuleReport(
        titles=tuple(o.title for o in rules.ordinances),
        year=of_year,
        run=of_run,
        conflicts=conflicts_of(rules.clauses, rules.duties),
        people=people,
        people_checked=world.hours is not None,
        nights=len(world.period.dates()),
        without_clause=_without_clause(rules, world),
        accepted=tuple((a.clause, a.because) for a in accepted),
        unconfirmed=tuple(o.title for o in rules.ordinances if o.unconfirmed),
        notes=tuple(o.note for o in rules.ordinances if o.note),
        ends=tuple(
            (f"clause {r.clause} of {o.title}", r.valid.last)
            for o in rules.ordinances
            for r in o.requirements
            if r.valid is not None
        ),
    )


def _run_verdicts(
    rules: Rules,
    site: Site,
    world: World,
    controller: Controller | None,
    runs: Sequence[Run],
    whole: Interval,
) -> tuple[ClauseVerdict, ...]:
    """The verdicts on runs of the program, which know the lamps of `whole` only."""
    sky = PhotocellSky(world.sun, (site.dusk, site.dawn))

    @cache
    def ran(counted: Counted) -> Lamps:
        return lamps_of_run(site.circuits, runs, sky, whole, counted)

    return _verdicts(rules, controller, ran, errs=len(runs) > 1)


def replay_range(world: World) -> Interval:
    """The time over which a program played by itself is judged, to the end of the last night."""
    first, last = world.period.first, world.period.last
    return world.zone.first_pass(first, 0), world.zone.first_pass(last + 2 * ONE_DAY, 0)


def judging_range(world: World) -> Interval:
    """The time of the nights judged with what lies beside them."""
    first, last = world.period.first - 2 * ONE_DAY, world.period.last + 3 * ONE_DAY
    return world.zone.first_pass(first, 12 * HOUR), world.zone.first_pass(last, 12 * HOUR)


def _verdicts(
    rules: Rules,
    controller: Controller | None,
    lamps_counting: Callable[[Counted], Lamps],
    *,
    errs: bool = False,
) -> tuple[ClauseVerdict, ...]:
    """`errs`: the lamps hold the errors of the unit's sun times."""
    if not rules.clauses:
        return ()
    everything = lamps_counting(Counted())
    judging = Judging(everything, controller, rules.clauses)
    found = []
    for clause, duty in zip(rules.clauses, rules.duties, strict=True):
        verdict = judge(clause, duty, judging)
        if verdict.status is Status.FAIL:
            costs = _costs(clause, duty, controller, rules.clauses, lamps_counting, errs=errs)
            verdict = replace(verdict, costs=costs)
        elif verdict.status is Status.PASS and controller is not None:
            drifted = _drifted(clause, duty, verdict, everything, controller)
            verdict = replace(verdict, drifted=drifted)
        found.append(verdict)
    return tuple(found)


def _costs(
    clause: Clause,
    duty: Duty,
    controller: Controller | None,
    clauses: tuple[Clause, ...],
    lamps_counting: Callable[[Counted], Lamps],
    *,
    errs: bool,
) -> tuple[str, ...]:
    """What the clause would be met without: each by itself, else what is there together."""
    parts = {
        "the override": any(c.override_minutes for c in clause.circuits),
        "the photocell": any(c.photocell in WITH_PHOTOCELL for c in clause.circuits),
        "the error of the unit's sun times": errs,
    }
    there = tuple(words for words, is_there in parts.items() if is_there)

    def met(*without: str) -> bool:
        counted = Counted(*(words not in without for words in parts))
        return meets(clause, duty, Judging(lamps_counting(counted), controller, clauses))

    alone = tuple(words for words in there if met(words))
    if alone or len(there) < 2 or not met(*there):
        return alone
    return (join_and(there),)


def _drifted(
    clause: Clause, duty: Duty, verdict: ClauseVerdict, lamps: Lamps, controller: Controller
) -> tuple[Drifted, ...]:
    """What a slow and a fast clock would break that a true one keeps."""
    error = round(controller.clock_error_minutes * MINUTE)
    spare = verdict.margin.seconds if verdict.margin is not None else error
    if not isinstance(clause.form, StateForm) or (spare >= error and not verdict.failed):
        return ()
    holds = common(duty.intervals, (lamps.whole,))
    wrong = wrong_for(clause, duty, lamps)
    found = []
    for seconds in (error, -error) if error else ():
        shifted = common(moved(wrong, -seconds, seconds), (lamps.whole,))
        by_night = nights_touched(common(holds, shifted), clause)
        if by_night:
            worst = max(short for _, short in by_night)
            found.append(
                Drifted(
                    seconds=seconds,
                    nights=len(by_night),
                    worst_seconds=worst,
                    first=by_night[0][0],
                )
            )
    return tuple(found)


def _without_clause(rules: Rules, world: World) -> tuple[date, ...]:
    """Nights of the period on which no clause asks for anything."""
    if not rules.clauses:
        return ()
    asked: set[date] = set()
    for clause, duty in zip(rules.clauses, rules.duties, strict=True):
        if isinstance(clause.form, StateForm):
            if clause.circuits:
                asked.update(day for day, _ in nights_touched(duty.intervals, clause))
        else:
            asked.update(clause.named.days & clause.named.tested)
    return tuple(day for day in world.period.dates() if day not in asked)


def with_duties(year: Year, rules: Rules, *, lengths: bool = True) -> Year:
    """The year with the stretches in which the fit must not move a switching.

    These are the dark and lit duties that the exact year meets, and for a length of darkness or
    of light the stretches of each night that keep it; one that the wishes break already does not
    constrain. Which stretches is chosen beforehand, so that without `lengths` more may fit.
    """
    made = []
    both = list(zip(rules.clauses, rules.duties, strict=True))
    chosen = [(clause, dark_stretches(clause, year)) for clause in rules.clauses if lengths]
    for circuit in year.circuits:
        lit = tuple((s.start, s.end) for s in circuit.spans)
        dark_duties: list[Interval] = []
        lit_duties: list[Interval] = []
        for clause, duty in both:
            for one in clause.circuits:
                if one.name == circuit.circuit:
                    dark, light = kept_duties(clause, duty, lit, override_seconds(one))
                    dark_duties += dark
                    lit_duties += light
        for clause, stretches in chosen:
            for one in clause.circuits:
                if one.name == circuit.circuit:
                    held = override_seconds(one)
                    dark_duties += [(start - held, end) for start, end in stretches]
        made.append(
            replace(
                circuit,
                required_dark=tuple(sorted(set(dark_duties))),
                required_lit=tuple(sorted(set(lit_duties))),
            )
        )
    return replace(
        year, circuits=tuple(made), lengths_kept=any(stretches for _, stretches in chosen)
    )
