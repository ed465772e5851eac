"""When somebody must drive to a site, to key how many slots, and why.

A unit holds nothing, or the program of an earlier run. That one is good until its own last right
date at most, and it is tried on the new wishes as well: the visit is due on the last date before
it does something wrong.
"""

from __future__ import annotations

import os
from collections import Counter
from datetime import date

from schedcomp.audit import run_program
from schedcomp.compiled import Compiled
from schedcomp.controller import Controller
from schedcomp.fleet.job import Order, SiteJob
from schedcomp.fleet.kept import outcome_of, read_record, site_folder
from schedcomp.left_alone import first_fault
from schedcomp.messages import fleet as messages
from schedcomp.model import ONE_DAY
from schedcomp.program import Program
from schedcomp.records import Record
from schedcomp.renewal import ADD, CHANGE, ERASE, slot_changes
from schedcomp.same_unit import same_unit_findings
from schedcomp.site import Site
from schedcomp.transfer import Transfer
from schedcomp.transferfile import load_transfer
from schedcomp.unit_place import unit_sun_of
from schedcomp.words import date_words


class Held(Record):
    """What the units hold from an earlier run: its program code and last right date.

    `transfer` None: they cannot go on with its slots, being other controllers or elsewhere.
    """

    code: str
    good_until: date | None
    transfer: Transfer | None


class Visit(Record):
    """Slots to key, the last date to do it on ("" for no visit) and why."""

    add: int
    change: int
    erase: int
    by: str
    reason: str


NO_VISIT = Visit(0, 0, 0, "", "")


def held_of(order: Order, job: SiteJob, site: Site, controller: Controller) -> Held | None:
    """The program of the earlier run, None where there is no such run or program."""
    if not order.against:
        return None
    folder = site_folder(order.against, job.folder)
    path = folder / "transfer.json"
    if not os.path.isfile(path):
        return None
    transfer, _ = load_transfer(path)
    if transfer is None:
        return None
    record = read_record(folder)
    before = None if record is None else outcome_of(record)
    until = date.fromisoformat(before.good_until) if before and before.good_until else None
    other = same_unit_findings(site, controller, transfer, str(path), "")
    return Held(transfer.program_code, until, None if other else transfer)


def visit_of(order: Order, compiled: Compiled, code: str, held: Held | None) -> Visit:
    """The visit that a compiled site asks for; `code` is "" without a program to key."""
    program = compiled.fitted.program
    if held is not None and code == held.code:
        return NO_VISIT
    if program is None or not code:
        return _without_program(held)
    if held is None or held.transfer is None:
        before = order.period.first - ONE_DAY
        reason = messages.OTHER_UNIT
        if held is None:
            reason = messages.NOT_IN_LAST_RUN if order.against else messages.FIRST_PROGRAM
        elif held.good_until is not None:
            before = min(before, held.good_until)
        return Visit(program.slots_used, 0, 0, before.isoformat(), reason)
    return _changed(compiled, program, held, held.transfer)


def visit_of_stopped(order: Order, folder: str) -> Visit:
    """As `visit_of`, for a site that could not be built."""
    record = read_record(site_folder(order.against, folder)) if order.against and folder else None
    before = None if record is None else outcome_of(record)
    if before is None or not before.good_until:
        return Visit(0, 0, 0, "", messages.NO_PROGRAM)
    return Visit(0, 0, 0, before.good_until, messages.NO_NEW_PROGRAM)


def _without_program(held: Held | None) -> Visit:
    """The old program goes on, as long as it is right."""
    if held is None or held.good_until is None:
        return Visit(0, 0, 0, "", messages.NO_PROGRAM)
    return Visit(0, 0, 0, held.good_until.isoformat(), messages.NO_NEW_PROGRAM)


def _changed(compiled: Compiled, program: Program, held: Held, old: Transfer) -> Visit:
    site, controller, zone = compiled.site, compiled.controller, compiled.world.zone
    count = Counter(c.action for c in slot_changes(old.program, program, controller))
    unit = unit_sun_of(site, controller, compiled.world)
    alone = run_program(old.program, controller, compiled.target, unit, site.timezone)
    fault = first_fault(alone, compiled.target, zone)
    last = compiled.year.period.last
    if fault is None:
        by, reason = last, messages.STILL_RIGHT.format(last=date_words(last))
    else:
        by = fault.day - ONE_DAY
        reason = messages.FIRST_FAULT.format(
            day=date_words(fault.day), circuit=fault.circuit, what=fault.what
        )
    if held.good_until is not None and held.good_until < by:
        by = held.good_until
        reason = messages.RUNS_OUT.format(last=date_words(by))
    if not count:
        reason = messages.SETTINGS_ONLY
    return Visit(count[ADD], count[CHANGE], count[ERASE], by.isoformat(), reason)
