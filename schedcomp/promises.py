"""Promises: moments whose state a site file asserts, checked on the exact year and the test run."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable
from datetime import date, timedelta

from schedcomp.audit_report import AuditReport
from schedcomp.clock import Zone
from schedcomp.days import dates_of
from schedcomp.diag import Diagnostic, SourceRange
from schedcomp.messages import audit as messages
from schedcomp.model import MINUTE, Action, Half, Instant, Period
from schedcomp.ordinance.settle import promise_text
from schedcomp.phrases.printer import print_clock, print_promise
from schedcomp.phrases.tree import (
    AnyOf,
    DatedRange,
    Dates,
    DatesPhrase,
    Except,
    Neighbour,
    PromiseLine,
    SingleDate,
    WeekdaysIn,
)
from schedcomp.records import Record, replace
from schedcomp.site import Circuit, Site
from schedcomp.told_time import exact_clock_words, exact_moment_words, phrase_words
from schedcomp.words import date_words
from schedcomp.world import World
from schedcomp.year import Cause, CircuitYear, DarkStretch, Reason, Span, Year, empty_window_words

_SHOWN_DATES = 3
_MOST_EXCEPTED = 12


class PromiseVerdict(Record, kw_only=True):
    """One promise of a site file at one instant, on the exact year and on the test run.

    `run_lit` None: no program was made, or the moment is the very end of the period, where the
    test run has ended.
    """

    circuit: str
    text: str
    instant: Instant
    wanted_lit: bool
    year_lit: bool
    run_lit: bool | None

    @property
    def kept(self) -> bool:
        return self.year_lit == self.wanted_lit and self.run_lit in (None, self.wanted_lit)


class _Lamps(Record):
    """The state of one circuit at any instant, from its switchings."""

    instants: tuple[Instant, ...]
    on: tuple[bool, ...]
    lit_before: bool

    def lit(self, instant: Instant) -> bool:
        """The state after the last switching at or before an instant."""
        count = bisect_right(self.instants, instant)
        return self.on[count - 1] if count else self.lit_before

    def nearest(self, instant: Instant) -> Instant | None:
        """The switching closest to an instant."""
        return min(self.instants, key=lambda t: abs(t - instant), default=None)


class _Judged(Record):
    """A promise line with its dates and their verdicts."""

    circuit: Circuit
    line: PromiseLine
    days: tuple[date, ...]
    verdicts: tuple[PromiseVerdict, ...]


def check_promises(
    site: Site, world: World, year: Year, audit: AuditReport | None
) -> tuple[tuple[PromiseVerdict, ...], tuple[Diagnostic, ...]]:
    """Judge every promise on every date of the period that it names.

    On the test run the lamps are as the run with exact sun times has them; without a test run
    (`audit` None) only the exact year is judged. A broken line is one finding.
    """
    days = world.period.dates()
    return judge_promises(
        site, world.zone, lambda dates: dates_of(dates, days, world.holidays), year, audit
    )


def judge_promises(
    site: Site,
    zone: Zone,
    dates_named: Callable[[Dates], frozenset[date]],
    year: Year,
    audit: AuditReport | None,
) -> tuple[tuple[PromiseVerdict, ...], tuple[Diagnostic, ...]]:
    """As `check_promises`; `dates_named` gives the dates of the period that a phrase names."""
    verdicts: list[PromiseVerdict] = []
    findings: list[Diagnostic] = []
    key = "tolerance_limit" if site.fit.tolerance_minutes is None else "tolerance"
    for circuit in site.circuits:
        if not circuit.promises:
            continue
        of_year = year.circuit(circuit.name)
        wished = _wished(of_year)
        run = None if audit is None else _ran(audit, of_year, wished.lit(year.start))
        for line in circuit.promises:
            named = sorted(dates_named(line.dates.dates))
            instants = promise_instants(line, zone, named)
            judged = _Judged(
                circuit,
                line,
                tuple(named),
                tuple(
                    _verdict(circuit, line, t, wished, run if t < year.end else None)
                    for t in instants
                ),
            )
            verdicts += judged.verdicts
            findings += _broken(judged, of_year, zone, key, wished, run)
            findings += _not_judged(line, year.period, bool(named))
    return tuple(verdicts), tuple(findings)


def promise_instants(line: PromiseLine, zone: Zone, days: Iterable[date]) -> tuple[Instant, ...]:
    """The promised moment of each date.

    A repeated reading means its first pass, a skipped one the jump; 24:00 is the end of the date.
    """
    return tuple(zone.first_pass(day, line.clock.minutes * MINUTE) for day in days)


def named_outright(dates: Dates) -> frozenset[date]:
    """The dates a phrase names with their year."""
    match dates:
        case SingleDate(day):
            return frozenset({day})
        case DatedRange(first, last):
            return frozenset(Period(first, last).dates())
        case Neighbour(days, of):
            return frozenset(day + timedelta(days=days) for day in named_outright(of))
        case WeekdaysIn(weekdays, within):
            return frozenset(d for d in named_outright(within) if d.weekday() in weekdays.days)
        case AnyOf(members):
            return frozenset().union(*(named_outright(member) for member in members))
        case Except(base, removed):
            return named_outright(base) - named_outright(removed)
        case _:
            return frozenset()


def _wished(of_year: CircuitYear) -> _Lamps:
    switchings = of_year.switchings()
    return _Lamps(
        tuple(s.instant for s in switchings),
        tuple(s.action is Action.ON for s in switchings),
        False,
    )


def _ran(audit: AuditReport, of_year: CircuitYear, lit_at_start: bool) -> _Lamps:
    switchings = audit.exact_run.of_channel(of_year.channel)
    # The first switching changes the state, so the state before it is the other one.
    before = switchings[0][1] is Action.OFF if switchings else lit_at_start
    return _Lamps(
        tuple(s[0] for s in switchings), tuple(s[1] is Action.ON for s in switchings), before
    )


def _verdict(
    circuit: Circuit, line: PromiseLine, instant: Instant, wished: _Lamps, run: _Lamps | None
) -> PromiseVerdict:
    return PromiseVerdict(
        circuit=circuit.name,
        text=promise_text(line),
        instant=instant,
        wanted_lit=line.lit,
        year_lit=wished.lit(instant),
        run_lit=None if run is None else run.lit(instant),
    )


# Findings


def _broken(
    judged: _Judged, of_year: CircuitYear, zone: Zone, key: str, wished: _Lamps, run: _Lamps | None
) -> list[Diagnostic]:
    """At most one finding: what the wishes break comes before what only the program breaks."""
    line = judged.line
    both = list(zip(judged.days, judged.verdicts, strict=True))
    by_wishes = [(d, v) for d, v in both if v.year_lit != line.lit]
    broken = by_wishes or [(d, v) for d, v in both if not v.kept]
    if not broken:
        return []
    days = [day for day, _ in broken]
    instant = broken[0][1].instant
    said, also = _what_decided(judged.circuit, of_year, days[0], instant, zone)
    kind, program, minutes = messages.WISHES_BREAK_PROMISE, "", 0
    if not by_wishes and run is not None:
        kind = messages.PROGRAM_BREAKS_PROMISE
        program, minutes = _in_the_program(instant, wished, run, zone)
    return [
        kind.at(
            line.at,
            also=also,
            circuit=judged.circuit.name,
            clock=phrase_words(zone, print_clock(line.clock)),
            wanted=_state(line.lit),
            found=_state(not line.lit),
            count=f"on {len(broken)} of {_count(len(both), 'date')}",
            dates=_span_of(days),
            decided=said,
            promise=_other_promise(line, days, len(both)),
            run=program,
            key=key,
            minutes=minutes,
        )
    ]


def _in_the_program(instant: Instant, wished: _Lamps, run: _Lamps, zone: Zone) -> tuple[str, int]:
    """When the program does the switching nearest to a moment, and a tolerance too small for it.

    In whole minutes.
    """
    ran = run.nearest(instant)
    asked = wished.nearest(instant)
    if ran is None or asked is None:
        return "no time", 0
    return exact_moment_words(zone, ran), max(0, (abs(ran - asked) - 1) // MINUTE)


def _not_judged(line: PromiseLine, period: Period, any_judged: bool) -> list[Diagnostic]:
    first, last = date_words(period.first), date_words(period.last)
    outside = sorted(d for d in named_outright(line.dates.dates) if d not in period)
    if outside:
        dates = _some_dates(outside)
        return [messages.PROMISE_OUTSIDE.at(line.at, dates=dates, first=first, last=last)]
    return [] if any_judged else [messages.PROMISE_NEVER.at(line.at, first=first, last=last)]


def _what_decided(
    circuit: Circuit, of_year: CircuitYear, day: date, instant: Instant, zone: Zone
) -> tuple[str, tuple[tuple[str, SourceRange], ...]]:
    """What made the state at a moment of the exact year, in words and as lines of the file."""
    shown = zone.local(instant)
    intro = f"By the wishes, on {date_words(day)},"
    span = of_year.span_at(instant)
    if span is not None:
        said = f"{intro} the lamps are lit {_lit_words(span, zone)}."
        return said, _lines(span.start_reason)
    dark = next((d for d in of_year.dark if d.start <= instant < d.end), None)
    if dark is not None:
        return f"{intro} the lamps are {_dark_words(dark, zone)}.", _lines(dark.reason)
    half = Half.MORNING if shown.hour < 12 else Half.EVENING
    said = f"{intro} the lamps {_gap_words(of_year, instant, zone)}."
    decided = next(
        (d.line for d in of_year.decided if d.day == shown.date() and d.half is half), None
    )
    side = "morning" if half is Half.MORNING else "evening"
    empty = [w for w in of_year.empty if w.day == shown.date() and w.half in (None, half)]
    why = "".join(f" {empty_window_words(w)}." for w in empty)
    if decided is None:
        return f"{said} No calendar line names that {side}.", ()
    line = circuit.calendar[decided]
    return (
        f'{said} That {side} is "{line.day_type}".{why}',
        () if line.at is None else ((f"The line that decides that {side}", line.at),),
    )


def _lit_words(span: Span, zone: Zone) -> str:
    start = _with_reason(zone, span.start, span.start_reason)
    return f"from {start} until {_with_reason(zone, span.end, span.end_reason)}"


def _dark_words(dark: DarkStretch, zone: Zone) -> str:
    what = "kept dark" if dark.reason.cause is Cause.KEEP_DARK else "dark as a single night"
    start, end = (exact_moment_words(zone, instant) for instant in (dark.start, dark.end))
    return f"{what} from {start} until {end}"


def _gap_words(of_year: CircuitYear, instant: Instant, zone: Zone) -> str:
    before = [s for s in of_year.spans if s.end <= instant]
    after = [s for s in of_year.spans if s.start > instant]
    parts = []
    if before:
        last = before[-1]
        parts.append(f"went off at {_with_reason(zone, last.end, last.end_reason)}")
    if after:
        following = after[0]
        again = _with_reason(zone, following.start, following.start_reason)
        parts.append(f"come on again at {again}")
    return " and ".join(parts) if parts else "are never lit"


def _with_reason(zone: Zone, instant: Instant, reason: Reason) -> str:
    """`Fri 3 Dec 2027, 17:02 (dusk, by "fri: late")`; a clock time is not told twice."""
    phrase = phrase_words(zone, reason.phrase)
    phrase = "" if phrase == exact_clock_words(zone, instant) else phrase
    line = f'by "{reason.line}"' if reason.line else ""
    told = ", ".join(part for part in (phrase, line) if part)
    return exact_moment_words(zone, instant) + (f" ({told})" if told else "")


def _lines(reason: Reason) -> tuple[tuple[str, SourceRange], ...]:
    return () if reason.at is None else (("The line that decided it", reason.at),)


def _other_promise(line: PromiseLine, broken: list[date], judged: int) -> str:
    """The promise as it would be kept: turned round, or without the dates that break it."""
    if len(broken) == judged:
        return _written(replace(line, lit=not line.lit))
    if len(broken) > _MOST_EXCEPTED:
        return messages.PROMISE_LESS
    singles = tuple(SingleDate(day) for day in broken)
    match line.dates.dates:
        case Except(base, removed):
            without = Except(base, AnyOf((removed, *singles)))
        case base:
            without = Except(base, singles[0] if len(singles) == 1 else AnyOf(singles))
    return _written(PromiseLine(DatesPhrase(without, line.dates.half), line.clock, line.lit))


def _written(line: PromiseLine) -> str:
    return messages.PROMISE_AS.format(line=print_promise(line))


# Words


def _state(lit: bool) -> str:
    return "lit" if lit else "dark"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"


def _span_of(days: list[date]) -> str:
    if len(days) <= _SHOWN_DATES:
        return f"{_some_dates(days)}."
    return f"First {date_words(days[0])}, last {date_words(days[-1])}."


def _some_dates(days: list[date]) -> str:
    shown = "; ".join(date_words(day) for day in days[:_SHOWN_DATES])
    more = len(days) - _SHOWN_DATES
    return f"{shown} and {_count(more, 'more date')}" if more > 0 else shown
