"""What `copy` and `verify` tell about a program and its files."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from schedcomp.output.stick_set import ListedFile, StickSet, listed
from schedcomp.report.words import wrapped
from schedcomp.transfer import Transfer
from schedcomp.transferlimits import never_off
from schedcomp.words import counted, date_words, join_and

NOT_CONFIRMED = (
    "This proves the files, not the units: whether a unit holds the program is not confirmed "
    "until its slots were read off and compared, or a test page was signed."
)


def program_line(transfer: Transfer) -> str:
    """`Sample lot: program 7F3A-92C1, 9 slots on a sun-yearly-64`."""
    slots = counted(transfer.program.slots_used, "slot")
    first, last = date_words(transfer.period.first), date_words(transfer.period.last)
    return wrapped(
        f"{transfer.site_name}: program {transfer.program_code}, {slots} on a "
        f"{transfer.controller.name}, {first} through {last}"
    )


def accepted_lines(transfer: Transfer) -> list[str]:
    """What need not be met, with the reason, line by line."""
    return [wrapped(f"Accepted although not met: {c}: {b}.") for c, b in transfer.accepted]


def never_off_lines(transfer: Transfer) -> list[str]:
    """What stays lit when the period is over, line by line."""
    return [
        wrapped(
            f"{circuit} has an ON and never an OFF: its lamps burn past "
            f"{date_words(transfer.period.last)}, until another program is keyed."
        )
        for circuit in never_off(transfer)
    ]


def units_words(labels: Iterable[str]) -> str:
    return join_and(list(labels)) or "every unit of the site"


def copied_text(
    transfer: Transfer,
    found: StickSet,
    target: str,
    name: str,
    replaced: Sequence[str],
    was_there: bool,
) -> str:
    """What was copied where, for whom, and what became of the sets that were there."""
    size = -(-sum(len(content) for content in found.files.values()) // 1000)
    how = "was there already" if was_there else "copied"
    lines = [
        program_line(transfer),
        *accepted_lines(transfer),
        *never_off_lines(transfer),
        wrapped(
            f"{how.capitalize()}: {target}, folder {name}. {counted(len(found.files), 'file')}, "
            f"{size} kB, read back and equal."
        ),
        wrapped(f"For {units_words(unit.label for unit in found.units)}."),
    ]
    if replaced:
        lines.append(wrapped(f"Older sets are now in {join_and(list(replaced))}."))
    return "\n".join([*lines, wrapped(NOT_CONFIRMED)]) + "\n"


def program_record(transfer: Transfer) -> dict[str, object]:
    """Which program a transfer file holds."""
    return {
        "site": transfer.site_name,
        "program_code": transfer.program_code,
        "sha256": transfer.checksum,
        "controller": transfer.controller.name,
        "slots_used": transfer.program.slots_used,
        "accepted": [{"clause": c, "because": b} for c, b in transfer.accepted],
        "never_off": list(never_off(transfer)),
        "period": {
            "first": transfer.period.first.isoformat(),
            "last": transfer.period.last.isoformat(),
        },
    }


def files_records(files: Iterable[ListedFile]) -> list[dict[str, object]]:
    return [{"name": f.name, "bytes": f.bytes, "sha256": f.sha256} for f in files]


def set_records(found: StickSet) -> list[dict[str, object]]:
    return files_records(listed(found.files))
