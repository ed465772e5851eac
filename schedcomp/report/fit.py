"""The answer to `fit` in words and as a record: slots against minutes, and what is enough."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from schedcomp.capacity import Wishes
from schedcomp.capacity_report import (
    CurvePoint,
    Enough,
    OutOfReach,
    Specification,
    Without,
)
from schedcomp.controller import Controller, SunStart
from schedcomp.model import MINUTE
from schedcomp.ordinance.capability import ability_words
from schedcomp.ordinance.model import Capability
from schedcomp.report.words import minutes_words, wrapped
from schedcomp.words import counted, date_words, join_and

_DROPPED = {
    "special days": "special days",
    "levels": "its own dawn and dusk",
    "sun": "times of the sun",
    "dates": "dates of the year",
    "weekday sets": "sets of weekdays",
    "weekdays": "any weekdays",
}
_LEFT = {
    "levels": "then sunrise and sunset only",
    "sun": "then clock times only",
    "weekday sets": "then single weekdays or all",
    "weekdays": "then every slot on every day",
}
_WEEKDAYS = {
    "any set": "any set of weekdays",
    "single days or all": "one weekday or all of them",
}


# Slots against minutes


def curve_text(points: Sequence[CurvePoint], controller: Controller, wishes: Wishes) -> str:
    """One row for each tolerance, at most 80 columns wide."""
    wished_minutes = wishes.tolerance_minutes
    each = " for each channel" if controller.slots_are == "per channel" else ""
    lines = [
        f"Slots against minutes: {controller.name} holds {controller.event_slots:,}{each}",
        "   within      slots  fits     early      late          in all",
        *(_row(point, wished_minutes) for point in points),
        *_curve_remarks(points, wishes),
    ]
    return "\n".join(lines) + "\n"


def _row(point: CurvePoint, wished_minutes: int) -> str:
    minutes = f"{point.tolerance_minutes} min"
    start = f"{'*' if point.tolerance_minutes == wished_minutes else ' '} {minutes:>7}  "
    if point.slots is None:
        return wrapped(f"no program: {_reach(point.out_of_reach)}", f"{start}    ")
    figures = [
        "" if seconds is None else minutes_words(seconds)
        for seconds in (point.early_seconds, point.late_seconds)
    ]
    total = "" if point.total_seconds is None else f"{-(-point.total_seconds // MINUTE):,} min"
    proof = "" if point.slots == point.bound else f"  bound {point.bound} slots"
    fits = "yes" if point.fits else "no"
    row = (
        f"{start}{point.slots:>8,}  {fits:<4}  {figures[0]:>8}  {figures[1]:>8}  {total:>14}{proof}"
    )
    return row.rstrip()


def wished_words(wishes: Wishes) -> str:
    """What the tolerance is that stands out: `within 10 min, the tolerance of the site file`."""
    given = wishes.site.fit.tolerance_minutes is not None
    what = "the tolerance of the site file" if given else "the largest tolerance allowed"
    return f"within {wishes.tolerance_minutes} min, {what}"


def _curve_remarks(points: Sequence[CurvePoint], wishes: Wishes) -> Iterator[str]:
    proven = all(point.slots == point.bound for point in points)
    yield wrapped(
        "Slots are the fewest possible, proven"
        + ("" if proven else " but where a smaller bound stands beside them")
        + ". Early and late are the worst switchings of all test runs, with the unit's sun early "
        "and late; a unit that rounds sun times to its own step comes further off, but stays "
        "within the tolerance. The last figure adds up every switching of the period.",
        "  ",
    )
    special = max(point.special_days for point in points)
    if special:
        yield wrapped(f"Beside the slots, up to {counted(special, 'special day')} are used.", "  ")
    if any(point.tolerance_minutes == wishes.tolerance_minutes for point in points):
        yield f"  * {wished_words(wishes)}"
    if wishes.rules.clauses:
        yield wrapped(
            "Where the wishes meet a rule of the site, every program meets it too, however wide "
            "the tolerance is.",
            "  ",
        )
    if any(point.slots is not None and point.early_seconds is None for point in points):
        yield wrapped("Where no minutes stand, the test run disagrees with the program.", "  ")


def _reach(found: Sequence[OutOfReach]) -> str:
    parts = [f"{counted(one.count, 'switching')} of {one.circuit}" for one in found]
    are = "is" if sum(one.count for one in found) == 1 else "are"
    return f"{join_and(parts)} {are} out of reach"


def _first(found: Sequence[OutOfReach]) -> str:
    one = min(found, key=lambda each: each.day)
    return f"first {one.action.value} at {one.phrase} on {date_words(one.day)}"


# Which controllers are enough


def enough_text(answers: Sequence[Enough]) -> str:
    """One entry for each controller."""
    width = max((len(answer.controller) for answer in answers), default=0)
    lines = ["Which controllers are enough"]
    for answer in answers:
        verdict = "yes" if answer.enough else "no "
        lines.append(wrapped(_verdict(answer), f"  {answer.controller:<{width}}  {verdict}  "))
    return "\n".join(lines) + "\n"


def _verdict(answer: Enough) -> str:
    if answer.enough and answer.slots is not None:
        special = _and_special_days(answer.special_days)
        return (
            f"{answer.slots:,} of {counted(answer.event_slots, 'slot')}{special} within "
            f"{answer.tolerance_minutes} min"
        )
    why = why_not_enough(answer)
    return why[0].lower() + why[1:]


def _and_special_days(count: int) -> str:
    return f" and {counted(count, 'special day')}" if count else ""


def why_not_enough(answer: Enough) -> str:
    """What stands in the way of a program on this controller, and what rules ask of it."""
    text = "; ".join([*([] if answer.holds else [_in_the_way(answer)]), *answer.lacking])
    return f"{text[:1].upper()}{text[1:]}"


def _in_the_way(answer: Enough) -> str:
    within = f"Within {answer.tolerance_minutes} min"
    if answer.missing_channel is not None:
        has = counted(answer.channels, "channel")
        return f"Channel {answer.missing_channel} is used, and the controller has {has}"
    if answer.slots is not None:
        taken = counted(answer.slots, "slot")
        return f"{within} a program takes {taken}; the controller has {_held(answer)}"
    if answer.out_of_reach:
        return f"{within} {_reach(answer.out_of_reach)}, {_first(answer.out_of_reach)}"
    return f"{within} no program of any length does it"


def _held(answer: Enough) -> str:
    return f"{answer.event_slots:,}{' for each channel' if answer.per_channel else ''}"


# What to specify


def specification_text(found: Specification | None, asked: Sequence[tuple[str, Capability]]) -> str:
    """The sentence to copy, with what rules ask of a controller, and what each property is worth.

    `asked` are the clauses on the controller, with their labels.
    """
    if found is None:
        return wrapped(
            "What to specify: no time switch with clock and sun times, weekdays, dates and special "
            "days does this at any tolerance.",
            rest="  ",
        ) + ("\n")
    lines = [
        f"What to specify when buying, within {found.tolerance_minutes} min",
        wrapped(specification_words(found), "  "),
        *([wrapped(_asked_words(asked), "  ")] if asked else []),
        "",
        "What each property is worth: slots without it",
        *(_worth(without) for without in found.tried),
        wrapped(
            f"With every property a program takes {counted(found.fewest_slots, 'slot')}"
            f"{_and_special_days(found.fewest_special_days)}. One is needed where doing without "
            "it takes more than half as many slots again.",
            "  ",
        ),
    ]
    return "\n".join(lines) + "\n"


def _asked_words(asked: Sequence[tuple[str, Capability]]) -> str:
    each = [f"{ability_words(form)} (clause {label})" for label, form in asked]
    return f"Rules of the site also ask of it: {'; '.join(each)}."


def specification_words(found: Specification) -> str:
    """The smallest set of properties, in the neutral words of a purchase."""
    properties = found.properties
    each = [_WEEKDAYS[properties.weekdays]] if properties.weekdays in _WEEKDAYS else []
    each += ["dates of the year"] if properties.dates else []
    parts = [
        f"A {'yearly' if properties.dates else 'weekly'} time switch with {_sun_words(found)}",
        f"at least {counted(found.slots, 'event slot')}",
        f"for each slot {join_and(each)}" if each else "neither weekdays nor dates needed",
        counted(found.channels, "channel"),
        f"at least {counted(found.special_days, 'special day')} with switching times of their own"
        if properties.special_days
        else "special days not needed",
    ]
    return f"{'; '.join(parts)}."


def _sun_words(found: Specification) -> str:
    starts = found.properties.sun_starts
    if not starts:
        return "clock times; sun times not needed"
    words = join_and([_start_words(start) for start in starts])
    reach = f" of at least {found.offset_minutes} min either way" if found.offset_minutes else ""
    return (
        f"clock times and sun times ({words}), an offset for each slot{reach}, and sun times "
        f"within {found.sun_error_minutes:g} min of the true ones"
    )


def _start_words(start: SunStart) -> str:
    return start.word.replace(" deg", " degrees below the horizon")


def _worth(without: Without) -> str:
    slots = "no program" if without.slots is None else counted(without.slots, "slot")
    verdict = "needed" if without.needed else "not needed"
    left = _LEFT.get(without.dropped, "")
    row = f"  {_DROPPED[without.dropped]:<22} {slots:>11}  {verdict:<10}  {left}"
    return row.rstrip()


# Records


def curve_records(points: Iterable[CurvePoint]) -> list[dict[str, object]]:
    """The same as `curve_text`; seconds are not rounded."""
    return [
        {
            "tolerance_minutes": point.tolerance_minutes,
            "slots": point.slots,
            "at_least": point.bound,
            "fits": point.fits,
            "special_days": point.special_days,
            "worst_early_seconds": point.early_seconds,
            "worst_late_seconds": point.late_seconds,
            "total_seconds": point.total_seconds,
            "out_of_reach": [_reach_record(one) for one in point.out_of_reach],
        }
        for point in points
    ]


def enough_records(answers: Iterable[Enough]) -> list[dict[str, object]]:
    """The same as `enough_text`; `why_not` is the whole reason."""
    return [
        {
            "controller": answer.controller,
            "enough": answer.enough,
            "tolerance_minutes": answer.tolerance_minutes,
            "slots": answer.slots,
            "slots_of_controller": answer.event_slots,
            "special_days": answer.special_days,
            "why_not": "" if answer.enough else why_not_enough(answer),
        }
        for answer in answers
    ]


def specification_record(
    found: Specification | None, asked: Sequence[tuple[str, Capability]]
) -> dict[str, object] | None:
    """The same as `specification_text`; None where no time switch would do."""
    if found is None:
        return None
    return {
        "text": specification_words(found),
        "tolerance_minutes": found.tolerance_minutes,
        "slots": found.slots,
        "slots_proven": found.proven,
        "channels": found.channels,
        "sun_starts": [start.word for start in found.properties.sun_starts],
        "sun_error_minutes": found.sun_error_minutes,
        "offset_minutes": found.offset_minutes,
        "weekdays": found.properties.weekdays,
        "dates_of_the_year": found.properties.dates,
        "special_days": found.special_days if found.properties.special_days else None,
        "slots_with_every_property": found.fewest_slots,
        "special_days_with_every_property": found.fewest_special_days,
        "without": [
            {"property": _DROPPED[one.dropped], "slots": one.slots, "needed": one.needed}
            for one in found.tried
        ],
        "rules_ask": [{"clause": label, "for": ability_words(form)} for label, form in asked],
    }


def _reach_record(found: OutOfReach) -> dict[str, object]:
    return {"circuit": found.circuit, "count": found.count, "first": found.day.isoformat()}
