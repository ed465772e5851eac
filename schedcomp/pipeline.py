"""The stages, in order: a site, a period and a controller in, everything found out."""

from __future__ import annotations

from datetime import date
from functools import partial

from schedcomp.audit import run_program
from schedcomp.audit.mishaps import find_mishaps
from schedcomp.audit_report import AuditReport
from schedcomp.cautions import cautions_of
from schedcomp.compiled import Compiled
from schedcomp.controller import Controller
from schedcomp.dated import mark_years
from schedcomp.diag import Diagnostic, has_problem, in_order
from schedcomp.energy import energy_of, nights_without_light
from schedcomp.expand import expand
from schedcomp.findings import assumed_of, program_findings, unit_problems
from schedcomp.fit.fitting import fit, smallest_fit
from schedcomp.later import good_until
from schedcomp.model import Period
from schedcomp.ordinance.load import load_ordinances
from schedcomp.ordinance.model import Accepted
from schedcomp.ordinance.rules import Rules, judge_rules, rules_of, with_duties
from schedcomp.ordinance.settle import accepted_problems, with_promises
from schedcomp.panel_facts import panel_cautions
from schedcomp.program import Event, Fitted, Program, SmallestTolerance
from schedcomp.promises import check_promises
from schedcomp.records import Record, replace
from schedcomp.renewal import body_of, slot_changes
from schedcomp.rule_findings import rule_findings
from schedcomp.site import Site
from schedcomp.target import Target, make_target
from schedcomp.unit_place import unit_clock, unit_sun_of
from schedcomp.unit_sun import UnitSun
from schedcomp.world import World, read_world
from schedcomp.year import Year

Findings = tuple[Diagnostic, ...]


def compile(  # noqa: A001  # the one word for it
    site: Site,
    period: Period,
    controller: Controller,
    *,
    accepted: tuple[Accepted, ...] = (),
    keep: Program | None = None,
) -> tuple[Compiled | None, Findings]:
    """The whole job: exact year, program, test run, promises, rules.

    `keep`: the program that the units hold; then as few slots as possible differ from it.

    Nothing comes back while a problem stands in the way of the exact year or of any program for
    this controller; a program that does not fit, a test run that disagrees, a broken promise or a
    clause that is not met comes back with its findings. `accepted` clauses and promises do not
    keep the program back.
    """
    asked, found = ready(site, period, accepted)
    found = (*found, *unit_problems(site, controller))
    if asked is None or has_problem(found):
        return None, in_order(found)
    site, world, rules, year = asked.site, asked.world, asked.rules, asked.year
    unit = unit_sun_of(site, controller, world)
    year, fitted, target = plan_for_rules(site, controller, world, year, rules, unit, keep)
    if keep is not None:
        fitted = _left_as_it_is(site, controller, keep, fitted, target, unit)
    if fitted.program is not None:
        fitted = replace(fitted, program=mark_years(fitted.program, year, site))
    audit = prove(site, controller, fitted, target, unit)
    promises, broken = check_promises(site, world, year, audit)
    report = judge_rules(
        rules, site, world, year, controller, () if audit is None else audit.sun_runs, accepted
    )
    compiled = Compiled(
        site=site,
        controller=controller,
        world=world,
        year=year,
        target=target,
        fitted=fitted,
        audit=audit,
        promises=promises,
        energy=energy_of(site, year, world.zone, world.sun),
        assumed=assumed_of(site, controller),
        nights_without_light=nights_without_light(year, world.zone),
        rules=report,
    )
    if fitted.program is not None and audit is not None and audit.agrees:
        compiled = _with_prospects(compiled, fitted.program, unit)
        if keep is not None and slot_changes(keep, fitted.program, controller):
            compiled = _without_harm_left(compiled, keep, unit)
    more = (
        *cautions_of(site, world, year),
        *panel_cautions(site, year, world.zone),
        *program_findings(compiled),
        *broken,
        *rule_findings(report, world.zone),
    )
    return compiled, in_order((*found, *more))


class Ready(Record):
    """A site with the promises of its rules, its facts, its rules and its exact year."""

    site: Site
    world: World
    rules: Rules
    year: Year


def ready(
    site: Site, period: Period, accepted: tuple[Accepted, ...] = ()
) -> tuple[Ready | None, Findings]:
    """Everything that is known without a controller; None while a problem stands."""
    ordinances, found = load_ordinances(site)
    if ordinances is None:
        return None, found
    site = with_promises(site, ordinances)
    world, more = read_world(site, period)
    found = (*found, *more, *accepted_problems(accepted, site, ordinances))
    if world is None or has_problem(found):
        return None, found
    rules, more = rules_of(ordinances, site, world)
    found = (*found, *more)
    if rules is None:
        return None, found
    year = with_duties(expand(site, world), rules)
    return Ready(site, world, rules, year), found


def _left_as_it_is(
    site: Site,
    controller: Controller,
    held: Program,
    fitted: Fitted,
    target: Target,
    unit: UnitSun,
) -> Fitted:
    """With the program that the units hold, where it is right as it is."""
    certificate = fitted.certificate
    unwanted = site.fit.spare == "none" and held.needed != held.events
    if fitted.program is None or certificate is None or unwanted:
        return fitted
    if not slot_changes(held, fitted.program, controller):
        return fitted
    if not run_program(held, controller, target, unit, site.timezone).agrees:
        return fitted
    slots = replace(held, events=held.needed).slots_used
    return replace(
        fitted,
        program=held,
        certificate=replace(certificate, slots=slots, deviations=()),
        ended_overrides=(),
    )


def _with_prospects(compiled: Compiled, program: Program, unit: UnitSun) -> Compiled:
    """With what one mishap would do, and how long the program stays right."""
    site, controller, target = compiled.site, compiled.controller, compiled.target
    mishaps = before = find_mishaps(program, controller, target, unit, site.timezone)
    if program.needed != program.events:
        bare = replace(program, events=program.needed)
        before = find_mishaps(bare, controller, target, unit, site.timezone)
    return replace(
        compiled,
        mishaps=mishaps,
        mishaps_before=before,
        good_until=good_until(
            site,
            controller,
            program,
            compiled.world,
            compiled.year,
            compiled.fitted.tolerance_minutes,
        ),
    )


def _without_harm_left(compiled: Compiled, held: Program, unit: UnitSun) -> Compiled:
    """Without what was left of the old program and is what goes wrong first in later years.

    Who is there to key something else can delete it; for its sake alone nobody has to go.
    """
    best = compiled
    while (harm := _harm_left(compiled, held)) is not None:
        fitted, site = compiled.fitted, compiled.site
        assert fitted.program is not None
        program = replace(
            fitted.program, events=tuple(e for e in fitted.program.events if e is not harm)
        )
        ended = tuple(e for e in fitted.ended_overrides if e.slot != harm.slot)
        fitted = replace(fitted, program=program, ended_overrides=ended)
        audit = prove(site, compiled.controller, fitted, compiled.target, unit)
        if audit is None or not audit.agrees:
            break
        compiled = _with_prospects(replace(compiled, fitted=fitted, audit=audit), program, unit)
        if _last_right_day(compiled) > _last_right_day(best):
            best = compiled
    return best


def _harm_left(compiled: Compiled, held: Program) -> Event | None:
    """The event of the old program, of no use now, that does the first wrong thing."""
    good, program = compiled.good_until, compiled.fitted.program
    if good is None or good.wrong is None or program is None:
        return None
    left = {body_of(event) for event in held.events}
    slot, channel = good.wrong.slot, good.wrong.channel
    for event in program.events:
        if event.safety and event.slot == slot and channel in event.channels:
            return event if body_of(event) in left else None
    return None


def _last_right_day(compiled: Compiled) -> date:
    return date.min if compiled.good_until is None else compiled.good_until.last


def read_year(site: Site, period: Period) -> tuple[tuple[World, Year] | None, Findings]:
    """The exact year alone, with its cautions; no controller is needed."""
    world, found = read_world(site, period)
    if world is None:
        return None, in_order(found)
    year = expand(site, world)
    return (world, year), in_order((*found, *cautions_of(site, world, year)))


def plan(
    site: Site,
    controller: Controller,
    world: World,
    year: Year,
    unit: UnitSun,
    keep: Program | None = None,
) -> tuple[Fitted, Target]:
    """The shortest program within the wished tolerance, and what it was made for; with `keep`
    the one nearest to that program, slot by slot.
    """
    clock = unit_clock(controller, world)
    return fit(
        partial(make_target, site, year, controller, clock, unit),
        controller,
        clock,
        unit,
        tolerance_minutes=site.fit.tolerance_minutes,
        limit_minutes=site.fit.tolerance_limit_minutes,
        circuits=site.circuits,
        repeat=site.fit.spare == "safety",
        keep=keep,
    )


def plan_for_rules(
    site: Site,
    controller: Controller,
    world: World,
    year: Year,
    rules: Rules,
    unit: UnitSun,
    keep: Program | None = None,
) -> tuple[Year, Fitted, Target]:
    """As `plan`, with the year it was made for: where the stretches chosen for lengths of darkness
    leave no program, it is that without them.
    """
    fitted, target = plan(site, controller, world, year, unit, keep)
    if fitted.program is not None or not year.lengths_kept:
        return year, fitted, target
    year = with_duties(year, rules, lengths=False)
    return (year, *plan(site, controller, world, year, unit, keep))


def smallest_that_fits(
    site: Site,
    controller: Controller,
    world: World,
    year: Year,
    rules: Rules,
    unit: UnitSun,
    limit_minutes: int,
) -> SmallestTolerance:
    """The smallest tolerance up to a limit at which `plan_for_rules` finds a program, one that
    keeps lengths of darkness before others; then a smaller one may do for others.
    """
    clock = unit_clock(controller, world)
    years = [year, with_duties(year, rules, lengths=False)] if year.lengths_kept else [year]
    found = SmallestTolerance(None, None, proven=True)
    for one in years:
        target_at = partial(make_target, site, one, controller, clock, unit)
        found = smallest_fit(target_at, controller, clock, unit, limit_minutes)
        if found.tolerance_minutes is not None:
            smaller_for_others = one is not years[-1] and found.tolerance_minutes > 0
            return replace(found, proven=found.proven and not smaller_for_others)
    return found


def prove(
    site: Site, controller: Controller, fitted: Fitted, target: Target, unit: UnitSun
) -> AuditReport | None:
    """The test run of the program, None where there is none."""
    if fitted.program is None:
        return None
    return run_program(fitted.program, controller, target, unit, site.timezone)
