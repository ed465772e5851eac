"""Reading transfer files back: what was written returns, and whatever was changed is noticed."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from datetime import date
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator, FormatChecker

from schedcomp import pipeline
from schedcomp.audit import run_program
from schedcomp.clock import ClockChange
from schedcomp.controller import Controller
from schedcomp.controllerfile import builtin_controllers, load_controller
from schedcomp.diag import Diagnostic, Severity, Source, render
from schedcomp.holiday_list import Holiday
from schedcomp.model import HOUR, Action, Period
from schedcomp.output.canonical import canonical
from schedcomp.output.transfer import program_code, seal, transfer_json
from schedcomp.phrases.tree import SunDefinition, SunLevel, SunWord
from schedcomp.program import (
    PLAIN_DARK,
    Certificate,
    ClockStart,
    Event,
    EventDates,
    Program,
    SpecialDays,
    SunOffset,
)
from schedcomp.records import replace
from schedcomp.site import Site
from schedcomp.sitefile import site_from_source
from schedcomp.transfer import OpenLine, SunMeaning, Transfer
from schedcomp.transfer_site import site_of_transfer
from schedcomp.transferfile import LARGEST_BYTES, load_transfer, read_transfer
from schedcomp.unit_place import unit_sun_of
from schedcomp.world import read_world
from tests.made_up import (
    END,
    PERIOD,
    PLAIN_SITE,
    SPECIAL_CONTROLLER,
    SPECIAL_PROGRAM,
    START,
    VERSIONS,
    WITH_SPECIAL_DAYS,
    ZONE,
)
from tests.transfer_faults import (
    FAULTS,
    SAMPLE,
    Change,
    controller,
    event,
    held,
    planted,
    sample,
    sealed,
    special,
)

SCHEMA = json.loads(files("schedcomp").joinpath("data/transfer.schema.json").read_text("utf-8"))
JUDGE = Draft202012Validator(SCHEMA, format_checker=FormatChecker())


def read(data: bytes) -> Transfer:
    found, findings = read_transfer(data, "north/transfer.json")
    assert found is not None, render(findings)
    assert findings == ()
    return found


def refused(data: bytes) -> Diagnostic:
    """The one finding that keeps a file from being used."""
    found, findings = read_transfer(data, "north/transfer.json")
    assert found is None
    (finding,) = findings
    assert finding.severity is Severity.PROBLEM
    assert "north/transfer.json" in finding.title
    assert "Nothing of it was used" in finding.why or "nothing of it was used" in finding.why
    assert finding.fix.endswith("\nschedcomp build north-lot.toml")
    return finding


# What returns


def test_the_program_returns() -> None:
    transfer = read(SAMPLE)
    assert transfer.program == SPECIAL_PROGRAM
    assert transfer.controller == SPECIAL_CONTROLLER
    assert transfer.certificate == WITH_SPECIAL_DAYS.fitted.certificate
    code = program_code(SPECIAL_PROGRAM, SPECIAL_CONTROLLER, PLAIN_SITE, ZONE)
    assert transfer.program_code == code


def test_what_was_accepted_and_the_photocell_return() -> None:
    level = SunDefinition(SunLevel(-3.5, 100.0), 5)
    lot = replace(PLAIN_SITE.circuits[0], photocell="series", photocell_level=level, lumens=9000.0)
    site = replace(PLAIN_SITE, circuits=(lot, *PLAIN_SITE.circuits[1:]))
    accepted = (("4.2(b)", "variance 24-118"),)
    rules = replace(WITH_SPECIAL_DAYS.rules, accepted=accepted)
    given = replace(WITH_SPECIAL_DAYS, site=site, rules=rules)
    transfer = read(transfer_json(given, SPECIAL_PROGRAM, VERSIONS))
    assert transfer.accepted == accepted
    again = site_of_transfer(transfer).circuits[0]
    assert (again.photocell_level, again.lumens) == (level, 9000.0)


def test_what_returns_has_the_types_it_had() -> None:
    """2.0 is written as 2 and comes back as the number it was."""
    found = read(SAMPLE).controller
    assert isinstance(found.sun_error_minutes, float)
    assert isinstance(found.step_minutes, int)
    assert found.exceptions == SPECIAL_CONTROLLER.exceptions
    assert all(isinstance(start.level_degrees, float) for start in found.sun_starts)


def test_what_a_check_needs_returns() -> None:
    transfer = read(SAMPLE)
    assert (transfer.period, transfer.start, transfer.end) == (PERIOD, START, END)
    assert (transfer.site_name, transfer.zone_name) == ("Sample garden store", "America/Denver")
    assert (transfer.latitude_degrees, transfer.longitude_degrees) == (40.5853, -111.6)
    assert transfer.location_degrees == (40.59, -111.6)
    assert transfer.utc_offsets_minutes == (-420, -360)
    assert transfer.clock_changes == (
        ClockChange(ZONE.first_pass(date(2027, 3, 14), 3 * HOUR), -7 * HOUR, -6 * HOUR),
    )
    assert transfer.units == PLAIN_SITE.units
    assert transfer.versions == VERSIONS
    assert (transfer.tolerance_minutes, transfer.favour) == (3, "light")
    assert transfer.dusk == SunMeaning(
        words="sunset + 15 min", level_degrees=-0.8333, lux=None, offset_minutes=15
    )
    assert transfer.dawn.lux == 200
    assert transfer.holidays == (Holiday(day=date(2027, 3, 14), name="Founders' Day", added=True),)


def test_circuits_return() -> None:
    transfer = read(SAMPLE)
    poles, sign = transfer.circuits
    assert (poles.name, poles.load_kw, poles.tolerance_minutes) == ("Lot poles", 6.4, 3)
    assert (poles.lamps, poles.serves, poles.override_minutes) == ("40 x 160 W", "people", 30)
    assert (sign.load_kw, sign.photocell, sign.override_minutes) == (None, None, None)


def test_hours_return() -> None:
    hours = read(SAMPLE).hours
    assert hours is not None
    assert hours.lines[0] == OpenLine(dates="mon-fri", open_minutes=((480, 720), (840, 1440)))
    assert hours.lines[1].open_minutes == ()
    assert (hours.staff_before_minutes, hours.staff_after_minutes) == (40, 0)


def test_a_file_with_little_in_it_returns() -> None:
    """Neither hours nor units, no sun starts, no certificate."""
    given = replace(
        WITH_SPECIAL_DAYS,
        site=replace(PLAIN_SITE, hours=None, units=()),
        controller=replace(SPECIAL_CONTROLLER, sun_starts=(), clock="standard"),
        fitted=replace(WITH_SPECIAL_DAYS.fitted, certificate=None),
    )
    program = Program(controller=SPECIAL_CONTROLLER.name, events=SPECIAL_PROGRAM.events[1:2])
    transfer = read(transfer_json(given, program, VERSIONS))
    assert transfer.program == program
    assert (transfer.hours, transfer.units, transfer.certificate) == (None, (), None)
    assert transfer.location_degrees is None
    assert transfer.utc_offsets_minutes == (-420,)


# Running it again

SITE_FILE = """\
schedcomp = 1
[site]
name = "Sample lot"
latitude = 40.5853
longitude = -105.0844
timezone = "America/Denver"
[day_types]
usual = ["on from dusk until 23:00", "on from 05:30 until dawn"]
late = ["on from dusk until 01:00"]
[[circuit]]
name = "Lot poles"
channel = 1
load_kw = 6.4
calendar = ["every day: usual", "fri, sat evenings: late", "2027-03-18: dark"]
[[circuit]]
name = "Sign"
channel = 2
calendar = ["every day: usual"]
[[unit]]
label = "Panel A"
[[unit]]
label = "Panel B"
unit_location = "40.57, -105.1"
"""


def test_a_program_is_run_again_from_its_file_alone() -> None:
    """Controller, places and times of the file give the same test run, run for run."""
    site, findings = site_from_source(Source("site.toml", SITE_FILE))
    assert site is not None, render(findings)
    unit, findings = load_controller("sun-yearly-64")
    assert unit is not None, render(findings)
    compiled, findings = pipeline.compile(site, Period(date(2027, 3, 1), date(2027, 3, 31)), unit)
    assert compiled is not None, render(findings)
    assert compiled.fitted.program is not None
    assert compiled.audit is not None
    assert compiled.audit.agrees
    transfer = read(transfer_json(compiled, compiled.fitted.program, VERSIONS))
    assert transfer.program == without_sources(compiled.fitted.program)
    alone = Site(
        name=transfer.site_name,
        latitude_degrees=transfer.latitude_degrees,
        longitude_degrees=transfer.longitude_degrees,
        timezone=transfer.zone_name,
        timezone_given=True,
        dusk=SunDefinition(SunWord.SUNSET),
        dawn=SunDefinition(SunWord.SUNRISE),
        units=transfer.units,
    )
    world, findings = read_world(alone, transfer.period)
    assert world is not None, render(findings)
    sun = unit_sun_of(alone, transfer.controller, world)
    again = run_program(
        transfer.program, transfer.controller, compiled.target, sun, transfer.zone_name
    )
    assert again == compiled.audit


def without_sources(program: Program) -> Program:
    """The lines of a site file that events serve are not in a transfer file."""
    return replace(program, events=tuple(replace(e, sources=()) for e in program.events))


# Any program


SLOTS = st.integers(1, 100)
CHANNELS = st.lists(st.integers(1, 4), min_size=1, max_size=4, unique=True).map(tuple)
MONTH_DAYS = st.dates(date(2028, 1, 1), date(2028, 12, 31)).map(lambda d: (d.month, d.day))
DATES = st.dates(date(2001, 1, 1), date(2099, 12, 31))
YEARS = st.none() | st.integers(2001, 2099)
WORDS = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Zl", "Zp"]), max_size=20)
PLANS = st.sampled_from(["A", "B", "Christmas"])
STARTS = st.builds(ClockStart, st.integers(0, 1439)) | st.builds(
    SunOffset, st.sampled_from(["sunrise", "sunset"]), st.integers(-720, 720)
)


@st.composite
def event_dates(draw: st.DrawFn) -> EventDates:
    """Yearly, or from one date through another with their years."""
    if draw(st.booleans()):
        return EventDates(draw(MONTH_DAYS), draw(MONTH_DAYS))
    first, last = sorted((draw(DATES), draw(DATES)))
    return EventDates((first.month, first.day), (last.month, last.day), (first.year, last.year))


NORMAL = st.builds(
    Event,
    slot=SLOTS,
    channels=CHANNELS,
    action=st.sampled_from(Action),
    start=STARTS,
    weekdays=st.frozensets(st.integers(0, 6), min_size=1),
    dates=st.none() | event_dates(),
    purpose=WORDS,
    only_year=YEARS,
    safety=st.booleans(),
)
OF_A_PLAN = st.builds(
    Event,
    slot=SLOTS,
    channels=CHANNELS,
    action=st.sampled_from(Action),
    start=STARTS,
    plan=PLANS,
    purpose=WORDS,
    only_year=YEARS,
)
SPECIAL = st.builds(
    SpecialDays,
    slot=SLOTS,
    channels=CHANNELS,
    dates=event_dates(),
    plan=PLANS | st.just(PLAIN_DARK),
    only_year=YEARS,
)
PROGRAMS = st.builds(
    Program,
    controller=st.just(SPECIAL_CONTROLLER.name),
    events=st.lists(NORMAL | OF_A_PLAN, max_size=8).map(tuple),
    special_days=st.lists(SPECIAL, max_size=4).map(tuple),
)


@given(PROGRAMS)
def test_any_program_returns(program: Program) -> None:
    data = transfer_json(WITH_SPECIAL_DAYS, program, VERSIONS)
    assert read(data).program == program
    assert not list(JUDGE.iter_errors(json.loads(data)))


@pytest.mark.parametrize("name", builtin_controllers())
def test_every_built_in_controller_returns(name: str) -> None:
    built_in, findings = load_controller(name)
    assert built_in is not None, findings
    assert returned(built_in) == built_in


@pytest.mark.parametrize(
    "change",
    [
        {"slots_are": "per channel", "slot_holds": "an on and an off"},
        {"weekday_sets": (frozenset(range(5)), frozenset({5, 6})), "step_minutes": 15},
        {"sun_error_minutes": 1.5, "sun_error_degrees": 0.25, "reserve_hours": 0.5},
        {"sun_date": "evening", "no_sun_event": "does not fire", "date_ranges": "with year"},
        {"clock": "standard", "summer_time": "none", "repeated_time": "twice"},
        {"assumed": (), "entry_order": (), "skipped_time": "lost", "location_entry": "city list"},
    ],
)
def test_every_property_of_a_controller_returns(change: dict[str, Any]) -> None:
    other = replace(SPECIAL_CONTROLLER, **change)
    assert returned(other) == other


def returned(other: Controller) -> Controller:
    program = Program(controller=other.name, events=())
    given = replace(WITH_SPECIAL_DAYS, controller=other)
    transfer = read(transfer_json(given, program, VERSIONS))
    assert transfer.program == program
    return transfer.controller


def test_other_blanks_and_another_order_do_no_harm() -> None:
    spread = json.dumps(dict(reversed(sample().items())), indent=2, ensure_ascii=True)
    assert read(spread.encode()) == read(SAMPLE)
    assert read(b"\xef\xbb\xbf" + SAMPLE + b"\r\n") == read(SAMPLE)


# What was changed


def changed_at(place: int, way: str, char: str) -> str:
    text = SAMPLE.decode()
    if way == "swapped":
        return text[:place] + text[place + 1 : place + 2] + text[place] + text[place + 2 :]
    return text[:place] + char + text[place + (way == "replaced") :]


@pytest.mark.parametrize(
    ("way", "chars"),
    [
        ("lost", [""]),
        ("replaced", ["0", "1", "9", "a", "e", "E", "-", ".", '"', ",", " ", "}", "\\", "é"]),
        ("added", ["7", "a", "-", '"', ",", "{", "]", "\\", "é"]),
        ("swapped", [""]),
    ],
)
def test_a_single_changed_sign_is_noticed(way: str, chars: list[str]) -> None:
    """At sampled places, and everywhere at the beginning and around a time.

    Only blanks between values and zeros at the end of decimals can be added without a change.
    """
    text = SAMPLE.decode()
    draw = random.Random(way)
    places = draw.sample(range(len(text) - 1), 400)
    times = [text.index('"time":"23:00"') + n for n in range(14)]
    for place in [*range(40), *times, *places]:
        changed = changed_at(place, "replaced" if way == "lost" else way, draw.choice(chars))
        if changed != text:
            assert refused(changed.encode()).code in ("E766", "E767", "E768")


def test_every_changed_bit_of_some_bytes_is_noticed() -> None:
    draw = random.Random(7)
    for _ in range(400):
        place, bit = draw.randrange(len(SAMPLE)), draw.randrange(8)
        data = bytearray(SAMPLE)
        data[place] ^= 1 << bit
        assert refused(bytes(data)).code in ("E766", "E767", "E768")


@pytest.mark.parametrize("share", [0.001, 0.2, 0.5, 0.9, 0.999])
def test_a_file_that_ends_too_early_is_noticed(share: float) -> None:
    finding = refused(SAMPLE[: int(len(SAMPLE) * share)])
    assert finding.code == "E766"
    assert finding.at is not None
    assert "lost in copying" in finding.why


def test_two_files_in_one_are_noticed() -> None:
    assert refused(SAMPLE + SAMPLE).code == "E766"


def test_a_changed_file_is_told_to_be_damaged() -> None:
    finding = refused(SAMPLE.replace(b'"time":"23:00"', b'"time":"23:30"'))
    assert finding.code == "E768"
    assert finding.title == "north/transfer.json is not as it was written."
    assert "checksum (sha256)" in finding.why
    assert "at other times than the sheet says" in finding.why


def test_a_program_code_of_another_program_is_told() -> None:
    finding = refused(canonical(seal({**sample(), "program_code": "7F3A-92C1"})))
    assert finding.code == "E768"
    assert "program code 7F3A-92C1" in finding.why


@pytest.mark.parametrize("name", ["sha256", "program_code", "unit_holds"])
def test_a_file_without_its_seal_is_noticed(name: str) -> None:
    document = sample()
    del document[name]
    assert refused(canonical(document)).code == "E768"


# What is no transfer file


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "It is empty."),
        (b" \n", "It is empty."),
        (b"\xef\xbb\xbf", "from line 1, column 1 on"),
        (b"schedcomp = 1\n", "from line 1, column 1 on"),
        (b'{"schedcomp_transfer": 2,\n  "sha256": oops}', "from line 2, column 13 on"),
        (b"PK\x03\x04\xff\xfe\x00", "byte number 5 belongs to no text"),
        ("schedcomp".encode("utf-16"), "byte number 1 belongs to no text"),
        (b"[]", "no schedcomp_transfer in it"),
        (b"null", "no schedcomp_transfer in it"),
        (b'"schedcomp_transfer"', "no schedcomp_transfer in it"),
        (b'{"name":"x"}', "no schedcomp_transfer in it"),
        (b'{"schedcomp_check":2}', "It is a check.json"),
        (b'{"schedcomp_transfer":NaN}', "It holds NaN for a number"),
        (b'{"schedcomp_transfer":2,"a":-Infinity}', "It holds -Infinity for a number"),
        (b'{"schedcomp_transfer":2,"a":1,"a":2}', "a stands twice in one record"),
        (b'{"a":' + b"9" * 5000 + b"}", "thousands of digits"),
        (b"[" * 200_000, "lists in lists, hundreds deep"),
        (b'{"a":' * 200_000, "lists in lists, hundreds deep"),
        (b"[" * 200_000 + b"]" * 200_000, "lists in lists, hundreds deep"),
        (
            b'{"schedcomp_transfer":2,"a":' + b"[" * 900 + b"]" * 900 + b"}",
            "lists in lists, hundreds deep",
        ),
        (b" " * (LARGEST_BYTES + 1), "larger than 8 MB"),
    ],
)
def test_what_is_no_transfer_file(data: bytes, told: str) -> None:
    finding = refused(data)
    assert finding.code == "E766"
    assert told in finding.why


@pytest.mark.parametrize(
    "text",
    [
        '{"schedcomp_transfer":2,"a":1e999}',
        '{"schedcomp_transfer":2,"a":12345678901234567890}',
        '{"schedcomp_transfer":2,"a":"\\ud800"}',
    ],
)
def test_values_that_no_file_of_ours_holds(text: str) -> None:
    finding = refused(text.encode())
    assert finding.code == "E768"
    assert "no transfer file can hold" in finding.why


@given(st.binary(max_size=60) | st.text(max_size=60).map(str.encode))
def test_any_bytes_are_answered(data: bytes) -> None:
    assert refused(data).code == "E766"


# Other versions


def test_an_earlier_version_is_told() -> None:
    finding = refused(canonical(seal({"schedcomp_transfer": 1, "unit_holds": {"events": []}})))
    assert finding.code == "E767"
    assert "version 1; this program reads version 3" in finding.title
    assert "An earlier schedcomp wrote it." in finding.why
    assert "damaged" not in finding.why


def test_a_later_version_is_told() -> None:
    finding = refused(canonical(seal({**sample(), "schedcomp_transfer": 4, "lamps": []})))
    assert finding.code == "E767"
    assert "A later schedcomp may have written it." in finding.why
    assert "damaged" not in finding.why
    assert "use the one that wrote it" in finding.fix


@pytest.mark.parametrize("version", [4, 2, "3", 3.5, True, None, [3], {}])
def test_a_changed_version_may_be_damage(version: Any) -> None:
    finding = refused(canonical({**sample(), "schedcomp_transfer": version}))
    assert finding.code == "E767"
    assert "it may just be damaged" in finding.why


# What a sealed file may not say


def in_form(finding: Diagnostic) -> str:
    """Where and what is wrong, without what is always told."""
    assert finding.code == "E769"
    return finding.why.partition(" The checksum is right")[0]


@pytest.mark.parametrize("fault", FAULTS)
def test_a_planted_fault_is_found(fault: str) -> None:
    told = in_form(refused(sealed(planted(FAULTS[fault]))))
    assert told.endswith(".")
    assert len(told) < 250


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (event(1, time="24:30"), "unit_holds, events, number 2, time: a clock time like 23:00"),
        (event(1, time="24:30"), 'not "24:30".'),
        (event(0, starts_at="moonrise"), '"clock", "sunrise" or "sunset" belongs here'),
        (event(0, channels=[5]), "a number from 1 to 4 belongs here, not 5."),
        (event(2, through="2027-12-01"), "unit_holds, events, number 3, through: it ends before"),
        (event(1, slot=7), "slots, number 2, slot: unit_holds, events, number 2, slot says 7."),
        (event(0, offset_minutes=9000), "a number from -720 to 720 belongs here, not 9000."),
        (special(0, plan="\t"), "exceptions, number 1, plan: the text holds a sign"),
        (special(0, slot=9), "exception_slots, number 1, slot: unit_holds, exceptions, number 1"),
        (lambda d: d["slots"].pop(), "slots: there are 5 here and 6 in unit_holds, events."),
        (lambda d: d["exception_slots"].pop(), "there are 2 here and 3 in unit_holds, exceptions."),
        (lambda d: d["site"].update(timezone="America/Phoenix"), "zone: site, timezone says"),
        (lambda d: d["site"].update(name="a\x1b[2J"), "site, name: the text holds a sign"),
        (lambda d: d["period"].update(last="2027-01-01"), "period, last: it ends before"),
        (lambda d: d["period"].update(end_utc="2027-01-01T00:00:00Z"), "end_utc: it ends before"),
        (lambda d: d["period"].update(end_utc="2027-02-30T00:00:00Z"), "end_utc: a time like"),
        (lambda d: d["certificate"].update(proven=False), "slots and bound say otherwise"),
        (lambda d: d["certificate"]["deviations"][0].update(circuit="Gate"), 'not "Gate".'),
        (lambda d: held(d)["clock"].update(keeps="standard"), "controller, clock says local."),
        (lambda d: d.update(period=[]), "period: a record belongs here, not []."),
        (lambda d: d.update(lamps=1), "At the top: lamps is not known here."),
        (controller(starts_clock=False), '"sunrise" or "sunset" belongs here, not "clock".'),
    ],
)
def test_a_fault_is_told_with_its_place(change: Change, told: str) -> None:
    finding = refused(sealed(planted(change)))
    assert told in in_form(finding)


def test_a_zone_that_is_not_known_is_told() -> None:
    def moved(document: dict[str, Any]) -> None:
        document["site"]["timezone"] = held(document)["clock"]["zone"] = "Mars/Olympus"

    told = in_form(refused(sealed(planted(moved))))
    assert told == "site, timezone: Mars/Olympus is no time zone that this program knows."


def paths_of(value: Any) -> list[tuple[Any, ...]]:
    """Every place in a document."""
    members = (
        list(value.items())
        if isinstance(value, dict)
        else list(enumerate(value))
        if isinstance(value, list)
        else []
    )
    return [(), *((key, *rest) for key, member in members for rest in paths_of(member))]


PATHS = [path for path in paths_of(sample()) if path and path[0] not in ("sha256", "program_code")]
VALUES: st.SearchStrategy[Any] = st.sampled_from(
    [
        *(None, True, False, 0, 1, 2, -1, 1.5, 60, 10**6, "", "a", "off", "A", "on", "clock"),
        *("sunset", "mon", "23:00", "24:00", "12-24", "2027-12-24", "2027-03-12T07:00:00Z"),
        *([], [1], ["mon"], {}),
    ]
)


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(PATHS), st.sampled_from(["set", "drop", "add"]), VALUES)
def test_nothing_is_taken_that_the_schema_refuses(path: Any, way: str, value: Any) -> None:
    """The reader may know better than the schema, never worse."""
    document = sample()
    *inner, last = path
    parent: Any = document
    for key in inner:
        parent = parent[key]
    if way == "drop":
        del parent[last]
    elif way == "set":
        parent[last] = value
    elif isinstance(parent, dict):
        parent["more"] = value
    else:
        parent.append(value)
    data = sealed(document)
    found, findings = read_transfer(data, "x")
    if list(JUDGE.iter_errors(json.loads(data))):
        assert found is None
    assert (found is None) == bool(findings)


# Files


def test_a_file_is_loaded(tmp_path: Path) -> None:
    path = tmp_path / "transfer.json"
    path.write_bytes(SAMPLE)
    assert load_transfer(path) == (read(SAMPLE), ())


@pytest.mark.parametrize(
    ("prepare", "code"),
    [
        (lambda path: path.with_name("other.json").write_bytes(SAMPLE), "E701"),
        (lambda path: path.mkdir(), "E702"),
        (lambda path: path.write_bytes(b" " * (LARGEST_BYTES + 2)), "E766"),
        (lambda path: path.write_bytes(SAMPLE[:-1]), "E766"),
    ],
)
def test_a_file_that_cannot_be_loaded(
    tmp_path: Path, prepare: Callable[[Path], object], code: str
) -> None:
    path = tmp_path / "transfer.json"
    prepare(path)
    found, findings = load_transfer(path)
    assert found is None
    assert [finding.code for finding in findings] == [code]


def test_a_certificate_that_is_not_proven_returns() -> None:
    certificate = Certificate(slots=5, bound=4, tolerance_minutes=3)
    fitted = replace(WITH_SPECIAL_DAYS.fitted, certificate=certificate)
    data = transfer_json(replace(WITH_SPECIAL_DAYS, fitted=fitted), SPECIAL_PROGRAM, VERSIONS)
    assert read(data).certificate == certificate
