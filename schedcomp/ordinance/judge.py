"""Every clause judged night by night on what the lamps do."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import date

import numpy as np

from schedcomp.controller import Controller
from schedcomp.model import ONE_DAY
from schedcomp.ordinance.asks import (
    Duty,
    StateForm,
    duty_of,
    failing_by_night,
    nights_touched,
    possibly_of,
    wants_light,
    weight,
    wrong_for,
)
from schedcomp.ordinance.capability import judge_capability
from schedcomp.ordinance.causes import causes_of
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.intervals import Interval, Intervals, common, rooms_beside, seconds_of
from schedcomp.ordinance.lamps import Lamps
from schedcomp.ordinance.lengths import NightLength, night_lengths
from schedcomp.ordinance.model import (
    Capability,
    ExceptionCap,
    Form,
    LeastDark,
    Level,
    LitNights,
    MiddleDark,
    MostLit,
    NotCheckable,
    Per,
    Share,
)
from schedcomp.ordinance.sentences import assumed_words, needs_hours, sentence
from schedcomp.ordinance.verdict import ClauseVerdict, Margin, NightFailed, Status, Wants
from schedcomp.records import Record
from schedcomp.site import Circuit


class Judging(Record):
    """What clauses are judged on; `all_clauses` for those that count the others' nights."""

    lamps: Lamps
    controller: Controller | None
    all_clauses: tuple[Clause, ...]


def judge(clause: Clause, duty: Duty, judging: Judging) -> ClauseVerdict:
    """The verdict on one clause; `duty` is that of `duty_of`."""
    form = clause.form
    if isinstance(form, NotCheckable):
        return _verdict(clause, judging, Status.NOT_CHECKABLE, why=form.reason)
    if not clause.circuits and not isinstance(form, ExceptionCap):
        return _verdict(clause, judging, Status.NOT_APPLYING, why="no circuit is one it is for")
    if isinstance(form, Capability):
        able = judge_capability(form, clause.circuits, judging.controller)
        return _verdict(clause, judging, able.status, why=able.why)
    if isinstance(form, ExceptionCap):
        return _cap(form, clause, judging)
    if missing := _missing(clause, judging):
        return _verdict(clause, judging, Status.NOT_CHECKABLE, why=missing)
    if isinstance(form, LeastDark | MiddleDark | MostLit):
        return _length(clause, judging)
    if isinstance(form, LitNights):
        return _lit_nights(form, clause, duty, judging)
    assert isinstance(form, StateForm)
    return _state(clause, duty, judging)


def meets(clause: Clause, duty: Duty, judging: Judging) -> bool:
    """Whether the verdict would not be a failure, without what else a verdict tells."""
    if not isinstance(clause.form, StateForm) or _missing(clause, judging):
        return judge(clause, duty, judging).met
    holds = common(duty.intervals, (judging.lamps.whole,))
    bad = common(holds, wrong_for(clause, duty, judging.lamps))
    status, _ = _status(clause, [day for day, _ in nights_touched(bad, clause)])
    return status is not Status.FAIL


def _missing(clause: Clause, judging: Judging) -> str:
    """What a clause needs to know that the site file does not say."""
    if clause.facts.hours is None and needs_hours(clause):
        return "it goes by opening hours, and the site file has no [hours]"
    if isinstance(clause.form, Share):
        measure = clause.form.measure
        unknown = [
            c.name for c in clause.circuits if weight(judging.lamps.of(c.name), measure) is None
        ]
        if unknown:
            return f"the {measure.value} of {', '.join(unknown)} are not in the site file"
    return ""


# States


def _state(clause: Clause, duty: Duty, judging: Judging) -> ClauseVerdict:
    lamps = judging.lamps
    holds = common(duty.intervals, (lamps.whole,))
    if not holds:
        return _verdict(clause, judging, Status.NOT_APPLYING, why=_why_never(clause))
    wrong = wrong_for(clause, duty, lamps)
    bad = common(holds, wrong)
    by_night = failing_by_night(bad, clause)
    worst = [longest(parts) for _, parts in by_night]
    failed = tuple(
        NightFailed(day=day, seconds=seconds_of(parts), start=start, end=end, **cause)
        for (day, parts), (start, end), cause in zip(
            by_night, worst, causes_of(clause, lamps, worst), strict=True
        )
    )
    status, why = _status(clause, [night.day for night in failed])
    return _verdict(
        clause,
        judging,
        status,
        why=why,
        applying=len(nights_touched(holds, clause)),
        failed=failed,
        margin=None if failed else margin_of(clause, holds, wrong),
    )


def longest(parts: list[Interval]) -> Interval:
    """The longest of some stretches, of equal ones the first."""
    return max(parts, key=lambda part: part[1] - part[0])


def _why_never(clause: Clause) -> str:
    hours = clause.facts.hours
    if hours is not None and hours.never_closes and needs_hours(clause):
        return "the place never closes, and the clause goes by closing"
    return "no night of the period is one it is for"


def _status(clause: Clause, failed: list[date]) -> tuple[Status, str]:
    """The verdict of a clause that fails on these nights, with what there is to say of it."""
    form, allowed = clause.form, clause.requirement.nights_allowed
    if isinstance(form, Level):
        if not form.at_least and failed:
            return Status.NOT_CHECKABLE, f"lit then; {form.words} needs a light meter"
        if form.at_least and not failed:
            return Status.NOT_CHECKABLE, f"lit as asked; {form.words} needs a light meter"
    by_year = Counter(day.year for day in failed)
    if failed and allowed and max(by_year.values()) <= allowed:
        return Status.PASS, f"at most {allowed} nights a year may fail, {len(failed)} do"
    return (Status.FAIL if failed else Status.PASS), ""


def margin_of(clause: Clause, holds: Intervals, wrong: Intervals) -> Margin | None:
    """The end of a stretch that comes closest to lamps that would be wrong; None where none ever
    are.
    """
    rooms = rooms_beside(holds, wrong)
    if rooms is None:
        return None
    before, after = rooms
    tightest = int(np.argmin(np.minimum(before, after)))
    at_start = bool(before[tightest] <= after[tightest])
    start, end = holds[tightest]
    return Margin(
        seconds=int(min(before[tightest], after[tightest])),
        day=clause.nights.day_at(start),
        instant=start if at_start else end,
    )


# Lengths


def _length(clause: Clause, judging: Judging) -> ClauseVerdict:
    lamps = judging.lamps
    lengths = [
        n
        for n in night_lengths(clause, lamps)
        if clause.nights.of(n.day)[0] >= lamps.whole[0]
        and clause.nights.of(n.day)[1] <= lamps.whole[1]
    ]
    if not lengths:
        return _verdict(clause, judging, Status.NOT_APPLYING, why=_why_never(clause))
    short = [n for n in lengths if n.spare_seconds < 0]
    causes = causes_of(clause, lamps, [n.blamed for n in short])
    failed = tuple(
        NightFailed(
            day=n.day,
            seconds=-n.spare_seconds,
            start=n.piece[0],
            end=n.piece[1],
            lacks="too long" if isinstance(clause.form, MostLit) else "too short",
            **cause,
        )
        for n, cause in zip(short, causes, strict=True)
    )
    status, why = _status(clause, [night.day for night in failed])
    return _verdict(
        clause,
        judging,
        status,
        why=why,
        applying=len(lengths),
        failed=failed,
        margin=None if failed else _tightest(lengths),
    )


def _tightest(lengths: list[NightLength]) -> Margin:
    tightest = min(lengths, key=lambda n: n.spare_seconds)
    return Margin(seconds=tightest.spare_seconds, day=tightest.day, instant=tightest.piece[0])


# Counts of nights


def _counted(days: Iterable[date], per: Per) -> dict[object, list[date]]:
    """The dates, which are in order, by what they are counted in."""
    found: dict[object, list[date]] = {}
    run, before = date.min, None
    for day in days:
        if before is None or day - before > ONE_DAY:
            run = day
        before = day
        key = {
            Per.YEAR: str(day.year),
            Per.MONTH: f"{day:%Y-%m}",
            Per.WEEK: day - day.weekday() * ONE_DAY,
            Per.ROW: run,
        }[per]
        found.setdefault(key, []).append(day)
    return found


def _most_counted(counted: dict[object, list[date]], per: Per) -> str:
    """`12 in 2027, 3 in 2028`, of shorter times only the most."""
    if not counted:
        return "none"
    if per is Per.YEAR:
        return ", ".join(f"{len(days)} in {year}" for year, days in counted.items())
    return f"{max(len(days) for days in counted.values())} {per.value} at most"


def _lit_nights(form: LitNights, clause: Clause, duty: Duty, judging: Judging) -> ClauseVerdict:
    """Nights on which any of the circuits may be lit while the clause asks."""
    lamps = judging.lamps
    lit = common(common(duty.intervals, (lamps.whole,)), possibly_of(lamps, clause.circuits))
    by_night = dict(failing_by_night(lit, clause))
    counted = _counted(by_night, form.per)
    over = [day for days in counted.values() for day in days[form.most :]]
    worst = [longest(by_night[day]) for day in over]
    failed = tuple(
        NightFailed(day=day, seconds=seconds_of(by_night[day]), start=start, end=end, **cause)
        for day, (start, end), cause in zip(
            over, worst, causes_of(clause, lamps, worst), strict=True
        )
    )
    why = f"nights lit: {_most_counted(counted, form.per)}"
    status, more = _status(clause, over)
    return _verdict(clause, judging, status, why=more or why, applying=len(by_night), failed=failed)


def _cap(form: ExceptionCap, clause: Clause, judging: Judging) -> ClauseVerdict:
    """Nights declared with any clause of the same rule, and its own."""
    declared: set[date] = set()
    for other in judging.all_clauses:
        if other.ordinance is clause.ordinance:
            declared.update(day for day, _ in other.excepted)
    counted = _counted(sorted(declared), form.per)
    over = [day for days in counted.values() for day in days[form.most :]]
    failed = tuple(
        NightFailed(
            day=day, seconds=0, start=clause.nights.of(day)[0], end=clause.nights.of(day)[1]
        )
        for day in over
    )
    status = Status.FAIL if over else Status.PASS
    why = f"declared nights: {_most_counted(counted, form.per)}"
    return _verdict(
        clause, judging, status, why=why, applying=len(clause.nights.days), failed=failed
    )


# Verdicts


def _verdict(
    clause: Clause,
    judging: Judging,
    status: Status,
    *,
    why: str = "",
    applying: int = 0,
    failed: tuple[NightFailed, ...] = (),
    margin: Margin | None = None,
) -> ClauseVerdict:
    requirement = clause.requirement
    return ClauseVerdict(
        rule=clause.ordinance.title,
        clause=requirement.clause,
        text=requirement.text,
        sentence=sentence(clause),
        on=judging.lamps.on,
        status=status,
        circuits=tuple(c.name for c in clause.circuits),
        wants=_wanted(clause.form),
        exempt=tuple((c.name, _exempt_words(clause, c, because)) for c, because in clause.exempt),
        why=why,
        nights=len(clause.nights.days),
        applying=applying,
        failed=failed,
        margin=margin,
        grades=_grades(clause, failed),
        assumed=assumed_words(clause),
        read=requirement.read,
        at=requirement.at,
    )


def _wanted(form: Form) -> Wants:
    if isinstance(form, Capability):
        return Wants.ABILITY
    if isinstance(form, ExceptionCap):
        return Wants.FEW_NIGHTS
    return Wants.LIGHT if wants_light(form) else Wants.DARK


def _exempt_words(clause: Clause, circuit: Circuit, because: str) -> str:
    """Why a circuit is exempt, with its share of the connected power where all loads are known."""
    every = (*clause.circuits, *(c for c, _ in clause.exempt))
    loads = [c.load_kw for c in every]
    known = [load for load in loads if load is not None]
    if circuit.load_kw is None or len(known) < len(loads):
        return because
    return f"{because} ({circuit.load_kw / sum(known):.0%} of the connected kW)"


def _grades(clause: Clause, failed: tuple[NightFailed, ...]) -> tuple[tuple[int, int, str], ...]:
    """For each year with failed nights, how many and what the rule calls that many."""
    by_year = Counter(night.day.year for night in failed)
    found = []
    for year, count in sorted(by_year.items()):
        words = [
            grade.words
            for grade in sorted(clause.requirement.grades, key=lambda g: g.more_than)
            if count > grade.more_than
        ]
        if words:
            found.append((year, count, words[-1]))
    return tuple(found)


__all__ = ["Judging", "duty_of", "judge", "margin_of", "meets"]
