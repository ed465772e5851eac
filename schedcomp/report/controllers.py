"""A controller in plain words: one line each, or every property; and as records for JSON."""

from __future__ import annotations

from collections.abc import Sequence

from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.model import WEEKDAYS
from schedcomp.records import asdict
from schedcomp.report.words import amount_words, wrapped
from schedcomp.words import counted, join_and

_RANGES = {
    "yearly": "date ranges of every year",
    "yearly no wrap": "date ranges of every year, not across the year end",
    "with year": "date ranges with their year",
    "none": "no date ranges",
}
_SKIPPED = {"at the jump": "is done at the jump", "lost": "is lost"}
_REPEATED = {"once": "is done once, in the first pass", "twice": "is done in both passes"}
_SUMMER = {
    "rule": "changes by a rule that the controller holds",
    "dates": "changes on dates that are keyed in",
    "by hand": "is changed by hand",
    "none": "is not changed",
}
_POWER = {
    "works out the state": "works out what should be lit now",
    "keeps the last state": "keeps the last state",
    "waits for the next event": "stays off until the next slot acts",
}
_OVERRIDE = {
    "next event": "at the next slot that acts on the channel",
    "after minutes": "after a set number of minutes",
    "by hand": "when someone ends it by hand",
}
_SUN_DATE = {
    None: "not stated, so every reading must be safe",
    "fires on": "the date on which it acts",
    "event on": "the date of the sun event, before the offset",
    "evening": "the date of the evening or morning it belongs to",
}


def controller_lines(controllers: Sequence[Controller]) -> str:
    """One plain entry each: slots, starts, ranges, weekdays."""
    width = max(len(c.name) for c in controllers)
    return "\n".join(_line(c, width) for c in controllers) + "\n"


def _line(controller: Controller, width: int) -> str:
    parts = [
        _slots(controller),
        f"starts at {_starts(controller)}",
        _RANGES.get(controller.date_ranges, controller.date_ranges),
        _weekdays(controller),
    ]
    return wrapped("; ".join(parts), f"{controller.name:<{width}}  ")


def controller_page(controller: Controller) -> str:
    """Every property of a controller in words, at most 80 columns wide."""
    rows = [
        ("Slots", _slots_in_full(controller)),
        ("Channels", str(controller.channels)),
        ("Starts", _starts(controller)),
        ("Step", counted(controller.step_minutes, "minute")),
        ("Offsets", _offsets(controller)),
        ("Weekdays", _weekdays_in_full(controller)),
        ("Dates", _RANGES.get(controller.date_ranges, controller.date_ranges)),
        ("Special days", _exceptions(controller.exceptions)),
        ("Clock", _clock(controller)),
        ("Skipped time", f"a slot in it {_said(_SKIPPED, controller.skipped_time)}"),
        ("Repeated time", f"a slot in it {_said(_REPEATED, controller.repeated_time)}"),
        *_sun_rows(controller),
        ("Clock error", f"up to {amount_words(controller.clock_error_minutes)} min"),
        ("Power failure", _power(controller)),
        ("Override ends", _said(_OVERRIDE, controller.override_ends)),
        ("Keyed in order", ", ".join(controller.entry_order)),
    ]
    if controller.assumed:
        rows.append(("Assumed", f"{', '.join(controller.assumed)} (not in the controller file)"))
    lines = [controller.name, *(wrapped(text, f"  {name:<16} ") for name, text in rows)]
    return "\n".join(lines) + "\n"


def controller_record(controller: Controller) -> dict[str, object]:
    """Every property as a plain record, weekday sets as lists of words."""
    record: dict[str, object] = asdict(controller)
    record["sun_starts"] = [
        {"word": s.word, "side": s.half.value, "level_degrees": s.level_degrees}
        for s in controller.sun_starts
    ]
    record["exceptions"] = asdict(controller.exceptions)
    sets = controller.weekday_sets
    record["weekday_sets"] = sets and [[WEEKDAYS[day] for day in sorted(days)] for days in sets]
    return record


def _said(words: dict[str, str], value: str) -> str:
    return words.get(value, value)


def _slots(controller: Controller) -> str:
    each = " per channel" if controller.slots_are == "per channel" else ""
    return f"{controller.event_slots} slots{each}"


def _slots_in_full(controller: Controller) -> str:
    shared = "per channel" if controller.slots_are == "per channel" else "shared by all channels"
    covers = " and may act on any channels" if controller.event_covers == "any channels" else ""
    return f"{controller.event_slots}, {shared}; each holds {controller.slot_holds}{covers}"


def _starts(controller: Controller) -> str:
    words = ["clock"] * controller.starts_clock + [s.word for s in controller.sun_starts]
    return join_and(words)


def _offsets(controller: Controller) -> str:
    if not controller.sun_starts:
        return "none: it knows no sun times"
    return (
        f"{controller.offsets}, up to {controller.offset_limit_minutes} min either way, "
        f"in steps of {controller.offset_step_minutes} min"
    )


def _weekdays(controller: Controller) -> str:
    sets = controller.weekday_sets
    if sets is None:
        return "any set of weekdays"
    if all(len(days) == 7 for days in sets):
        return "no weekdays"
    return "weekdays in fixed sets"


def _weekdays_in_full(controller: Controller) -> str:
    cost = (
        "; a set takes one slot a weekday"
        if controller.weekday_set_costs == "a slot per day"
        else "; a set takes one slot"
    )
    sets = controller.weekday_sets
    if sets is None:
        return f"any set{cost}"
    named = [" ".join(WEEKDAYS[day] for day in sorted(days)) for days in sets]
    return f"only these sets: {'; '.join(named)}{cost}"


def _exceptions(exceptions: ExceptionSlots) -> str:
    if not exceptions.slots:
        return "none"
    dark = exceptions.plan == "off"
    plan = "all off" if dark else "with switching times of their own"
    year = "with" if exceptions.with_year else "without"
    return f"{exceptions.slots}, each a {exceptions.length}, dates {year} the year, {plan}"


def _clock(controller: Controller) -> str:
    if controller.clock == "standard":
        return "standard time all year; it does not follow summer time"
    return f"local time; {_said(_SUMMER, controller.summer_time)}"


def _sun_rows(controller: Controller) -> list[tuple[str, str]]:
    if not controller.sun_starts:
        return []
    error = (
        f"up to {amount_words(controller.sun_error_minutes)} min and what "
        f"{amount_words(controller.sun_error_degrees)} degrees of sun height make"
    )
    missing = controller.no_sun_event or "not stated; it may act or not"
    return [
        ("Sun error", error),
        ("Place", f"keyed in as {controller.location_entry}"),
        ("Sun slot's date", _SUN_DATE.get(controller.sun_date, str(controller.sun_date))),
        ("No sun event", missing),
    ]


def _power(controller: Controller) -> str:
    text = f"afterwards it {_said(_POWER, controller.after_power_loss)}"
    if controller.reserve_hours is None:
        return f"{text}; how long the clock runs on is not stated"
    return f"{text}; the clock runs on for {amount_words(controller.reserve_hours)} h"
