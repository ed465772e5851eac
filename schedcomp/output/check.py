"""check.json: what was found out about the exact year and about the program."""

from __future__ import annotations

from schedcomp.audit_report import AuditReport, Difference, Overlap, Run
from schedcomp.clock import Zone
from schedcomp.compiled import Compiled
from schedcomp.controller import Controller
from schedcomp.deviation import Deviation, Worst
from schedcomp.energy import Energy
from schedcomp.output.canonical import Json
from schedcomp.output.check_fit import shortfall_json
from schedcomp.output.check_program import (
    good_until_json,
    mishaps_json,
    safety_json,
    special_days_json,
    total_deviation_json,
    when_json,
)
from schedcomp.output.check_rules import rules_json
from schedcomp.output.check_year import (
    empty_windows,
    holidays_used,
    short_stretches,
    undecided,
)
from schedcomp.output.table import cause_text
from schedcomp.output.transfer import (
    Document,
    as_json,
    certificate_json,
    clock_changes,
    period_json,
    program_code,
)
from schedcomp.program import Fitted
from schedcomp.promises import PromiseVerdict
from schedcomp.rule_words import rule_summary
from schedcomp.site import Site
from schedcomp.target import Changed, ChannelTarget
from schedcomp.versions import Versions

FORMAT = 2


def check_document(compiled: Compiled, versions: Versions) -> Document:
    """The content of the file; it is written in canonical form."""
    site, world, year = compiled.site, compiled.world, compiled.year
    program = compiled.fitted.program
    return {
        "schedcomp_check": FORMAT,
        "versions": as_json(versions),
        "site": _site(compiled),
        "period": period_json(year),
        "clock_changes": clock_changes(year, world.zone),
        "controller": compiled.controller.name,
        "program": _program(compiled),
        "program_may_be_keyed": compiled.may_write_program,
        "fit": _fit(compiled.fitted, compiled.controller, site, world.zone),
        "shortfall": shortfall_json(compiled.shortfall),
        "safety": safety_json(program),
        "special_days": special_days_json(program, site.circuits),
        "test_run": None if compiled.audit is None else _test_run(compiled.audit, world.zone),
        "mishaps": {
            "before_safety": mishaps_json(compiled.mishaps_before, world.zone),
            "after_safety": mishaps_json(compiled.mishaps, world.zone),
        },
        "good_until": good_until_json(compiled.good_until, world.zone),
        "deviations": _deviations(compiled),
        "rule": rule_summary(compiled.rules),
        "rules": rules_json(compiled.rules, world.zone),
        "promises": [_promise(promise, world.zone) for promise in compiled.promises],
        "nights_without_light": [day.isoformat() for day in compiled.nights_without_light],
        "energy": _energy(compiled.energy, site),
        "holidays": {
            "list": world.holidays.source,
            "used": holidays_used(site, year, world.holidays.within(year.period)),
            "left_out": world.holidays.left_out,
        },
        "dates_no_line_names": undecided(year),
        "empty_windows": empty_windows(year),
        "short_stretches": short_stretches(year, world.zone),
        "assumed": [as_json(assumption) for assumption in compiled.assumed],
        "assumed_of_controller": compiled.controller.assumed,
    }


def _site(compiled: Compiled) -> Json:
    site = compiled.site
    return {
        "name": site.name,
        "latitude_degrees": site.latitude_degrees,
        "longitude_degrees": site.longitude_degrees,
        "timezone": site.timezone,
        "timezone_given": site.timezone_given,
        "whereabouts": compiled.world.whereabouts.text,
    }


def _program(compiled: Compiled) -> Json:
    program = compiled.fitted.program
    if program is None:
        return None
    code = program_code(program, compiled.controller, compiled.site, compiled.world.zone)
    return {"program_code": code, "slots_used": program.slots_used}


def _fit(fitted: Fitted, controller: Controller, site: Site, zone: Zone) -> Json:
    """`slots_needed` None: no program of any length does the job, for what is `out_of_reach`."""
    return {
        "fits": fitted.program is not None,
        "slots_of_controller": controller.event_slots,
        "slots_needed": fitted.slots_needed,
        "special_day_slots_of_controller": controller.exceptions.slots,
        "tolerance_minutes": fitted.most_minutes,
        "favour": site.fit.favour,
        "certificate": certificate_json(fitted.certificate),
        "out_of_reach": [
            {
                "circuit": circuit,
                "count": len(switchings),
                "first": when_json(switchings[0].instant, zone),
                "last": when_json(switchings[-1].instant, zone),
            }
            for circuit, switchings in fitted.out_of_reach
            if switchings
        ],
    }


def _test_run(audit: AuditReport, zone: Zone) -> Json:
    return {
        "agrees": audit.agrees,
        "runs": [_run(run, zone) for run in audit.runs],
        "overlaps": [_overlap(overlap, zone) for overlap in audit.overlaps],
        "on_intervals": [_difference(found, zone) for found in audit.interval_differences],
    }


def _run(run: Run, zone: Zone) -> Json:
    return {
        "name": run.name,
        "agrees": run.agrees,
        "differences": [_difference(found, zone) for found in run.differences],
        "worst_early": _worst(Worst(run.worst_early_seconds, run.worst_early_at), zone),
        "worst_late": _worst(Worst(run.worst_late_seconds, run.worst_late_at), zone),
    }


def _difference(found: Difference, zone: Zone) -> Json:
    return {
        "kind": found.kind,
        "channel": found.channel,
        "action": found.action.value,
        "expected": when_json(found.expected, zone),
        "happened": when_json(found.happened, zone),
    }


def _overlap(overlap: Overlap, zone: Zone) -> Json:
    """A slot is None for what the unit does by itself where special days begin or end."""
    return {
        "channel": overlap.channel,
        "slots": [slot or None for slot in (overlap.first_slot, overlap.second_slot)],
        "start": when_json(overlap.start, zone),
        "end": when_json(overlap.end, zone),
    }


def _worst(worst: Worst, zone: Zone) -> Json:
    return {"seconds": worst.seconds, "asked": when_json(worst.at, zone)}


def _deviations(compiled: Compiled) -> Json:
    target, zone = compiled.target, compiled.world.zone
    return {
        "total": total_deviation_json(compiled.fitted.certificate),
        "by_circuit": [_deviation(deviation, zone) for deviation in compiled.deviations],
        "changed_for_the_controller": [
            _changed(channel, changed, zone)
            for channel in target.channels
            for changed in channel.changed
        ],
    }


def _deviation(deviation: Deviation, zone: Zone) -> Json:
    return {
        "circuit": deviation.circuit,
        "channel": deviation.channel,
        "action": deviation.action.value,
        "early": _worst(deviation.early, zone),
        "late": _worst(deviation.late, zone),
    }


def _changed(channel: ChannelTarget, changed: Changed, zone: Zone) -> Json:
    return {
        "circuit": channel.circuit,
        "kind": changed.kind,
        "start": when_json(changed.start, zone),
        "end": when_json(changed.end, zone),
        "seconds": changed.end - changed.start,
        "cause": cause_text(changed.reason),
    }


def _promise(promise: PromiseVerdict, zone: Zone) -> Json:
    return {
        "circuit": promise.circuit,
        "text": promise.text,
        "instant": when_json(promise.instant, zone),
        "wanted": _state(promise.wanted_lit),
        "exact_year": _state(promise.year_lit),
        "test_run": None if promise.run_lit is None else _state(promise.run_lit),
        "kept": promise.kept,
    }


def _state(lit: bool) -> str:
    return "lit" if lit else "dark"


def _energy(energy: tuple[Energy, ...], site: Site) -> Json:
    """Hours to 0.001, kWh to 0.001, money to 0.01."""
    return [
        {
            "circuit": use.circuit,
            "hours": round(use.hours, 3),
            "hours_by_month": [
                {"month": f"{year}-{month:02d}", "hours": round(hours, 3)}
                for (year, month), hours in use.hours_by_month
            ],
            "kwh": None if use.kwh is None else round(use.kwh, 3),
            "cost": None if use.cost is None else round(use.cost, 2),
            "currency": site.currency if use.cost is not None else None,
            "switchings": use.switchings,
            "estimated": use.estimated,
        }
        for use in energy
    ]
