"""The answer to `copy`: one program set onto a stick, read back and compared."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from schedcomp.answers.answer import BAD_FILES, CLEAN, USAGE, Answer, Findings
from schedcomp.diag import Diagnostic
from schedcomp.messages import stick as messages
from schedcomp.near import near_words, quoted
from schedcomp.output.disk import words_of
from schedcomp.output.stick_folder import write_stick
from schedcomp.output.stick_set import BESIDE, CHANGES, SHEETS, stick_set
from schedcomp.plainfile import NotPlain, read_plain
from schedcomp.records import Record
from schedcomp.report import stick as report
from schedcomp.site import Unit
from schedcomp.textfile import read_bytes
from schedcomp.transfer import Transfer
from schedcomp.transferfile import LARGEST_BYTES, read_transfer
from schedcomp.words import join_and

LONGEST_LABEL = 80
LARGEST_SHEET_BYTES = 30_000_000
CHECK = "check.json"
BUILD = "schedcomp build north-lot.toml"


class CopyRequest(Record, kw_only=True):
    """What was typed after `copy`."""

    transfer: str
    folder: str
    units: tuple[str, ...] = ()


def copy(request: CopyRequest) -> Answer:
    """Put the set of a transfer file onto a stick; nothing is changed where anything is wrong."""
    data, found = read_bytes(request.transfer, LARGEST_BYTES + 1, "transfer.json")
    if data is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    transfer, found = read_transfer(data, request.transfer)
    if transfer is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    units, found = chosen_units(transfer, request.units)
    if found:
        return Answer(exit_code=USAGE, findings=found)
    beside = Path(request.transfer).parent
    good_until = _good_until(beside, transfer)
    sheets, cautions = _sheets(beside, transfer, request.transfer, good_until is not None)
    made = stick_set(transfer, data, sheets, units, good_until or "")
    copied, found = write_stick(Path(request.folder), made)
    if copied is None:
        return Answer(exit_code=BAD_FILES, findings=(*cautions, *found))
    return Answer(
        exit_code=CLEAN,
        text=report.copied_text(
            transfer, made, request.folder, copied.name, copied.replaced, copied.was_there
        ),
        record={
            **report.program_record(transfer),
            "target": request.folder,
            "folder": copied.name,
            "was_there": copied.was_there,
            "replaced": list(copied.replaced),
            "read_back": "equal",
            "units": [unit.label for unit in units],
            "units_confirmed": False,
            "files": report.set_records(made),
        },
        findings=(*cautions, *found),
    )


# Units


def chosen_units(transfer: Transfer, labels: Sequence[str]) -> tuple[tuple[Unit, ...], Findings]:
    """The units of some labels, all of them for none; a site without units takes any label."""
    found = [finding for label in labels for finding in _unusable(label)]
    twice = next((label for n, label in enumerate(labels) if label in labels[:n]), None)
    if twice is not None and not found:
        found.append(
            messages.LABEL_UNUSABLE.at(None, found=quoted(twice), what=messages.LABEL_TWICE)
        )
    if found or not labels:
        return transfer.units, tuple(found)
    if not transfer.units:
        return tuple(Unit(label=label) for label in labels), ()
    known = {unit.label: unit for unit in transfer.units}
    unknown = [label for label in labels if label not in known]
    if unknown:
        return (), tuple(_not_a_unit(label, tuple(known)) for label in unknown)
    return tuple(known[label] for label in labels), ()


def _unusable(label: str) -> Findings:
    what = ""
    if not label.strip():
        what = messages.LABEL_EMPTY
    elif not label.isprintable():
        what = messages.LABEL_NOT_ONE_LINE
    elif len(label) > LONGEST_LABEL:
        what = messages.LABEL_TOO_LONG.format(most=LONGEST_LABEL)
    if not what:
        return ()
    return (messages.LABEL_UNUSABLE.at(None, found=quoted(label) or "An empty text", what=what),)


def _not_a_unit(label: str, known: tuple[str, ...]) -> Diagnostic:
    near = near_words(label, known)
    told = f"{near[0]} is written almost like it. " if near else ""
    return messages.NOT_A_UNIT.at(
        None,
        found=quoted(label),
        known=join_and(known),
        near=told,
        example=near[0] if near else known[0],
    )


# What stands beside the transfer file


def _good_until(beside: Path, transfer: Transfer) -> str | None:
    """The last right date of check.json, "" if it tells none; None if it is of another program."""
    data, _ = read_bytes(beside / CHECK, LARGEST_SHEET_BYTES, CHECK)
    try:
        record = json.loads(data or b"")
        if record["program"]["program_code"] != transfer.program_code:
            return None
        good = record["good_until"]
        return "" if good is None else date.fromisoformat(good["last"]).isoformat()
    except (ValueError, KeyError, TypeError, RecursionError):
        return None


def _sheets(
    beside: Path, transfer: Transfer, name: str, checked: bool
) -> tuple[dict[str, bytes], Findings]:
    """The sheets and the changes that belong to this program, and why others were left out."""
    sheets: dict[str, bytes] = {}
    cautions: list[Diagnostic] = []
    for sheet in BESIDE:
        if not os.path.lexists(beside / sheet):
            continue
        what, content = "", b""
        try:
            content = read_plain(beside / sheet, LARGEST_SHEET_BYTES + 1)
        except NotPlain:
            what = messages.SHEET_NOT_PLAIN
        except OSError as fault:
            what = messages.SHEET_NOT_READ.format(words=words_of(fault))
        if len(content) > LARGEST_SHEET_BYTES:
            what = messages.SHEET_TOO_BIG.format(most=LARGEST_SHEET_BYTES // 1_000_000)
        if not what:
            known = checked or (SHEETS[0] in sheets and sheet != CHANGES)
            what = _stranger(sheet, content, transfer.program_code, known)
        if what:
            cautions.append(
                messages.OTHER_SHEET.at(None, name=sheet, transfer=name, what=what, example=BUILD)
            )
        else:
            sheets[sheet] = content
    return sheets, tuple(cautions)


def _stranger(sheet: str, content: bytes, code: str, checked: bool) -> str:
    """Why it may be of another program; what cannot be searched goes by what stands beside it."""
    if sheet == SHEETS[0]:
        return "" if code.encode() in content else messages.SHEET_WITHOUT_CODE.format(code=code)
    return "" if checked else messages.NOTHING_BESIDE.format(code=code)
