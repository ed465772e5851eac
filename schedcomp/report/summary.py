"""The terminal summary of a build: at most 20 lines of at most 80 columns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from schedcomp.compiled import Compiled
from schedcomp.model import Action
from schedcomp.output.deviation import Deviation, Worst, deviations
from schedcomp.report.words import (
    amount_words,
    clock_change_words,
    minutes_words,
    wrapped,
)
from schedcomp.words import counted, date_words

LINES = 20
PROGRAM_FILES = ("events.csv", "transfer.json")
SAFETY = (
    "These circuits switch on by themselves at any time. OFF at the clock is not isolation. "
    "Lock out at the breaker and test before work."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What a build left on the disk; `program_code` is "" without a program."""

    folder: str
    names: tuple[str, ...]
    program_code: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What the summary tells beside the compilation: where on earth, the light, what to read."""

    where: str
    light: str
    dusk: str
    period_note: str
    cautions: int


@dataclass(frozen=True, slots=True)
class Row:
    """A labelled sentence, and a shorter form of it where lines are scarce."""

    label: str
    text: str
    brief: str = ""

    @property
    def lines(self) -> list[str]:
        return wrapped(self.text, f"{self.label:<11} ").splitlines()


def summary_text(compiled: Compiled, around: Surroundings, written: Written) -> str:
    """The whole summary."""
    rows = [
        Row("Site", f"{compiled.site.name}: {around.where}"),
        Row("Period", _period(compiled, around)),
        Row("Light", around.light, around.dusk),
        *_program_rows(compiled),
        _dark_nights(compiled),
        _promises(compiled),
        _energy(compiled),
        _clock_changes(compiled),
        *_cautions(around),
        _files(compiled, written),
        Row("Safety", SAFETY, SAFETY.partition(" Lock")[0]),
    ]
    return "\n".join(line for row in fitted_rows(rows) for line in row.lines) + "\n"


def fitted_rows(rows: Sequence[Row]) -> list[Row]:
    """The rows, as many as needed in their brief form, those first that save most lines."""
    shown = list(rows)
    while sum(len(row.lines) for row in shown) > LINES:
        savings = [len(row.lines) - len(_briefly(row).lines) for row in shown]
        most = max(savings)
        if most <= 0:
            break
        index = savings.index(most)
        shown[index] = _briefly(shown[index])
    return shown


def _briefly(row: Row) -> Row:
    return replace(row, text=row.brief or row.text, brief="")


def _period(compiled: Compiled, around: Surroundings) -> str:
    period = compiled.year.period
    text = f"{date_words(period.first)} through {date_words(period.last)}"
    return f"{text}{around.period_note}"


def _program_rows(compiled: Compiled) -> list[Row]:
    controller = compiled.controller
    title = f"{controller.name}, {counted(controller.event_slots, 'slot')}"
    if controller.slots_are == "per channel":
        title += " per channel"
    rows = [Row("Controller", title)]
    if compiled.fitted.program is None:
        return [*rows, Row("Slots", f"DOES NOT FIT: {does_not_fit(compiled)}")]
    return [
        *rows,
        Row("Slots", _slots(compiled)),
        Row("Tolerance", tolerance_words(compiled)),
        *_test_run(compiled),
    ]


def does_not_fit(compiled: Compiled) -> str:
    """What a program would need, where the controller cannot hold it."""
    fitted = compiled.fitted
    tolerance = f"at a tolerance of {fitted.tolerance_minutes} min"
    if fitted.slots_needed is None:
        return f"no program of any length does this {tolerance}"
    has = compiled.controller.event_slots
    return f"the wishes need {fitted.slots_needed} slots {tolerance}; the controller has {has}"


def _slots(compiled: Compiled) -> str:
    program, certificate = compiled.fitted.program, compiled.fitted.certificate
    assert program is not None
    assert certificate is not None
    used, needed = program.slots_used, certificate.slots
    per_channel = compiled.controller.slots_are == "per channel"
    has = compiled.controller.event_slots * (compiled.controller.channels if per_channel else 1)
    proof = (
        f"fewest possible: {needed} (proven)"
        if certificate.proven
        else f"{needed} needed, at least {certificate.bound} proven"
    )
    spare = f", {counted(used - needed, 'safety repeat')}" if used > needed else ""
    return f"{used} used of {has}, {has - used} free{spare}; {proof}"


def tolerance_words(compiled: Compiled) -> str:
    """What the tolerance means for the lamps."""
    if not any(s.reason.bound.has_sun for c in compiled.target.channels for s in c.switchings):
        return "none: every switching goes by the clock, to the minute"
    minutes = compiled.fitted.tolerance_minutes
    if not minutes:
        return "none: lamps come on at dusk and go off at dawn, to the minute"
    return {
        "light": f"lamps come on up to {minutes} min before dusk, never after it; "
        f"they go off up to {minutes} min after dawn, never before it",
        "dark": f"lamps come on up to {minutes} min after dusk, never before it; "
        f"they go off up to {minutes} min before dawn, never after it",
    }.get(
        compiled.site.fit.favour,
        f"lamps come on up to {minutes} min before or after dusk; the same at dawn",
    )


def _test_run(compiled: Compiled) -> list[Row]:
    audit = compiled.audit
    if audit is None:
        return [Row("Test run", "not made")]
    if audit.agrees:
        verdict = f"agrees with the wishes in all {len(audit.runs)} runs"
        found = deviations(compiled.year, compiled.target, audit)
        return [Row("Worst", _worst(compiled, found)), Row("Test run", verdict)]
    wrong = [run for run in audit.runs if not run.agrees]
    parts = [f"{len(wrong)} of {len(audit.runs)} runs"] if wrong else []
    if audit.overlaps:
        parts.append(f"{counted(len(audit.overlaps), 'pair')} of slots could act in either order")
    if audit.interval_differences:
        parts.append(
            f"{counted(len(audit.interval_differences), 'switching')} could come at a wrong time"
        )
    return [Row("Test run", f"DISAGREES with the wishes: {', '.join(parts)}")]


def _worst(compiled: Compiled, found: Sequence[Deviation]) -> str:
    early = max((d for d in found), key=lambda d: d.early.seconds, default=None)
    late = max((d for d in found), key=lambda d: d.late.seconds, default=None)
    parts = []
    if early is not None and late is not None:
        parts = [
            _one_worst(compiled, early.action, early.early, "early"),
            _one_worst(compiled, late.action, late.late, "late"),
        ]
    return "; ".join(parts)


def _one_worst(compiled: Compiled, action: Action, worst: Worst, side: str) -> str:
    if worst.at is None:
        return f"never {side}"
    day = date_words(compiled.world.zone.local_date(worst.at))
    return f"{action.value} {minutes_words(worst.seconds)} {side} on {day}"


def _dark_nights(compiled: Compiled) -> Row:
    dark = compiled.nights_without_light
    if not dark:
        return Row("Dark nights", "none: some circuit is lit on every night")
    text = f"{counted(len(dark), 'night')} without any switched light"
    if len(dark) == 1:
        return Row("Dark nights", f"{text}: {date_words(dark[0])}")
    return Row("Dark nights", f"{text}, first {date_words(dark[0])}, last {date_words(dark[-1])}")


def _promises(compiled: Compiled) -> Row:
    lines = dict.fromkeys((p.circuit, p.text) for p in compiled.promises)
    broken = dict.fromkeys((p.circuit, p.text) for p in compiled.promises if not p.kept)
    if not lines:
        written = any(circuit.promises for circuit in compiled.site.circuits)
        text = "none falls in this period" if written else "no promise in the site file"
    elif broken:
        circuit, first = next(iter(broken))
        text = f"BROKEN {len(broken)} of {len(lines)}: `{first}` ({circuit})"
    else:
        text = f"kept {len(lines)} of {len(lines)}"
    rule = "no rule was checked"
    return Row("Promises", f"{text}; {rule}", f"{text.partition(':')[0]}; {rule}")


def _energy(compiled: Compiled) -> Row:
    each = []
    for use in compiled.energy:
        kwh = "" if use.kwh is None else f", {amount_words(use.kwh)} kWh"
        each.append(f"{use.circuit} {amount_words(use.hours)} h{kwh}")
    hours = amount_words(sum(use.hours for use in compiled.energy))
    loads = [use.kwh for use in compiled.energy if use.kwh is not None]
    total = f", {amount_words(sum(loads))} kWh" if loads else ""
    brief = f"{counted(len(compiled.energy), 'circuit')}, {hours} h{total}"
    return Row("Lit", "; ".join(each), brief)


def _clock_changes(compiled: Compiled) -> Row:
    zone, year = compiled.world.zone, compiled.year
    changes = [c for c in zone.changes() if year.start <= c.instant < year.end]
    if not changes:
        return Row("Clock", f"no clock change in the period ({zone.name})")
    text = "; ".join(clock_change_words(zone, c) for c in changes)
    return Row("Clock", text, f"{counted(len(changes), 'clock change')} in the period")


def _cautions(around: Surroundings) -> list[Row]:
    if not around.cautions:
        return []
    return [Row("Read", f"{counted(around.cautions, 'caution')} above")]


def _files(compiled: Compiled, written: Written) -> Row:
    names = ", ".join(written.names)
    text = f"{names} in {written.folder}"
    if not compiled.may_write_program:
        text += f"; {' and '.join(PROGRAM_FILES)} were NOT written"
    if written.program_code:
        text = f"program code {written.program_code}; {text}"
    return Row("Files", text)
