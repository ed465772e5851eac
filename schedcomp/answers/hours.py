"""The answer to `hours`: expected hours lit between two readings of an hour counter."""

from __future__ import annotations

from datetime import date, timedelta

from schedcomp import asked, pipeline, sitefile
from schedcomp.answers.answer import BAD_FILES, CLEAN, USAGE, Answer, Findings
from schedcomp.answers.here import first_line, site_record, utc_date
from schedcomp.clock import Zone, utc_text
from schedcomp.diag import Severity
from schedcomp.hours_lit import hours_lit
from schedcomp.messages import compare as messages
from schedcomp.model import DAY, MINUTE, ONE_DAY, Instant, Period
from schedcomp.records import Record
from schedcomp.report import hours as report
from schedcomp.site_clock import site_clock
from schedcomp.told_time import exact_moment_words

USUAL_DAYS = 365
"""At most between two readings."""


class _Reading(Record):
    """A date, or a date with minutes after 00:00."""

    day: date
    minutes: int | None

    def instant(self, here: Zone, *, is_end: bool) -> Instant:
        """A date alone is counted whole, whether it is the first or the last."""
        seconds = DAY * is_end if self.minutes is None else self.minutes * MINUTE
        return here.first_pass(self.day, seconds)


def hours(site_path: str, since: str, until: str, now: Instant) -> Answer:
    """Hours lit of every circuit and month, both dates counted whole."""
    first, found = _reading(since, "--since ", now)
    last, more = _reading(until, "--until ", now)
    if first is None or last is None:
        return Answer(exit_code=USAGE, findings=(*found, *more))
    site, found = sitefile.load_site(site_path)
    if site is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    here = site_clock(site, first.day - ONE_DAY, last.day + ONE_DAY)
    begin, end = first.instant(here, is_end=False), last.instant(here, is_end=True)
    if begin >= end:
        finding = messages.UNTIL_BEFORE_SINCE.at(None, since=since, until=until)
        return Answer(exit_code=USAGE, findings=(finding,))
    if (last.day - first.day).days >= asked.LONGEST_PERIOD_DAYS:
        example = first.day + timedelta(days=USUAL_DAYS - 1)
        finding = messages.HOURS_TOO_LONG.at(None, until=example, most=asked.LONGEST_PERIOD_DAYS)
        return Answer(exit_code=USAGE, findings=(finding,))
    whole = Period(date(first.day.year, 1, 1), date(last.day.year, 12, 31))
    read, found = pipeline.read_year(site, whole)
    if read is None:
        problems = tuple(f for f in found if f.severity is Severity.PROBLEM)
        return Answer(exit_code=BAD_FILES, findings=problems)
    world, year = read
    lit = hours_lit(site, year, here, begin, end)
    words = [exact_moment_words(here, instant) for instant in (begin, end)]
    return Answer(
        exit_code=CLEAN,
        text=f"{first_line(site, world, now)}\n{report.hours_text(lit, *words)}",
        record={
            **site_record(site, world),
            "since_utc": utc_text(begin),
            "until_utc": utc_text(end),
            "circuits": report.hours_records(lit),
        },
    )


def _reading(text: str, option: str, now: Instant) -> tuple[_Reading | None, Findings]:
    """`2027-01-31`, or `2027-01-31 09:15` where the time of the reading matters."""
    today = utc_date(now)
    if ":" not in text:
        day, found = asked.read_date(text, option, today)
        return (None if day is None else _Reading(day, None)), found
    moment, found = asked.read_moment(text, today)
    return (None if moment is None else _Reading(moment.day, moment.minutes)), found
