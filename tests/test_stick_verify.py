"""Verifying transfer files and sticks: every bit, every file of a set, limits, and the site."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from schedcomp.answers import build as building
from schedcomp.answers import copy as copying
from schedcomp.answers import verify as answers
from schedcomp.answers.answer import BAD_FILES, CLEAN, FINDINGS
from schedcomp.controller import ExceptionSlots
from schedcomp.controllerfile import load_controller
from schedcomp.diag import Source, render
from schedcomp.output.stick_folder import POINTER, write_stick
from schedcomp.output.stick_set import stick_set
from schedcomp.output.transfer import seal, transfer_json
from schedcomp.pipeline import compile as compile_site
from schedcomp.program import PLAIN_DARK, ClockStart, EventDates, SpecialDays, SunOffset
from schedcomp.records import replace
from schedcomp.sitefile import site_from_source
from schedcomp.stickcheck import check_set
from schedcomp.transferfile import read_transfer
from schedcomp.transferlimits import contradictions, never_off
from tests.made_up import PERIOD, VERSIONS
from tests.small_transfer import (
    SMALL_CONTROLLER,
    SMALL_PROGRAM,
    small,
    small_bytes,
    tiny_bytes,
)
from tests.transfer_faults import sealed

EVENT = SMALL_PROGRAM.events[0]
CODE = small().program_code.encode()


# Bits


TINY = tiny_bytes()


def test_the_file_whose_bits_are_changed_is_sound() -> None:
    assert read_transfer(TINY, "x")[0] is not None


@pytest.mark.parametrize("bit", range(8))
def test_every_changed_bit_is_found(bit: int) -> None:
    """Of a whole small file, each bit by itself."""
    for place in range(len(TINY)):
        changed = bytearray(TINY)
        changed[place] ^= 1 << bit
        transfer, findings = read_transfer(bytes(changed), "x")
        assert transfer is None, (place, bit)
        assert findings


# Meaning


def test_a_sound_program_has_no_contradictions() -> None:
    assert contradictions(small()) == ()


def with_event(**change: Any) -> Any:
    return replace(SMALL_PROGRAM, events=(replace(EVENT, **change), *SMALL_PROGRAM.events[1:]))


def special(days: SpecialDays) -> Any:
    return replace(SMALL_PROGRAM, special_days=(days,))


CHRISTMAS = EventDates((12, 24), (12, 26))
WITH_YEAR = EventDates((12, 24), (12, 26), (2027, 2027))
HOLIDAY = SpecialDays(slot=1, channels=(1,), dates=CHRISTMAS, plan="A")


@pytest.mark.parametrize(
    ("program", "controller", "told"),
    [
        (SMALL_PROGRAM, {"event_slots": 3}, "There is no slot 4; the last is 3."),
        (SMALL_PROGRAM, {"event_slots": 3}, "It needs 4 slots, and there are 3."),
        (with_event(slot=2), {}, "Slot 2 holds 2 actions, and has room for 1."),
        (
            replace(SMALL_PROGRAM, events=tuple(replace(e, slot=1) for e in SMALL_PROGRAM.events)),
            {"slot_holds": "an on and an off"},
            "Slot 1 holds 4 actions, and has room for 2.",
        ),
        (
            SMALL_PROGRAM,
            {"slots_are": "per channel", "event_slots": 1},
            "It needs 2 slots on channel 1, and there are 1.",
        ),
        (with_event(start=ClockStart(17)), {"step_minutes": 15}, "starts at 00:17"),
        (with_event(start=SunOffset("sunset", 121)), {}, "121 min from sunset, and the limit"),
        (with_event(), {"offset_step_minutes": 10}, "offsets go in steps of 10 min"),
        (
            with_event(weekdays=frozenset({0, 1})),
            {"weekday_sets": (frozenset({5, 6}),)},
            "Slot 1 fires on mon tue, a choice that the unit does not offer.",
        ),
        (with_event(dates=CHRISTMAS), {"date_ranges": "none"}, "the unit stores none"),
        (with_event(dates=CHRISTMAS), {"date_ranges": "with year"}, "without their year"),
        (with_event(dates=WITH_YEAR), {}, "with their year"),
        (
            with_event(dates=EventDates((12, 24), (1, 2))),
            {"date_ranges": "yearly no wrap"},
            "goes on past the end of the year",
        ),
        (with_event(channels=(1, 2)), {}, "Slot 1 switches several channels"),
        (special(HOLIDAY), {}, "It needs 1 slots for special days, and there are 0."),
        (
            special(HOLIDAY),
            {"exceptions": ExceptionSlots(slots=4, plan=PLAIN_DARK)},
            "Special days 1 follow plan A",
        ),
    ],
)
def test_what_the_controller_cannot_do_is_told(
    program: Any, controller: dict[str, Any], told: str
) -> None:
    found = contradictions(small(program, replace(SMALL_CONTROLLER, **controller)))
    assert any(told in one for one in found), found


def test_lamps_without_an_off_are_told() -> None:
    """As a polar night asks for: semantics let a period end while lamps are lit."""
    burning = small(replace(SMALL_PROGRAM, events=SMALL_PROGRAM.events[:3]))
    assert contradictions(burning) == ()
    assert never_off(burning) == ("Sign",)
    assert never_off(small()) == ()


def test_what_a_polar_night_asks_for_is_in_order(tmp_path: Path) -> None:
    """Lit at every hour of the period: what `build` writes, `verify` takes, and says so."""
    site = str(Path(__file__).parents[1] / "sample_sites" / "tromso_quay.toml")
    request = building.BuildRequest(
        site=site, first="2027-12-20", through="2027-12-22", out=str(tmp_path)
    )
    assert building.build(request, now=1796304600).exit_code == CLEAN
    answer = answers.verify(str(tmp_path / "transfer.json"), site)
    assert answer.exit_code == CLEAN, render(answer.findings)
    assert answer.record["never_off"] == ["Quay masts"]
    assert "Quay masts has an ON and never an OFF" in answer.text


def test_lamps_that_only_go_off_are_in_order() -> None:
    """Lit when the period begins, dark from its first morning on."""
    only_off = small(replace(SMALL_PROGRAM, events=SMALL_PROGRAM.events[1:]))
    assert contradictions(only_off) == never_off(only_off) == ()


def test_an_off_of_special_days_ends_the_light() -> None:
    dark = replace(HOLIDAY, plan=PLAIN_DARK)
    program = replace(special(dark), events=SMALL_PROGRAM.events[:1])
    unit = replace(SMALL_CONTROLLER, exceptions=ExceptionSlots(slots=4))
    assert never_off(small(program, unit)) == ()


def test_slots_of_channels_count_apart() -> None:
    numbered = tuple(
        replace(e, slot=n) for e, n in zip(SMALL_PROGRAM.events, (1, 2, 1, 2), strict=True)
    )
    program = replace(SMALL_PROGRAM, events=numbered)
    unit = replace(SMALL_CONTROLLER, slots_are="per channel", event_slots=2)
    assert contradictions(small(program, unit)) == ()


def altered(**members: Any) -> bytes:
    document = json.loads(small_bytes())
    for name, value in members.items():
        document[name] = value
    return sealed(document)


def test_a_clock_whose_law_changed_is_told(tmp_path: Path) -> None:
    path = tmp_path / "transfer.json"
    path.write_bytes(altered(clock_changes=[]))
    answer = answers.verify(str(path), None)
    assert answer.exit_code == BAD_FILES
    assert [f.code for f in answer.findings] == ["E791"]
    assert "changes at other times than it says" in answer.findings[0].why


def test_another_midnight_is_told() -> None:
    period = {**json.loads(small_bytes())["period"], "start_utc": "2027-03-12T06:00:00Z"}
    transfer, findings = read_transfer(altered(period=period), "x")
    assert transfer is not None, findings
    assert contradictions(transfer) == (
        "Its period does not begin or end at 00:00 of America/Denver, as clocks are known here.",
    )


# Files


def test_a_sound_file_is_verified(tmp_path: Path) -> None:
    path = tmp_path / "transfer.json"
    path.write_bytes(small_bytes())
    answer = answers.verify(str(path), None)
    assert (answer.exit_code, answer.findings) == (CLEAN, ())
    assert small().program_code in answer.text
    assert answer.record["program_code"] == small().program_code
    assert answer.record["site_file"] is None


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (small_bytes()[:-9], "E766"),
        (json.dumps(seal({**json.loads(small_bytes()), "schedcomp_transfer": 9})).encode(), "E767"),
        (small_bytes().replace(b"23:00", b"23:01"), "E768"),
        (altered(period=[]), "E769"),
    ],
)
def test_what_is_no_sound_file(tmp_path: Path, data: bytes, code: str) -> None:
    path = tmp_path / "transfer.json"
    path.write_bytes(data)
    answer = answers.verify(str(path), None)
    assert (answer.exit_code, [f.code for f in answer.findings]) == (BAD_FILES, [code])


# Sticks


def stick_with_set(tmp_path: Path) -> tuple[Path, Path]:
    """A stick, and the folder of the set on it."""
    stick = tmp_path / "stick"
    stick.mkdir()
    transfer = small()
    write_stick(stick, stick_set(transfer, small_bytes(), {}, transfer.units, ""))
    return stick, stick / transfer.program_code


def test_a_stick_is_verified(tmp_path: Path) -> None:
    stick, folder = stick_with_set(tmp_path)
    answer = answers.verify(str(stick), None)
    assert (answer.exit_code, answer.findings) == (CLEAN, ())
    assert answer.record["folder"] == folder.name
    assert answer.record["units"] == ["Panel A", "Panel B"]
    assert "Panel A and Panel B" in " ".join(answer.text.split())


def damage(name: str, change: Any) -> Any:
    def done(stick: Path, folder: Path) -> None:
        place = stick / name if name == POINTER else folder / name
        if change is None:
            place.unlink()
        else:
            place.write_bytes(change(place.read_bytes() if place.exists() else b""))

    return done


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (damage(POINTER, None), "no file use-this.txt"),
        (damage(POINTER, lambda _: b"folder: ../other\n"), "does not name a set"),
        (damage(POINTER, lambda _: b"folder: 7F3A-92C1\n"), "7F3A-92C1 that use-this.txt names"),
        (damage("manifest.json", None), "manifest.json is missing or damaged"),
        (damage("manifest.json", lambda _: b"[]"), "manifest.json is missing or damaged"),
        (damage("manifest.json", lambda d: d.replace(b"stick", b"stack")), "missing or damaged"),
        (damage("manifest.json", lambda d: d.replace(b"labels", b"../lab")), "missing or damaged"),
        (damage("manifest.json", lambda d: d.replace(b": 1,", b": 2,", 1)), "missing or damaged"),
        (damage("labels.txt", None), "labels.txt is missing."),
        (damage("events.csv", lambda d: d + b" "), "events.csv is not the file that was copied"),
        (damage("transfer.json", lambda d: d[:-1] + b"]"), "transfer.json is not the file"),
        (damage("sheet.html", lambda _: b"x"), "sheet.html is not in its list."),
        (
            damage(
                "manifest.json", lambda d: d.replace(small().program_code.encode(), b"7F3A-0000")
            ),
            "Its list says program 7F3A-0000, and its transfer file holds",
        ),
    ],
)
def test_a_set_that_is_not_whole(tmp_path: Path, change: Any, told: str) -> None:
    stick, folder = stick_with_set(tmp_path)
    change(stick, folder)
    answer = answers.verify(str(stick), None)
    assert answer.exit_code == BAD_FILES
    assert {f.code for f in answer.findings} == {"E790"}
    assert any(told in f.why for f in answer.findings), answer.findings


def test_the_folder_of_a_build_stands_for_its_program(tmp_path: Path) -> None:
    (tmp_path / "transfer.json").write_bytes(small_bytes())
    answer = answers.verify(str(tmp_path), None)
    assert (answer.exit_code, answer.findings) == (CLEAN, ())
    assert "Form, checksum, program code and meaning are in order." in answer.text


def test_the_folder_of_the_set_in_use_stands_for_its_stick(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, folder = stick_with_set(tmp_path)
    monkeypatch.chdir(folder)
    for named in (folder, Path(), Path("..")):
        checked, findings = check_set(named)
        assert checked is not None, findings
        assert checked.name == folder.name
    (folder / "events.csv").write_text("x")
    assert "events.csv is not the file" in render(check_set(folder)[1])


def test_the_folder_of_a_set_without_its_list_is_no_build(tmp_path: Path) -> None:
    _, folder = stick_with_set(tmp_path)
    (folder / "manifest.json").unlink()
    answer = answers.verify(str(folder), None)
    assert answer.exit_code == BAD_FILES
    assert [f.code for f in answer.findings] == ["E790"]


def test_everything_wrong_with_a_set_is_told_at_once(tmp_path: Path) -> None:
    stick, folder = stick_with_set(tmp_path)
    (folder / "labels.txt").unlink()
    (folder / "events.csv").write_text("x")
    _, findings = check_set(stick)
    assert len(findings) == 2


# Against the site file

SITE = """\
schedcomp = 1
[site]
name = "Sample lot"
latitude = 40.5853
longitude = -105.0844
timezone = "America/Denver"
controller = "sun-yearly-64"
[day_types]
usual = ["on from dusk until 23:00"]
[[circuit]]
name = "Lot poles"
channel = 1
calendar = ["every day: usual"]
"""


@pytest.fixture(scope="module")
def compiled() -> Any:
    site, _ = site_from_source(Source("site.toml", SITE))
    unit, _ = load_controller("sun-yearly-64")
    assert site is not None
    assert unit is not None
    found, findings = compile_site(site, PERIOD, unit)
    assert found is not None, findings
    assert found.may_write_program
    return found


def verified(tmp_path: Path, data: bytes, site: str) -> Any:
    (tmp_path / "transfer.json").write_bytes(data)
    (tmp_path / "site.toml").write_text(site)
    return answers.verify(str(tmp_path / "transfer.json"), str(tmp_path / "site.toml"))


def test_the_site_compiles_to_the_same_program(tmp_path: Path, compiled: Any) -> None:
    data = transfer_json(compiled, compiled.fitted.program, VERSIONS)
    answer = verified(tmp_path, data, SITE)
    assert (answer.exit_code, answer.findings) == (CLEAN, ())
    assert answer.record["site_file"]["verdict"] == "same program"


def test_a_site_that_was_changed_since_is_told(tmp_path: Path, compiled: Any) -> None:
    data = transfer_json(compiled, compiled.fitted.program, VERSIONS)
    answer = verified(tmp_path, data, SITE.replace("23:00", "22:00"))
    assert (answer.exit_code, [f.code for f in answer.findings]) == (FINDINGS, ["E792"])
    assert "for the first time on Fri 12 Mar 2027" in answer.findings[0].why
    assert "--from 2027-03-12 --through 2027-03-15" in answer.findings[0].fix


def test_another_controller_is_told(tmp_path: Path, compiled: Any) -> None:
    data = transfer_json(compiled, compiled.fitted.program, VERSIONS)
    other = SITE.replace("sun-yearly-64", "sun-yearly-32").replace("23:00", "22:00")
    answer = verified(tmp_path, data, other)
    assert [f.code for f in answer.findings] == ["E792"]
    assert "The controllers differ: sun-yearly-64 in the file and sun-yearly-32" in (
        answer.findings[0].why
    )


def test_other_slots_for_the_same_light_are_a_caution(tmp_path: Path, compiled: Any) -> None:
    program = compiled.fitted.program
    last = max(event.slot for event in program.events)
    moved = tuple(replace(event, slot=last + 1 - event.slot) for event in program.events)
    data = transfer_json(compiled, replace(program, events=moved[::-1]), VERSIONS)
    answer = verified(tmp_path, data, SITE)
    assert (answer.exit_code, [f.code for f in answer.findings]) == (CLEAN, ["E793"])


@pytest.mark.parametrize(
    "site",
    [
        SITE.replace('controller = "sun-yearly-64"\n', ""),
        SITE.replace("channel = 1", "channel = 9"),
        SITE.replace("sun-yearly-64", "no-such"),
        "schedcomp = 1\n",
    ],
    ids=["no controller", "no such channel", "no such controller", "no site"],
)
def test_a_site_that_cannot_be_used(tmp_path: Path, site: str) -> None:
    answer = verified(tmp_path, small_bytes(), site)
    assert answer.exit_code == BAD_FILES
    assert answer.findings


def test_copy_and_verify_take_the_same_file(tmp_path: Path) -> None:
    (tmp_path / "transfer.json").write_bytes(small_bytes())
    stick = tmp_path / "stick"
    stick.mkdir()
    copying.copy(copying.CopyRequest(transfer=str(tmp_path / "transfer.json"), folder=str(stick)))
    assert answers.verify(str(stick), None).exit_code == CLEAN
