"""Parts of check.json about the program: what it cost, what mishaps would do, how long it lasts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from schedcomp.audit_report import Mishaps, MissedEvent, PowerCut
from schedcomp.clock import Zone, utc_text
from schedcomp.clock import zone as zone_of_years
from schedcomp.deviation import total_deviation
from schedcomp.model import MINUTE, Instant
from schedcomp.output.canonical import Json
from schedcomp.output.special_days import special_day_rows
from schedcomp.program import Certificate, Program
from schedcomp.site import Circuit

if TYPE_CHECKING:
    from schedcomp.later import FirstWrong, GoodUntil


def when_json(instant: Instant | None, zone: Zone) -> Json:
    """An instant in UTC and as the local clock shows it."""
    if instant is None:
        return None
    return {"utc": utc_text(instant), "local": zone.local(instant).isoformat(" ")}


def safety_json(program: Program | None) -> Json:
    """The slots of the safety repeats, in slot order, with the channels that they act on."""
    if program is None:
        return []
    slots = dict.fromkeys((e.slot, e.channels) for e in program.events if e.safety)
    return [{"slot": slot, "channels": channels} for slot, channels in slots]


def special_days_json(program: Program | None, circuits: tuple[Circuit, ...]) -> Json:
    """The special days as in special_days.csv; `only_year` as for events."""
    if program is None:
        return []
    return [
        {
            "slot": row.slot,
            "from": row.first,
            "through": row.through,
            "plan": row.plan,
            "channels": row.channels,
            "circuits": row.circuits,
            "only_year": days.only_year,
        }
        for row, days in zip(special_day_rows(program, circuits), program.special_days, strict=True)
    ]


def total_deviation_json(certificate: Certificate | None) -> Json:
    """All circuits together: minutes to 0.1, and weighted by load, kWh to 0.001; else None."""
    total = None if certificate is None else total_deviation(certificate)
    if total is None:
        return None
    return {
        "minutes": round(total.seconds / MINUTE, 1),
        "bound_minutes": round(total.bound_seconds / MINUTE, 1),
        "kwh": None if total.kwh is None else round(total.kwh, 3),
        "bound_kwh": None if total.bound_kwh is None else round(total.bound_kwh, 3),
    }


def mishaps_json(mishaps: Mishaps | None, zone: Zone) -> Json:
    """The worst that one missed event and one power cut would do; None where not looked for."""
    if mishaps is None:
        return None
    return {
        "missed_events": [_missed(missed, zone) for missed in mishaps.missed],
        "power_cuts": [_cut(cut, zone) for cut in mishaps.cuts],
    }


def _missed(missed: MissedEvent, zone: Zone) -> Json:
    return {
        "slot": missed.slot,
        "channel": missed.channel,
        "action": missed.action.value,
        "at": when_json(missed.at, zone),
        "until": when_json(missed.until, zone),
        "seconds": missed.seconds,
    }


def _cut(cut: PowerCut, zone: Zone) -> Json:
    return {
        "length_seconds": cut.length_seconds,
        "channel": cut.channel,
        "lamps": "lit" if cut.lit else "dark",
        "at": when_json(cut.at, zone),
        "until": when_json(cut.until, zone),
        "seconds": cut.seconds,
        "clock_lost": cut.clock_lost,
    }


def good_until_json(good: GoodUntil | None, zone: Zone) -> Json:
    """The last right date, and the first thing that goes wrong after it; None if not looked for.

    `zone` may know the clock changes of the period alone.
    """
    if good is None:
        return None
    later = zone_of_years(zone.name, good.last, good.looked_through)
    return {
        "last": good.last.isoformat(),
        "looked_through": good.looked_through.isoformat(),
        "halted": good.halted or None,
        "estimated": good.estimated,
        "wrong": None if good.wrong is None else _wrong(good.wrong, later),
    }


def _wrong(wrong: FirstWrong, zone: Zone) -> Json:
    return {
        "date": wrong.day.isoformat(),
        "circuit": wrong.circuit,
        "channel": wrong.channel,
        "slot": wrong.slot,
        "what": wrong.what,
        "expected": when_json(wrong.expected, zone),
        "happened": when_json(wrong.happened, zone),
        "cause": wrong.cause,
        "line": wrong.line or None,
    }
