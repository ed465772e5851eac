"""The answers to `night` and `why`: the exact year at one night or one minute."""

from __future__ import annotations

from datetime import date

from schedcomp import asked, pipeline, sitefile
from schedcomp.answers.answer import BAD_FILES, CLEAN, USAGE, Answer, Findings
from schedcomp.answers.here import first_line, local_date, site_record, utc_date
from schedcomp.clock import Zone
from schedcomp.diag import Diagnostic, Severity
from schedcomp.messages import commands as messages
from schedcomp.model import FIRST_YEAR, LAST_YEAR, MINUTE, ONE_DAY, Instant, Period
from schedcomp.ordinance.load import load_ordinances
from schedcomp.ordinance.rules import Rules, rules_of
from schedcomp.report import night as night_report
from schedcomp.report import why as why_report
from schedcomp.report.paper import paper_text
from schedcomp.site import Site
from schedcomp.site_clock import site_clock
from schedcomp.told_time import clock_words, reading_words
from schedcomp.words import date_words
from schedcomp.world import World
from schedcomp.year import Year


def night(site_path: str, day: str | None, days: str, now: Instant) -> Answer:
    """The nights from one date on, tonight if none is given."""
    count, findings = asked.read_nights(days)
    first, date_findings = (None, ()) if day is None else asked.read_date(day, "", utc_date(now))
    findings = (*findings, *date_findings)
    if count is None or findings:
        return Answer(exit_code=USAGE, findings=findings)
    site, findings = sitefile.load_site(site_path)
    if site is None:
        return Answer(exit_code=BAD_FILES, findings=findings)
    first = first or local_date(site, now)
    if not FIRST_YEAR <= first.year <= LAST_YEAR:
        today = messages.TODAY_BY_CLOCK.format(day=first)
        return Answer(exit_code=USAGE, findings=(_not_covered(today),))
    last = first + ONE_DAY * (count - 1)
    if last.year > LAST_YEAR:
        return Answer(exit_code=USAGE, findings=(_not_covered(last.isoformat()),))
    read, more = _years_around(site, first, first + ONE_DAY * count)
    findings = _problems((*findings, *more))
    if read is None:
        return Answer(exit_code=BAD_FILES, findings=findings)
    world, year = read
    told = night_report.nights(site, world, year, first, count)
    records = night_report.night_records(world.zone, told)
    return Answer(
        exit_code=CLEAN,
        text=f"{first_line(site, world, now)}\n\n{night_report.night_text(world.zone, told)}",
        record={**site_record(site, world), "nights": records},
        findings=findings,
    )


def why(site_path: str, moment: str, now: Instant, *, paper: bool = False) -> Answer:
    """The state of every circuit at one reading of the clock, both passes of a repeated one.

    `paper`: as half a page that answers a complaint, with the clauses that hold then.
    """
    wanted, findings = asked.read_moment(moment, utc_date(now))
    if wanted is None:
        return Answer(exit_code=USAGE, findings=findings)
    site, findings = sitefile.load_site(site_path)
    if site is None:
        return Answer(exit_code=BAD_FILES, findings=findings)
    here = site_clock(site, wanted.day - ONE_DAY, wanted.day + ONE_DAY)
    seconds = wanted.minutes * MINUTE
    if here.is_skipped(wanted.day, seconds):
        return Answer(exit_code=USAGE, findings=(_skipped(here, wanted),))
    read, more = _years_around(site, wanted.day - ONE_DAY, wanted.day + ONE_DAY)
    findings = _problems((*findings, *more))
    if read is None:
        return Answer(exit_code=BAD_FILES, findings=findings)
    world, year = read
    passes = dict.fromkeys(
        (here.first_pass(wanted.day, seconds), here.last_pass(wanted.day, seconds))
    )
    told = why_report.standings(site, world, year, tuple(passes))
    text = f"{first_line(site, world, now)}\n\n{why_report.why_text(here, told)}"
    if paper:
        rules, more = _rules(site, world)
        if rules is None:
            return Answer(exit_code=BAD_FILES, findings=_problems((*findings, *more)))
        text = paper_text(site, rules, here, told, world.whereabouts.text)
    return Answer(
        exit_code=CLEAN,
        text=text,
        record={**site_record(site, world), "answers": why_report.why_records(here, told)},
        findings=findings,
    )


def _rules(site: Site, world: World) -> tuple[Rules | None, Findings]:
    """The rules of a site with the nights on which they hold."""
    ordinances, found = load_ordinances(site)
    if ordinances is None:
        return None, found
    rules, more = rules_of(ordinances, site, world)
    return rules, (*found, *more)


def _years_around(
    site: Site, first: date, last: date
) -> tuple[tuple[World, Year] | None, Findings]:
    """The exact years that hold these dates, whole, so that wishes read as in a build."""
    begin, end = max(first.year, FIRST_YEAR), min(last.year, LAST_YEAR)
    return pipeline.read_year(site, Period(date(begin, 1, 1), date(end, 12, 31)))


def _not_covered(found: str) -> Diagnostic:
    return messages.YEARS_NOT_COVERED.at(
        None, found=found, first=FIRST_YEAR, last=LAST_YEAR, option=""
    )


def _skipped(here: Zone, wanted: asked.AskedMoment) -> Diagnostic:
    """Why a reading that the clock jumps over has no answer."""
    jump = here.first_pass(wanted.day, wanted.minutes * MINUTE)
    before = here.local(jump - 1)
    minutes = before.hour * 60 + before.minute + 1
    return messages.TIME_SKIPPED.at(
        None,
        reading=wanted.reading,
        day=date_words(wanted.day),
        before=reading_words(here, minutes),
        after=clock_words(here, jump),
        example=f'"{here.local(jump):%Y-%m-%d %H:%M}"',
    )


def _problems(findings: Findings) -> Findings:
    """What a build would say beside is for the build; here only what stands in the way."""
    return tuple(f for f in findings if f.severity is Severity.PROBLEM)
