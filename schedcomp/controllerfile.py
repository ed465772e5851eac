"""Controller files, and the classes of controllers that are built in."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import TypeVar

from schedcomp.builtin import exists, unknown
from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.controllerkeys import (
    CHOICES,
    CONTROLLER,
    EXCEPTION_CHOICES,
    EXCEPTIONS,
    FORMAT_KEY,
    FORMAT_VERSION,
    NOT_KNOWN,
    starts_of,
    weekday_sets_of,
)
from schedcomp.diag import Diagnostic, Source, SourceRange, has_problem, in_order
from schedcomp.filekind import SITE_KEY, other_kind
from schedcomp.limits import LARGEST, Limits
from schedcomp.messages import controllers as messages
from schedcomp.messages import meaning
from schedcomp.reading import Reader
from schedcomp.records import replace
from schedcomp.textfile import LARGEST_BYTES, source_from_bytes
from schedcomp.tomlfile import read_document, read_source
from schedcomp.tomlnodes import Table

Loaded = tuple[Controller | None, tuple[Diagnostic, ...]]

_FOLDER = Path(__file__).parent / "data" / "controllers"
_SUFFIX = ".toml"
NO_SUMMER_TIME = "none"

SLOTS = Limits(1, 100_000)
MINUTES = Limits(0, 24 * 60)

Given = TypeVar("Given")


def builtin_controllers() -> tuple[str, ...]:
    """Names of the classes that are built in, in alphabetical order."""
    return tuple(sorted(path.stem for path in _FOLDER.glob(f"*{_SUFFIX}")))


def load_controller(
    name_or_path: str, folder: Path | str = ".", at: SourceRange | None = None
) -> Loaded:
    """A built-in controller, or that of a file; its path starts at `folder`.

    A file beside the site file goes before a built-in class only if it is named with its ending
    or folder. `at` is where the name stands.
    """
    if name_or_path in builtin_controllers():
        data = (_FOLDER / f"{name_or_path}{_SUFFIX}").read_bytes()[: LARGEST_BYTES + 1]
        source, found = source_from_bytes(f"built-in controller {name_or_path}", data)
        return (None, found) if source is None else controller_from_source(source)
    path = Path(folder) / name_or_path
    if not _is_path(name_or_path) and not exists(path):
        return None, (
            unknown(messages.NO_SUCH_CONTROLLER, name_or_path, builtin_controllers(), folder, at),
        )
    source, found = read_source(path, at)
    return (None, found) if source is None else controller_from_source(source)


def _is_path(name: str) -> bool:
    return name.casefold().endswith(_SUFFIX) or "/" in name or "\\" in name


@lru_cache(maxsize=32)
def controller_from_source(source: Source) -> Loaded:
    """As `load_controller`, for the text of a file."""
    document, mistakes = read_document(source, f"{FORMAT_KEY} = {FORMAT_VERSION}")
    if document is None:
        return None, mistakes
    found = list(mistakes)
    if other := other_kind(document.root, FORMAT_KEY, SITE_KEY, meaning.CONTROLLER_EXPECTED):
        return None, (other,)
    reader = Reader(document.root, "the file", CONTROLLER, found)
    reader.check_version(FORMAT_KEY, FORMAT_VERSION)
    reader.check_keys({"exceptions": EXCEPTIONS})
    made = _read(reader)
    ordered = in_order(found)
    return (None if has_problem(ordered) else made), ordered


def _read(reader: Reader) -> Controller:
    reader.missing("name", "Findings and the sheet call the controller by its name.")
    reader.missing("event_slots", "It is the number of events that the controller can hold.")
    made = Controller(
        name=reader.text("name") or "?", event_slots=reader.whole("event_slots", SLOTS) or 1
    )
    for part in (_slots, _starts, _dates, _clock, _errors, _power):
        made = part(made, reader)
    left_out = [key for key in CONTROLLER if key != FORMAT_KEY and not reader.given(key)]
    return replace(made, assumed=(*left_out, *_exceptions_left_out(reader)))


def _given(found: Given | None, usual: Given) -> Given:
    return usual if found is None else found


def _word(reader: Reader, key: str, usual: str) -> str:
    return _given(reader.choice(key, CHOICES[key]), usual)


def _known(reader: Reader, key: str) -> str | None:
    """A choice that may also be "not known", which is the same as left out."""
    word = reader.choice(key, CHOICES[key])
    return None if word == NOT_KNOWN else word


def _slots(made: Controller, reader: Reader) -> Controller:
    return replace(
        made,
        slots_are=_word(reader, "slots_are", made.slots_are),
        slot_holds=_word(reader, "slot_holds", made.slot_holds),
        channels=_given(reader.whole("channels", Limits(1, 999)), made.channels),
        event_covers=_word(reader, "event_covers", made.event_covers),
    )


def _starts(made: Controller, reader: Reader) -> Controller:
    starts = starts_of(reader)
    offset_step = _step(reader, "offset_step_minutes", made.offset_step_minutes)
    limit = _given(
        reader.whole("offset_limit_minutes", Limits(0, 12 * 60)), made.offset_limit_minutes
    )
    if 0 < limit < offset_step:
        reader.found.append(
            messages.OFFSET_STEP_TOO_LONG.at(
                reader.place("offset_step_minutes") or reader.place("offset_limit_minutes"),
                step=offset_step,
                limit=limit,
            )
        )
    return replace(
        made,
        starts_clock=made.starts_clock if starts is None else starts.clock,
        sun_starts=made.sun_starts if starts is None else starts.sun,
        step_minutes=_step(reader, "step_minutes", made.step_minutes),
        offsets=_word(reader, "offsets", made.offsets),
        offset_step_minutes=offset_step,
        offset_limit_minutes=limit,
    )


def _step(reader: Reader, key: str, usual: int) -> int:
    step = reader.whole(key, Limits(1, 60))
    if step is not None and 60 % step:
        example = max(n for n in range(1, step) if 60 % n == 0)
        reader.found.append(
            messages.STEP_NOT_IN_HOUR.at(reader.place(key), key=key, found=step, example=example)
        )
    return _given(step, usual)


def _dates(made: Controller, reader: Reader) -> Controller:
    return replace(
        made,
        weekday_sets=weekday_sets_of(reader),
        weekday_set_costs=_word(reader, "weekday_set_costs", made.weekday_set_costs),
        date_ranges=_word(reader, "date_ranges", made.date_ranges),
        exceptions=_exceptions(reader),
    )


def _clock(made: Controller, reader: Reader) -> Controller:
    clock = _word(reader, "clock", made.clock)
    follows = clock == "local"
    usual = made.summer_time if follows else NO_SUMMER_TIME
    summer_time = _word(reader, "summer_time", usual)
    if follows == (summer_time == NO_SUMMER_TIME):
        right = "rule" if follows else NO_SUMMER_TIME
        reader.found.append(
            messages.CLOCK_CONTRADICTS.at(
                reader.place("summer_time"), clock=clock, summer_time=summer_time, right=right
            )
        )
    return replace(
        made,
        clock=clock,
        summer_time=summer_time,
        skipped_time=_word(reader, "skipped_time", made.skipped_time),
        repeated_time=_word(reader, "repeated_time", made.repeated_time),
    )


def _errors(made: Controller, reader: Reader) -> Controller:
    return replace(
        made,
        sun_error_minutes=_given(
            reader.number("sun_error_minutes", MINUTES), made.sun_error_minutes
        ),
        sun_error_degrees=_given(
            reader.number("sun_error_degrees", Limits(0, 5)), made.sun_error_degrees
        ),
        sun_date=_known(reader, "sun_date"),
        no_sun_event=_known(reader, "no_sun_event"),
        location_entry=_word(reader, "location_entry", made.location_entry),
        clock_error_minutes=_given(
            reader.number("clock_error_minutes", MINUTES), made.clock_error_minutes
        ),
    )


def _power(made: Controller, reader: Reader) -> Controller:
    order = reader.phrases("entry_order")
    return replace(
        made,
        after_power_loss=_word(reader, "after_power_loss", made.after_power_loss),
        reserve_hours=reader.number("reserve_hours", Limits(0, LARGEST)),
        override_ends=_word(reader, "override_ends", made.override_ends),
        entry_order=made.entry_order if not order else tuple(p.text.strip() for p in order),
    )


# Special days


def _exceptions(top: Reader) -> ExceptionSlots:
    usual = ExceptionSlots()
    table = top.group("exceptions")
    if table is None:
        return usual
    reader = Reader(table, "exceptions", EXCEPTIONS, top.found)
    reader.check_keys({"the file": CONTROLLER})
    reader.missing("slots", "It is the number of special days or periods that can be stored.")
    words = {key: reader.choice(key, options) for key, options in EXCEPTION_CHOICES.items()}
    plan_events = reader.whole("plan_events", SLOTS)
    _check_plan(reader, words["plan"] or usual.plan, words["events_from"])
    own_slots = reader.given("plan_events") or words["events_from"] == "plan_events"
    return ExceptionSlots(
        slots=_given(reader.whole("slots", Limits(0, 100_000)), usual.slots),
        length=_given(words["length"], usual.length),
        plan=_given(words["plan"], usual.plan),
        start=_given(words["start"], usual.start),
        end=_given(words["end"], usual.end),
        with_year=_given(reader.flag("with_year"), usual.with_year),
        covers=_given(words["covers"], usual.covers),
        events_from="plan_events" if own_slots else usual.events_from,
        plan_events=plan_events,
        plans=reader.whole("plans", SLOTS),
    )


def _check_plan(reader: Reader, plan: str, events_from: str | None) -> None:
    place = reader.place("events_from")
    if plan == "off":
        why = "A special day that is off holds no events."
        for key in ("events_from", "plan_events", "plans"):
            if reader.given(key):
                reader.found.append(
                    messages.SPARE_EXCEPTION_KEY.at(
                        reader.place(key), key=key, other='plan = "off"', why=why
                    )
                )
    elif events_from == "plan_events" and not reader.given("plan_events"):
        reader.found.append(messages.PLAN_EVENTS_MISSING.at(place))
    elif events_from == "event_slots" and reader.given("plan_events"):
        why = "The events of special days are then stored with all others."
        reader.found.append(
            messages.SPARE_EXCEPTION_KEY.at(
                reader.place("plan_events"),
                key="plan_events",
                why=why,
                other='events_from = "event_slots"',
            )
        )


def _exceptions_left_out(top: Reader) -> list[str]:
    """Keys of `exceptions` that matter and are not given."""
    entry = top.entry("exceptions")
    if entry is None or not isinstance(entry.value, Table):
        return []
    reader = Reader(entry.value, "exceptions", EXCEPTIONS, [])
    if reader.number("slots") == 0:
        return []
    of_plans = () if reader.choice("plan", ("off",)) else ("events_from",)
    wanted = ("length", "plan", "start", "end", "with_year", "covers", *of_plans)
    known = {"events_from"} if reader.given("plan_events") else set()
    return [f"exceptions.{key}" for key in wanted if not reader.given(key) and key not in known]
