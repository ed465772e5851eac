"""A set of files is replaced as a whole or not at all."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from schedcomp.diag import Diagnostic, Severity, render
from schedcomp.output.files import settle, write_set

OLD = {"table.csv": b"old table", "events.csv": b"old events", "transfer.json": b"old transfer"}
NEW = {"table.csv": b"new table", "check.json": b"new check", "sheet.html": b"new sheet"}
os_close: Callable[..., object] = os.close
STEPS = ("open", "write", "fsync", "mkdir", "replace", "unlink", "rmdir", "close")


class Killed(BaseException):
    """Stands for the end of the process: no clean-up of ours may run on it."""


class Fault:
    """Lets a number of calls of one os function pass, then fails once or for good."""

    def __init__(self, passes: int, error: BaseException, for_good: bool) -> None:
        self.left = passes
        self.error = error
        self.for_good = for_good
        self.struck = False

    def around(self, real: Callable[..., object]) -> Callable[..., object]:
        def call(*given: object, **named: object) -> object:
            if self.left == 0 and (self.for_good or not self.struck):
                self.struck = True
                if real is os_close:
                    real(*given, **named)  # closed it is, whatever the answer
                raise self.error
            self.left = max(0, self.left - 1)
            return real(*given, **named)

        return call


def folder_with_old_set(tmp_path: Path) -> Path:
    folder = tmp_path / "program"
    assert write_set(folder, OLD) == ()
    (folder / "notes.txt").write_bytes(b"mine")
    return folder


def found_in(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def helpers_in(folder: Path) -> list[str]:
    return [path.name for path in folder.iterdir() if path.is_dir()]


MINE = {"notes.txt": b"mine"}


def test_a_set_is_written_into_a_folder_made_for_it(tmp_path: Path) -> None:
    folder = tmp_path / "a" / "b"
    assert write_set(folder, NEW) == ()
    assert found_in(folder) == NEW
    assert helpers_in(folder) == []


def test_a_new_set_replaces_the_old_one_and_other_files_stay(tmp_path: Path) -> None:
    """events.csv of the old set is gone when the new one has none."""
    folder = folder_with_old_set(tmp_path)
    assert write_set(folder, NEW) == ()
    assert found_in(folder) == NEW | MINE
    assert helpers_in(folder) == []


def test_files_have_the_usual_rights(tmp_path: Path) -> None:
    folder = tmp_path / "program"
    before = os.umask(0o022)
    try:
        write_set(folder, NEW)
    finally:
        os.umask(before)
    assert {path.stat().st_mode & 0o777 for path in folder.iterdir()} == {0o644}


def test_a_name_outside_the_set_is_our_fault(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="names of a set"):
        write_set(tmp_path, {"../table.csv": b""})


def every_fault(
    folder: Path, monkeypatch: pytest.MonkeyPatch, error: Callable[[], BaseException], good: bool
) -> Iterator[tuple[str, int, tuple[Diagnostic, ...] | None]]:
    """Write NEW over OLD with a fault at each call of each os function in turn."""
    for step in STEPS:
        for passes in range(100):
            for name in (*OLD, *NEW):
                (folder / name).unlink(missing_ok=True)
            assert write_set(folder, OLD) == ()
            fault = Fault(passes, error(), good)
            with monkeypatch.context() as patch:
                patch.setattr(os, step, fault.around(getattr(os, step)))
                try:
                    answer: tuple[Diagnostic, ...] | None = write_set(folder, NEW)
                except Killed:
                    answer = None
            if not fault.struck:
                break
            yield step, passes, answer


def test_an_error_at_any_step_leaves_the_old_set_or_the_new_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A problem in the answer: the old set. None: the new one. Left-overs: a caution."""
    folder = folder_with_old_set(tmp_path)
    seen = set()

    def refusal() -> OSError:
        return OSError(errno.EIO, "the disk does not answer")

    for step, _, answer in every_fault(folder, monkeypatch, refusal, good=False):
        assert answer is not None
        problems = [d for d in answer if d.severity is Severity.PROBLEM]
        expected = OLD if problems else NEW
        assert found_in(folder) == expected | MINE
        if not answer or problems:
            assert step == "close" or helpers_in(folder) == []
        seen.add((step, answer[0].code if answer else ""))
        settle(folder)
        assert found_in(folder) == expected | MINE
        assert helpers_in(folder) == []
    assert {"write", "fsync", "mkdir", "replace"} <= {s for s, code in seen if code == "E735"}
    assert {"unlink", "rmdir"} <= {s for s, code in seen if code == "E736"}


def test_a_disk_that_stays_dead_never_mixes_old_and_new(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The undoing fails as well: the answer says so, and the next build puts it right."""
    folder = folder_with_old_set(tmp_path)
    codes = set()

    def refusal() -> OSError:
        return OSError(errno.EIO, "the disk does not answer")

    for step, _, answer in every_fault(folder, monkeypatch, refusal, good=True):
        assert answer is not None
        if not answer:
            assert step == "close"  # of the folder, when all was done
            assert found_in(folder) == NEW | MINE
            continue
        found = found_in(folder).items()
        assert found <= (OLD | MINE).items() or found <= (NEW | MINE).items()
        if answer[0].code not in ("E736", "E737"):
            assert found == (OLD | MINE).items()
        codes.add(answer[0].code)
        settle(folder)
        assert found_in(folder) in (OLD | MINE, NEW | MINE)
        assert helpers_in(folder) == []
    assert {"E735", "E736", "E737"} <= codes


def test_a_kill_at_any_step_leaves_one_set_whole_after_settling(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = folder_with_old_set(tmp_path)
    outcomes = set()
    for _, _, answer in every_fault(folder, monkeypatch, Killed, good=True):
        assert answer is None
        found = found_in(folder).items()
        assert found <= (OLD | MINE).items() or found <= (NEW | MINE).items()
        if found not in ((OLD | MINE).items(), (NEW | MINE).items()):
            assert helpers_in(folder), "an incomplete set must be recognisable"
        settle(folder)
        assert found_in(folder) in (OLD | MINE, NEW | MINE)
        assert helpers_in(folder) == []
        outcomes.add("table.csv" in found_in(folder) and found_in(folder)["table.csv"])
    assert outcomes == {b"old table", b"new table"}


def test_a_kill_while_settling_is_settled_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for first in range(12):
        for second in range(12):
            folder = tmp_path / f"{first}-{second}"
            write_set(folder, OLD)
            for passes, action in ((first, lambda f: write_set(f, NEW)), (second, settle)):
                fault = Fault(passes, Killed(), for_good=True)
                with monkeypatch.context() as patch:
                    patch.setattr(os, "replace", fault.around(os.replace))
                    try:
                        action(folder)
                    except Killed:
                        assert fault.struck
            settle(folder)
            assert found_in(folder) in (OLD, NEW)
            assert helpers_in(folder) == []


def test_a_process_that_really_ends_half_way(tmp_path: Path) -> None:
    """os._exit in the middle of the renames, as a power cut would."""
    folder = tmp_path / "program"
    write_set(folder, OLD)
    program = f"""
import os
from pathlib import Path
from schedcomp.output.files import write_set
real, calls = os.replace, []
def replace(a, b):
    calls.append(a)
    if len(calls) == 5:
        os._exit(9)
    real(a, b)
os.replace = replace
write_set(Path({str(folder)!r}), {NEW!r})
"""
    ended = subprocess.run([sys.executable, "-c", program], check=False, timeout=60)
    assert ended.returncode == 9
    assert helpers_in(folder)
    assert write_set(folder, OLD) == ()
    assert found_in(folder) == OLD
    assert helpers_in(folder) == []


def test_a_full_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = folder_with_old_set(tmp_path)
    room = [20]

    def write(_: int, content: memoryview) -> int:
        if not room[0]:
            raise OSError(errno.ENOSPC, "No space left on device")
        taken = min(room[0], len(content))
        room[0] -= taken
        return taken

    with monkeypatch.context() as patch:
        patch.setattr(os, "write", write)
        answer = write_set(folder, NEW)
    assert [d.code for d in answer] == ["E733"]
    assert found_in(folder) == OLD | MINE
    assert helpers_in(folder) == []


def test_a_short_write_is_continued(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = os.write
    with monkeypatch.context() as patch:
        patch.setattr(os, "write", lambda handle, content: real(handle, content[:3]))
        assert write_set(tmp_path, NEW) == ()
    assert found_in(tmp_path) == NEW


@pytest.mark.parametrize("number", [errno.EACCES, errno.EROFS, errno.EPERM])
def test_a_protected_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int) -> None:
    folder = folder_with_old_set(tmp_path)

    def mkdir(*_: object, **__: object) -> None:
        raise OSError(number, "refused")

    with monkeypatch.context() as patch:
        patch.setattr(os, "mkdir", mkdir)
        answer = write_set(folder, NEW)
    assert [d.code for d in answer] == ["E732"]
    assert found_in(folder) == OLD | MINE


def test_a_file_held_open_by_another_program(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Some systems refuse to move a file that a spreadsheet has open."""
    folder = folder_with_old_set(tmp_path)
    real = os.replace

    def replace(source: Path, target: Path) -> None:
        if source == folder / "transfer.json":
            raise PermissionError(errno.EACCES, "in use")
        real(source, target)

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", replace)
        answer = write_set(folder, NEW)
    assert [d.code for d in answer] == ["E734"]
    assert found_in(folder) == OLD | MINE
    assert helpers_in(folder) == []


def test_a_target_that_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "here").write_bytes(b"mine")
    for target in (tmp_path / "here", tmp_path / "here" / "below"):
        assert [d.code for d in write_set(target, NEW)] == ["E730"]
    assert found_in(tmp_path) == {"here": b"mine"}


@pytest.mark.parametrize("name", ["table.csv", "sheet.pdf", ".schedcomp-old"])
def test_a_link_in_place_of_a_file_is_not_written_through(tmp_path: Path, name: str) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "table.csv").write_bytes(b"theirs")
    folder = tmp_path / "program"
    folder.mkdir()
    is_file = name.startswith("t")
    (folder / name).symlink_to(elsewhere / "table.csv" if is_file else elsewhere)
    answer = write_set(folder, NEW)
    assert [d.code for d in answer] == ["E731"]
    assert name in answer[0].title
    assert found_in(elsewhere) == {"table.csv": b"theirs"}
    assert (folder / name).is_symlink()


def test_a_folder_in_place_of_a_file(tmp_path: Path) -> None:
    (tmp_path / "check.json").mkdir()
    assert [d.code for d in write_set(tmp_path, NEW)] == ["E731"]
    assert found_in(tmp_path) == {}


def test_folders_made_for_nothing_are_taken_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fsync(_: int) -> None:
        raise OSError(errno.ENOSPC, "full")

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", fsync)
        assert write_set(tmp_path / "a" / "b", NEW)
    assert list(tmp_path.iterdir()) == []


def test_files_of_others_in_our_own_folders_are_not_removed(tmp_path: Path) -> None:
    write_set(tmp_path, OLD)
    (tmp_path / ".schedcomp-old").mkdir()
    (tmp_path / ".schedcomp-old" / "theirs.txt").write_bytes(b"theirs")
    answer = write_set(tmp_path, NEW)
    assert [d.code for d in answer] == ["E735"]
    assert (tmp_path / ".schedcomp-old" / "theirs.txt").read_bytes() == b"theirs"
    assert found_in(tmp_path) == OLD


def test_findings_fit_the_page(tmp_path: Path) -> None:
    (tmp_path / "here").write_bytes(b"")
    text = render(write_set(tmp_path / "here", NEW))
    (tmp_path / "two words").write_bytes(b"")
    assert '--out "two words-new"' in render(write_set(tmp_path / "two words", NEW))
    assert "--out here-new" in text
    assert "Nothing was written" in text
