"""How near the lamps come to the times on the sheet, as measured in the test run.

The sheet shows the times that were asked for; a program of few slots may depart from them.
"""

from __future__ import annotations

from collections.abc import Sequence

from schedcomp.compiled import Compiled
from schedcomp.deviation import Deviation
from schedcomp.model import HOUR, Action
from schedcomp.report.words import minutes_words
from schedcomp.site import Circuit
from schedcomp.year import Year

_DOES = {Action.ON: "come on", Action.OFF: "go off"}


def nearness_words(compiled: Compiled) -> str:
    """`These are the times asked for; lamps come on up to 7 min earlier and go off ...`."""
    if compiled.audit is None or not compiled.may_write_program:
        return ""
    found = compiled.deviations
    told = [
        f"{does} {_sides([d for d in found if d.action is action])}"
        for action, does in _DOES.items()
    ]
    return f"These are the times asked for; lamps {' and '.join(told)}."


def _sides(found: Sequence[Deviation]) -> str:
    early = max((d.early.seconds for d in found), default=0)
    late = max((d.late.seconds for d in found), default=0)
    sides = [
        f"up to {minutes_words(seconds)} {side}"
        for seconds, side in ((early, "earlier"), (late, "later"))
        if seconds
    ]
    return " or ".join(sides) or "on time"


def program_hours(compiled: Compiled, circuit: Circuit) -> float | None:
    """Hours lit in the period by a unit that runs the program with exact sun times."""
    if compiled.audit is None or not compiled.may_write_program:
        return None
    run = next((r for r in compiled.audit.runs if r.name == "sun exact" and r.agrees), None)
    if run is None:
        return None
    year = compiled.year
    instants = [
        (min(max(instant, year.start), year.end), action)
        for instant, action, _ in run.of_channel(circuit.channel)
    ]
    since = year.start if _lit_at_start(year, circuit) else None
    seconds = 0
    for instant, action in (*instants, (year.end, Action.OFF)):
        if action is Action.ON:
            since = instant if since is None else since
        elif since is not None:
            seconds, since = seconds + instant - since, None
    return seconds / HOUR


def _lit_at_start(year: Year, circuit: Circuit) -> bool:
    spans = year.circuit(circuit.name).spans
    return any(span.start <= year.start < span.end for span in spans)
