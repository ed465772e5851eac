"""Clauses on the controller and the wiring, judged on the controller file and the circuits."""

from __future__ import annotations

from schedcomp.controller import Controller
from schedcomp.model import WEEKDAYS
from schedcomp.ordinance.model import Ability, Capability
from schedcomp.ordinance.verdict import Status
from schedcomp.records import Record
from schedcomp.site import Circuit
from schedcomp.words import counted, join_and


class Able(Record):
    status: Status
    why: str


def judge_capability(
    form: Capability, circuits: tuple[Circuit, ...], controller: Controller | None
) -> Able:
    """Whether the controller, by its file, can do what a clause asks; a table shows nothing else.

    Without a controller, or where its file does not say, nothing is shown.
    """
    if form.ability in _OF_CIRCUITS:
        return _of_circuits(form, circuits)
    if controller is None:
        return Able(Status.NOT_CHECKABLE, "no controller is named (needs its data sheet)")
    return _of_controller(form, controller)


def of_controller(form: Capability) -> bool:
    """Whether it is asked of the controller, so that another one may have it."""
    return form.ability not in _OF_CIRCUITS


def ability_words(form: Capability) -> str:
    """As a rule has it after `controller:`, `keeps time 10 h without power`."""
    number = "" if form.number is None else f"{form.number:g}"
    return form.ability.value.format(number=number)


_OF_CIRCUITS = (Ability.OVERRIDE, Ability.PHOTOCELL, Ability.BACKUP, Ability.LEVELS)


def _of_circuits(form: Capability, circuits: tuple[Circuit, ...]) -> Able:
    if form.ability is Ability.LEVELS:
        enough = len(circuits) > 1
        return _able(enough, f"{len(circuits)} circuits", "one circuit has one level")
    if form.ability is Ability.OVERRIDE:
        most = (form.number or 0) * 60
        long = [c.name for c in circuits if (c.override_minutes or 0) > most]
        longest = max((c.override_minutes or 0 for c in circuits), default=0)
        return _able(
            not long,
            f"the longest override is {longest} min",
            f"the override of {join_and(long)} holds up to {longest} min",
        )
    without = [c.name for c in circuits if c.photocell not in ("series", "parallel")]
    return _able(
        not without, "each circuit has a photocell", f"{join_and(without)} has no photocell"
    )


def _of_controller(form: Capability, controller: Controller) -> Able:
    number = form.number or 0
    name = controller.name
    match form.ability:
        case Ability.AUTOMATIC:
            return Able(Status.PASS, "a time switch turns the lamps off by itself")
        case Ability.DAY_TYPES:
            types = _day_types(controller)
            words = f"{name}: {counted(types, 'day type')} a week"
            return _able(types >= number, words, words)
        case Ability.HOLIDAYS:
            has = controller.exceptions.slots > 0 or controller.date_ranges != "none"
            return _able(has, f"{name} has dates for special days", f"{name} knows no dates")
        case Ability.RESERVE:
            hours = controller.reserve_hours
            if hours is None:
                return Able(Status.NOT_CHECKABLE, f"{name} leaves out reserve_hours")
            words = f"{name}: reserve of {hours:g} h"
            return _stated(hours >= number, "reserve_hours", controller, words)
        case Ability.SUN:
            return _able(
                bool(controller.sun_starts), f"{name} knows the sun", f"{name} knows no sun times"
            )
        case Ability.SUN_ERROR:
            words = f"{name}: sun times within {controller.sun_error_minutes:g} min"
            has = bool(controller.sun_starts) and controller.sun_error_minutes <= number
            return _stated(has, "sun_error_minutes", controller, words)
        case Ability.CLOCK_ERROR:
            words = f"{name}: clock within {controller.clock_error_minutes:g} min"
            has = controller.clock_error_minutes <= number
            return _stated(has, "clock_error_minutes", controller, words)
        case Ability.DRIFT:
            return Able(
                Status.NOT_CHECKABLE, "drift over a year is in no file (needs the data sheet)"
            )
        case Ability.SUMMER_TIME:
            words = f'{name}: summer_time = "{controller.summer_time}"'
            has = controller.summer_time == "rule"
            return _stated(has, "summer_time", controller, words)
        case Ability.OFFSETS:
            words = f"{name}: offsets {controller.offsets}"
            has = bool(controller.sun_starts) and controller.offsets != "one for all"
            return _stated(has, "offsets", controller, words)
        case Ability.YEARLY:
            has = controller.date_ranges != "none"
            return _able(has, f"{name} has dates of the year", f"{name} has weeks only")
        case _:
            raise AssertionError(form.ability)


def _day_types(controller: Controller) -> int:
    """How many different days a week can have."""
    sets = controller.weekday_sets
    if sets is None:
        return len(WEEKDAYS)
    singles = sum(len(days) == 1 for days in sets)
    return singles if singles else 1


def _able(has: bool, yes: str, no: str) -> Able:
    return Able(Status.PASS, yes) if has else Able(Status.FAIL, no)


def _stated(has: bool, key: str, controller: Controller, words: str) -> Able:
    """A property that the file leaves out is assumed, and an assumption shows nothing."""
    if key in controller.assumed:
        return Able(
            Status.NOT_CHECKABLE, f"{controller.name} leaves out {key} (needs its data sheet)"
        )
    return _able(has, words, words)
