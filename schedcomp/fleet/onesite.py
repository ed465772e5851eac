"""One site of a fleet run, from its job to its files; whatever goes wrong stays with the site."""

from __future__ import annotations

import traceback
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from datetime import date
from functools import lru_cache
from pathlib import Path

from schedcomp import pipeline, sitefile
from schedcomp.answers.build import build_files, unit_files
from schedcomp.answers.renew import compile_over
from schedcomp.clock import zone
from schedcomp.compiled import Compiled
from schedcomp.controller import Controller
from schedcomp.diag import Diagnostic, Severity, Source, as_records, has_problem, in_order, render
from schedcomp.fleet.acceptances import accepted_in
from schedcomp.fleet.job import Order, SiteJob
from schedcomp.fleet.kept import RECORD, kept_record, site_folder, unchanged
from schedcomp.fleet.merged import merged
from schedcomp.fleet.outcome import (
    BROKEN,
    DISAGREES,
    FAULT,
    NOT_FITTING,
    NOT_MET,
    READY,
    UNREADABLE,
    Outcome,
)
from schedcomp.fleet.sitetext import site_text
from schedcomp.fleet.visit import Held, held_of, visit_of, visit_of_stopped
from schedcomp.messages import fleet as messages
from schedcomp.messages.commands import OUR_FAULT
from schedcomp.ordinance.model import Accepted
from schedcomp.output.check import check_document
from schedcomp.output.files import write_set
from schedcomp.output.transfer import program_code
from schedcomp.records import Record, replace
from schedcomp.report.lasting import good_until_words
from schedcomp.rule_words import NO_RULE, people_summary, rule_summary
from schedcomp.site import Site
from schedcomp.site_controller import controller_of, with_controller
from schedcomp.sun import site_sun
from schedcomp.textfile import noting_files, read_source
from schedcomp.tomlnodes import Table
from schedcomp.versions import versions

SITE_TEXT = "site.toml"
MOST_FINDINGS = 20
MOST_TOLD = 4000
WRITERS = 8
"""Sites that may be on their way to the disk at a time."""

Findings = tuple[Diagnostic, ...]


def warm(first: date, last: date) -> None:
    """Load what every site needs: the libraries, and the Sun of these dates."""
    site_sun(0.0, 0.0, zone("Etc/UTC", first, last), first, last)
    versions()


def build_sites(order: Order, jobs: Sequence[SiteJob]) -> tuple[Outcome, ...]:
    """What a worker is asked to do: some sites, one after the other.

    Each is written while the next ones are worked out: disks take many small files much faster
    when they get several at a time.
    """
    with ThreadPoolExecutor(WRITERS) as writers:
        written = [_begin(order, job, writers) for job in jobs]
    return tuple(outcome() for outcome in written)


def _begin(order: Order, job: SiteJob, writers: Executor) -> Callable[[], Outcome]:
    """One site: left as it is where nothing changed, else compiled and given to be written."""
    if job.problems:
        stopped = _stopped(order, job, job.problems, UNREADABLE)
        return lambda: stopped
    try:
        left = unchanged(job, order)
        made = None if left is not None else _build(order, job)
    except Exception as fault:
        failed = _stopped(order, job, (_fault_found(fault),), FAULT)
        return lambda: failed
    if made is None:
        assert left is not None
        return lambda: left
    return writers.submit(_written, order, job, made).result


def fault_of(order: Order, job: SiteJob, finding: Diagnostic) -> Outcome:
    """The outcome of a site whose process ended before it did."""
    return _stopped(order, job, (finding,), FAULT)


class _Made(Record):
    outcome: Outcome
    files: Mapping[str, bytes]


def _build(order: Order, job: SiteJob) -> _Made:
    with noting_files() as seen:
        made = _made(order, job)
    record = kept_record(job, order, made.outcome, seen, made.files)
    return replace(made, files={**made.files, RECORD: record})


def _written(order: Order, job: SiteJob, made: _Made) -> Outcome:
    try:
        refused = write_set(site_folder(order.out, job.folder), made.files)
    except Exception as fault:
        return _stopped(order, job, (_fault_found(fault),), FAULT)
    return _stopped(order, job, refused, UNREADABLE) if has_problem(refused) else made.outcome


def _made(order: Order, job: SiteJob) -> _Made:
    site, text, found = load(order, job)
    if site is None:
        return _Made(_stopped(order, job, found, UNREADABLE), {})
    site = with_controller(site, order.controller)
    controller, more = controller_of(site, order.controller)
    found = (*found, *more)
    if controller is None:
        return _Made(_stopped(order, job, found, UNREADABLE, site.name), {})
    held = held_of(order, job, site, controller)
    accepted, more = accepted_in(job)
    if more:
        return _Made(_stopped(order, job, (*found, *more), UNREADABLE, site.name), {})
    compiled, more = _compiled(order, site, controller, held, accepted)
    found = (*found, *more)
    if compiled is None:
        return _Made(_stopped(order, job, found, UNREADABLE, site.name), {})
    return _Made(_outcome(order, job, compiled, held, found), _files(order, job, compiled, text))


def load(order: Order, job: SiteJob) -> tuple[Site | None, str, Findings]:
    """The site of a file, or of a template with the cells of its row; that one also as text."""
    if not job.listed:
        site, found = sitefile.load_site(job.path)
        return site, "", found
    source, found = read_source(job.path)
    if source is None:
        return None, "", found
    root, mistakes = _tables(source)
    if root is None:
        return None, "", mistakes
    row = Source(job.listed, job.row, job.lines_before)
    root, found = merged(root, row, job.overrides, str(Path(job.listed).parent))
    site, found = sitefile.site_from_tables(root, (*mistakes, *found), str(Path(job.path).parent))
    if site is None:
        return None, "", found
    return site, site_text(job, root, site_folder(order.out, job.folder)), found


@lru_cache(maxsize=8)
def _tables(source: Source) -> tuple[Table | None, Findings]:
    """The tables of a template, read once for all sites made from it."""
    return sitefile.read_tables(source)


def _compiled(
    order: Order,
    site: Site,
    controller: Controller,
    held: Held | None,
    accepted: tuple[Accepted, ...],
) -> tuple[Compiled | None, Findings]:
    if held is None or held.transfer is None:
        return pipeline.compile(site, order.period, controller, accepted=accepted)
    compiled, _, found = compile_over(site, order.period, controller, accepted, held.transfer)
    return compiled, found


def _files(order: Order, job: SiteJob, compiled: Compiled, text: str) -> dict[str, bytes]:
    if order.full:
        files = build_files(compiled, check_document(compiled, versions()))
    else:
        files = unit_files(compiled)
    if text:
        files[SITE_TEXT] = text.encode()
    if order.full:
        from schedcomp.answers.sheet import sheet_files

        source = None if job.listed else read_source(job.path)[0]
        source = Source(SITE_TEXT, text) if source is None else source
        made, _ = sheet_files(compiled, source, _code(compiled), (order.made_on, None))
        files |= made
    return files


def _slots_used(compiled: Compiled) -> int | None:
    program = compiled.fitted.program
    return None if program is None else program.in_event_slots(compiled.controller).slots_used


def _outcome(
    order: Order, job: SiteJob, compiled: Compiled, held: Held | None, found: Findings
) -> Outcome:
    site, fitted, good = compiled.site, compiled.fitted, compiled.good_until
    told = in_order(found)
    outcome = Outcome(
        number=job.number,
        site_id=job.site_id,
        folder=job.folder,
        name=site.name,
        status=_status(compiled),
        code=_code(compiled),
        slots_needed=fitted.slots_needed,
        slots_used=_slots_used(compiled),
        slots_of=compiled.controller.event_slots,
        proven=fitted.certificate is not None and fitted.certificate.proven,
        tolerance_minutes=fitted.most_minutes,
        good_until="" if good is None else good.last.isoformat(),
        then="" if good is None else good_until_words(good).brief,
        dark_nights=len(compiled.nights_without_light),
        hours=round(sum(use.hours for use in compiled.energy), 1),
        kwh=_kwh(compiled),
        rule=rule_summary(compiled.rules) if compiled.rules.checked else NO_RULE,
        people=people_summary(compiled.rules),
        cautions=sum(d.severity is Severity.CAUTION for d in told),
        units=tuple(unit.label for unit in site.units),
        told=_told(told),
        findings=_records(told),
    )
    visit = visit_of(order, compiled, outcome.code, held)
    return replace(
        outcome,
        add=visit.add,
        change=visit.change,
        erase=visit.erase,
        visit_by=visit.by,
        reason=visit.reason,
    )


def _status(compiled: Compiled) -> str:
    if compiled.fitted.program is None:
        return NOT_FITTING
    if compiled.audit is None or not compiled.audit.agrees:
        return DISAGREES
    if compiled.may_write_program:
        return READY
    return NOT_MET if compiled.rules.keeps_program_back else BROKEN


def _kwh(compiled: Compiled) -> float | None:
    """All circuits together; None where the load of one is not told."""
    each = [use.kwh for use in compiled.energy]
    return None if None in each else round(sum(kwh for kwh in each if kwh is not None), 1)


def _code(compiled: Compiled) -> str:
    program = compiled.fitted.program
    if program is None or not compiled.may_write_program:
        return ""
    return program_code(program, compiled.controller, compiled.site, compiled.world.zone)


def _stopped(order: Order, job: SiteJob, found: Findings, status: str, name: str = "") -> Outcome:
    visit = visit_of_stopped(order, job.folder)
    return Outcome(
        number=job.number,
        site_id=job.site_id or messages.NAMELESS.format(line=job.lines_before + 1),
        folder=job.folder,
        name=name,
        status=status,
        told=_told(found),
        findings=_records(found),
        visit_by=visit.by,
        reason=visit.reason,
    )


def _told(found: Findings) -> str:
    grave = [d for d in found if d.severity in (Severity.PROBLEM, Severity.FAULT)]
    return render(grave)[:MOST_TOLD]


def _records(found: Findings) -> tuple[Mapping[str, object], ...]:
    kept = [d for d in found if d.severity is not Severity.NOTE]
    return tuple(as_records(kept)[:MOST_FINDINGS])


def _fault_found(fault: Exception) -> Diagnostic:
    steps = traceback.extract_tb(fault.__traceback__)
    last = steps[-1]
    step = f"{Path(last.filename).name} line {last.lineno}"
    return OUR_FAULT.at(None, version=versions().schedcomp, step=step, what=type(fault).__name__)
