"""Deliberate bugs, one at a time, each with the cheap tests that have to fail because of it.

    python -m tests.mutants [WORD ...]

tries those whose name contains a word, all without one. The text of a module is changed as it is
imported; nothing is written. Each bug runs in a process forked from one that has the outside
libraries loaded already.
"""

from __future__ import annotations

import importlib
import importlib.abc
import importlib.machinery
import importlib.util
import io
import os
import sys
import traceback
from collections.abc import Sequence
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path
from types import CodeType, ModuleType

HERE = Path(__file__).parent.parent
LIBRARIES = ("numpy", "hypothesis", "pytest", "skyfield.api", "holidays", "dateutil.rrule")
SURVIVED = 0
KILLED = 1


@dataclass(frozen=True, slots=True)
class Mutant:
    """`old` stands once in the module; `tests` are pytest's names for what has to fail."""

    name: str
    module: str
    old: str
    new: str
    tests: tuple[str, ...]

    @property
    def path(self) -> Path:
        return HERE / f"{self.module.replace('.', '/')}.py"

    def source(self) -> str:
        """The module with the bug; AssertionError where the right text is not there once."""
        text = self.path.read_text()
        assert text.count(self.old) == 1, f"{self.name}: {text.count(self.old)} times"
        assert self.old != self.new
        return text.replace(self.old, self.new)


def _of(module: str, *rows: tuple[str, str, str, str]) -> tuple[Mutant, ...]:
    """Rows of name, right text, wrong text and tests apart by blanks."""
    return tuple(
        Mutant(name, f"schedcomp.{module}", old, new, tuple(f"tests/{t}" for t in tests.split()))
        for name, old, new, tests in rows
    )


MUTANTS = (
    # What a date means
    *_of(
        "moment_columns",
        (
            "of many dates clocks on one side do not wrap",
            "(kind.ends_before and start_half is end_half))",
            "(kind.ends_before and start_half is not end_half))",
            "test_columns.py",
        ),
        (
            "of many dates morning clocks of a pair stay on the evening's date",
            "return days + (evening & ~self._evening(member, days))",
            "return days",
            "test_columns.py",
        ),
        (
            "a window of many dates may pass the second transit",
            "end_at = np.minimum(wished, self._longest(start_at, days))",
            "end_at = wished",
            "test_columns.py",
        ),
        (
            "an opening of many dates is read on the date of the closing",
            "at = hours.next_opening(moment.word, after)",
            "at = hours.of(moment.word, days)",
            "test_columns.py",
        ),
    ),
    *_of(
        "target_columns",
        (
            "later years know no keep-dark",
            "lit = cut(lit, dark)",
            "lit = cut(lit, lit.within(0, 0))",
            "test_columns.py",
        ),
        (
            "later years have every span that is too short to switch",
            "odd += [*self._not_switchable(lit), *self._repeated(lit)]",
            "odd += [*self._repeated(lit)]",
            "test_columns.py",
        ),
        (
            "bands of later years are rounded outward",
            "self.grid.up_all(lowest[asked]), self.grid.down_all(highest[asked])",
            "self.grid.up_all(lowest[asked]), self.grid.up_all(highest[asked])",
            "test_columns.py",
        ),
    ),
    *_of(
        "moments",
        (
            "a morning end stays on the evening's date",
            "end_half is Half.MORNING:\n            return day + ONE_DAY",
            "end_half is Half.MORNING:\n            return day",
            "test_moments.py",
        ),
        (
            "two clocks on one side do not wrap",
            "return day + ONE_DAY if settled.ends_before and start_half is end_half else day",
            "return day",
            "test_columns.py test_moments.py",
        ),
        (
            "equal clocks do not wrap",
            "start is not None and end is not None and end <= start,",
            "start is not None and end is not None and end < start,",
            "test_moments.py",
        ),
        (
            "a pair with an evening member is morning",
            "return first if first is Half.EVENING else",
            "return first if first is Half.MORNING else",
            "test_moments.py",
        ),
        (
            "morning clocks of a pair stay on the evening's date",
            "return day + ONE_DAY if moves and self._half(member, day) is Half.MORNING else day",
            "return day",
            "test_columns.py test_moments.py",
        ),
        (
            "keep-dark ends with the first pass",
            "read = self.zone.last_pass if hold else self.zone.first_pass",
            "read = self.zone.first_pass",
            "test_columns.py test_moments.py test_expand.py",
        ),
        (
            "offsets of dusk are taken off",
            "crossing + (offset_minutes + moment.offset_minutes) * MINUTE",
            "crossing + (offset_minutes - moment.offset_minutes) * MINUTE",
            "test_moments.py",
        ),
        (
            "polar night moves with the offset",
            "return Bound(((self.sun.transit(day), True),))",
            "return Bound(((self.sun.transit(day) + moment.offset_minutes * MINUTE, True),))",
            "test_columns.py test_moments.py test_expand.py",
        ),
        (
            "a dusk that never comes drops out of `the later of`",
            "if as_start and found.never_comes and pair.which is Which.LATER:",
            "if False:",
            "test_moments.py",
        ),
        (
            "a window with the sun may last for days",
            "return self.sun.transit(first + ONE_DAY)",
            "return self.sun.transit(first + ONE_DAY) + 240 * HOUR",
            "test_columns.py test_moments.py test_expand.py",
        ),
        (
            "a closing without hours is not the next date's",
            "return self._clock(moment.fallback, day + ONE_DAY if late else day, hold)",
            "return self._clock(moment.fallback, day, hold)",
            "test_columns.py test_moments.py",
        ),
    ),
    *_of(
        "clock",
        (
            "a skipped reading is an hour late",
            "                return change.instant\n",
            "                return change.instant + HOUR\n",
            "test_clock.py",
        ),
        (
            "the standard clock takes the largest offset",
            "(min(used),)",
            "(max(used),)",
            "test_clock.py",
        ),
        (
            "the offset changes a second late",
            "bisect_right(self.starts, instant) - 1)]",
            "bisect_right(self.starts, instant - 1) - 1)]",
            "test_clock.py",
        ),
        (
            "a clock change two days off is not seen",
            "and self.starts[changes_before] <= reading + DAY:",
            "and self.starts[changes_before] <= reading:",
            "test_clock.py",
        ),
    ),
    *_of(
        "date_rules",
        (
            "ranges of dates do not wrap",
            "wraps = (last.month, last.day) < (first.month, first.day)",
            "wraps = False",
            "test_days.py",
        ),
        (
            "ranges end a day early",
            "max(0, (last - days[0]).days + 1)]",
            "max(0, (last - days[0]).days)]",
            "test_days.py",
        ),
        (
            "the day before is the day after",
            "timedelta(days=dates.days) for d in near",
            "timedelta(days=-dates.days) for d in near",
            "test_days.py",
        ),
        (
            "the last Friday is a week early",
            "return last - timedelta(days=(last.weekday() - dates.weekday) % 7)",
            "return last - timedelta(days=7 + (last.weekday() - dates.weekday) % 7)",
            "test_days.py",
        ),
    ),
    *_of(
        "date_columns",
        (
            "the first calendar line decides",
            "deciding[named_column(line.dates.dates, first_day, count, holidays)] = number",
            "deciding[named_column(line.dates.dates, first_day, count, holidays) "
            "& (deciding < 0)] = number",
            "test_days.py test_expand.py",
        ),
        (
            "evenings decide mornings",
            "if line.dates.half in (None, half):",
            "if line.dates.half in (None, *Half):",
            "test_days.py test_expand.py",
        ),
    ),
    *_of(
        "hours",
        (
            "a closing after midnight is on its own date",
            "closing_day = day if closes.minutes > opens.minutes else day + ONE_DAY",
            "closing_day = day",
            "test_hours.py",
        ),
        (
            "the staff leaves before the closing",
            "return None if closing is None else closing + self.staff_after_seconds",
            "return None if closing is None else closing - self.staff_after_seconds",
            "test_hours.py",
        ),
    ),
    # The exact year
    *_of(
        "layers",
        (
            "a kept-dark end is forgotten",
            "Span(stretch.end, rest.end, stretch.end_reason, rest.end_reason)",
            "Span(stretch.start, rest.end, stretch.end_reason, rest.end_reason)",
            "test_expand.py",
        ),
        (
            "gaps beside kept dark are bridged",
            "if any(d.start <= gap[1] and d.end >= gap[0] for d in dark):",
            "if False:",
            "test_expand.py",
        ),
        (
            "gaps just long enough are bridged",
            "if gap and gap[1] - gap[0] < shortest_off_seconds:",
            "if gap and gap[1] - gap[0] <= shortest_off_seconds:",
            "test_expand.py",
        ),
        (
            "single nights are dropped like others",
            "if span.end - span.start < shortest_on_seconds and not wanted:",
            "if span.end - span.start < shortest_on_seconds:",
            "test_expand.py",
        ),
        (
            "touching spans stay two",
            "if merged and span.start <= merged[-1].end:",
            "if merged and span.start < merged[-1].end:",
            "test_expand.py",
        ),
    ),
    *_of(
        "expand",
        (
            "the year starts without the evening before",
            "first = day_number(period.first) - min(reach_days(site), known)",
            "first = day_number(period.first)",
            "test_expand.py",
        ),
        (
            "kept dark comes before single nights are lit",
            "            spans, dark = union([*spans, single]), lift(dark, single)\n",
            "            spans, dark = cut(union([*spans, single]), dark), lift(dark, single)\n",
            "test_expand.py",
        ),
        (
            "a window of one half lights the other",
            "some = named[columns.starts_in(asked.window, half, named)]",
            "some = named[~columns.starts_in(asked.window, half, named)]",
            "test_expand.py",
        ),
    ),
    *_of(
        "output.table",
        (
            "rows reach beyond the period",
            "instant=max(span.start, year.start)",
            "instant=span.start",
            "test_expand.py test_output.py",
        ),
    ),
    # What a program has to do
    *_of(
        "target",
        (
            "ends off the step go toward light",
            "end_reason = _stepped(span.end_reason, grid.down)",
            "end_reason = _stepped(span.end_reason, grid.up)",
            "test_target.py",
        ),
        (
            "the favour is turned round",
            '{"light": (1, 0), "dark": (0, 1), "even": (1, 1)}',
            '{"light": (0, 1), "dark": (1, 0), "even": (1, 1)}',
            "test_random_worlds.py",
        ),
        (
            "kept dark does not cut bands",
            "raise_to_last(lowest[on], self.dark_ends, instants[on])",
            "raise_to_last(lowest[on], self.dark_ends[:0], instants[on])",
            "test_target.py",
        ),
        (
            "bands are rounded outward",
            "grid.up_all(lowest[asked]), grid.down_all(highest[asked])",
            "grid.down_all(lowest[asked]), grid.down_all(highest[asked])",
            "test_random_worlds.py",
        ),
        (
            "short spans are kept",
            "if span.start > start and span.end - span.start < least:",
            "if False:",
            "test_target.py",
        ),
    ),
    *_of(
        "unit_sun",
        (
            "the sun of a unit is never late",
            "instants[:3].max(axis=0) + own_seconds",
            "instants[:3].max(axis=0)",
            "test_unit_sun.py",
        ),
        (
            "a sun that does not cross is certain",
            "certain = np.logical_and.reduce(crosses)",
            "certain = np.logical_or.reduce([*crosses, ~crosses[0]])",
            "test_unit_sun.py",
        ),
    ),
    # The fit
    *_of(
        "fit.firings",
        (
            "lost readings fire",
            'if skipped_time == "lost":',
            "if False:",
            "test_firings.py",
        ),
        (
            "repeated readings fire once",
            'if repeated_time == "twice":',
            "if False:",
            "test_fit.py::test_an_event_of_other_dates_does_not_fire_a_second_time",
        ),
        (
            "sun events come at the end of their error",
            "first = _down(clock, earliest[None, :] + shift, grid_seconds)",
            "first = _down(clock, latest[None, :] + shift, grid_seconds)",
            "test_fit_starts.py test_random_worlds.py::test_the_test_run_is_the_year",
        ),
        (
            "weekdays are a day off",
            "return (self.first.weekday() + np.arange(self.count)) % 7",
            "return (self.first.weekday() + 1 + np.arange(self.count)) % 7",
            "test_random_worlds.py::test_the_test_run_is_the_year",
        ),
        (
            "an hour slips where the clock changes",
            'found = np.searchsorted(np.array(clock.starts), instants, side="right") - 1',
            'found = np.searchsorted(np.array(clock.starts), instants, side="right") - 2',
            "test_fit.py::test_every_reading_fires_on_its_own_date_before_and_after_a_change",
        ),
        (
            "sun events count on one date only",
            "three = (five[0], five[2], five[4])",
            "three = (five[2], five[2], five[2])",
            "test_cells.py",
        ),
    ),
    *_of(
        "fit.cells",
        (
            "doubtful firings cover",
            "covers = here & firings.certain & (last <= own_high[k])",
            "covers = here & (last <= own_high[k])",
            "test_cells.py",
        ),
        (
            "late firings cover",
            "covers = here & firings.certain & (last <= own_high[k])",
            "covers = here & firings.certain & (first <= own_high[k])",
            "test_cells.py",
        ),
        (
            "a firing may reach into the next cell",
            "here &= last < next_top[k]",
            "here &= first < next_top[k]",
            "test_cells.py",
        ),
        (
            "what happens before the period does harm to nothing",
            "min([target.start, *low[:1].tolist()]),",
            "max([target.start, *low[:1].tolist()]),",
            "test_cells.py",
        ),
        (
            "no switching is contested",
            "            return tuple(sorted(found))\n",
            "            return ()\n",
            "test_cells.py",
        ),
    ),
    *_of(
        "fit.date_ranges",
        (
            "ranges are a day too long",
            "ranges.count) + 1, next_position(bad, place, ranges.count) - 1",
            "ranges.count) + 1, next_position(bad, place, ranges.count)",
            "test_random_worlds.py::test_the_test_run_is_the_year test_fit_brute_force.py",
        ),
        (
            "ranges never wrap",
            'circular=rule == "yearly",',
            "circular=False,",
            "test_fit.py::test_a_winter_takes_one_range_that_wraps_and_two_that_do_not",
        ),
        (
            "through 28 Feb is not through 29 Feb",
            "last += last == LEAP_DAY - 1",
            "last += 0",
            "test_firings.py",
        ),
    ),
    *_of(
        "fit.candidates",
        (
            "harm on other weekdays counts",
            "        if mask >> weekday & 1:\n            found |= positions\n",
            "        found |= positions\n",
            "test_random_worlds.py::test_the_test_run_is_the_year test_fit_brute_force.py",
        ),
    ),
    *_of(
        "fit.seen",
        (
            "forbidden dates are free",
            "self.profile.never[starts] & ~self.escapes[starts]",
            "self.profile.never[starts] & self.escapes[starts] & False",
            "test_random_worlds.py::test_the_test_run_is_the_year test_fit_brute_force.py",
        ),
    ),
    *_of(
        "fit.cover",
        (
            "columns that overlap a larger one are left out",
            "not rows & ~columns[rival] and (rival < column or columns[rival] != rows)",
            "rows & columns[rival] and (rival < column or columns[rival] != rows)",
            "test_cover.py",
        ),
    ),
    *_of(
        "fit.stand_ins",
        (
            "a start that may do harm stands in",
            " or other.harms & ~start.surely_harms",
            "",
            "test_fit_starts.py",
        ),
        (
            "a start that asks for an early border stands in",
            "first >= start.moved[row][1] if row in start.moved",
            "True if row in start.moved",
            "test_fit_starts.py",
        ),
    ),
    *_of(
        "fit.families",
        (
            "special days do nothing that events do",
            "            firm = rows & ~bands.near\n",
            "            firm = rows\n",
            "test_fit_starts.py",
        ),
        (
            "each start makes a family of its own",
            "np.minimum.at(family, members, least[blocks])",
            "least[blocks]",
            "test_fit_starts.py",
        ),
    ),
    *_of(
        "fit.in_time",
        (
            "a jump skips no reading",
            "    if change.skipped > 0:\n",
            "    if change.skipped > 10**9:\n",
            "test_fit_starts.py",
        ),
    ),
    *_of(
        "fit.jobs",
        (
            "starts that were left out move no border",
            "replace(answer, free=free)",
            "answer",
            "test_fit_starts.py",
        ),
        (
            "the order of circuits decides",
            "channels = tuple(sorted(target.channels, key=lambda c: c.channel))",
            "channels = target.channels",
            "test_random_worlds.py",
        ),
    ),
    *_of(
        "fit.bit_sets",
        (
            "rows that others do not imply are left out",
            "if not any(other & ~columns == 0 for other in kept):",
            "if not any(other & columns for other in kept):",
            "test_cover.py",
        ),
    ),
    *_of(
        "fit.fitting",
        (
            "the tolerance found is a minute too small",
            "        return high, proven\n",
            "        return max(0, high - 1), proven\n",
            "test_random_worlds.py",
        ),
    ),
    *_of(
        "fit.resting",
        (
            "special days do not end",
            'if self.planner.controller.exceptions.end != "off":',
            "if True:",
            "test_fit_special_days.py",
        ),
    ),
    # The test run
    *_of(
        "audit.compare",
        (
            "switchings may be late",
            "happened.ends[:count] > wanted.latest[:count])",
            "happened.ends[:count] > wanted.latest[:count] + 3600)",
            "test_audit.py",
        ),
        (
            "extra switchings at the end do not count",
            "if len(happened) < count or bool((happened.starts[count:] <= wanted.end).any()):",
            "if len(happened) < count:",
            "test_audit.py",
        ),
    ),
    *_of(
        "audit.intervals",
        (
            "meeting at one instant is no meeting",
            "(firings.ends[other] >= firings.starts)",
            "(firings.ends[other] > firings.starts)",
            "test_audit.py",
        ),
        (
            "doubtful firings are sure",
            "surely = np.where(firings.certain, firings.ends, NOT_CERTAIN)",
            "surely = firings.ends",
            "test_audit.py",
        ),
    ),
    *_of(
        "audit.unit_clock",
        (
            "stored ranges do not wrap",
            "wraps = dates.years is None and first > last",
            "wraps = False",
            "test_audit.py",
        ),
        (
            "stored ranges end a day early",
            "from_first, to_last = here >= first, here <= last",
            "from_first, to_last = here >= first, here < last",
            "test_audit.py",
        ),
        (
            "the unit's weekdays are a day off",
            "first_day, (number + 3) % 7,",
            "first_day, (number + 4) % 7,",
            "test_audit.py",
        ),
        (
            "lost readings fire in the test run",
            "return () if lost else (_change_between",
            "return (_change_between",
            "test_audit.py",
        ),
    ),
    *_of(
        "audit.unit",
        (
            "the sun is never early in the test run",
            "        return times.earliest\n    if run is SunRun.LATE:",
            "        return times.nominal\n    if run is SunRun.LATE:",
            "test_audit.py",
        ),
        (
            "offsets are forgotten",
            "fires_at = event_at + start.offset_minutes * MINUTE_SECONDS",
            "fires_at = event_at",
            "test_audit.py",
        ),
    ),
    *_of(
        "audit.special_days",
        (
            "normal events go on through special days",
            "else Duty(e, unit.dates.named_by(e) & ~rests)",
            "else Duty(e, unit.dates.named_by(e))",
            "test_audit_special_days.py",
        ),
        (
            "special days end a day late",
            "ends = _midnights(k.is_over & ~rests, unit)",
            "ends = _midnights(_day_before(k.is_over & ~rests), unit)",
            "test_audit_special_days.py",
        ),
    ),
    # Rules and promises
    *_of(
        "ordinance.asks",
        (
            "a clause looks at what surely burns",
            "together(lamps.of(circuit.name).possibly for",
            "together(lamps.of(circuit.name).surely for",
            "test_rules_build.py::test_an_override_may_cost_the_pass",
        ),
        (
            "a share just reached is beyond it",
            "rounding = -1e-9 if form.at_least else 1e-9",
            "rounding = 1e-9 if form.at_least else -1e-9",
            "test_rules_worked.py::test_shares_of_lamps_and_a_least_share",
        ),
        (
            "not before holds on the wrong date",
            "on = day + ONE_DAY if clause.requirement.by is Dating.EVENING else day",
            "on = day",
            "test_rules_worked.py::test_not_on_before_a_morning_time",
        ),
    ),
    *_of(
        "ordinance.lamps",
        (
            "an override is forgotten",
            "possibly, surely = moved(may, 0, minutes * MINUTE), must",
            "possibly, surely = may, must",
            "test_rules_build.py::test_an_override_may_cost_the_pass",
        ),
        (
            "a photocell in parallel never adds light",
            "possibly = (whole,)",
            "possibly, surely = may, must",
            "test_rules_build.py::test_a_photocell_in_parallel_may_light_at_any_time",
        ),
        (
            "lamps lit before the first OFF count as dark",
            "lit_before = bool(switchings) and switchings[0][1] is Action.OFF",
            "lit_before = False",
            "test_rules_parts.py::test_lamps_of_a_run_are_lit_before_a_first_off",
        ),
    ),
    *_of(
        "ordinance.nights",
        (
            "nights begin at midnight",
            "reading = 12 * HOUR if by is Dating.EVENING else 0",
            "reading = 0",
            "test_rules_worked.py::test_six_hours_are_elapsed_hours test_rules_worked.py",
        ),
    ),
    *_of(
        "ordinance.lengths",
        (
            "all dark pieces of a night are added up",
            "spare = piece[1] - piece[0] - need\n    ends",
            "spare = sum(b - a for a, b in dark) - need\n    ends",
            "test_rules_worked.py::test_six_hours_are_elapsed_hours test_rules_worked.py",
        ),
    ),
    *_of(
        "ordinance.intervals",
        (
            "the rest forgets its end",
            "    if start < within[1]:\n        found.append((start, within[1]))\n",
            "",
            "test_rules_parts.py",
        ),
    ),
    *_of(
        "promises",
        (
            "the state before a switching counts at its instant",
            "count = bisect_right(self.instants, instant)",
            "count = bisect_right(self.instants, instant - 1)",
            "test_promises.py",
        ),
        (
            "a broken run keeps its promise",
            "return self.year_lit == self.wanted_lit and self.run_lit in (None, self.wanted_lit)",
            "return self.year_lit == self.wanted_lit",
            "test_promises.py",
        ),
    ),
)


# Trying them


class _Finder(importlib.abc.MetaPathFinder):
    def __init__(self, mutant: Mutant) -> None:
        self.mutant = mutant

    def find_spec(
        self, fullname: str, _path: object, _target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        if fullname != self.mutant.module:
            return None
        loader = _Loader(fullname, str(self.mutant.path))
        loader.mutant = self.mutant
        return importlib.util.spec_from_file_location(fullname, self.mutant.path, loader=loader)


class _Loader(importlib.machinery.SourceFileLoader):
    mutant: Mutant

    def get_code(self, _fullname: str) -> CodeType:
        code: CodeType = compile(self.mutant.source(), str(self.mutant.path), "exec")
        return code


def outcome(mutant: Mutant | None, tests: Sequence[str]) -> tuple[int, str]:
    """What pytest says in a process of its own: its exit code and the first test that failed."""
    import pytest
    from hypothesis import Phase, settings

    reading, writing = os.pipe()
    child = os.fork()
    if child:
        os.close(writing)
        with os.fdopen(reading) as stream:
            said = stream.read()
        _, status = os.waitpid(child, 0)
        return os.waitstatus_to_exitcode(status), said
    os.close(reading)
    code = 70
    try:
        if mutant is not None:
            sys.meta_path.insert(0, _Finder(mutant))
        # The first example that fails is enough; none has to be made smaller.
        settings.register_profile("first", phases=[Phase.explicit, Phase.generate])
        settings.load_profile("first")
        said_there = io.StringIO()
        with redirect_stdout(said_there), redirect_stderr(said_there):
            options = ["-q", "-x", "-p", "no:cacheprovider", "--tb=no"]
            options += ["-W", "ignore:Module already imported"]
            code = int(pytest.main([*options, *tests]))
        with os.fdopen(writing, "w") as stream:
            failed = [t for t in said_there.getvalue().splitlines() if t.startswith("FAILED ")]
            stream.write("".join(failed[:1]))
    except BaseException:
        traceback.print_exc()
        raise
    finally:
        os._exit(code)


def tried(mutants: Sequence[Mutant]) -> list[tuple[Mutant, int, str]]:
    """Each mutant with the exit code of its tests."""
    assert not [name for name in sys.modules if name.split(".")[0] == "schedcomp"]
    for name in LIBRARIES:
        importlib.import_module(name)
    os.chdir(HERE)
    found = []
    for mutant in mutants:
        mutant.source()
        code, said = outcome(mutant, mutant.tests)
        found.append((mutant, code, said))
        told = {SURVIVED: "SURVIVED", KILLED: "caught"}.get(code, f"did not run: {code}")
        print(f"{told}: {mutant.name}\n    {said}", flush=True)
    return found


def main(words: Sequence[str]) -> int:
    chosen = [m for m in MUTANTS if not words or any(word in m.name for word in words)]
    bad = [mutant.name for mutant, code, _ in tried(chosen) if code != KILLED]
    print(f"{len(chosen) - len(bad)} of {len(chosen)} deliberate bugs were caught")
    return 1 if bad or not chosen else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
