"""Faults to plant into the transfer file of `made_up.WITH_SPECIAL_DAYS`, one at a time."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from hashlib import sha256
from typing import Any

from schedcomp.output.canonical import canonical
from schedcomp.output.transfer import seal, transfer_json
from tests.made_up import SPECIAL_PROGRAM, VERSIONS, WITH_SPECIAL_DAYS

Document = dict[str, Any]
Change = Callable[[Document], object]

SAMPLE = transfer_json(WITH_SPECIAL_DAYS, SPECIAL_PROGRAM, VERSIONS)


def sample() -> Document:
    document: Document = json.loads(SAMPLE)
    return document


def held(document: Document) -> Document:
    found: Document = document["unit_holds"]
    return found


def planted(change: Change) -> Document:
    document = copy.deepcopy(sample())
    change(document)
    return document


def sealed(document: Document) -> bytes:
    """The document as a file, with the program code and checksum that belong to it."""
    if "unit_holds" in document:
        digits = sha256(canonical(document["unit_holds"])).hexdigest().upper()
        document = {**document, "program_code": f"{digits[:4]}-{digits[4:8]}"}
    return canonical(seal(document))


def event(number: int, **members: Any) -> Change:
    """Change an event, counted from 0."""
    return lambda d: held(d)["events"][number].update(members)


def special(number: int, **members: Any) -> Change:
    """Change one of the special days, counted from 0."""
    return lambda d: held(d)["exceptions"][number].update(members)


def controller(**members: Any) -> Change:
    return lambda d: d["controller"].update(members)


FAULTS: dict[str, Change] = {
    "an unknown member": lambda d: d.update(written_on="2027-01-01"),
    "an unknown member of an event": event(0, note=""),
    "no events": lambda d: held(d).pop("events"),
    "a slot 0": event(0, slot=0),
    "a channel that is no number": event(0, channels=["1"]),
    "a broken number": event(0, channels=[1.5]),
    "no channel": event(0, channels=[]),
    "a channel twice": event(0, channels=[1, 1]),
    "true for a number": event(0, channels=[True]),
    "an action that is none": event(0, action="dim"),
    "a clock time that is none": event(1, time="24:30"),
    "24:00 as a start": event(1, time="24:00"),
    "a clock start without time": event(1, time=None),
    "a clock start with offset": event(1, offset_minutes=5),
    "a sun start with time": event(0, time="18:00"),
    "a sun start without offset": event(0, offset_minutes=None),
    "an offset of a day": event(0, offset_minutes=1440),
    "no weekday": event(0, weekdays=[]),
    "weekdays left open": event(0, weekdays=None),
    "a weekday twice": event(0, weekdays=["mon", "mon"]),
    "a weekday that is none": event(0, weekdays=["monday"]),
    "half a range": event(1, through=None),
    "a range end alone": event(1, **{"from": None}),
    "a month that is none": event(1, **{"from": "13-01"}),
    "a day that is none": event(1, **{"from": "02-30"}),
    "a date that is none in its year": event(2, through="2027-02-29"),
    "a year at one end of a range": event(2, through="01-02"),
    "a year at the other end of a range": event(2, **{"from": "12-24"}),
    "an empty end of a range": event(1, **{"from": ""}),
    "weekdays in a plan": event(4, weekdays=["mon"]),
    "dates in a plan": event(4, **{"from": "12-24", "through": "12-26"}),
    "a plan without a name": event(4, plan=""),
    "events in plain dark": event(4, plan="off"),
    "special days without an end": special(0, through=None),
    "special days with a year at one end": special(1, through="07-04"),
    "special days on a date that is none": special(0, through="04-31"),
    "special days on no channel": special(0, channels=[]),
    "special days without a plan": special(0, plan=None),
    "special days of an empty plan": special(0, plan=""),
    "an unknown member of special days": special(0, only_year=2027),
    "a purpose missing": lambda d: d["slots"][0].pop("purpose"),
    "safety in words": lambda d: d["slots"][0].update(safety="yes"),
    "a year of long ago": lambda d: d["slots"][0].update(only_year=1999),
    "a year of special days in words": lambda d: d["exception_slots"][0].update(only_year="2027"),
    "a date that is none": lambda d: d["period"].update(first="2027-02-30"),
    "a date of another form": lambda d: d["period"].update(first="1/2/2027"),
    "a time without its zone": lambda d: d["period"].update(start_utc="2027-03-12T07:00:00"),
    "a latitude beyond the pole": lambda d: d["site"].update(latitude_degrees=91),
    "a longitude in words": lambda d: d["site"].update(longitude_degrees="-111.6"),
    "a site without a name": lambda d: d["site"].update(name=""),
    "dusk without light": lambda d: d["site"]["dusk"].update(lux=0),
    "a controller property missing": lambda d: d["controller"].pop("clock"),
    "a controller property unknown": controller(colour="grey"),
    "a controller word that is none": controller(slots_are="many"),
    "a step that divides no hour": controller(step_minutes=7),
    "no slots": controller(event_slots=0),
    "an empty set of weekdays": controller(weekday_sets=[[]]),
    "a sun start without its side": lambda d: d["controller"]["sun_starts"][0].pop("half"),
    "a negative sun error": controller(sun_error_minutes=-1),
    "special-day slots in words": lambda d: d["controller"]["exceptions"].update(slots="16"),
    "a special-day word that is none": lambda d: d["controller"]["exceptions"].update(end="on"),
    "no circuit": lambda d: d.update(circuits=[]),
    "a circuit with a negative load": lambda d: d["circuits"][0].update(load_kw=-1),
    "a unit without a label": lambda d: d["units"][0].update(label=""),
    "a unit at half a place": lambda d: d["units"][1]["location"].pop("latitude_degrees"),
    "a clock change without its time": lambda d: d["clock_changes"][0].update(utc=None),
    "hours in words": lambda d: d.update(hours="08:00-20:00"),
    "an opening without a closing": lambda d: d["hours"]["lines"][0].update(open=[["08:00"]]),
    "a closing that is none": lambda d: d["hours"]["lines"][0].update(open=[["08:00", "24:01"]]),
    "a holiday without a name": lambda d: d["holidays"][0].update(name=""),
    "a favour that is none": lambda d: d["tolerance"].update(favour="people"),
    "a negative tolerance": lambda d: d["tolerance"].update(minutes=-1),
    "a certificate without its bound": lambda d: d["certificate"].pop("bound"),
    "a deviation below nothing": lambda d: d["certificate"]["deviations"][0].update(seconds=-1),
    "a version missing": lambda d: d["versions"].pop("tzdata"),
}
"""What is not in the form of the file."""
