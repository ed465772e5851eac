"""The answer to `build`: compile a site, write the set of files, tell what came out."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from schedcomp import asked, pipeline, sitefile
from schedcomp.answers.answer import BAD_FILES, CLEAN, FINDINGS, USAGE, Answer, Findings
from schedcomp.answers.here import local_date, utc_date, where_words
from schedcomp.answers.sheet import sheet_files
from schedcomp.compiled import Compiled
from schedcomp.diag import Severity, Source, has_problem
from schedcomp.findings import NO_PROGRAM
from schedcomp.messages import rules as rule_messages
from schedcomp.model import Instant
from schedcomp.ordinance.model import Accepted
from schedcomp.output.calendar_file import calendar_ics
from schedcomp.output.canonical import canonical
from schedcomp.output.check import check_document
from schedcomp.output.events import events_csv
from schedcomp.output.files import write_set
from schedcomp.output.special_days import special_days_csv
from schedcomp.output.table import table_csv
from schedcomp.output.transfer import Document, program_code, transfer_json
from schedcomp.records import Record
from schedcomp.report.light import dusk_and_dawn_words, dusk_words
from schedcomp.report.summary import Surroundings, Written, summary_text
from schedcomp.site import Site
from schedcomp.site_controller import controller_of, with_controller
from schedcomp.versions import versions
from schedcomp.words import one_line


class BuildRequest(Record, kw_only=True):
    """What was typed after `build`; None where an option was left out."""

    site: str
    year: str | None = None
    first: str | None = None
    through: str | None = None
    out: str | None = None
    controller: str | None = None
    years: str | None = None
    accept: tuple[str, ...] = ()
    because: tuple[str, ...] = ()
    commission: str | None = None

    @property
    def names_period(self) -> bool:
        named = (self.year, self.years, self.first, self.through)
        return any(text is not None for text in named)


def build(request: BuildRequest, now: Instant) -> Answer:
    """Compile a site and write the set of files; `now` is only told, never compiled in."""
    period, findings = asked.read_period(
        request.year, request.first, request.through, utc_date(now), request.years
    )
    commission, more = _commission(request, now)
    findings = (*findings, *more)
    if period is None or findings:
        return Answer(exit_code=USAGE, findings=findings)
    if not each_has_a_reason(request.accept, request.because):
        one = next(iter(request.accept), "4.2(b)")
        reason_missing = (rule_messages.ACCEPT_WITHOUT_REASON.at(None, one=one),)
        return Answer(exit_code=USAGE, findings=reason_missing)
    site, found = sitefile.load_site(request.site)
    if site is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    today = local_date(site, now)
    site = with_controller(site, request.controller)
    if not request.names_period:
        period = asked.default_period(today)
    controller, more = controller_of(site, request.controller)
    found = (*found, *more)
    if controller is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    compiled, more = pipeline.compile(
        site, period, controller, accepted=accepted_of(request.accept, request.because)
    )
    found = (*found, *more)
    if compiled is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    if compiled.fitted.program is None:
        from schedcomp.shortfall import with_shortfall

        compiled, more = with_shortfall(compiled)
        found = (*found, *more)
    if compiled.fitted.program is None and request.years is not None and len(period.years) > 1:
        from schedcomp.years import years_findings

        more = years_findings(site, controller, compiled)
        found = (*(f for f in found if not (more and f.code in NO_PROGRAM)), *more)
    return _written(compiled, request, (today, commission), found)


def each_has_a_reason(accept: tuple[str, ...], because: tuple[str, ...]) -> bool:
    return len(accept) == len(because) and all(map(one_line, because))


def accepted_of(accept: tuple[str, ...], because: tuple[str, ...]) -> tuple[Accepted, ...]:
    """Clauses and promises that need not be met, each with its reason."""
    pairs = zip(accept, because, strict=True)
    return tuple(Accepted(clause=c, because=one_line(b)) for c, b in pairs)


def _commission(request: BuildRequest, now: Instant) -> tuple[date | None, Findings]:
    """The date of putting into service, None if none is named."""
    if request.commission is None:
        return None, ()
    return asked.read_date(request.commission, "--commission ", utc_date(now))


def _written(
    compiled: Compiled, request: BuildRequest, dates: tuple[date, date | None], found: Findings
) -> Answer:
    """Write the files; everything that is told about them is worked out before."""
    today, _ = dates
    source = _source(compiled.site, request.site)
    made, more = sheet_files(compiled, source, _program_code(compiled), dates)
    found = (*found, *more)
    checked = check_document(compiled, versions())
    files = {**build_files(compiled, checked), **made}
    folder = Path(default_folder(request, compiled) if request.out is None else request.out)
    written = Written(
        folder=folder.as_posix(), names=tuple(files), program_code=_program_code(compiled)
    )
    text = summary_text(compiled, _surroundings(compiled, request, today, found), written)
    record = {
        **checked,
        "folder": folder.as_posix(),
        "files": list(files),
    }
    refused = write_set(folder, files)
    if has_problem(refused):
        return Answer(exit_code=BAD_FILES, findings=(*found, *refused))
    return Answer(
        exit_code=CLEAN if compiled.may_write_program else FINDINGS,
        text=text,
        record=record,
        findings=(*found, *refused),
    )


def _source(site: Site, name: str) -> Source:
    """The site file as it was read; the text is empty for a site that came from elsewhere."""
    at = site.circuits[0].at
    return Source(name, "") if at is None else at.source


def build_files(compiled: Compiled, checked: Document) -> dict[str, bytes]:
    """The files beside the sheet by name; those of a program only where it may be keyed in.

    `checked` is the document of check.json.
    """
    files = {
        "table.csv": table_csv(compiled.year, compiled.world.zone),
        "check.json": canonical(checked),
        **unit_files(compiled),
    }
    if "transfer.json" in files:
        files["calendar.ics"] = calendar_ics(compiled)
    return files


def unit_files(compiled: Compiled) -> dict[str, bytes]:
    """What is needed to key in a program, by name; nothing where it may not be keyed in."""
    program, circuits = compiled.fitted.program, compiled.site.circuits
    if program is None or not compiled.may_write_program:
        return {}
    files = {"events.csv": events_csv(program, circuits)}
    if program.special_days:
        files["special_days.csv"] = special_days_csv(program, circuits)
    files["transfer.json"] = transfer_json(compiled, program, versions())
    return files


def default_folder(request: BuildRequest, compiled: Compiled) -> str:
    """A folder named after the site file and the period, in the current folder."""
    return f"{Path(request.site).stem}-{asked.period_name(compiled.year.period)}"


def _surroundings(
    compiled: Compiled, request: BuildRequest, today: date, found: Findings
) -> Surroundings:
    site, world = compiled.site, compiled.world
    return Surroundings(
        where=where_words(site, world, today),
        light=dusk_and_dawn_words(site, world.sun, compiled.year.period),
        dusk=dusk_words(site, world.sun, compiled.year.period),
        period_note="" if request.names_period else " (no period was named)",
        night=today,
        cautions=sum(finding.severity is Severity.CAUTION for finding in found),
    )


def _program_code(compiled: Compiled) -> str:
    program = compiled.fitted.program
    if program is None or not compiled.may_write_program:
        return ""
    return program_code(program, compiled.controller, compiled.site, compiled.world.zone)
