"""The smallest change of the wishes that would meet a clause, found by trying."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from schedcomp.expand import expand
from schedcomp.model import MINUTE
from schedcomp.moved_windows import moved_window
from schedcomp.ordinance.asks import Duty, StateForm, wants_light
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.judge import Judging, meets
from schedcomp.ordinance.lamps import PhotocellSky, lamps_of_year
from schedcomp.ordinance.model import Between, Dark, LeastDark, MiddleDark, MostLit
from schedcomp.ordinance.rules import Rules, judging_range
from schedcomp.ordinance.verdict import ClauseVerdict, RuleReport, Status
from schedcomp.phrases.printer import print_calendar_line, print_keep_dark, print_window
from schedcomp.phrases.tree import (
    DatesPhrase,
    KeepDarkLine,
    Window,
)
from schedcomp.records import Record, replace
from schedcomp.site import Circuit, DayType, Site
from schedcomp.words import counted
from schedcomp.world import World

MOST_CLAUSES = 3
MOST_TRIED = 6
MOST_WINDOWS = 4
LONGEST_MINUTES = 240
"""A window moved further is another wish, not a correction."""


_MOVABLE = StateForm | LeastDark | MiddleDark | MostLit


class Hint(Record):
    """A change that was tried and meets the clause: what to write, and by how many minutes a
    window moves (None for hours kept dark).
    """

    clause: str
    text: str
    typed: str
    minutes: int | None


def hints_for(site: Site, world: World, rules: Rules, report: RuleReport) -> tuple[Hint, ...]:
    """One change for each of the first clauses that the wishes do not meet, if one was found."""
    tried = _Trial(site, world, rules)
    both = zip(rules.clauses, rules.duties, report.year, strict=True)
    failing = [(c, d, v) for c, d, v in both if v.status is Status.FAIL and v.failed]
    found = (_hint(tried, *item) for item in failing[:MOST_TRIED])
    return tuple(islice((hint for hint in found if hint is not None), MOST_CLAUSES))


class _Trial(Record):
    site: Site
    world: World
    rules: Rules

    def meets(self, site: Site, clause: Clause, duty: Duty) -> bool:
        """Whether changed wishes meet a clause."""
        year = expand(site, self.world)
        sky = PhotocellSky(self.world.sun, (site.dusk, site.dawn))
        lamps = lamps_of_year(site.circuits, year, sky, judging_range(self.world))
        return meets(clause, duty, Judging(lamps, None, self.rules.clauses))


class _Place(Record):
    """An end of a window of a day type."""

    day_type: str
    index: int
    is_end: bool


def _hint(tried: _Trial, clause: Clause, duty: Duty, verdict: ClauseVerdict) -> Hint | None:
    if not isinstance(clause.form, _MOVABLE):
        return None
    worst = max(night.seconds for night in verdict.failed)
    most = -(-worst // MINUTE)
    moves = list(_moves(tried, clause, verdict)) if most <= LONGEST_MINUTES else []
    best: tuple[int, _Place, int] | None = None
    for place, direction in moves:
        if tried.meets(_moved(tried.site, place, direction * most), clause, duty):
            minutes = _least(tried, clause, duty, place, direction, most)
            if best is None or minutes < best[0]:
                best = (minutes, place, direction)
    if best is not None:
        return _moved_hint(tried.site, clause, *best)
    return _keep_dark_hint(tried, clause, duty)


def _moves(tried: _Trial, clause: Clause, verdict: ClauseVerdict) -> Iterator[tuple[_Place, int]]:
    """Ends of windows behind the failed nights, and the way to move them."""
    way = 1 if wants_light(clause.form) else -1
    for name in _types(tried.site, clause, verdict)[:MOST_WINDOWS]:
        day_type = tried.site.day_type(name)
        for index in range(len(day_type.windows) if day_type else 0):
            yield _Place(name, index, is_end=True), way
            yield _Place(name, index, is_end=False), -way


def _types(site: Site, clause: Clause, verdict: ClauseVerdict) -> list[str]:
    """Day types of the lines behind the failed nights, those of the most nights first."""
    counts: dict[str, int] = {}
    names = {circuit.name for circuit in clause.circuits}
    lines = [line for c in site.circuits if c.name in names for line in c.calendar]
    by_text = {print_calendar_line(line): line.day_type for line in lines}
    for night in verdict.failed:
        if night.line in by_text:
            counts[by_text[night.line]] = counts.get(by_text[night.line], 0) + 1
    return sorted(counts, key=lambda name: -counts[name])


def _least(
    tried: _Trial, clause: Clause, duty: Duty, place: _Place, direction: int, most: int
) -> int:
    """The fewest minutes that are enough, found by halving."""
    low, high = 0, most
    while high - low > 1:
        middle = (low + high) // 2
        enough = tried.meets(_moved(tried.site, place, direction * middle), clause, duty)
        low, high = (low, middle) if enough else (middle, high)
    return high


def _moved(site: Site, place: _Place, minutes: int) -> Site:
    return replace(
        site,
        day_types=tuple(
            _moved_type(t, place, minutes) if t.name == place.day_type else t
            for t in site.day_types
        ),
    )


def _moved_type(day_type: DayType, place: _Place, minutes: int) -> DayType:
    windows = list(day_type.windows)
    windows[place.index] = moved_window(windows[place.index], place.is_end, minutes)
    return replace(day_type, windows=tuple(windows))


def _moved_hint(site: Site, clause: Clause, minutes: int, place: _Place, direction: int) -> Hint:
    day_type = site.day_type(place.day_type)
    assert day_type is not None
    before = day_type.windows[place.index]
    after = moved_window(before, place.is_end, direction * minutes)
    end = "end" if place.is_end else "start"
    way = "later" if direction > 0 else "earlier"
    text = f"{end} `{print_window(before)}` of {place.day_type} {minutes} min {way}"
    return Hint(clause.label, text, print_window(after), minutes)


def _keep_dark_hint(tried: _Trial, clause: Clause, duty: Duty) -> Hint | None:
    """Hours kept dark just as the clause has them, where it is as simple as that."""
    form, season = clause.form, clause.requirement.season
    simple = isinstance(form, Dark) and not form.when.whiles and len(form.when.stretches) == 1
    if not simple or len(season.parts) != 1 or isinstance(season.parts[0], Between):
        return None
    if season.removed:
        return None
    assert isinstance(form, Dark)
    stretch = form.when.stretches[0]
    assert stretch.end is not None
    line = KeepDarkLine(DatesPhrase(season.parts[0]), Window(stretch.start, stretch.end))
    names = {circuit.name for circuit in clause.circuits}

    def kept(circuit: Circuit) -> Circuit:
        return replace(circuit, keep_dark=(*circuit.keep_dark, line))

    site = replace(
        tried.site,
        circuits=tuple(kept(c) if c.name in names else c for c in tried.site.circuits),
    )
    if not tried.meets(site, clause, duty):
        return None
    typed = f'keep_dark = ["{print_keep_dark(line)}"]'
    text = f"keep {counted(len(names), 'circuit')} dark then"
    return Hint(clause.label, text, typed, None)
