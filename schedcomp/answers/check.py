"""The answer to `check`: every clause judged, on the exact year and on the program."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from schedcomp import asked, controllerfile, sitefile
from schedcomp.answers.answer import BAD_FILES, CLEAN, FINDINGS, USAGE, Answer, Findings
from schedcomp.answers.here import first_line, local_date, site_record, utc_date
from schedcomp.audit_report import Run
from schedcomp.controller import Controller
from schedcomp.diag import Severity, has_problem
from schedcomp.expand import expand
from schedcomp.hints import Hint, hints_for
from schedcomp.messages import rules as messages
from schedcomp.model import ONE_DAY, Instant, Period
from schedcomp.ordinance.lamps import EXACT_YEAR, Lamps, PhotocellSky, lamps_of_run, lamps_of_year
from schedcomp.ordinance.load import load_ordinances
from schedcomp.ordinance.rules import (
    Rules,
    judge_rules,
    judging_range,
    rules_of,
    run_verdicts,
    with_duties,
)
from schedcomp.ordinance.settle import with_promises
from schedcomp.ordinance.verdict import NO_RULES, RuleReport
from schedcomp.ordinance.visits import Visit, visits_for
from schedcomp.output.check_rules import rules_json, visits_json
from schedcomp.pipeline import plan, prove
from schedcomp.replay import replayed
from schedcomp.report.check import check_text
from schedcomp.rule_findings import rule_findings
from schedcomp.rule_words import rule_summary
from schedcomp.site import Site
from schedcomp.transfer import Transfer
from schedcomp.transfer_site import site_of_transfer, world_of_transfer
from schedcomp.transferfile import load_transfer
from schedcomp.unit_place import unit_sun_of
from schedcomp.words import date_words
from schedcomp.world import World, read_world
from schedcomp.year import Year

LONGEST_PLANNED_DAYS = 366
"""For longer periods no program is made: a transfer file shows what one does."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRequest:
    """What was typed after `check`; None where an option was left out."""

    site: str | None = None
    year: str | None = None
    years: str | None = None
    transfer: str | None = None
    ordinances: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Judged:
    """What came out, with the facts that tell it."""

    site: Site
    world: World
    report: RuleReport
    visits: tuple[Visit, ...]
    program_told: str
    hints: tuple[Hint, ...] = ()


def check(request: CheckRequest, now: Instant) -> Answer:
    """Judge the rules of a site, or of a transfer file alone."""
    period, found = asked.read_period(request.year, None, None, utc_date(now), request.years)
    if period is None:
        return Answer(exit_code=USAGE, findings=found)
    transfer: Transfer | None = None
    if request.transfer is not None:
        transfer, more = load_transfer(request.transfer)
        if transfer is None:
            return Answer(exit_code=BAD_FILES, findings=more)
    names_period = request.year is not None or request.years is not None
    if request.site is None:
        if transfer is None:
            return Answer(exit_code=USAGE, findings=(messages.NOTHING_TO_CHECK.at(None),))
        judged, found = _of_transfer(transfer, request, period if names_period else transfer.period)
    else:
        site, found = sitefile.load_site(request.site)
        if site is None:
            return Answer(exit_code=BAD_FILES, findings=found)
        if not names_period:
            period = asked.default_period(local_date(site, now))
        judged, more = _of_site(_with_rules(site, request), period, transfer)
        found = (*found, *more)
    if judged is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    return _answer(judged, now, found)


def _with_rules(site: Site, request: CheckRequest) -> Site:
    """The site with the rules that the command names in place of its own."""
    if not request.ordinances:
        return site
    return replace(site, ordinances=request.ordinances, folder=".")


def _answer(judged: _Judged, now: Instant, found: Findings) -> Answer:
    report, zone = judged.report, judged.world.zone
    told = [f for f in found if f.severity is Severity.PROBLEM]
    told += [f for f in rule_findings(report, zone) if f.severity is not Severity.PROBLEM]
    head = first_line(judged.site, judged.world, now)
    period = judged.world.period
    dates = f"{date_words(period.first)} through {date_words(period.last)}{judged.program_told}."
    return Answer(
        exit_code=FINDINGS if report.failing() else CLEAN,
        text=f"{head}\n{dates}\n\n{check_text(report, judged.visits, judged.hints, zone)}",
        record={
            **site_record(judged.site, judged.world),
            "period": {"first": period.first.isoformat(), "last": period.last.isoformat()},
            "rule": rule_summary(report),
            "rules": rules_json(report, zone),
            "visits": visits_json(judged.visits, zone),
            "hints": [
                {"clause": h.clause, "what": h.text, "write": h.typed, "minutes": h.minutes}
                for h in judged.hints
            ],
        },
        findings=tuple(f for f in told if f.code not in _TOLD_IN_TEXT),
    )


_TOLD_IN_TEXT = frozenset(
    kind.code for kind in (messages.CONFLICT, messages.DRIFT, messages.PEOPLE_IN_THE_DARK)
)


# From a site file


def _of_site(
    site: Site, period: Period, transfer: Transfer | None
) -> tuple[_Judged | None, Findings]:
    ordinances, found = load_ordinances(site)
    if ordinances is None:
        return None, found
    site = with_promises(site, ordinances)
    world, more = read_world(site, period)
    found = (*found, *more)
    if world is None:
        return None, found
    rules, more = rules_of(ordinances, site, world)
    found = (*found, *more)
    if rules is None:
        return None, found
    year = with_duties(expand(site, world), rules)
    controller, more = _controller(site, transfer)
    if has_problem(more):
        return None, (*found, *more)
    run, told = _run(site, world, year, controller, transfer)
    report = judge_rules(rules, site, world, year, controller, run)
    sky = PhotocellSky(world.sun, (site.dusk, site.dawn))
    lamps = lamps_of_year(site.circuits, year, sky, judging_range(world))
    hints = hints_for(site, world, rules, report) if _is_short(world) else ()
    return _Judged(site, world, report, _visits(rules, report, lamps, world), told, hints), found


def _is_short(world: World) -> bool:
    return (world.period.last - world.period.first).days < LONGEST_PLANNED_DAYS


def _controller(site: Site, transfer: Transfer | None) -> tuple[Controller | None, Findings]:
    if transfer is not None:
        return transfer.controller, ()
    if not site.controller:
        return None, ()
    return controllerfile.load_controller(site.controller, site.folder, site.controller_at)


def _run(
    site: Site, world: World, year: Year, controller: Controller | None, transfer: Transfer | None
) -> tuple[Run | None, str]:
    """What the program does, and what is said of it beside the dates."""
    if transfer is not None:
        code = transfer.program_code
        return replayed(site, world, transfer.program, transfer.controller), f", program {code}"
    if controller is None or not _is_short(world) or not world_fits(site, controller):
        return None, ""
    unit = unit_sun_of(site, controller, world)
    fitted, target = plan(site, controller, world, year, unit)
    audit = prove(site, controller, fitted, target, unit)
    if audit is None:
        return None, ", no program fits"
    return audit.exact_run, ""


def world_fits(site: Site, controller: Controller) -> bool:
    """Whether the controller has the channels that the site names."""
    return all(circuit.channel <= controller.channels for circuit in site.circuits)


def _visits(rules: Rules, report: RuleReport, lamps: Lamps, world: World) -> tuple[Visit, ...]:
    verdicts = report.year if lamps.on == EXACT_YEAR else report.run
    return visits_for(rules.clauses, rules.duties, verdicts, lamps, world.zone)


# From a transfer file alone


def _of_transfer(
    transfer: Transfer, request: CheckRequest, period: Period
) -> tuple[_Judged | None, Findings]:
    site = replace(site_of_transfer(transfer), ordinances=request.ordinances)
    world = world_of_transfer(transfer, site, period)
    ordinances, found = load_ordinances(site)
    if ordinances is None:
        return None, found
    rules, more = rules_of(ordinances, site, world)
    found = (*found, *more)
    if rules is None:
        return None, found
    run = replayed(site, world, transfer.program, transfer.controller)
    start, end = _span(world, period.first), _span(world, period.last + ONE_DAY)
    verdicts = run_verdicts(rules, site, world, start, end, transfer.controller, run)
    report = replace(
        NO_RULES,
        titles=tuple(o.title for o in ordinances),
        run=verdicts,
        nights=len(period.dates()),
        unconfirmed=tuple(o.title for o in ordinances if o.unconfirmed),
        notes=tuple(o.note for o in ordinances if o.note),
    )
    sky = PhotocellSky(world.sun, (site.dusk, site.dawn))
    lamps = lamps_of_run(site.circuits, run, sky, (start, end))
    told = f", program {transfer.program_code}"
    return _Judged(site, world, report, _visits(rules, report, lamps, world), told), found


def _span(world: World, day: date) -> Instant:
    return world.zone.first_pass(day, 0)
