"""Switchings that no program reaches because a rule begins or ends just there."""

from __future__ import annotations

import re
from collections.abc import Sequence

from schedcomp.controller import Controller
from schedcomp.diag import Diagnostic
from schedcomp.messages import rules as messages
from schedcomp.model import MINUTE, Action
from schedcomp.moved_windows import moved_window
from schedcomp.near import quoted
from schedcomp.phrases.printer import print_moment, print_window
from schedcomp.site import Site
from schedcomp.target import TargetSwitching
from schedcomp.unit_sun import UnitSun, columns_of
from schedcomp.words import counted, date_words
from schedcomp.year import CircuitYear

WITHOUT_SUN_MINUTES = 10
"""What is left to a rule where the unit has clock times only; no source, enough for most."""


def beside_rule(
    switchings: Sequence[TargetSwitching], circuit: CircuitYear
) -> tuple[TargetSwitching, ...]:
    """Those of a circuit that follow the sun and stand just where a rule begins or ends."""
    bounds = {t for part in (*circuit.required_dark, *circuit.required_lit) for t in part}
    return tuple(s for s in switchings if s.reason.bound.has_sun and s.instant in bounds)


def no_room(
    switchings: Sequence[TargetSwitching],
    circuit: CircuitYear,
    site: Site,
    controller: Controller,
    unit: UnitSun,
) -> Diagnostic:
    """The finding about such switchings of a circuit; there is one at least."""
    first = switchings[0]
    is_on = first.action is Action.ON
    dark = {t for part in circuit.required_dark for t in part}
    minutes = _minutes_to_leave(controller, unit)
    later = is_on if first.instant in dark else not is_on
    return messages.NO_ROOM.at(
        next((c.at for c in site.circuits if c.name == circuit.circuit), None),
        circuit=quoted(circuit.circuit),
        count=counted(len(switchings), "switching"),
        action=first.action.value,
        phrase=first.reason.phrase,
        first=date_words(first.reason.date),
        way="earlier" if later else "later",
        minutes=minutes,
        typed=_typed(site, first, minutes if later else -minutes),
    )


def _minutes_to_leave(controller: Controller, unit: UnitSun) -> int:
    """As wide as the unit's sun times may be off on the worst date, with a step on both sides."""
    known = [columns_of(times) for _, times in unit.times]
    spreads = [(c.latest - c.earliest)[c.certain] for c in known if c.certain.any()]
    if not spreads:
        return WITHOUT_SUN_MINUTES
    return -(-max(int(spread.max()) for spread in spreads) // MINUTE) + 2 * controller.step_minutes


def _typed(site: Site, switching: TargetSwitching, minutes: int) -> str:
    """The window that switches so, moved away from the rule."""
    day_type = site.day_type(switching.reason.day_type)
    is_end = switching.action is Action.OFF
    words = re.sub(r" \([^)]*\)", "", switching.reason.phrase)
    for window in day_type.windows if day_type else ():
        if print_moment(window.end if is_end else window.start) == words:
            return print_window(moved_window(window, is_end, minutes))
    return "on from sunset + 15 min until 23:00"
