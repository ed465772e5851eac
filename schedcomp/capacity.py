"""Slots against minutes: what each tolerance takes, and which controllers are enough."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from schedcomp.audit_report import AuditReport
from schedcomp.capacity_report import CurvePoint, Enough, OutOfReach
from schedcomp.controller import Controller
from schedcomp.ordinance.rules import Rules, lacking
from schedcomp.pipeline import plan_for_rules, prove, smallest_that_fits
from schedcomp.program import Fitted, SmallestTolerance
from schedcomp.records import Record, replace
from schedcomp.site import Site
from schedcomp.target import Target
from schedcomp.unit_place import unit_sun_of
from schedcomp.world import World
from schedcomp.year import Year

LIFTED_SLOTS = 100_000
"""More slots than any program of a few years takes."""

MOST_MINUTES = 120
USUAL_MOST_MINUTES = 30
_MINUTES = (*range(11), 12, 15, 20, 30, 45, 60, 90, MOST_MINUTES)
_WIDER_FIRST = (20, 40, MOST_MINUTES)


class Wishes(Record):
    """A site with what its wishes mean in a period: all that questions about slots start from.

    `year` has the stretches in which the `rules` of the site bind a program.
    """

    site: Site
    world: World
    rules: Rules
    year: Year

    @property
    def tolerance_minutes(self) -> int:
        """The tolerance the site gives, or else the largest it allows."""
        given = self.site.fit.tolerance_minutes
        return self.site.fit.tolerance_limit_minutes if given is None else given

    def within(self, tolerance_minutes: int) -> Wishes:
        """The same with this tolerance given; circuits that have their own keep it."""
        fit = replace(
            self.site.fit,
            tolerance_minutes=tolerance_minutes,
            tolerance_limit_minutes=tolerance_minutes,
            spare="none",
        )
        return replace(self, site=replace(self.site, fit=fit))

    def smallest_up_to(self, limit_minutes: int) -> Wishes:
        """The same with the smallest tolerance that fits to be found."""
        fit = replace(
            self.site.fit,
            tolerance_minutes=None,
            tolerance_limit_minutes=limit_minutes,
            spare="none",
        )
        return replace(self, site=replace(self.site, fit=fit))

    def fit(self, controller: Controller) -> tuple[Fitted, Target]:
        """The shortest program for a controller."""
        unit = unit_sun_of(self.site, controller, self.world)
        _, fitted, target = plan_for_rules(
            self.site, controller, self.world, self.year, self.rules, unit
        )
        return fitted, target

    def smallest_fit(self, controller: Controller, limit_minutes: int) -> SmallestTolerance:
        """The smallest tolerance up to a limit at which some program fits."""
        unit = unit_sun_of(self.site, controller, self.world)
        return smallest_that_fits(
            self.site, controller, self.world, self.year, self.rules, unit, limit_minutes
        )


def lifted(controller: Controller) -> Controller:
    """The controller with slots without end."""
    return replace(controller, event_slots=LIFTED_SLOTS)


def slots_needed(wishes: Wishes, controller: Controller) -> int | None:
    """What a program takes at the tolerance given; None if none of any length does it."""
    fitted, _ = wishes.fit(controller)
    return fitted.slots_needed


def special_days_of(fitted: Fitted) -> int:
    """The special days a program stores beside its events."""
    return 0 if fitted.program is None else len(fitted.program.special_days)


def out_of_reach(fitted: Fitted) -> tuple[OutOfReach, ...]:
    """What stands in the way of any program."""
    return tuple(
        OutOfReach(
            circuit,
            len(switchings),
            switchings[0].action,
            switchings[0].reason.phrase,
            switchings[0].reason.date,
        )
        for circuit, switchings in fitted.out_of_reach
        if switchings
    )


# Slots against minutes


def tolerances_to(most_minutes: int, wished_minutes: int) -> tuple[int, ...]:
    """The tolerances to ask for, in minutes: each up to 10, then wider steps, and the wished."""
    asked = {m for m in _MINUTES if m <= most_minutes}
    return tuple(sorted(asked | {most_minutes, wished_minutes}))


def curve(
    wishes: Wishes, controller: Controller, tolerances_minutes: Sequence[int]
) -> tuple[CurvePoint, ...]:
    """What each of these tolerances, in order, takes.

    A program for one tolerance is one for every larger tolerance too. So between two tolerances
    that make the same program nothing is fitted anew, and no larger tolerance is told to take
    more slots; a bound proven for a tolerance holds for every smaller one.
    """
    points = {
        i: point(wishes, controller, tolerances_minutes[i]) for i in _ends(tolerances_minutes)
    }
    gaps = [(0, len(tolerances_minutes) - 1)]
    while gaps:
        low, high = gaps.pop()
        if high - low < 2:
            continue
        if points[low].slots is not None and _alike(points[low], points[high]):
            points |= {
                i: replace(points[low], tolerance_minutes=tolerances_minutes[i])
                for i in range(low + 1, high)
            }
            continue
        middle = (low + high) // 2
        points[middle] = point(wishes, controller, tolerances_minutes[middle])
        gaps += [(low, middle), (middle, high)]
    return _falling([points[i] for i in sorted(points)])


def _alike(one: CurvePoint, other: CurvePoint) -> bool:
    """Whether two tolerances were found to take as many slots and to come as near the wishes."""
    return replace(one, tolerance_minutes=other.tolerance_minutes, bound=other.bound) == other


def _ends(ordered: Sequence[int]) -> set[int]:
    return {0, len(ordered) - 1} if ordered else set()


def _falling(points: Sequence[CurvePoint]) -> tuple[CurvePoint, ...]:
    """The points with the programs and bounds that they owe to smaller and larger tolerances."""
    fallen: list[CurvePoint] = []
    for one in points:
        if fallen and fallen[-1].slots is not None and fallen[-1].slots < (one.slots or 0):
            one = replace(fallen[-1], tolerance_minutes=one.tolerance_minutes, bound=one.bound)
        fallen.append(one)
    least = 0
    for i in reversed(range(len(fallen))):
        least = max(least, fallen[i].bound or 0)
        if fallen[i].slots is not None:
            fallen[i] = replace(fallen[i], bound=least)
    return tuple(fallen)


def point(wishes: Wishes, controller: Controller, tolerance_minutes: int) -> CurvePoint:
    """What one tolerance takes on a controller of this kind, however many slots that is."""
    asked, endless = wishes.within(tolerance_minutes), lifted(controller)
    fitted, target = asked.fit(endless)
    slots, certificate = fitted.slots_needed, fitted.certificate
    if slots is None or certificate is None:
        return CurvePoint(
            tolerance_minutes=tolerance_minutes,
            slots=None,
            bound=None,
            fits=False,
            out_of_reach=out_of_reach(fitted),
        )
    unit = unit_sun_of(asked.site, endless, asked.world)
    found = CurvePoint(
        tolerance_minutes=tolerance_minutes,
        slots=slots,
        bound=slots - (certificate.slots - certificate.bound),
        fits=slots <= controller.event_slots,
        special_days=special_days_of(fitted),
    )
    return _measured(found, target, prove(asked.site, endless, fitted, target, unit))


def _measured(point: CurvePoint, target: Target, audit: AuditReport | None) -> CurvePoint:
    """With what the test run saw; a program that fails it fits nothing."""
    if audit is None or not audit.agrees:
        return replace(point, fits=False)
    runs = [run for run in audit.runs if not run.name.endswith("opposite start")]
    return replace(
        point,
        early_seconds=max(run.worst_early_seconds for run in runs),
        late_seconds=max(run.worst_late_seconds for run in runs),
        total_seconds=sum(_departures(target, audit)),
    )


def _departures(target: Target, audit: AuditReport) -> Iterator[int]:
    """Seconds between each switching asked for and the exact run, early or late."""
    for channel in target.channels:
        seen = audit.exact_run.of_channel(channel.channel)
        for wanted, (happened, _, _) in zip(channel.switchings, seen, strict=False):
            yield abs(happened - wanted.instant)


def smallest_tolerance(
    wishes: Wishes, controller: Controller, most_minutes: int = MOST_MINUTES
) -> SmallestTolerance:
    """The smallest tolerance that fits, searched by whole minutes.

    Narrow limits are asked first, since a wide one takes longer.
    """
    found = SmallestTolerance(None, None, proven=True)
    for limit in sorted({min(m, most_minutes) for m in _WIDER_FIRST}):
        found = wishes.smallest_fit(controller, limit)
        if found.tolerance_minutes is not None:
            break
    return found


def most_minutes_of(wishes: Wishes, controller: Controller) -> int:
    """The widest tolerance worth asking for: with special days wide ones take minutes to prove."""
    special = controller.exceptions.slots and any(c.special for c in wishes.year.circuits)
    return _WIDER_FIRST[0] if special else MOST_MINUTES


# Which controllers are enough


def which_are_enough(wishes: Wishes, controllers: Sequence[Controller]) -> tuple[Enough, ...]:
    """For each controller whether it holds a program at the tolerance the site gives.

    Where the site gives none, at the smallest that fits within its limit.
    """
    return tuple(is_enough(wishes, controller) for controller in controllers)


def is_enough(wishes: Wishes, controller: Controller) -> Enough:
    """Whether one controller holds a program, as above, and has what the rules ask of it."""
    given, limit = wishes.site.fit.tolerance_minutes, wishes.site.fit.tolerance_limit_minutes
    answer = Enough(
        controller=controller.name,
        event_slots=controller.event_slots,
        holds=False,
        lacking=lacking(wishes.rules, controller),
        tolerance_minutes=wishes.tolerance_minutes,
        per_channel=controller.slots_are == "per channel",
        channels=controller.channels,
    )
    beyond = [c.channel for c in wishes.site.circuits if c.channel > controller.channels]
    if beyond:
        return replace(answer, missing_channel=max(beyond))
    asked = wishes.smallest_up_to(limit) if given is None else wishes.within(given)
    fitted, _ = asked.fit(controller)
    return replace(
        answer,
        holds=fitted.program is not None,
        tolerance_minutes=fitted.tolerance_minutes,
        slots=fitted.slots_needed,
        special_days=special_days_of(fitted),
        out_of_reach=out_of_reach(fitted),
    )
