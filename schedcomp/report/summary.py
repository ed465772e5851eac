"""The terminal summary of a build: at most 20 lines of at most 80 columns."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from schedcomp.compiled import Compiled
from schedcomp.deviation import Deviation, Worst, total_deviation
from schedcomp.model import MINUTE, Action
from schedcomp.records import Record, replace
from schedcomp.report.lasting import good_until_words, missed_words
from schedcomp.report.strip import strip
from schedcomp.report.words import (
    amount_words,
    minutes_words,
    used_words,
    wrapped,
)
from schedcomp.rule_words import NO_RULE, people_briefly, people_summary, rule_briefly, rule_summary
from schedcomp.told_time import clock_change_words
from schedcomp.words import counted, date_words, join_and

LINES = 20
LABEL_WIDTH = 12
SAFETY = (
    "These circuits switch on by themselves at any time. OFF at the clock is not isolation. "
    "Lock out at the breaker and test before work."
)
SAFETY_BRIEFLY = "OFF at the clock is not isolation. Lock out at the breaker and test."


class Written(Record, kw_only=True):
    """What a build left on the disk; `program_code` is "" without a program."""

    folder: str
    names: tuple[str, ...]
    program_code: str


class Surroundings(Record, kw_only=True):
    """What the summary tells beside the compilation: where on earth, the light, what to read."""

    where: str
    light: str
    dusk: str
    period_note: str
    cautions: int
    night: date | None = None


class Row(Record):
    """A labelled sentence, and a shorter form of it where lines are scarce.

    A `dear` row is shortened only when no other can be.
    """

    label: str
    text: str
    brief: str = ""
    dear: bool = False

    @property
    def lines(self) -> list[str]:
        return wrapped(self.text, self.label.ljust(LABEL_WIDTH)).splitlines()

    def cut(self) -> Row:
        """The row with one line less, where it has more than one."""
        lines = self.lines
        words = " ".join(line[LABEL_WIDTH:] for line in lines[:-1]).split()
        shorter = replace(self, text=" ".join([*words, "..."]), brief="")
        while words and len(shorter.lines) >= len(lines):
            words.pop()
            shorter = replace(shorter, text=" ".join([*words, "..."]))
        return shorter


def summary_text(compiled: Compiled, around: Surroundings, written: Written) -> str:
    """The whole summary."""
    rows = [
        Row("Site", f"{compiled.site.name}: {around.where}"),
        Row("Period", _period(compiled, around)),
        Row("Light", around.light, around.dusk),
        _one_night(compiled, around),
        *_program_rows(compiled),
        _dark_nights(compiled),
        promises_row(compiled),
        *rule_rows(compiled),
        _energy(compiled),
        _clock_changes(compiled),
        *_cautions(around),
        _files(compiled, written),
        Row("Safety", SAFETY, SAFETY_BRIEFLY),
    ]
    return "\n".join(line for row in fitted_rows(rows) for line in row.lines) + "\n"


def fitted_rows(rows: Sequence[Row]) -> list[Row]:
    """The rows, as many as needed in their brief form, those first that save most lines.

    Where this is not enough, the longest rows are cut, the last of equal ones first.
    """
    shown = list(rows)
    while sum(len(row.lines) for row in shown) > LINES:
        savings = [len(row.lines) - len(_briefly(row).lines) for row in shown]
        if max(savings) > 0:
            ranks = [
                (saved > 0 and not row.dear, saved)
                for saved, row in zip(savings, shown, strict=True)
            ]
            index = ranks.index(max(ranks))
            shown[index] = _briefly(shown[index])
            continue
        longest, index = max((len(row.lines), index) for index, row in enumerate(shown))
        if longest < 2:
            break
        shown[index] = shown[index].cut()
    return shown


def _briefly(row: Row) -> Row:
    return replace(row, text=row.brief or row.text, brief="")


def _one_night(compiled: Compiled, around: Surroundings) -> Row:
    """The night of a date, or of the nearest of the period."""
    period = compiled.year.period
    day = min(max(around.night or period.first, period.first), period.last)
    shown = strip(compiled.year.circuits, compiled.world.zone, day)
    return Row(date_words(day, year=False), shown)


def _period(compiled: Compiled, around: Surroundings) -> str:
    period = compiled.year.period
    text = f"{date_words(period.first)} through {date_words(period.last)}"
    return f"{text}{around.period_note}"


def _program_rows(compiled: Compiled) -> list[Row]:
    controller = compiled.controller
    title = f"{controller.name}, {counted(controller.event_slots, 'slot')}"
    if controller.slots_are == "per channel":
        title += " per channel"
    rows = [Row("Controller", f"{title}{_special_days(compiled)}", title)]
    if compiled.fitted.program is None:
        return [*rows, Row("Slots", f"DOES NOT FIT: {does_not_fit(compiled)}")]
    return [
        *rows,
        Row("Slots", _slots(compiled), _slots(compiled, briefly=True)),
        Row("Tolerance", tolerance_words(compiled), _tolerance_briefly(compiled), dear=True),
        *_test_run(compiled),
        *lasting_rows(compiled),
    ]


def lasting_rows(compiled: Compiled) -> list[Row]:
    """How long the program is right, and what one missed event would do."""
    rows = []
    if compiled.good_until is not None:
        told = good_until_words(compiled.good_until)
        rows.append(Row("GOOD UNTIL", told.text, told.brief))
    missed = missed_words(compiled)
    if missed is not None:
        rows.append(Row("If missed", missed.text, missed.brief))
    return rows


def _special_days(compiled: Compiled) -> str:
    """How many of the controller's slots for special days are used."""
    program, slots = compiled.fitted.program, compiled.controller.exceptions.slots
    if program is None or not slots:
        return ""
    used = len({days.slot for days in program.special_days})
    return f"; uses {used} of {counted(slots, 'special-day slot')}"


def does_not_fit(compiled: Compiled) -> str:
    """What a program would need, where the controller cannot hold it."""
    fitted = compiled.fitted
    per_channel = compiled.controller.slots_are == "per channel"
    one, each = (" on one channel", " for each") if per_channel else ("", "")
    tolerance = f"at a tolerance of {fitted.tolerance_minutes} min"
    if fitted.slots_needed is None:
        return f"no program of any length does this {tolerance}"
    has = compiled.controller.event_slots
    needs = f"the wishes need {fitted.slots_needed} slots{one} {tolerance}"
    return f"{needs}; the controller has {has}{each}"


def _slots(compiled: Compiled, *, briefly: bool = False) -> str:
    program, certificate = compiled.fitted.program, compiled.fitted.certificate
    assert program is not None
    assert certificate is not None
    text = used_words(program, compiled.controller, briefly=briefly)
    if certificate.proven:
        proven = "proven" if briefly else "fewest possible, proven"
        text = f"needs {certificate.slots} ({proven}), {text}"
    else:
        text = f"{certificate.slots} found (at least {certificate.bound} needed), {text}"
    spare = program.slots_used - replace(program, events=program.needed).slots_used
    if spare:
        text += f", {spare} {'is a safety repeat' if spare == 1 else 'are safety repeats'}"
    return text


def tolerance_words(compiled: Compiled) -> str:
    """What the tolerance means for the lamps."""
    if not any(s.reason.bound.has_sun for c in compiled.target.channels for s in c.switchings):
        return "none: every switching goes by the clock, to the minute"
    minutes = compiled.fitted.most_minutes
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


def _tolerance_briefly(compiled: Compiled) -> str:
    """The same on one line."""
    minutes = compiled.fitted.most_minutes
    on, off = {"light": ("before", "after"), "dark": ("after", "before")}.get(
        compiled.site.fit.favour, ("around", "around")
    )
    words = tolerance_words(compiled)
    if words.startswith("none"):
        return words
    return f"lamps on up to {minutes} min {on} dusk, off up to {minutes} min {off} dawn"


def _test_run(compiled: Compiled) -> list[Row]:
    audit = compiled.audit
    if audit is None:
        return [Row("Test run", "not made")]
    if audit.agrees:
        verdict = f"agrees with the wishes in all {len(audit.runs)} runs"
        found = compiled.deviations
        total = _total(compiled)
        worst = (_worst(compiled, found) + total, _worst_briefly(found) + total)
        return [Row("Worst", *worst), Row("Test run", verdict)]
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


def _worst_briefly(found: Sequence[Deviation]) -> str:
    early = max((d.early.seconds for d in found), default=0)
    late = max((d.late.seconds for d in found), default=0)
    return f"{minutes_words(early)} early, {minutes_words(late)} late"


def _total(compiled: Compiled) -> str:
    """All minutes of the period by which lamps switch early or late, sun times as worked out."""
    certificate = compiled.fitted.certificate
    total = None if certificate is None else total_deviation(certificate)
    if total is None or not total.seconds:
        return ""
    minutes, least = (-(-s // MINUTE) for s in (total.seconds, total.bound_seconds))
    bound = "the least possible" if total.is_least else f"{least:,} of them unavoidable"
    return f"; in all {minutes:,} min, {bound}"


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
    told = f"{text}, first {date_words(dark[0])}, last {date_words(dark[-1])}"
    return Row("Dark nights", told, text, dear=True)


def promises_row(compiled: Compiled) -> Row:
    """How many promises were kept, or the first that was broken."""
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
    brief = text.partition(":")[0]
    if compiled.rules.checked:
        return Row("Promises", text, brief, dear=bool(broken))
    told = f"{text}; {NO_RULE}"
    return Row("Promises", told, f"{brief}; {NO_RULE}", dear=bool(broken))


def rule_rows(compiled: Compiled) -> list[Row]:
    """The rule in one row, people in another where there are opening hours."""
    rules = compiled.rules
    rows = []
    if rules.checked:
        rows.append(Row("Rule", rule_summary(rules), rule_briefly(rules)))
    if rules.accepted:
        each = "; ".join(f"{clause}: {because}" for clause, because in rules.accepted)
        rows.append(Row("ACCEPTED", each, dear=True))
    if rules.people:
        rows.append(Row("People", people_summary(rules), people_briefly(rules)))
    return rows


def _energy(compiled: Compiled) -> Row:
    each = []
    for use in compiled.energy:
        kwh = "" if use.kwh is None else f", {amount_words(use.kwh)} kWh"
        about = " (estimated, photocell)" if use.estimated else ""
        each.append(f"{use.circuit} {amount_words(use.hours)} h{kwh}{about}")
    hours = amount_words(sum(use.hours for use in compiled.energy))
    loads = [use.kwh for use in compiled.energy if use.kwh is not None]
    total = f", {amount_words(sum(loads))} kWh" if loads else ""
    about = " (estimated, photocell)" if any(use.estimated for use in compiled.energy) else ""
    brief = f"{counted(len(compiled.energy), 'circuit')}, {hours} h{total}{about}"
    return Row("Lit", "; ".join(each), brief)


def _clock_changes(compiled: Compiled) -> Row:
    zone, year = compiled.world.zone, compiled.year
    changes = [c for c in zone.changes() if year.start <= c.instant < year.end]
    if not changes:
        return Row("Clock", f"no clock change in the period ({zone.name})")
    text = "; ".join(clock_change_words(zone, c) for c in changes)
    return Row("Clock", text, f"{counted(len(changes), 'clock change')} in the period", dear=True)


def _cautions(around: Surroundings) -> list[Row]:
    if not around.cautions:
        return []
    return [Row("Read", f"{counted(around.cautions, 'caution')} above")]


def _files(compiled: Compiled, written: Written) -> Row:
    code = f"program code {written.program_code}; " if written.program_code else ""
    refused = ""
    if not compiled.may_write_program:
        refused = f"; {join_and(program_files(compiled))} were NOT written"
    names = ", ".join(name for name in written.names if not name.endswith(".svg"))
    drawn = sum(name.endswith(".svg") for name in written.names)
    drawings = f" and {counted(drawn, 'drawing')}" if drawn else ""
    return Row(
        "Files",
        f"{code}{names}{drawings} in {written.folder}{refused}",
        f"{code}{counted(len(written.names), 'file')} in {written.folder}"
        + ("; the program was NOT written" if refused else ""),
    )


def program_files(compiled: Compiled) -> tuple[str, ...]:
    """The files that hold the program, written only where it may be keyed."""
    program = compiled.fitted.program
    has_special_days = program is not None and bool(program.special_days)
    special = ("special_days.csv",) if has_special_days else ()
    return ("events.csv", *special, "transfer.json")
