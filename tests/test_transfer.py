"""transfer.json: its schema, its checksum and what the program code hangs on."""

from __future__ import annotations

import copy
import hashlib
import json
from collections.abc import Callable
from dataclasses import replace
from importlib.resources import files
from typing import Any

import pytest
from jsonschema import Draft202012Validator, FormatChecker

from schedcomp.clock import Zone, zone
from schedcomp.controller import Controller
from schedcomp.output.canonical import canonical
from schedcomp.output.transfer import (
    is_intact,
    program_code,
    seal,
    transfer_document,
    transfer_json,
    unit_holds,
)
from schedcomp.program import ClockStart, Event, Program
from schedcomp.site import Site
from tests.made_up import COMPILED, CONTROLLER, PERIOD, PROGRAM, SITE, VERSIONS, ZONE

Document = dict[str, Any]
SCHEMA = json.loads(files("schedcomp").joinpath("data/transfer.schema.json").read_text("utf-8"))
JUDGE = Draft202012Validator(SCHEMA, format_checker=FormatChecker())


def transfer() -> Document:
    document: Document = json.loads(transfer_json(COMPILED, PROGRAM, VERSIONS))
    return document


def code_of(
    program: Program = PROGRAM,
    controller: Controller = CONTROLLER,
    site: Site = SITE,
    clock: Zone = ZONE,
) -> str:
    return program_code(program, controller, site, clock)


def with_event(index: int, **changed: Any) -> Program:
    events = list(PROGRAM.events)
    events[index] = replace(events[index], **changed)
    return replace(PROGRAM, events=tuple(events))


# The schema


def test_the_schema_itself_is_right_and_strict() -> None:
    """Every object of it names all of its members and allows no others."""
    Draft202012Validator.check_schema(SCHEMA)

    def objects(part: Any) -> list[Document]:
        if isinstance(part, list):
            return [found for item in part for found in objects(item)]
        if not isinstance(part, dict):
            return []
        own = [part] if part.get("type") == "object" else []
        return own + [found for item in part.values() for found in objects(item)]

    for found in objects(SCHEMA):
        assert found["additionalProperties"] is False
        assert set(found["required"]) == set(found["properties"])


def test_a_file_meets_the_schema() -> None:
    assert list(JUDGE.iter_errors(transfer())) == []


def test_a_file_without_hours_load_or_sun_starts_meets_the_schema() -> None:
    site = replace(SITE, hours=None, units=())
    controller = replace(CONTROLLER, sun_starts=(), weekday_sets=None, clock="standard")
    program = Program(controller="", events=PROGRAM.events[1:])
    compiled = replace(COMPILED, site=site, controller=controller)
    document = json.loads(transfer_json(compiled, program, VERSIONS))
    assert list(JUDGE.iter_errors(document)) == []
    assert document["unit_holds"]["location"] is None
    assert document["unit_holds"]["clock"]["utc_offsets_minutes"] == [-420]


def planted(change: Callable[[Document], object]) -> Document:
    document = copy.deepcopy(transfer())
    change(document)
    return document


def held(document: Document) -> Document:
    found: Document = document["unit_holds"]
    return found


FAULTS: dict[str, Callable[[Document], object]] = {
    "another version": lambda d: d.update(schedcomp_transfer=2),
    "an unknown member": lambda d: d.update(written_on="2027-01-01"),
    "an unknown member of an event": lambda d: held(d)["events"][0].update(note=""),
    "no events": lambda d: held(d).pop("events"),
    "a slot 0": lambda d: held(d)["events"][0].update(slot=0),
    "a broken number": lambda d: held(d)["events"][0].update(channel=1.5),
    "an action that is none": lambda d: held(d)["events"][0].update(action="dim"),
    "a clock time that is none": lambda d: held(d)["events"][1].update(time="24:30"),
    "a clock start without time": lambda d: held(d)["events"][1].update(time=None),
    "a clock start with offset": lambda d: held(d)["events"][1].update(offset_minutes=5),
    "a sun start with time": lambda d: held(d)["events"][0].update(time="18:00"),
    "a sun start without offset": lambda d: held(d)["events"][0].update(offset_minutes=None),
    "no weekday": lambda d: held(d)["events"][0].update(weekdays=[]),
    "a weekday twice": lambda d: held(d)["events"][0].update(weekdays=["mon", "mon"]),
    "a weekday that is none": lambda d: held(d)["events"][0].update(weekdays=["monday"]),
    "half a range": lambda d: held(d)["events"][1].update(through=None),
    "a range end alone": lambda d: held(d)["events"][1].update({"from": None}),
    "a month that is none": lambda d: held(d)["events"][1].update({"from": "13-01"}),
    "an exception slot": lambda d: held(d)["exceptions"].append({}),
    "a date that is none": lambda d: d["period"].update(first="2027-02-30"),
    "a latitude beyond the pole": lambda d: d["site"].update(latitude_degrees=91),
    "a longitude in words": lambda d: d["site"].update(longitude_degrees="-111.6"),
    "a checksum that is none": lambda d: d.update(sha256="0" * 63),
    "a program code that is none": lambda d: d.update(program_code="7f3a-92c1"),
    "a controller property missing": lambda d: d["controller"].pop("clock"),
    "no circuit": lambda d: d.update(circuits=[]),
    "hours in words": lambda d: d.update(hours="08:00-20:00"),
    "a favour that is none": lambda d: d["tolerance"].update(favour="people"),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_planted_fault_is_found(fault: str) -> None:
    assert list(JUDGE.iter_errors(planted(FAULTS[fault])))


# Content


def test_what_a_unit_holds() -> None:
    found = transfer()["unit_holds"]
    assert found["clock"] == {
        "keeps": "local",
        "summer_time": "rule",
        "zone": "America/Denver",
        "utc_offsets_minutes": [-420, -360],
    }
    assert found["location"] == {"latitude_degrees": 40.59, "longitude_degrees": -111.6}
    assert found["exceptions"] == []
    assert found["events"][0] == {
        "slot": 1,
        "channel": 1,
        "action": "on",
        "starts_at": "sunset",
        "time": None,
        "offset_minutes": -15,
        "weekdays": ["mon", "tue", "wed", "thu", "fri", "sat", "sun"],
        "from": None,
        "through": None,
        "plan": None,
    }
    assert (found["events"][1]["from"], found["events"][1]["through"]) == ("11-20", "01-06")
    assert found["events"][1]["weekdays"] == ["mon", "wed", "sun"]
    assert found["events"][2]["through"] == "2028-01-02"


def test_what_a_check_needs() -> None:
    document = transfer()
    assert document["site"]["latitude_degrees"] == 40.5853
    assert document["site"]["dusk"] == {
        "words": "sunset + 15 min",
        "level_degrees": -0.8333,
        "lux": None,
        "offset_minutes": 15,
    }
    assert (document["site"]["dawn"]["level_degrees"], document["site"]["dawn"]["lux"]) == (
        -1.5,
        200,
    )
    assert document["hours"]["lines"][0]["open"] == [["08:00", "12:00"], ["14:00", "24:00"]]
    assert document["hours"]["lines"][1]["open"] == []
    assert document["hours"]["staff_before_minutes"] == 40
    assert [h["name"] for h in document["holidays"]] == ["Founders' Day"]
    assert document["clock_changes"] == [
        {
            "utc": "2027-03-14T09:00:00Z",
            "offset_before_minutes": -420,
            "offset_after_minutes": -360,
        }
    ]
    assert [u["location"] for u in document["units"]] == [
        None,
        {"latitude_degrees": 40.58, "longitude_degrees": -111.61},
    ]
    assert document["slots"][2]["purpose"] == "single nights"
    assert document["tolerance"] == {"minutes": 3, "favour": "light"}
    assert document["certificate"]["proven"] is True
    assert "somewhere" not in json.dumps(document)


@pytest.mark.parametrize(
    ("entry", "latitude"),
    [("0.01 degree", 40.59), ("minute", 40.583333), ("whole degree", 41)],
)
def test_the_location_is_as_keyed(entry: str, latitude: float) -> None:
    controller = replace(CONTROLLER, location_entry=entry)
    found: Any = unit_holds(PROGRAM, controller, SITE, ZONE)["location"]
    assert found["latitude_degrees"] == latitude


def test_a_unit_with_a_list_of_cities_gets_no_numbers() -> None:
    controller = replace(CONTROLLER, location_entry="city list")
    assert unit_holds(PROGRAM, controller, SITE, ZONE)["location"] is None


# Seal


def test_the_file_is_canonical_and_sealed() -> None:
    content = transfer_json(COMPILED, PROGRAM, VERSIONS)
    document = json.loads(content)
    assert canonical(document) == content
    assert is_intact(document)


def test_the_checksum_can_be_worked_out_by_hand() -> None:
    """Without our own functions: cut the member out of the bytes, and hash the rest."""
    content = transfer_json(COMPILED, PROGRAM, VERSIONS)
    checksum = json.loads(content)["sha256"]
    rest = content.replace(f'"sha256":"{checksum}",'.encode(), b"", 1)
    assert hashlib.sha256(rest).hexdigest() == checksum


def test_sealing_twice_changes_nothing() -> None:
    once = seal(transfer_document(COMPILED, PROGRAM, VERSIONS))
    assert seal(once) == once


@pytest.mark.parametrize(
    "change",
    [
        lambda d: d["unit_holds"]["events"][1].update(time="23:01"),
        lambda d: d["slots"][0].update(purpose="another"),
        lambda d: d.update(program_code="0000-0000"),
        lambda d: d.pop("sha256"),
        lambda d: d.update(sha256=None),
        lambda d: d.update(more=float("nan")),
        lambda d: d.update(more=10**30),
    ],
)
def test_any_change_breaks_the_seal(change: Callable[[Document], object]) -> None:
    assert not is_intact(planted(change))


def test_a_wrong_program_code_under_a_right_checksum_is_found() -> None:
    document = transfer()
    document["program_code"] = "0000-0000"
    assert not is_intact(seal(document))


@pytest.mark.parametrize("text", ["null", "[]", "3", '"x"', "{}"])
def test_other_json_is_not_intact(text: str) -> None:
    assert not is_intact(json.loads(text))


# Program code


def test_the_program_code_is_the_first_digits_of_what_a_unit_holds() -> None:
    document = transfer()
    digits = hashlib.sha256(canonical(document["unit_holds"])).hexdigest().upper()
    assert document["program_code"] == f"{digits[:4]}-{digits[4:8]}" == code_of()


def test_names_purposes_and_dates_do_not_change_the_code() -> None:
    renamed = replace(
        SITE,
        name="Other",
        circuits=tuple(replace(c, name=f"other {c.channel}") for c in SITE.circuits),
        units=(),
    )
    assert code_of(site=renamed) == code_of()
    assert code_of(with_event(0, purpose="another")) == code_of()
    assert code_of(replace(PROGRAM, controller="other")) == code_of()
    assert code_of(controller=replace(CONTROLLER, name="other", event_slots=9)) == code_of()
    next_year = zone("America/Denver", PERIOD.first.replace(year=2028), PERIOD.last.replace(2028))
    assert code_of(clock=next_year) == code_of()


def test_everything_a_unit_holds_changes_the_code() -> None:
    more = Event(slot=4, channels=(1,), action=PROGRAM.events[1].action, start=ClockStart(720))
    others = [
        with_event(0, channels=(2,)),
        with_event(0, action=PROGRAM.events[1].action),
        with_event(1, start=ClockStart(1381)),
        with_event(1, weekdays=frozenset({0, 2})),
        with_event(1, dates=None),
        replace(PROGRAM, events=PROGRAM.events[::-1]),
        replace(PROGRAM, events=(*PROGRAM.events, more)),
    ]
    codes = [code_of(other) for other in others]
    codes.append(code_of(controller=replace(CONTROLLER, clock="standard")))
    codes.append(code_of(controller=replace(CONTROLLER, summer_time="dates")))
    codes.append(code_of(site=replace(SITE, latitude_degrees=40.6)))
    codes.append(code_of(clock=zone("America/Phoenix", PERIOD.first, PERIOD.last)))
    assert len({code_of(), *codes}) == len(codes) + 1


def test_a_place_that_is_keyed_the_same_has_the_same_code() -> None:
    assert code_of(site=replace(SITE, latitude_degrees=40.5871)) == code_of()
