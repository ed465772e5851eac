"""Copying a set to a stick: read back, refused, killed at every write, and the old set kept."""

from __future__ import annotations

import errno
import hashlib
import json
import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from schedcomp.answers import copy as answers
from schedcomp.answers.answer import BAD_FILES, CLEAN, USAGE, Answer
from schedcomp.output import stick_folder
from schedcomp.output.disk import read_back
from schedcomp.output.stick_folder import POINTER, REPLACED, named_set, write_stick
from schedcomp.output.stick_set import MANIFEST, StickSet, labels_text, read_me_text, stick_set
from schedcomp.program import ClockStart, Program
from schedcomp.records import replace
from schedcomp.site import Unit
from schedcomp.stickcheck import check_set
from tests.small_transfer import SMALL_PROGRAM, small, small_bytes

LATER = replace(
    SMALL_PROGRAM,
    events=(
        *SMALL_PROGRAM.events[:3],
        replace(SMALL_PROGRAM.events[3], start=ClockStart(22 * 60 + 30)),
    ),
)


def set_of(program: Program = SMALL_PROGRAM, units: tuple[Unit, ...] | None = None) -> StickSet:
    transfer = small(program)
    chosen = transfer.units if units is None else units
    return stick_set(transfer, small_bytes(program), {}, chosen, "2028-03-10")


OLD, NEW = set_of(), set_of(LATER)


def folder_of(tmp_path: Path) -> Path:
    """A folder with a build's transfer file in it."""
    folder = tmp_path / "build"
    folder.mkdir()
    (folder / "transfer.json").write_bytes(small_bytes())
    return folder


def stick_of(tmp_path: Path) -> Path:
    stick = tmp_path / "stick"
    stick.mkdir()
    return stick


def copied(folder: Path, stick: Path, *units: str) -> Answer:
    request = answers.CopyRequest(
        transfer=str(folder / "transfer.json"), folder=str(stick), units=units
    )
    return answers.copy(request)


def codes(answer: Answer) -> list[str]:
    return [finding.code for finding in answer.findings]


def set_in(stick: Path) -> dict[str, bytes]:
    """The set that the stick names."""
    name = named_set(stick)
    assert name is not None
    return {path.name: path.read_bytes() for path in (stick / name).iterdir()}


def everything_in(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


# What is on the stick


def test_a_set_is_copied_and_listed(tmp_path: Path) -> None:
    folder, stick = folder_of(tmp_path), stick_of(tmp_path)
    answer = copied(folder, stick)
    assert answer.exit_code == CLEAN, answer.findings
    found = set_in(stick)
    code = small().program_code
    assert named_set(stick) == code
    assert found["transfer.json"] == small_bytes()
    assert set(found) == {"transfer.json", "events.csv", "labels.txt", "read-me.txt", MANIFEST}
    manifest = json.loads(found[MANIFEST])
    assert manifest["program_code"] == code
    assert [unit["label"] for unit in manifest["units"]] == ["Panel A", "Panel B"]
    for listed in manifest["files"]:
        content = found[listed["name"]]
        assert listed["bytes"] == len(content)
        assert listed["sha256"] == hashlib.sha256(content).hexdigest()
    assert {f["name"] for f in manifest["files"]} == set(found) - {MANIFEST}
    assert answer.record["files"] == manifest["files"]
    assert answer.record["units_confirmed"] is False
    assert "not the units" in answer.text


def test_every_copy_is_the_same(tmp_path: Path) -> None:
    folder = folder_of(tmp_path)
    sticks = [tmp_path / "one", tmp_path / "two"]
    for stick in sticks:
        stick.mkdir()
        copied(folder, stick)
    assert everything_in(sticks[0]) == everything_in(sticks[1])


def test_a_label_for_each_unit_tells_no_times(tmp_path: Path) -> None:
    folder, stick = folder_of(tmp_path), stick_of(tmp_path)
    answer = copied(folder, stick, "Panel B")
    assert answer.record["units"] == ["Panel B"]
    labels = set_in(stick)["labels.txt"].decode()
    assert "Panel B" in labels
    assert "Panel A" not in labels
    assert "40.58 N, 111.61 W" in labels
    assert small().program_code in labels
    assert "OFF at the clock is\nnot isolation" in labels
    assert "23:00" not in labels


def test_a_label_without_units_has_blanks() -> None:
    alone = replace(small(), units=(), location_degrees=None)
    text = labels_text(alone, (), "")
    assert "Unit      ____" in text
    assert "GOOD UNTIL ____" in text
    assert "Location" not in text


def test_the_read_me_says_what_is_not_proven() -> None:
    text = " ".join(read_me_text(small(), small().units, ("transfer.json", "events.csv")).split())
    assert "This set proves files, not units." in text
    assert "not confirmed" in text
    assert "For Panel A and Panel B: 4 slots" in text


def test_labels_for_a_site_without_units_are_taken_as_given() -> None:
    alone = replace(small(), units=())
    units, findings = answers.chosen_units(alone, ["Gate", "Yard"])
    assert ([u.label for u in units], findings) == (["Gate", "Yard"], ())


@pytest.mark.parametrize(
    ("labels", "code", "told"),
    [
        (("Panel C",), "E780", "Panel A and Panel B"),
        (("",), "E781", "which unit is meant"),
        (("a\nb",), "E781", "printed on one line"),
        (("x" * 81,), "E781", "longer than 80"),
        (("Panel A", "Panel A"), "E781", "given twice"),
    ],
)
def test_labels_that_cannot_be(
    tmp_path: Path, labels: tuple[str, ...], code: str, told: str
) -> None:
    folder, stick = folder_of(tmp_path), stick_of(tmp_path)
    answer = copied(folder, stick, *labels)
    assert (answer.exit_code, codes(answer)) == (USAGE, [code])
    assert told in answer.findings[0].why
    assert not list(stick.iterdir())


def test_a_damaged_file_is_not_copied(tmp_path: Path) -> None:
    folder, stick = folder_of(tmp_path), stick_of(tmp_path)
    (folder / "transfer.json").write_bytes(small_bytes().replace(b"23:00", b"23:30"))
    answer = copied(folder, stick)
    assert (answer.exit_code, codes(answer)) == (BAD_FILES, ["E768"])
    assert not list(stick.iterdir())


# The sheet beside it


def test_the_sheet_of_this_program_is_copied(tmp_path: Path) -> None:
    folder, stick = folder_of(tmp_path), stick_of(tmp_path)
    (folder / "sheet.html").write_text(f"<p>{small().program_code}</p>")
    (folder / "sheet.pdf").write_bytes(b"%PDF")
    answer = copied(folder, stick)
    assert not answer.findings
    assert {"sheet.html", "sheet.pdf"} <= set(set_in(stick))
    assert "for a browser" in set_in(stick)["read-me.txt"].decode()


def test_the_sheet_of_another_program_is_left_out(tmp_path: Path) -> None:
    folder, stick = folder_of(tmp_path), stick_of(tmp_path)
    (folder / "sheet.html").write_text("<p>7F3A-92C1</p>")
    (folder / "sheet.pdf").write_bytes(b"%PDF")
    answer = copied(folder, stick)
    assert (answer.exit_code, codes(answer)) == (CLEAN, ["E789", "E789"])
    assert "sheet.html" not in set_in(stick)


def test_the_changes_of_a_renewal_are_copied(tmp_path: Path) -> None:
    folder, stick = folder_of(tmp_path), stick_of(tmp_path)
    (folder / "changes.csv").write_text("slot")
    assert codes(copied(folder, stick)) == ["E789"]
    assert "changes.csv" not in set_in(stick)
    (folder / "check.json").write_text(check_file(small().program_code, None))
    assert not copied(folder, stick).findings
    assert set_in(stick)["changes.csv"] == b"slot"
    assert "box to tick" in set_in(stick)["read-me.txt"].decode()


def check_file(code: str, last: Any) -> str:
    return json.dumps({"program": {"program_code": code}, "good_until": last})


def test_good_until_comes_from_the_check_beside(tmp_path: Path) -> None:
    folder, stick = folder_of(tmp_path), stick_of(tmp_path)
    check = check_file(small().program_code, {"last": "2028-03-10"})
    (folder / "check.json").write_text(check)
    (folder / "sheet.pdf").write_bytes(b"%PDF")
    assert not copied(folder, stick).findings
    assert "GOOD UNTIL Fri 10 Mar 2028" in set_in(stick)["labels.txt"].decode()


@pytest.mark.parametrize(
    "check",
    [
        check_file("7F3A-92C1", {"last": "2028-03-10"}),
        check_file(small().program_code, None),
        check_file(small().program_code, {"last": "soon"}),
        check_file(small().program_code, 7),
        "[]",
        "{",
        "",
    ],
)
def test_a_check_that_says_nothing_leaves_a_blank(tmp_path: Path, check: str) -> None:
    folder, stick = folder_of(tmp_path), stick_of(tmp_path)
    (folder / "check.json").write_text(check)
    assert copied(folder, stick).exit_code == CLEAN
    assert "GOOD UNTIL ____" in set_in(stick)["labels.txt"].decode()


# Older sets


def test_an_older_set_moves_to_replaced(tmp_path: Path) -> None:
    stick = stick_of(tmp_path)
    (stick / "notes.txt").write_text("mine")
    write_stick(stick, OLD)
    done, findings = write_stick(stick, NEW)
    assert findings == ()
    assert done is not None
    assert done.replaced == (f"{REPLACED}/{OLD.program_code}",)
    assert set_in(stick) == dict(NEW.files)
    old = {p.name: p.read_bytes() for p in (stick / REPLACED / OLD.program_code).iterdir()}
    assert old == dict(OLD.files)
    assert (stick / "notes.txt").read_text() == "mine"
    assert sorted(p.name for p in stick.iterdir()) == sorted(
        [NEW.program_code, "notes.txt", REPLACED, POINTER]
    )


def test_the_same_set_again_changes_nothing(tmp_path: Path) -> None:
    stick = stick_of(tmp_path)
    write_stick(stick, OLD)
    before = everything_in(stick)
    done, findings = write_stick(stick, OLD)
    assert (done, findings) == (stick_folder.Copied(name=OLD.program_code, was_there=True), ())
    assert everything_in(stick) == before


def test_the_same_program_for_another_unit_gets_a_name_of_its_own(tmp_path: Path) -> None:
    stick = stick_of(tmp_path)
    write_stick(stick, OLD)
    other = set_of(units=(Unit(label="Panel A"),))
    done, _ = write_stick(stick, other)
    assert done is not None
    assert done.name == f"{OLD.program_code}-2"
    assert set_in(stick) == dict(other.files)


def test_replaced_keeps_every_older_set(tmp_path: Path) -> None:
    stick = stick_of(tmp_path)
    for found in (OLD, NEW, OLD, NEW):
        write_stick(stick, found)
    names = sorted(p.name for p in (stick / REPLACED).iterdir())
    assert names == sorted([OLD.program_code, f"{OLD.program_code}-2", NEW.program_code])


# Targets that are refused


@pytest.mark.parametrize("kind", ["nothing", "a file"])
def test_a_target_that_is_no_folder(tmp_path: Path, kind: str) -> None:
    folder, target = folder_of(tmp_path), tmp_path / "stick"
    if kind == "a file":
        target.write_text("mine")
    answer = copied(folder, target)
    assert (answer.exit_code, codes(answer)) == (BAD_FILES, ["E782"])
    assert target.exists() == (kind == "a file")


@pytest.mark.parametrize("name", [POINTER, "use-this.new", "unfinished", REPLACED, "7F3A-92C1"])
def test_names_that_lead_away_are_refused(tmp_path: Path, name: str) -> None:
    stick, outside = stick_of(tmp_path), tmp_path / "outside"
    outside.mkdir()
    (outside / "transfer.json").write_text("mine")
    (stick / name).symlink_to(outside)
    done, findings = write_stick(stick, NEW)
    assert done is None
    assert [f.code for f in findings] == ["E785"]
    assert everything_in(outside) == {"transfer.json": b"mine"}
    assert [p.name for p in stick.iterdir()] == [name]


@pytest.mark.parametrize("text", ["folder: ../outside", "folder: /etc", "folder: C:\\", "x", ""])
def test_a_pointer_that_names_no_set_is_not_followed(tmp_path: Path, text: str) -> None:
    stick = stick_of(tmp_path)
    (stick / POINTER).write_text(text)
    assert named_set(stick) is None
    done, findings = write_stick(stick, NEW)
    assert findings == ()
    assert done is not None
    assert set_in(stick) == dict(NEW.files)


def test_a_full_stick_is_refused_before_anything_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stick = stick_of(tmp_path)
    write_stick(stick, OLD)
    before = everything_in(stick)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: type("Usage", (), {"free": 50_000}))
    done, findings = write_stick(stick, NEW)
    assert done is None
    assert [f.code for f in findings] == ["E783"]
    assert "50 kB are free" in findings[0].why
    assert everything_in(stick) == before


@pytest.mark.parametrize(
    ("number", "code"),
    [(errno.EROFS, "E784"), (errno.EACCES, "E784"), (errno.ENOSPC, "E783"), (errno.EIO, "E787")],
)
@pytest.mark.parametrize("step", ["mkdir", "write", "replace"])
def test_a_stick_that_takes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, number: int, code: str
) -> None:
    stick = stick_of(tmp_path)
    write_stick(stick, OLD)

    def refusing(*_: Any, **__: Any) -> Any:
        raise OSError(number, "refused by the stick")

    with monkeypatch.context() as patch:
        patch.setattr(os, step, refusing)
        done, findings = write_stick(stick, NEW)
    assert done is None
    assert [f.code for f in findings] == [code]
    assert set_in(stick) == dict(OLD.files)


def test_a_stick_that_gives_back_something_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stick = stick_of(tmp_path)
    write_stick(stick, OLD)

    def worn_out(path: Path) -> bytes:
        content = read_back(path)
        return content[:-1] + b"?" if "unfinished" in path.parts else content

    monkeypatch.setattr("schedcomp.output.stick_folder.read_back", worn_out)
    done, findings = write_stick(stick, NEW)
    assert done is None
    assert [f.code for f in findings] == ["E786"]
    assert set_in(stick) == dict(OLD.files)


def test_an_older_set_that_cannot_move_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stick = stick_of(tmp_path)
    write_stick(stick, OLD)
    real = os.rename

    def refusing(source: Path, target: Path) -> None:
        if REPLACED in Path(target).parts:
            raise OSError(errno.EACCES, "in use")
        real(source, target)

    with monkeypatch.context() as patch:
        patch.setattr(os, "rename", refusing)
        done, findings = write_stick(stick, NEW)
    assert done is not None
    assert [f.code for f in findings] == ["E788"]
    assert set_in(stick) == dict(NEW.files)
    done, findings = write_stick(stick, NEW)
    assert findings == ()
    assert done is not None
    assert done.replaced == (f"{REPLACED}/{OLD.program_code}",)


# Killed

STEPS = ("mkdir", "open", "write", "fsync", "rename", "replace", "unlink", "rmdir")


class Killed(BaseException):
    """The power went."""


class Power:
    """Counts what is asked of the disk, and after some of it does nothing at all any more.

    The last write before the end stores only half of what it was given.
    """

    def __init__(self, lasts: int) -> None:
        self.left = lasts
        self.gone = False

    def around(self, step: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def stepped(*args: Any, **named: Any) -> Any:
            if self.left == 0:
                if step == "write" and not self.gone:
                    real(args[0], bytes(args[1])[: len(args[1]) // 2])
                self.gone = True
                raise Killed
            self.left -= 1
            return real(*args, **named)

        return stepped


def killed_at_every_step(
    stick: Path, before: StickSet | None, monkeypatch: pytest.MonkeyPatch
) -> Iterator[int]:
    """Copy NEW over a set, and end it after each count of steps until all of them are done."""
    # Flushing is counted as a step and not waited for.
    monkeypatch.setattr(os, "fsync", lambda _: None)
    for lasts in range(200):
        for path in sorted(stick.rglob("*"), reverse=True):
            path.rmdir() if path.is_dir() else path.unlink()
        if before is not None:
            write_stick(stick, before)
        power = Power(lasts)
        with monkeypatch.context() as patch:
            for step in STEPS:
                patch.setattr(os, step, power.around(step, getattr(os, step)))
            with suppress(Killed):
                write_stick(stick, NEW)
        if not power.gone:
            return
        yield lasts
    raise AssertionError("it never ends")


def test_killed_at_any_step_the_stick_holds_the_old_set_or_the_new_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stick = stick_of(tmp_path)
    seen = []
    for _ in killed_at_every_step(stick, OLD, monkeypatch):
        found = set_in(stick)
        assert found in (dict(OLD.files), dict(NEW.files))
        checked, findings = check_set(stick)
        assert checked is not None, findings
        seen.append(found == dict(NEW.files))
        done, findings = write_stick(stick, NEW)
        assert findings == ()
        assert done is not None
        assert set_in(stick) == dict(NEW.files)
        kept = [p for p in (stick / REPLACED).iterdir() if p.name.startswith(OLD.program_code)]
        assert [{f.name: f.read_bytes() for f in p.iterdir()} for p in kept] == [dict(OLD.files)]
        assert not (stick / "unfinished").exists()
    assert seen == sorted(seen)
    assert {*seen} == {False, True}
    assert len(seen) > 25


def test_killed_on_an_empty_stick_it_names_no_set_or_the_new_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stick = stick_of(tmp_path)
    for _ in killed_at_every_step(stick, None, monkeypatch):
        if named_set(stick) is not None:
            assert set_in(stick) == dict(NEW.files)
        done, findings = write_stick(stick, NEW)
        assert (done is not None, findings) == (True, ())
