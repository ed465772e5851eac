"""The controller of a transfer file, rebuilt exactly."""

from __future__ import annotations

from types import MappingProxyType

from schedcomp.controller import Controller, ExceptionSlots, SunStart
from schedcomp.controllerkeys import CHOICES, EXCEPTION_CHOICES, NOT_KNOWN
from schedcomp.messages import transfer as messages
from schedcomp.model import Half
from schedcomp.records import field_names
from schedcomp.transferform import Part

MOST_SLOTS = 100_000
MOST_CHANNELS = 999
DAY_MINUTES = 24 * 60
OFFSET_MINUTES = 12 * 60
STEPS_MINUTES = tuple(step for step in range(1, 61) if 60 % step == 0)
ALTITUDE_DEGREES = 90
ERROR_DEGREES = 5

HALVES = MappingProxyType({half.value: half for half in Half})


def controller_of(part: Part) -> Controller:
    """Every property of a controller; raises NotInForm for the first thing that is wrong."""
    part.only(*field_names(Controller))
    return Controller(
        name=part["name"].text(),
        event_slots=part["event_slots"].whole(1, MOST_SLOTS),
        starts_clock=part["starts_clock"].flag(),
        sun_starts=part["sun_starts"].each(_sun_start),
        slots_are=_word(part, "slots_are"),
        slot_holds=_word(part, "slot_holds"),
        channels=part["channels"].whole(1, MOST_CHANNELS),
        step_minutes=_step(part["step_minutes"]),
        offsets=_word(part, "offsets"),
        offset_step_minutes=_step(part["offset_step_minutes"]),
        offset_limit_minutes=part["offset_limit_minutes"].whole(0, OFFSET_MINUTES),
        weekday_sets=part["weekday_sets"].maybe(lambda sets: sets.each_once(Part.weekdays)),
        weekday_set_costs=_word(part, "weekday_set_costs"),
        date_ranges=_word(part, "date_ranges"),
        exceptions=_exceptions(part["exceptions"]),
        clock=_word(part, "clock"),
        summer_time=_word(part, "summer_time"),
        skipped_time=_word(part, "skipped_time"),
        repeated_time=_word(part, "repeated_time"),
        sun_error_minutes=part["sun_error_minutes"].number(0, DAY_MINUTES),
        sun_error_degrees=part["sun_error_degrees"].number(0, ERROR_DEGREES),
        sun_date=_known_word(part, "sun_date"),
        no_sun_event=_known_word(part, "no_sun_event"),
        location_entry=_word(part, "location_entry"),
        clock_error_minutes=part["clock_error_minutes"].number(0, DAY_MINUTES),
        after_power_loss=_word(part, "after_power_loss"),
        reserve_hours=part["reserve_hours"].maybe(lambda hours: hours.number(0)),
        override_ends=_word(part, "override_ends"),
        event_covers=_word(part, "event_covers"),
        entry_order=part["entry_order"].each(Part.text),
        assumed=part["assumed"].each(Part.text),
    )


def level_of(part: Part) -> float:
    """Altitude of the Sun's centre, degrees."""
    return part.number(-ALTITUDE_DEGREES, ALTITUDE_DEGREES)


def _word(part: Part, key: str) -> str:
    return part[key].choice(CHOICES[key])


def _known_word(part: Part, key: str) -> str | None:
    """One of the words of a property that may also be not known."""
    known = [word for word in CHOICES[key] if word != NOT_KNOWN]
    return part[key].maybe(lambda given: given.choice(known))


def _step(part: Part) -> int:
    step = part.whole(1, max(STEPS_MINUTES))
    if step not in STEPS_MINUTES:
        raise part.wrong(messages.NOT_IN_HOUR.format(minutes=step))
    return step


def _sun_start(part: Part) -> SunStart:
    part.only("word", "half", "level_degrees")
    return SunStart(
        word=part["word"].text(),
        half=HALVES[part["half"].choice(HALVES)],
        level_degrees=level_of(part["level_degrees"]),
    )


def _exceptions(part: Part) -> ExceptionSlots:
    part.only(*field_names(ExceptionSlots))
    words = {key: part[key].choice(options) for key, options in EXCEPTION_CHOICES.items()}
    return ExceptionSlots(
        slots=part["slots"].whole(0, MOST_SLOTS),
        length=words["length"],
        plan=words["plan"],
        start=words["start"],
        end=words["end"],
        with_year=part["with_year"].flag(),
        covers=words["covers"],
        events_from=words["events_from"],
        plan_events=part["plan_events"].maybe(_slots),
        plans=part["plans"].maybe(_slots),
    )


def _slots(part: Part) -> int:
    return part.whole(1, MOST_SLOTS)
