"""The answer to `verify`: whether a transfer file, or a set on a stick, is what was built."""

from __future__ import annotations

import os
from pathlib import Path

from schedcomp import pipeline, sitefile
from schedcomp.answers.answer import BAD_FILES, CLEAN, FINDINGS, Answer, Findings
from schedcomp.audit import run_program
from schedcomp.compiled import Compiled
from schedcomp.diag import Severity
from schedcomp.messages import stick as messages
from schedcomp.ordinance.load import load_ordinances
from schedcomp.ordinance.settle import still_accepted
from schedcomp.output.disk import words_of
from schedcomp.output.stick_folder import EXAMPLE
from schedcomp.output.stick_set import TRANSFER
from schedcomp.output.transfer import program_code
from schedcomp.records import Record
from schedcomp.report import stick as report
from schedcomp.report.words import wrapped
from schedcomp.site import Site
from schedcomp.site_controller import controller_of
from schedcomp.stickcheck import CheckedSet, check_set, was_built_there
from schedcomp.transfer import Transfer
from schedcomp.transferfile import load_transfer
from schedcomp.transferlimits import contradictions
from schedcomp.unit_place import unit_sun_of
from schedcomp.words import counted, date_words

SAME, STILL_RIGHT, OTHER = "same program", "another program that does the same", "other"


class _Compiled(Record):
    """What the site file gives today: the code "" where there is no program to key."""

    site: Site
    result: Compiled
    code: str


def verify(path: str, site_path: str | None) -> Answer:
    """Check a transfer file or a stick, and with a site that it still gives it."""
    checked: CheckedSet | None = None
    if was_built_there(Path(path)):
        path = (Path(path) / TRANSFER).as_posix()
    if os.path.isdir(path):
        checked, found = _set_in(path)
        transfer = None if checked is None else checked.transfer
    else:
        transfer, found = load_transfer(path)
    if transfer is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    found = _meaning(transfer, path)
    if found:
        return Answer(exit_code=BAD_FILES, findings=found, record=report.program_record(transfer))
    lines = [
        report.program_line(transfer),
        *report.accepted_lines(transfer),
        *report.never_off_lines(transfer),
        *_whole_lines(checked),
    ]
    record = {**report.program_record(transfer), **_set_record(checked)}
    if site_path is None:
        lines.append(wrapped("No site file was compared; --site SITE does that."))
        return Answer(exit_code=CLEAN, text=_text(lines), record={**record, "site_file": None})
    compiled, found = _compiled(transfer, site_path)
    if compiled is None:
        return Answer(exit_code=BAD_FILES, findings=found, record=record)
    verdict, found = _compared(transfer, path, site_path, compiled)
    if verdict != OTHER:
        lines.append(wrapped(f"{site_path} built again for this period: {verdict}."))
    return Answer(
        exit_code=FINDINGS if verdict == OTHER else CLEAN,
        text=_text(lines),
        record={**record, "site_file": {"path": site_path, "verdict": verdict}},
        findings=found,
    )


def _set_in(path: str) -> tuple[CheckedSet | None, Findings]:
    try:
        return check_set(Path(path))
    except OSError as fault:
        what = messages.SHEET_NOT_READ.format(words=words_of(fault))
        return None, (messages.SET_NOT_WHOLE.at(None, folder=path, what=what, example=EXAMPLE),)


def _text(lines: list[str]) -> str:
    return "\n".join([*lines, wrapped(report.NOT_CONFIRMED)]) + "\n"


def _meaning(transfer: Transfer, path: str) -> Findings:
    return tuple(
        messages.NOT_POSSIBLE.at(
            None,
            name=path,
            controller=transfer.controller.name,
            what=what,
            example="schedcomp build north-lot.toml",
        )
        for what in contradictions(transfer)
    )


def _whole_lines(checked: CheckedSet | None) -> list[str]:
    lines = [wrapped("Form, checksum, program code and meaning are in order.")]
    if checked is not None:
        files = counted(len(checked.files), "file")
        units = report.units_words(checked.units)
        lines.append(
            wrapped(f"Set in use: {checked.name}, {files} as listed in its manifest, for {units}.")
        )
    return lines


def _set_record(checked: CheckedSet | None) -> dict[str, object]:
    if checked is None:
        return {}
    return {
        "folder": checked.name,
        "units": list(checked.units),
        "files": report.files_records(checked.files),
    }


# Against the site file


def _compiled(transfer: Transfer, site_path: str) -> tuple[_Compiled | None, Findings]:
    site, found = sitefile.load_site(site_path)
    if site is None:
        return None, found
    controller, found = controller_of(site)
    if controller is None:
        return None, found
    ordinances, found = load_ordinances(site)
    if ordinances is None:
        return None, found
    accepted = still_accepted(transfer.accepted, site, ordinances)
    result, found = pipeline.compile(site, transfer.period, controller, accepted=accepted)
    if result is None:
        return None, tuple(f for f in found if f.severity is Severity.PROBLEM)
    code = ""
    if result.may_write_program and result.fitted.program is not None:
        code = program_code(result.fitted.program, controller, site, result.world.zone)
    return _Compiled(site, result, code), ()


def _compared(
    transfer: Transfer, path: str, site_path: str, compiled: _Compiled
) -> tuple[str, Findings]:
    """The verdict and what is to be said about it."""
    if compiled.code == transfer.program_code:
        return SAME, ()
    held, made = transfer.program_code, compiled.code or messages.NO_PROGRAM_NOW
    what = _first_disagreement(transfer, compiled)
    if not what and compiled.code:
        finding = messages.STILL_RIGHT.at(None, site=site_path, name=path, held=held, made=made)
        return STILL_RIGHT, (finding,)
    period = transfer.period
    example = f"schedcomp build {site_path} --from {period.first} --through {period.last}"
    finding = messages.OTHER_PROGRAM.at(
        None, site=site_path, name=path, held=held, made=made, what=what, example=example
    )
    return OTHER, (finding,)


def _first_disagreement(transfer: Transfer, compiled: _Compiled) -> str:
    """Where the program of the file departs from the site's wishes, "" if nowhere."""
    result = compiled.result
    if transfer.controller != result.controller:
        return messages.OTHER_CONTROLLER.format(
            held=transfer.controller.name, made=result.controller.name
        )
    sun = unit_sun_of(compiled.site, transfer.controller, result.world)
    test_run = run_program(
        transfer.program, transfer.controller, result.target, sun, compiled.site.timezone
    )
    if test_run.agrees:
        return ""
    different = [*test_run.interval_differences, *(d for r in test_run.runs for d in r.differences)]
    instants = [t for d in different for t in (d.expected, d.happened) if t is not None]
    instants += [overlap.start for overlap in test_run.overlaps]
    day = date_words(result.world.zone.local_date(min(instants)))
    return messages.DIFFERENT_NIGHTS.format(day=f"on {day}")
