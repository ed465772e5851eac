"""The answer to `renew`: a program for a later period with as few slots to key as possible."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from schedcomp import asked, pipeline, sitefile
from schedcomp.answers.answer import BAD_FILES, CLEAN, FINDINGS, USAGE, Answer, Findings
from schedcomp.answers.build import accepted_of, build_files, each_has_a_reason
from schedcomp.answers.here import local_date, utc_date, where_words
from schedcomp.audit import run_program
from schedcomp.compiled import Compiled
from schedcomp.controller import Controller
from schedcomp.diag import Diagnostic, Severity, has_problem
from schedcomp.left_alone import first_fault, noticed
from schedcomp.messages import renewing as messages
from schedcomp.messages import rules as rule_messages
from schedcomp.model import LAST_YEAR, ONE_DAY, Instant, Period
from schedcomp.ordinance.model import Accepted
from schedcomp.output.changes import changes_csv
from schedcomp.output.check import check_document
from schedcomp.output.files import write_set
from schedcomp.output.transfer import program_code
from schedcomp.records import Record, replace
from schedcomp.renewal import slot_changes
from schedcomp.report.light import dusk_and_dawn_words, dusk_words
from schedcomp.report.renew import Renewal, record_of, renewal_text
from schedcomp.report.summary import Surroundings, Written, summary_text
from schedcomp.same_unit import renamed, same_unit_findings
from schedcomp.site import Site
from schedcomp.site_controller import controller_of, with_controller
from schedcomp.transfer import Transfer
from schedcomp.transferfile import load_transfer
from schedcomp.unit_place import unit_sun_of
from schedcomp.versions import versions
from schedcomp.words import date_words


class RenewRequest(Record, kw_only=True):
    """What was typed after `renew`; None where an option was left out. `keyed` is the day on which
    the new slots are keyed in.
    """

    site: str
    old: str
    through: str | None = None
    keyed: str | None = None
    out: str | None = None
    controller: str | None = None
    accept: tuple[str, ...] = ()
    because: tuple[str, ...] = ()


class _Case(Record):
    """A site, its controller, the old program and the dates of the new one."""

    request: RenewRequest
    site: Site
    controller: Controller
    old: Transfer
    today: date
    period: Period
    begins: str


def renew(request: RenewRequest, now: Instant) -> Answer:
    """Renew the old program for a site; `now` decides only when the period begins."""
    dates, found = _dates(request, utc_date(now))
    if has_problem(found):
        return Answer(exit_code=USAGE, findings=found)
    if not each_has_a_reason(request.accept, request.because):
        one = next(iter(request.accept), "4.2(b)")
        reason_missing = (rule_messages.ACCEPT_WITHOUT_REASON.at(None, one=one),)
        return Answer(exit_code=USAGE, findings=reason_missing)
    site, found = sitefile.load_site(request.site)
    old, more = load_transfer(request.old)
    found = (*found, *more)
    if site is None or old is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    site = with_controller(site, request.controller)
    controller, more = controller_of(site, request.controller)
    found = (*found, *more)
    if controller is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    instead = f"schedcomp build {_typed(request.site)}"
    wrong = same_unit_findings(site, controller, old, request.old, instead)
    if wrong:
        return Answer(exit_code=BAD_FILES, findings=(*found, *wrong))
    through, keyed = dates
    today = local_date(site, now)
    period, begins, wrong = _period(old, through, keyed, today)
    if period is None:
        return Answer(exit_code=USAGE, findings=(*found, *wrong))
    case = _Case(request, site, controller, old, today, period, begins)
    if wrong := _in_the_way(case):
        return Answer(exit_code=USAGE, findings=(*found, *wrong))
    return _renewed(case, found)


def _dates(request: RenewRequest, today: date) -> tuple[tuple[date | None, date | None], Findings]:
    """The last day of the new period, and the day of keying; None where left out."""
    found: list[Diagnostic] = []
    days: list[date | None] = []
    for text, option in ((request.through, "--through "), (request.keyed, "--keyed ")):
        day, findings = (None, ()) if text is None else asked.read_date(text, option, today)
        days.append(day)
        found += findings
    return (days[0], days[1]), tuple(found)


def _period(
    old: Transfer, through: date | None, keyed: date | None, today: date
) -> tuple[Period | None, str, Findings]:
    """The dates of the new program, and in words why they begin when they do.

    It has to be right from the day after it is keyed in, which is today where nothing else is
    said, but not before the old one begins.
    """
    keyed_in = today if keyed is None else keyed
    first = max(keyed_in + ONE_DAY, old.period.first)
    begins = "it begins with the old program"
    why = messages.BEGINS_WITH_OLD.format(first=date_words(old.period.first))
    if first > old.period.first:
        begins = f"from the day after keying, {date_words(keyed_in)}, on"
        why = messages.BEGINS_AFTER_KEYING.format(keyed=date_words(keyed_in))
    year = min(max(old.period.last.year, first.year) + 1, LAST_YEAR)
    last = date(year, 12, 31) if through is None else through
    if last < first:
        finding = messages.NOTHING_LEFT.at(
            None,
            through=date_words(last),
            first=date_words(first),
            why=why,
            example=date(min(first.year + 1, LAST_YEAR), 12, 31),
        )
        return None, "", (finding,)
    period, found = asked.checked_period(Period(first, last))
    return period, begins, found


def _in_the_way(case: _Case) -> Findings:
    """The old file must outlive the renewal."""
    folder = _folder(case)
    old = Path(case.request.old)
    if old.resolve().parent != folder.resolve():
        return ()
    suggestion = f"{folder.name or 'program'}-new"
    return (messages.OLD_IN_THE_WAY.at(None, name=case.request.old, suggestion=_typed(suggestion)),)


def _folder(case: _Case) -> Path:
    if case.request.out is not None:
        return Path(case.request.out)
    return Path(f"{Path(case.request.site).stem}-{asked.period_name(case.period)}")


def _renewed(case: _Case, found: Findings) -> Answer:
    accepted = accepted_of(case.request.accept, case.request.because)
    compiled, kept_tolerance, more = compile_over(
        case.site, case.period, case.controller, accepted, case.old
    )
    found = (*found, *more)
    if compiled is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    if compiled.fitted.program is None:
        from schedcomp.shortfall import with_shortfall

        compiled, more = with_shortfall(compiled)
        found = (*found, *more)
    if not compiled.may_write_program:
        return _refused(case, compiled, found)
    renewal = _renewal(case, compiled, kept_tolerance=kept_tolerance)
    checked = check_document(compiled, versions())
    files = build_files(compiled, checked)
    files["changes.csv"] = changes_csv(renewal.changes, case.site.units)
    folder = _folder(case)
    cautions = sum(finding.severity is Severity.CAUTION for finding in found)
    text = renewal_text(
        renewal,
        where_words(case.site, compiled.world, case.today),
        f"{', '.join(files)} in {folder.as_posix()}",
        cautions,
    )
    record = {
        **checked,
        "renewal": record_of(renewal),
        "folder": folder.as_posix(),
        "files": list(files),
    }
    refused = write_set(folder, files)
    if has_problem(refused):
        return Answer(exit_code=BAD_FILES, findings=(*found, *refused))
    return Answer(exit_code=CLEAN, text=text, record=record, findings=(*found, *refused))


def compile_over(
    site: Site,
    period: Period,
    controller: Controller,
    accepted: tuple[Accepted, ...],
    old: Transfer,
) -> tuple[Compiled | None, bool, Findings]:
    """The site compiled over the old program, and whether its tolerance was kept.

    A site without a tolerance keeps that of the old program if it can: a smaller or larger one
    would change most slots.
    """
    held, minutes = old.program, old.tolerance_minutes
    wishes = site.fit
    if wishes.tolerance_minutes is None and minutes <= wishes.tolerance_limit_minutes:
        kept = replace(site, fit=replace(wishes, tolerance_minutes=minutes))
        compiled, found = pipeline.compile(kept, period, controller, accepted=accepted, keep=held)
        if compiled is None or compiled.fitted.program is not None:
            return compiled, True, found
    compiled, found = pipeline.compile(site, period, controller, accepted=accepted, keep=held)
    return compiled, False, found


def _renewal(case: _Case, compiled: Compiled, *, kept_tolerance: bool) -> Renewal:
    program, audit, world = compiled.fitted.program, compiled.audit, compiled.world
    assert program is not None
    assert audit is not None
    site, controller, held = compiled.site, case.controller, case.old.program
    unit = unit_sun_of(site, controller, world)
    alone = run_program(held, controller, compiled.target, unit, site.timezone)
    return Renewal(
        compiled=compiled,
        old=case.old,
        changes=slot_changes(held, program, controller),
        fault=first_fault(alone, compiled.target, world.zone),
        noticed=noticed(alone.exact_run, audit.exact_run, compiled.target, world.zone),
        renamed=renamed(site, case.old),
        begins=case.begins,
        code=program_code(program, controller, site, world.zone),
        kept_tolerance=kept_tolerance,
    )


def _refused(case: _Case, compiled: Compiled, found: Findings) -> Answer:
    """Nothing may be keyed: the units keep the old program, and the files say why."""
    checked = check_document(compiled, versions())
    files, folder = build_files(compiled, checked), _folder(case)
    world, period = compiled.world, compiled.year.period
    around = Surroundings(
        where=where_words(case.site, world, case.today),
        light=dusk_and_dawn_words(case.site, world.sun, period),
        dusk=dusk_words(case.site, world.sun, period),
        period_note=f" ({case.begins})",
        cautions=sum(finding.severity is Severity.CAUTION for finding in found),
    )
    written = Written(folder=folder.as_posix(), names=tuple(files), program_code="")
    text = summary_text(compiled, around, written)
    record = {
        **checked,
        "renewal": None,
        "folder": folder.as_posix(),
        "files": list(files),
    }
    refused = write_set(folder, files)
    if has_problem(refused):
        return Answer(exit_code=BAD_FILES, findings=(*found, *refused))
    return Answer(exit_code=FINDINGS, text=text, record=record, findings=(*found, *refused))


def _typed(path: str) -> str:
    return f'"{path}"' if " " in path else path
