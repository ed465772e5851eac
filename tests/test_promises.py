"""Promises on the exact year and on the test run."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from schedcomp.audit_report import AuditReport, Run
from schedcomp.clock import zone
from schedcomp.days import dates_of
from schedcomp.diag import Diagnostic, Severity, Source, SourceRange, render
from schedcomp.model import Action, Half, Instant, Period
from schedcomp.phrases.tree import (
    AnyOf,
    CalendarLine,
    Clock,
    DatedRange,
    Dates,
    DatesPhrase,
    EveryDay,
    Except,
    Neighbour,
    PromiseLine,
    SingleDate,
    SunDefinition,
    SunWord,
    Weekdays,
    WeekdaysIn,
)
from schedcomp.promises import PromiseVerdict, judge_promises, named_outright, promise_instants
from schedcomp.records import replace
from schedcomp.site import Circuit, Site
from schedcomp.year import (
    Bound,
    Cause,
    CircuitYear,
    DarkStretch,
    Decided,
    EmptyWindow,
    Reason,
    Span,
    Year,
)

DENVER = ZoneInfo("America/Denver")
FIRST, LAST = date(2027, 6, 1), date(2027, 6, 7)
PERIOD = Period(FIRST, LAST)
ZONE = zone("America/Denver", FIRST, LAST)
TEXT = """\
calendar = [
  "every day: usual",
  "fri evenings: late",
]
promise = [
  "every day 23:50: dark",
]
"""
SOURCE = Source("site.toml", TEXT)


def at(text: str) -> int:
    return int(datetime.fromisoformat(text).replace(tzinfo=DENVER).timestamp())


def within(text: str) -> SourceRange:
    return SourceRange(SOURCE, TEXT.index(text), len(text))


def why(phrase: str, line: str, cause: Cause = Cause.WINDOW) -> Reason:
    place = within(line) if line in TEXT else None
    return Reason(cause, phrase, FIRST, Bound(((0, False),)), "usual", line, place)


def lit(start: str, end: str, line: str = "every day: usual") -> Span:
    return Span(at(start), at(end), why("dusk", line), why("23:30", line))


def nights(*friday: Span) -> tuple[Span, ...]:
    """20:30 to 23:30 on every date; the Friday, 4 June, as given."""
    days = [day for day in PERIOD.dates(1, 1) if day != date(2027, 6, 4) or not friday]
    spans = [lit(f"{day} 20:30", f"{day} 23:30") for day in days]
    return tuple(sorted([*spans, *friday], key=lambda span: span.start))


LATE_FRIDAY = lit("2027-06-04 20:30", "2027-06-05 00:30", "fri evenings: late")
DECIDED = tuple(
    Decided(day, half, 1 if day.weekday() == 4 and half is Half.EVENING else 0)
    for day in PERIOD.dates()
    for half in (Half.MORNING, Half.EVENING)
)


def promise(dates: Dates, minutes: int, lit: bool, text: str = "") -> PromiseLine:
    place = within(text) if text else None
    return PromiseLine(DatesPhrase(dates), Clock(minutes), lit, at=place)


def site(*promises: PromiseLine) -> Site:
    calendar = (
        CalendarLine(DatesPhrase(EveryDay()), "usual", at=within("every day: usual")),
        CalendarLine(DatesPhrase(Weekdays((4,))), "late", at=within("fri evenings: late")),
    )
    circuit = Circuit(name="Lot poles", channel=3, calendar=calendar, promises=promises)
    dusk, dawn = SunDefinition(SunWord.SUNSET, 15), SunDefinition(SunWord.SUNRISE, -15)
    return Site(
        name="Sample",
        latitude_degrees=39.74,
        longitude_degrees=-104.98,
        timezone="America/Denver",
        timezone_given=True,
        dusk=dusk,
        dawn=dawn,
        circuits=(circuit,),
    )


def year(spans: tuple[Span, ...], dark: tuple[DarkStretch, ...] = ()) -> Year:
    circuit = CircuitYear(circuit="Lot poles", channel=3, spans=spans, dark=dark, decided=DECIDED)
    return Year(
        period=PERIOD, start=at("2027-06-01 00:00"), end=at("2027-06-08 00:00"), circuits=(circuit,)
    )


def ran(spans: tuple[Span, ...], moved_seconds: int = 0) -> AuditReport:
    """The test run that switches as these spans do from the period's start on, all later."""
    switchings: list[tuple[Instant, Action, int]] = []
    for span in spans:
        switchings += [
            (span.start + moved_seconds, Action.ON, 1),
            (span.end + moved_seconds, Action.OFF, 2),
        ]
    inside = tuple(s for s in switchings if s[0] >= at("2027-06-01 00:00"))
    run = Run(
        name="sun exact",
        differences=(),
        worst_early_seconds=0,
        worst_early_at=None,
        worst_late_seconds=0,
        worst_late_at=None,
        switchings=((3, inside),),
    )
    return AuditReport(runs=(run,), overlaps=(), interval_differences=())


def check(
    lines: tuple[PromiseLine, ...], of: Year, audit: AuditReport | None
) -> tuple[tuple[PromiseVerdict, ...], tuple[Diagnostic, ...]]:
    def named(dates: Dates) -> frozenset[date]:
        return dates_of(dates, PERIOD.dates(), None)

    return judge_promises(site(*lines), ZONE, named, of, audit)


def test_a_kept_promise_says_nothing() -> None:
    lines = (promise(EveryDay(), 23 * 60 + 50, False), promise(EveryDay(), 21 * 60, True))
    verdicts, found = check(lines, year(nights()), ran(nights()))
    assert found == ()
    assert len(verdicts) == 14
    assert all(v.kept and v.run_lit == v.year_lit == v.wanted_lit for v in verdicts)
    assert verdicts[0].circuit == "Lot poles"
    assert verdicts[0].instant == at("2027-06-01 23:50")


def test_the_states_change_at_the_switching_itself() -> None:
    """Lit from the ON on; dark from the OFF on."""
    lines = (promise(EveryDay(), 20 * 60 + 30, True), promise(EveryDay(), 23 * 60 + 30, False))
    verdicts, found = check(lines, year(nights()), ran(nights()))
    assert found == ()
    assert all(v.kept for v in verdicts)


def test_a_promise_that_the_wishes_break() -> None:
    line = promise(EveryDay(), 23 * 60 + 50, False, "every day 23:50: dark")
    spans = nights(LATE_FRIDAY)
    verdicts, found = check((line,), year(spans), ran(spans))
    assert [v.kept for v in verdicts] == [True] * 3 + [False] + [True] * 3
    (finding,) = found
    assert finding.code == "E501"
    assert finding.severity is Severity.PROBLEM
    assert finding.title.endswith("lit at 23:50 where dark is promised, on 1 of 7 dates.")
    assert "Fri 4 Jun 2027." in finding.why
    assert 'from Fri 4 Jun 2027, 20:30 (dusk, by "fri evenings: late")' in finding.why
    assert "until Sat 5 Jun 2027, 00:30" in finding.why
    assert [place.text for _, place in finding.also] == ["fri evenings: late"]
    assert finding.fix.splitlines()[-1] == '"every day except 2027-06-04 23:50: dark"'
    shown = render(found)
    assert '6 |   "every day 23:50: dark",' in shown
    assert max(len(row) for row in shown.splitlines()) <= 80


def test_a_promise_broken_on_all_its_dates_is_turned_round() -> None:
    line = promise(Weekdays((0, 1)), 22 * 60, False)
    _, found = check((line,), year(nights()), None)
    (finding,) = found
    assert "on 2 of 2 dates" in finding.title
    assert "Tue 1 Jun 2027; Mon 7 Jun 2027." in finding.why
    assert finding.fix.splitlines()[-1] == '"mon, tue 22:00: lit"'


def test_many_broken_dates_are_counted_once() -> None:
    line = promise(Except(EveryDay(), SingleDate(FIRST)), 22 * 60, False)
    spans = tuple(s for s in nights() if s.start < at("2027-06-07 00:00"))
    _, found = check((line,), year(spans), ran(spans))
    (finding,) = found
    assert "on 5 of 6 dates" in finding.title
    assert "First Wed 2 Jun 2027, last Sun 6 Jun 2027." in finding.why
    assert finding.fix.endswith('2027-06-05, 2027-06-06 22:00: dark"')


def test_a_dark_moment_names_its_neighbours_and_its_calendar_line() -> None:
    line = promise(SingleDate(date(2027, 6, 4)), 23 * 60 + 45, True)
    _, found = check((line,), year(nights()), None)
    (finding,) = found
    assert 'went off at Fri 4 Jun 2027, 23:30 (by "every day: usual")' in finding.why
    assert "come on again at Sat 5 Jun 2027, 20:30" in finding.why
    assert 'That evening is "late".' in finding.why
    assert [place.text for _, place in finding.also] == ["fri evenings: late"]


def test_a_window_that_lights_nothing_on_the_date_is_named() -> None:
    """In midsummer the sun may set after the time at which the lamps go off."""
    day = date(2027, 6, 4)
    empty = EmptyWindow(day, "on from dusk until 21:00", "end before start", 1, Half.EVENING)
    of_day = year(nights())
    (circuit,) = of_day.circuits
    of_day = replace(of_day, circuits=(replace(circuit, empty=(empty,)),))
    _, found = check((promise(SingleDate(day), 23 * 60 + 45, True),), of_day, None)
    (finding,) = found
    assert (
        "`on from dusk until 21:00` lights nothing on Fri 4 Jun: its end comes before its start."
        in finding.why
    )


def test_a_dark_moment_before_noon_names_the_line_of_the_morning() -> None:
    line = promise(SingleDate(date(2027, 6, 4)), 5 * 60, True)
    _, (finding,) = check((line,), year(nights()), None)
    assert 'That morning is "usual".' in finding.why
    assert [place.text for _, place in finding.also] == ["every day: usual"]


def test_a_moment_that_is_kept_dark_says_so() -> None:
    reason = why("23:30", "every day: from 23:30 until 05:00", Cause.KEEP_DARK)
    dark = DarkStretch(at("2027-06-04 23:30"), at("2027-06-05 05:00"), reason, reason)
    line = promise(SingleDate(date(2027, 6, 4)), 23 * 60 + 45, True)
    _, (finding,) = check((line,), year(nights(), (dark,)), None)
    assert "kept dark from Fri 4 Jun 2027, 23:30 until Sat 5 Jun 2027, 05:00" in finding.why


def test_a_date_no_calendar_line_names() -> None:
    undecided = tuple(Decided(day, Half.EVENING, None) for day in PERIOD.dates())
    circuit = CircuitYear(circuit="Lot poles", channel=3, spans=(), decided=undecided)
    bare = Year(
        period=PERIOD, start=at("2027-06-01 00:00"), end=at("2027-06-08 00:00"), circuits=(circuit,)
    )
    _, (finding,) = check((promise(EveryDay(), 22 * 60, True),), bare, None)
    assert "are never lit. No calendar line names that evening." in finding.why


def test_a_promise_that_only_the_program_breaks() -> None:
    line = promise(EveryDay(), 20 * 60 + 30, True)
    verdicts, found = check((line,), year(nights()), ran(nights(), 120))
    assert all(v.year_lit and v.run_lit is False and not v.kept for v in verdicts)
    (finding,) = found
    assert finding.code == "E502"
    assert 'The program leaves the lamps of "Lot poles" dark at 20:30' in finding.title


def test_without_a_test_run_only_the_wishes_count() -> None:
    verdicts, found = check((promise(EveryDay(), 21 * 60, True),), year(nights()), None)
    assert found == ()
    assert {v.run_lit for v in verdicts} == {None}
    assert all(v.kept for v in verdicts)


def test_the_state_before_the_first_switching_of_the_run() -> None:
    spans = (lit("2027-05-31 20:30", "2027-06-01 02:00"),)
    lines = (promise(SingleDate(FIRST), 60, True), promise(SingleDate(FIRST), 180, False))
    verdicts, _ = check(lines, year(spans), ran(spans))
    assert [v.run_lit for v in verdicts] == [True, False]
    all_lit = (lit("2027-05-31 20:30", "2027-06-09 02:00"),)
    quiet = Run(
        name="sun exact",
        differences=(),
        worst_early_seconds=0,
        worst_early_at=None,
        worst_late_seconds=0,
        worst_late_at=None,
        switchings=((3, ()),),
    )
    audit = AuditReport(runs=(quiet,), overlaps=(), interval_differences=())
    verdicts, found = check((promise(EveryDay(), 60, True),), year(all_lit), audit)
    assert all(v.kept and v.run_lit for v in verdicts)
    assert found == ()


def test_the_end_of_the_period_is_judged_on_the_wishes_alone() -> None:
    verdicts, found = check((promise(EveryDay(), 1440, False),), year(nights()), ran(nights()))
    assert [v.run_lit for v in verdicts] == [False] * 6 + [None]
    assert found == ()


def test_a_date_outside_the_period_is_a_note() -> None:
    line = promise(SingleDate(date(2028, 1, 1)), 60, True)
    verdicts, (finding,) = check((line,), year(nights()), None)
    assert verdicts == ()
    assert finding.severity is Severity.NOTE
    assert finding.code == "E511"
    assert "Sat 1 Jan 2028" in finding.title
    half_inside = promise(DatedRange(date(2027, 5, 30), FIRST), 21 * 60, True)
    verdicts, (finding,) = check((half_inside,), year(nights()), None)
    assert len(verdicts) == 1
    assert "Sun 30 May 2027; Mon 31 May 2027" in finding.title


def test_a_promise_that_names_no_date_of_the_period_is_a_note() -> None:
    thursdays = WeekdaysIn(Weekdays((3,)), SingleDate(FIRST))
    verdicts, (finding,) = check((promise(thursdays, 60, True),), year(nights()), None)
    assert verdicts == ()
    assert finding.code == "E512"


def test_promised_instants_at_clock_changes() -> None:
    spring, autumn = date(2027, 3, 14), date(2027, 11, 7)
    of_year = zone("America/Denver", spring, autumn)
    line = promise(EveryDay(), 150, True)
    assert promise_instants(line, of_year, [spring]) == (at("2027-03-14 03:00"),)
    line = promise(EveryDay(), 90, True)
    assert promise_instants(line, of_year, [autumn]) == (at("2027-11-07 01:30"),)
    line = promise(EveryDay(), 1440, True)
    assert promise_instants(line, of_year, [spring]) == (at("2027-03-15 00:00"),)


def test_the_dates_a_phrase_names_outright() -> None:
    first, second = date(2027, 12, 24), date(2027, 12, 31)
    assert named_outright(EveryDay()) == frozenset()
    both = AnyOf((SingleDate(first), SingleDate(second)))
    assert named_outright(both) == {first, second}
    assert named_outright(Except(both, SingleDate(first))) == {second}
    assert named_outright(Neighbour(1, SingleDate(first))) == {date(2027, 12, 25)}
    saturdays = WeekdaysIn(Weekdays((5,)), DatedRange(first, second))
    assert named_outright(saturdays) == {date(2027, 12, 25)}
