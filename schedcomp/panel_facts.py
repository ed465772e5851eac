"""What the facts of an installation mean: line current, lines switched, lamps that must cool.

Never a substitute for the licensed electrician: limits are common practice, and local codes decide.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from math import sqrt

from schedcomp.clock import Zone
from schedcomp.diag import Diagnostic
from schedcomp.messages import panel as messages
from schedcomp.model import MINUTE, Instant
from schedcomp.site import Circuit, Site
from schedcomp.words import counted, date_words
from schedcomp.year import CircuitYear, Year

CONTINUOUS_SHARE = 0.8
"""Of a contactor's rating, for loads of three hours and more: common practice, no source."""
_COOLING_MINUTES = (
    ("metal halide", 15),
    ("halide", 15),
    ("mercury", 7),
    ("high pressure sodium", 2),
    ("high-pressure sodium", 2),
    ("sodium", 2),
    ("hps", 2),
    ("discharge", 15),
)
"""How long hot lamps of a kind stay dark after an OFF, at most as a rule; the maker's word counts.
No source: figures in common use."""
_VOLTS = re.compile(r"(\d+(?:\.\d+)?)\s*(?:V\b|volts?\b)", re.IGNORECASE)
_LINES = re.compile(r"\b([1-3])\s*[- ]?(?:poles?|lines?|phases?)\b", re.IGNORECASE)


def line_amperes(circuit: Circuit) -> float | None:
    """Current in each line, None where load or voltage is not given.

    Three-phase volts are those between lines. A power factor that is not given counts as 1.
    """
    panel, load = circuit.panel, circuit.load_kw
    if load is None or panel.volts is None:
        return None
    factor = panel.power_factor or 1.0
    return load * 1000 / (panel.volts * factor * (sqrt(3) if panel.phases == 3 else 1.0))


def lines_switched(circuit: Circuit) -> int | None:
    """Lines that the contactor has to open, None where it is not known."""
    return circuit.panel.phases


def cooling_minutes(circuit: Circuit) -> int | None:
    """How long lamps of this kind must cool before they light again; None for others."""
    kind = circuit.panel.lamp_kind.casefold()
    if re.search(r"\bleds?\b", kind):
        return None
    return next((minutes for word, minutes in _COOLING_MINUTES if word in kind), None)


def shortest_gap(circuit: CircuitYear, year: Year) -> tuple[Instant, Instant] | None:
    """The shortest dark stretch between two lit spans of the period."""
    gaps = [
        (before.end, after.start)
        for before, after in pairwise(circuit.spans)
        if before.end >= year.start and after.start <= year.end
    ]
    return min(gaps, key=lambda gap: gap[1] - gap[0], default=None)


def panel_cautions(site: Site, year: Year, zone: Zone) -> tuple[Diagnostic, ...]:
    """Facts of the installation that do not go together, of all circuits."""
    return tuple(f for circuit in site.circuits for f in circuit_cautions(circuit, year, zone))


def circuit_cautions(circuit: Circuit, year: Year, zone: Zone) -> tuple[Diagnostic, ...]:
    """Those of one circuit."""
    found = (*_overload(circuit), *_poles(circuit), *_surge(circuit))
    return (*found, *_cooling(circuit, year, zone))


def _overload(circuit: Circuit) -> Iterator[Diagnostic]:
    amperes, rating = line_amperes(circuit), circuit.panel.contactor_rating_amperes
    if amperes is None or rating is None or amperes <= CONTINUOUS_SHARE * rating:
        return
    yield messages.OVER_RATING.at(
        circuit.at,
        circuit=circuit.name,
        amperes=f"{amperes:.1f}",
        rating=f"{rating:g}",
        allowed=f"{CONTINUOUS_SHARE * rating:.1f}",
        larger=f"{-(-amperes / CONTINUOUS_SHARE // 10) * 10:.0f}",
    )


def _poles(circuit: Circuit) -> Iterator[Diagnostic]:
    lines, poles = lines_switched(circuit), circuit.panel.contactor_poles
    if lines is None or poles is None or poles >= lines:
        return
    yield messages.TOO_FEW_POLES.at(
        circuit.at,
        circuit=circuit.name,
        poles=counted(poles, "pole"),
        lines=counted(lines, "line"),
        needed=lines,
    )


def _surge(circuit: Circuit) -> Iterator[Diagnostic]:
    panel = circuit.panel
    volts = [float(found) for found in _VOLTS.findall(panel.surge_protector)]
    lines = [int(found) for found in _LINES.findall(panel.surge_protector)]
    wrong_volts = bool(volts) and panel.volts is not None and panel.volts not in volts
    too_few = bool(lines) and panel.phases is not None and max(lines) < panel.phases
    if not wrong_volts and not too_few:
        return
    load = f"{panel.volts:g} V" if panel.volts is not None else "its own voltage"
    phases = f", {counted(panel.phases, 'line')}" if panel.phases is not None else ""
    yield messages.SURGE_PROTECTOR.at(
        circuit.at,
        circuit=circuit.name,
        found=panel.surge_protector,
        load=load + phases,
        typed=load + phases,
    )


def _cooling(circuit: Circuit, year: Year, zone: Zone) -> Iterator[Diagnostic]:
    minutes = cooling_minutes(circuit)
    gap = shortest_gap(year.circuit(circuit.name), year)
    if minutes is None or gap is None or gap[1] - gap[0] >= minutes * MINUTE:
        return
    yield messages.TOO_SHORT_TO_COOL.at(
        circuit.at,
        circuit=circuit.name,
        kind=circuit.panel.lamp_kind,
        minutes=minutes,
        gap=-(-(gap[1] - gap[0]) // MINUTE),
        day=date_words(zone.local_date(gap[0])),
    )
