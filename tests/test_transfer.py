"""transfer.json: its schema, its checksum and what the program code hangs on."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from importlib.resources import files
from typing import Any

import pytest
from jsonschema import Draft202012Validator, FormatChecker

from schedcomp.clock import Zone, zone
from schedcomp.controller import Controller
from schedcomp.output.canonical import canonical
from schedcomp.output.transfer import (
    has_right_checksum,
    has_right_code,
    program_code,
    seal,
    transfer_document,
    transfer_json,
    unit_holds,
)
from schedcomp.program import PLAIN_DARK, ClockStart, Event, Program
from schedcomp.records import replace
from schedcomp.site import Site
from tests.made_up import (
    COMPILED,
    CONTROLLER,
    PERIOD,
    PLAIN_SITE,
    PROGRAM,
    SITE,
    SPECIAL_CONTROLLER,
    SPECIAL_PROGRAM,
    VERSIONS,
    ZONE,
)
from tests.transfer_faults import FAULTS, Change, Document, planted, sample

SCHEMA = json.loads(files("schedcomp").joinpath("data/transfer.schema.json").read_text("utf-8"))
JUDGE = Draft202012Validator(SCHEMA, format_checker=FormatChecker())


def transfer() -> Document:
    document: Document = json.loads(transfer_json(COMPILED, PROGRAM, VERSIONS))
    return document


def is_intact(document: Mapping[str, Any]) -> bool:
    try:
        return has_right_checksum(document) and has_right_code(document)
    except ValueError:
        return False


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


@pytest.mark.parametrize("document", [transfer(), sample()])
def test_a_file_meets_the_schema(document: Document) -> None:
    assert list(JUDGE.iter_errors(document)) == []


def test_a_file_without_hours_load_or_sun_starts_meets_the_schema() -> None:
    site = replace(SITE, hours=None, units=())
    controller = replace(CONTROLLER, sun_starts=(), weekday_sets=None, clock="standard")
    program = Program(controller="", events=PROGRAM.events[1:])
    compiled = replace(COMPILED, site=site, controller=controller)
    document = json.loads(transfer_json(compiled, program, VERSIONS))
    assert list(JUDGE.iter_errors(document)) == []
    assert document["unit_holds"]["location"] is None
    assert document["unit_holds"]["clock"]["utc_offsets_minutes"] == [-420]


@pytest.mark.parametrize("fault", FAULTS)
def test_a_planted_fault_is_found(fault: str) -> None:
    assert list(JUDGE.iter_errors(planted(FAULTS[fault])))


@pytest.mark.parametrize(
    "change",
    [
        lambda d: d.update(schedcomp_transfer=1),
        lambda d: d.update(sha256="0" * 63),
        lambda d: d.update(program_code="7f3a-92c1"),
    ],
)
def test_a_wrong_head_is_found(change: Change) -> None:
    assert list(JUDGE.iter_errors(planted(change)))


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
        "channels": [1],
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


def test_what_a_unit_holds_of_special_days() -> None:
    found = sample()["unit_holds"]
    assert found["exceptions"] == [
        {"slot": 1, "channels": [1], "from": "12-31", "through": "01-01", "plan": "A"},
        {
            "slot": 2,
            "channels": [1, 2],
            "from": "2027-07-04",
            "through": "2027-07-04",
            "plan": "off",
        },
        {"slot": 3, "channels": [2], "from": "02-29", "through": "02-29", "plan": "rest"},
    ]
    assert found["events"][4] == {
        "slot": 5,
        "channels": [1],
        "action": "on",
        "starts_at": "clock",
        "time": "17:00",
        "offset_minutes": None,
        "weekdays": None,
        "from": None,
        "through": None,
        "plan": "A",
    }
    assert found["events"][0]["channels"] == [1, 2]


def test_what_each_event_is_for() -> None:
    document = sample()
    assert document["slots"][3] == {
        "slot": 4,
        "circuits": "Lot poles",
        "purpose": "repeats slot 2",
        "safety": True,
        "only_year": None,
    }
    assert [s["only_year"] for s in document["slots"]] == [None, None, 2027, None, 2027, 2027]
    assert document["exception_slots"] == [
        {"slot": 1, "only_year": 2027},
        {"slot": 2, "only_year": None},
        {"slot": 3, "only_year": None},
    ]
    assert document["certificate"] == {
        "slots": 5,
        "bound": 5,
        "proven": True,
        "tolerance_minutes": 3,
        "deviations": [
            {"circuit": "Lot poles", "seconds": 5400, "bound_seconds": 3600},
            {"circuit": "Sign", "seconds": 630, "bound_seconds": 630},
        ],
    }


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
def test_any_change_breaks_the_seal(change: Change) -> None:
    assert not is_intact(planted(change))


def test_a_wrong_program_code_under_a_right_checksum_is_found() -> None:
    document = transfer()
    document["program_code"] = "0000-0000"
    assert not is_intact(seal(document))


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


def test_special_days_change_the_code() -> None:
    """Their dates, plans, channels and events do; what they are for does not."""

    def code(program: Program) -> str:
        return code_of(program, SPECIAL_CONTROLLER, PLAIN_SITE)

    first, *others = SPECIAL_PROGRAM.special_days
    plan_event = SPECIAL_PROGRAM.events[4]
    events = SPECIAL_PROGRAM.events
    changed = [
        replace(SPECIAL_PROGRAM, special_days=()),
        *(
            replace(SPECIAL_PROGRAM, special_days=(other, *others))
            for other in (
                replace(first, plan=PLAIN_DARK),
                replace(first, channels=(2,)),
                replace(first, slot=4),
                replace(first, dates=others[1].dates),
            )
        ),
        replace(SPECIAL_PROGRAM, events=(*events[:4], replace(plan_event, plan="B"), events[5])),
    ]
    codes = {code(program) for program in changed}
    assert len(codes | {code(SPECIAL_PROGRAM)}) == len(changed) + 1
    told = replace(
        SPECIAL_PROGRAM,
        events=tuple(replace(e, safety=False, only_year=None, purpose="") for e in events),
        special_days=(replace(first, only_year=None), *others),
    )
    assert code(told) == code(SPECIAL_PROGRAM)


def test_a_place_that_is_keyed_the_same_has_the_same_code() -> None:
    assert code_of(site=replace(SITE, latitude_degrees=40.5871)) == code_of()
