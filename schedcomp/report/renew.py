"""What a renewal came to, in words: what people notice, and the slots to key."""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp.clock import Zone
from schedcomp.compiled import Compiled
from schedcomp.left_alone import LeftAlone, Noticed
from schedcomp.output.slots import content_words, slot_words
from schedcomp.records import Record
from schedcomp.renewal import ADD, CHANGE, ERASE, EVENTS, SlotChange
from schedcomp.report.summary import (
    SAFETY,
    Row,
    lasting_rows,
    promises_row,
    rule_rows,
    tolerance_words,
)
from schedcomp.report.words import wrapped
from schedcomp.told_time import keyed_words
from schedcomp.transfer import Transfer
from schedcomp.words import counted, date_words, join_and, length_words

SHOWN_CHANGES = 60
SHOWN_CIRCUITS = 4
DO = {ADD: "add", CHANGE: "change", ERASE: "delete"}


class Renewal(Record, kw_only=True):
    """A renewed program with what it differs in from the old one.

    `fault` is the first thing the old program, left alone, does wrong in the new period; None if
    it does nothing wrong. `renamed` are channels with the old and the new name of their circuit.
    `begins` says why the period begins when it does. `code` is the program code of the new one.
    """

    compiled: Compiled
    old: Transfer
    changes: tuple[SlotChange, ...]
    fault: LeftAlone | None
    noticed: tuple[Noticed, ...]
    renamed: tuple[tuple[int, str, str], ...]
    begins: str
    code: str
    kept_tolerance: bool


def renewal_text(renewal: Renewal, where: str, files: str, cautions: int) -> str:
    """Everything for the terminal; `files` tells where they were written."""
    rows = [
        Row("Site", f"{renewal.compiled.site.name}: {where}"),
        *_program_rows(renewal),
        *_people_rows(renewal),
        *_slot_rows(renewal),
        *lasting_rows(renewal.compiled),
        promises_row(renewal.compiled),
        *rule_rows(renewal.compiled),
        *_cautions(cautions),
        Row("Files", files),
        Row("Safety", SAFETY),
    ]
    lines = [line for row in rows for line in row.lines]
    return "\n".join([*lines, *_to_key(renewal)]) + "\n"


def _program_rows(renewal: Renewal) -> Iterator[Row]:
    old, period = renewal.old, renewal.compiled.year.period
    made_for = f"{date_words(old.period.first)} through {date_words(old.period.last)}"
    yield Row("Old program", f"{old.program_code}, made for {made_for}")
    dates = f"{date_words(period.first)} through {date_words(period.last)}"
    code = f"{renewal.code}, made for" if renewal.changes else f"the same, {renewal.code}, for"
    yield Row("New program", f"{code} {dates} ({renewal.begins})")
    for channel, before, now in renewal.renamed:
        yield Row("Renamed", f"channel {channel} was {before} in the old file and is {now} now")


def _people_rows(renewal: Renewal) -> Iterator[Row]:
    """What the old program does wrong in the new period, and what people will notice."""
    if renewal.fault is None:
        yield Row("Left alone", "the old program does all that is asked in the new period")
    else:
        fault = renewal.fault
        yield Row(
            "Left alone",
            f"the old program first goes wrong on {date_words(fault.day)}: the lamps of "
            f"{fault.circuit} {fault.what}",
        )
    for one in renewal.noticed[:SHOWN_CIRCUITS]:
        yield Row("For people", noticed_words(one))
    more = renewal.noticed[SHOWN_CIRCUITS:]
    if more:
        yield Row("For people", f"{counted(len(more), 'more circuit')} with other nights")
    if not renewal.noticed:
        yield Row("For people", "no night differs from what the old program would do")


def noticed_words(one: Noticed) -> str:
    """`Sign: 52 nights differ, the first Fri 3 Dec 2027: 12 h more light, ...`."""
    more, less = length_words(one.more_seconds), length_words(one.less_seconds)
    worst_more, worst_less = (
        length_words(one.worst_more_seconds),
        length_words(one.worst_less_seconds),
    )
    return (
        f"{one.circuit}: {counted(one.nights, 'night')} not as the old program would do, first "
        f"{date_words(one.first)}; in all {more} more light and {less} less; most on "
        f"{date_words(one.worst)}: {worst_more} more, {worst_less} less"
    )


def _slot_rows(renewal: Renewal) -> Iterator[Row]:
    compiled = renewal.compiled
    certificate = compiled.fitted.certificate
    program = compiled.fitted.program
    assert program is not None
    assert certificate is not None
    least = "fewest possible, proven" if certificate.proven else f"at least {certificate.bound}"
    used = f"uses {program.slots_used}, needs {certificate.slots} ({least})"
    yield Row("Slots", f"{counts_words(renewal)}; {used}")
    kept = " (that of the old program)" if renewal.kept_tolerance else ""
    yield Row("Tolerance", f"{tolerance_words(compiled)}{kept}")
    assert compiled.audit is not None
    runs = len(compiled.audit.runs)
    yield Row("Test run", f"of the program as renewed: agrees with the wishes in all {runs} runs")


def counts_words(renewal: Renewal) -> str:
    """`2 to change, 1 to add, 1 to delete, 9 stay as they are`."""
    counts = {do: sum(c.action == do for c in renewal.changes) for do in DO}
    told = [f"{count} to {DO[do]}" for do, count in counts.items() if count]
    return ", ".join([*told, f"{unchanged(renewal)} stay as they are"])


def unchanged(renewal: Renewal) -> int:
    """How many slots of events stay as they are."""
    program = renewal.old.program
    touched = [c for c in renewal.changes if c.listed == EVENTS and c.old]
    return program.slots_used - len(touched)


def _cautions(count: int) -> list[Row]:
    return [Row("Read", f"{counted(count, 'caution')} above")] if count else []


def _to_key(renewal: Renewal) -> Iterator[str]:
    """The list to key, old line above new line."""
    yield ""
    if not renewal.changes:
        yield wrapped(f"Nothing to key; {_good_until(renewal)}.")
        return
    labels = [unit.label for unit in renewal.compiled.site.units]
    yield wrapped(f"To key in {join_and(labels)}:" if labels else "To key:")
    for change in renewal.changes[:SHOWN_CHANGES]:
        yield from _change_lines(renewal.compiled.world.zone, change)
    more = len(renewal.changes) - SHOWN_CHANGES
    if more > 0:
        yield f"{more} more in changes.csv"


def _good_until(renewal: Renewal) -> str:
    good = renewal.compiled.good_until
    if good is None:
        return "the program stays as it is"
    if good.wrong is None:
        return f"no error found through {date_words(good.looked_through)}"
    return f"good until {date_words(good.last)}"


def _change_lines(zone: Zone, change: SlotChange) -> Iterator[str]:
    head = f"{DO[change.action]:7} {slot_words(change)}: "
    old, new = (keyed_words(zone, content_words(held)) for held in (change.old, change.new))
    if change.action == CHANGE:
        yield wrapped(old, head, " " * 10)
        yield wrapped(new, "     to   ", " " * 10)
    else:
        yield wrapped(new or old, head, " " * 10)


def record_of(renewal: Renewal) -> dict[str, object]:
    """The same as a plain record."""
    return {
        "old_program_code": renewal.old.program_code,
        "new_program_code": renewal.code,
        "old_period": {
            "first": renewal.old.period.first.isoformat(),
            "last": renewal.old.period.last.isoformat(),
        },
        "begins": renewal.begins,
        "nothing_to_key": not renewal.changes,
        "unchanged_slots": unchanged(renewal),
        "changes": [_change_record(change) for change in renewal.changes],
        "old_program_first_wrong": _fault_record(renewal.fault),
        "for_people": [_noticed_record(one) for one in renewal.noticed],
        "renamed": [
            {"channel": channel, "old": old, "new": new} for channel, old, new in renewal.renamed
        ],
        "units": [unit.label for unit in renewal.compiled.site.units],
    }


def _change_record(change: SlotChange) -> dict[str, object]:
    return {
        "do": DO[change.action],
        "list": change.listed,
        "channels": list(change.channels),
        "slot": change.slot,
        "old_line": content_words(change.old) or None,
        "new_line": content_words(change.new) or None,
    }


def _fault_record(fault: LeftAlone | None) -> dict[str, object] | None:
    if fault is None:
        return None
    return {"date": fault.day.isoformat(), "circuit": fault.circuit, "what": fault.what}


def _noticed_record(one: Noticed) -> dict[str, object]:
    return {
        "circuit": one.circuit,
        "channel": one.channel,
        "nights": one.nights,
        "more_seconds": one.more_seconds,
        "less_seconds": one.less_seconds,
        "first": one.first.isoformat(),
        "worst": {
            "date": one.worst.isoformat(),
            "more_seconds": one.worst_more_seconds,
            "less_seconds": one.worst_less_seconds,
        },
    }
