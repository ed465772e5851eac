"""The answer to `check`: every clause judged, on the exact year and on the program."""

from __future__ import annotations

from schedcomp import asked, controllerfile, sitefile
from schedcomp.answers.answer import BAD_FILES, CLEAN, FINDINGS, USAGE, Answer, Findings
from schedcomp.answers.here import first_line, local_date, site_record, utc_date
from schedcomp.audit_report import Run
from schedcomp.controller import Controller
from schedcomp.diag import Severity, has_problem
from schedcomp.expand import expand
from schedcomp.hints import Hint, hints_for
from schedcomp.messages import rules as messages
from schedcomp.model import Instant, Period
from schedcomp.ordinance.intervals import Interval
from schedcomp.ordinance.lamps import EXACT_YEAR, Lamps, PhotocellSky, lamps_of_run, lamps_of_year
from schedcomp.ordinance.load import load_ordinances
from schedcomp.ordinance.model import Accepted
from schedcomp.ordinance.rules import (
    Rules,
    judge_program,
    judge_rules,
    judging_range,
    replay_range,
    rules_of,
    with_duties,
)
from schedcomp.ordinance.settle import still_accepted, with_promises
from schedcomp.ordinance.verdict import RuleReport
from schedcomp.ordinance.visits import Visit, visits_for
from schedcomp.output.check_rules import SHOWN_NIGHTS, rules_json, visits_json
from schedcomp.records import Record, replace
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
NO_PROGRAM_FOR_YEARS = "for more than a year none is made; --transfer FILE judges one"


class CheckRequest(Record, kw_only=True):
    """What was typed after `check`; None where an option was left out.

    `every_night`: the record lists all nights on which a clause fails.
    """

    site: str | None = None
    year: str | None = None
    years: str | None = None
    transfer: str | None = None
    ordinances: tuple[str, ...] = ()
    every_night: bool = False


class _Played(Record):
    """What a program does, or why there is none; `code` is that of a transfer file.

    `over` is the time that was played, None: the period.
    """

    runs: tuple[Run, ...]
    over: Interval | None = None
    code: str = ""
    why_not: str = ""


class _Judged(Record):
    """What came out, with the facts that tell it."""

    site: Site
    world: World
    report: RuleReport
    visits: tuple[Visit, ...]
    played: _Played
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
    return _answer(judged, now, found, None if request.every_night else SHOWN_NIGHTS)


def _with_rules(site: Site, request: CheckRequest) -> Site:
    """The site with the rules that the command names in place of its own."""
    if not request.ordinances:
        return site
    return replace(site, ordinances=request.ordinances, ordinances_at=(), folder=".")


def _answer(judged: _Judged, now: Instant, found: Findings, most_nights: int | None) -> Answer:
    report, zone, played = judged.report, judged.world.zone, judged.played
    told = [f for f in found if f.severity is Severity.PROBLEM]
    told += [f for f in rule_findings(report, zone) if f.severity is not Severity.PROBLEM]
    head = first_line(judged.site, judged.world, now)
    period = judged.world.period
    program = f", program {played.code}" if played.code else ""
    dates = f"{date_words(period.first)} through {date_words(period.last)}{program}."
    told_text = check_text(
        report,
        judged.visits,
        judged.hints,
        zone,
        played.why_not,
        sun_errs=len(played.runs) > 1,
    )
    return Answer(
        exit_code=FINDINGS if report.failing() else CLEAN,
        text=f"{head}\n{dates}\n\n{told_text}",
        record={
            **site_record(judged.site, judged.world),
            "period": {"first": period.first.isoformat(), "last": period.last.isoformat()},
            "program": {
                "judged": bool(played.runs),
                "program_code": played.code or None,
                "why_not": played.why_not,
            },
            "rule": rule_summary(report),
            "rules": rules_json(report, zone, most_nights),
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
    year = expand(site, world)
    controller, more = _controller(site, transfer)
    if has_problem(more):
        return None, (*found, *more)
    played = _played(site, world, rules, year, controller, transfer)
    accepted = () if transfer is None else still_accepted(transfer.accepted, site, ordinances)
    report = judge_rules(rules, site, world, year, controller, played.runs, accepted, played.over)
    sky = PhotocellSky(world.sun, (site.dusk, site.dawn))
    lamps = lamps_of_year(site.circuits, year, sky, judging_range(world))
    hints = hints_for(site, world, rules, report) if _is_short(world) else ()
    visits = _visits(rules, report, lamps, world)
    return _Judged(site, world, report, visits, played, hints), found


def _is_short(world: World) -> bool:
    return (world.period.last - world.period.first).days < LONGEST_PLANNED_DAYS


def _controller(site: Site, transfer: Transfer | None) -> tuple[Controller | None, Findings]:
    if transfer is not None:
        return transfer.controller, ()
    if not site.controller:
        return None, ()
    return controllerfile.load_controller(site.controller, site.folder, site.controller_at)


def _played(
    site: Site,
    world: World,
    rules: Rules,
    year: Year,
    controller: Controller | None,
    transfer: Transfer | None,
) -> _Played:
    """What the program does: that of a transfer file, else one made for the period."""
    if transfer is not None:
        runs = replayed(site, world, transfer.program, transfer.controller)
        return _Played(runs, replay_range(world), transfer.program_code)
    if not rules.clauses:
        return _Played((), why_not="no rule was checked")
    if not _is_short(world):
        return _Played((), why_not=NO_PROGRAM_FOR_YEARS)
    if controller is None:
        return _Played((), why_not="the site file names no controller")
    if not world_fits(site, controller):
        return _Played((), why_not=f"{controller.name} has too few channels")
    # The fit is not read in where no program is made: that takes as long as many clauses.
    from schedcomp.pipeline import plan_for_rules, prove

    unit = unit_sun_of(site, controller, world)
    bound = with_duties(year, rules)
    _, fitted, target = plan_for_rules(site, controller, world, bound, rules, unit)
    audit = prove(site, controller, fitted, target, unit)
    if audit is None:
        return _Played((), why_not=f"no program fits {controller.name}")
    return _Played(audit.sun_runs)


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
    runs = replayed(site, world, transfer.program, transfer.controller)
    played = _Played(runs, replay_range(world), transfer.program_code)
    accepted = tuple(Accepted(clause=c, because=b) for c, b in transfer.accepted)
    report = judge_program(rules, site, world, transfer.controller, runs, accepted)
    sky = PhotocellSky(world.sun, (site.dusk, site.dawn))
    lamps = lamps_of_run(site.circuits, runs, sky, replay_range(world))
    visits = _visits(rules, report, lamps, world)
    return _Judged(site, world, report, visits, played), found
