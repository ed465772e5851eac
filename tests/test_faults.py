"""What goes wrong around a command: the machine dies, the disk fills, someone else is at work.

Sets of files in a folder and on a stick have `tests/test_files.py` and `tests/test_stick.py`; here
is what writes single files, and whole commands. `SCHEDCOMP_FAULTS=1` also kills real builds and
renewals at every step, and runs commands under many settings of the computer.
"""

from __future__ import annotations

import contextlib
import errno
import io
import os
import sys
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from unittest.mock import patch

import pytest

from schedcomp import cli
from schedcomp.answers import new as interview
from schedcomp.answers.answer import Answer
from schedcomp.answers.recover import recover
from schedcomp.output.disk import alone_in, replace_file, replace_together
from schedcomp.output.files import settle, write_set
from schedcomp.output.stick_folder import write_stick
from schedcomp.sheet.qr import site_texts
from tests.small_transfer import small_bytes
from tests.test_cli import DECEMBER, SITE, Result, run, run_outside
from tests.test_files import NEW, OLD, Killed, found_in
from tests.test_stick import NEW as NEW_STICK

LONG = pytest.mark.skipif(not os.environ.get("SCHEDCOMP_FAULTS"), reason="takes minutes")
STEPS = ("open", "write", "fsync", "mkdir", "replace", "rename", "unlink", "rmdir", "close")
TEXT = "schedcomp = 1\n# ten lamps at the gate\n" * 20


@contextlib.contextmanager
def stopped_at(
    number: int, error: Callable[[], BaseException], *, for_good: bool
) -> Iterator[None]:
    """The step of this number on files fails, and with `for_good` every one after it."""
    steps = count()

    def around(real: Callable[..., object]) -> Callable[..., object]:
        def call(*given: object, **named: object) -> object:
            step = next(steps)
            if step == number or (for_good and step > number):
                if real is close:
                    real(*given, **named)  # closed it is, whatever the answer
                raise error()
            return real(*given, **named)

        return call

    close: Callable[..., object] = os.close
    with contextlib.ExitStack() as patches:
        for step in STEPS:
            patches.enter_context(patch.object(os, step, around(getattr(os, step))))
        yield


def full() -> OSError:
    return OSError(errno.ENOSPC, "No space left on device")


def visible(folder: Path) -> dict[str, bytes]:
    return {n: content for n, content in found_in(folder).items() if not n.startswith(".")}


Act = Callable[[Path], object]
ACTS: dict[str, tuple[dict[str, bytes], Act, dict[str, bytes]]] = {
    "a picture": (
        {"curve.svg": b"old"},
        lambda folder: replace_file(folder / "curve.svg", b"new picture"),
        {"curve.svg": b"new picture"},
    ),
    "a site file and its controller": (
        {"lot.toml": b"old", "lot-unit.toml": b"old unit"},
        lambda folder: replace_together(
            {folder / "lot.toml": b"new", folder / "lot-unit.toml": b"new unit"}
        ),
        {"lot.toml": b"new", "lot-unit.toml": b"new unit"},
    ),
    "a recovered site file": (
        {},
        lambda folder: recover(list(site_texts(TEXT)), str(folder / "lot.toml")),
        {"lot.toml": TEXT.encode()},
    ),
}


def every_step(
    folder: Path, act: str, error: Callable[[], BaseException], *, for_good: bool
) -> Iterator[None]:
    """Do it again and again, stopped at the first step, the second, until nothing stops it."""
    before, action, after = ACTS[act]
    for number in count():
        for path in folder.iterdir():
            path.unlink()
        for name, content in before.items():
            (folder / name).write_bytes(content)
        try:
            with stopped_at(number, error, for_good=for_good):
                action(folder)
        except (Killed, OSError):
            pass
        else:
            if visible(folder) == after:
                assert number > 3
                return
        yield


@pytest.mark.parametrize("act", ACTS)
def test_a_kill_leaves_the_old_files_or_the_new_or_a_gap(tmp_path: Path, act: str) -> None:
    """Never files of both, and none half written; the site file is what is missing then."""
    before, action, after = ACTS[act]
    for _ in every_step(tmp_path, act, Killed, for_good=True):
        found = visible(tmp_path)
        assert found in (before, after) or "lot.toml" not in found
        assert all(content in (before.get(n), after.get(n)) for n, content in found.items())
        if before or not found:  # a recovered file is only ever a new one
            action(tmp_path)
        assert visible(tmp_path) == after


@pytest.mark.parametrize("act", ACTS)
def test_an_error_leaves_the_old_files_or_the_new_ones(tmp_path: Path, act: str) -> None:
    before, _, after = ACTS[act]
    for _ in every_step(tmp_path, act, full, for_good=False):
        assert visible(tmp_path) in (before, after)


def test_a_new_site_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    with (
        patch.object(interview, "build", return_value=Answer(exit_code=0)),
        patch.object(interview, "replace_together", side_effect=full()),
    ):
        given = ("name=Gate", "place=40.59 N, 105.08 W", "circuits=Gate lamps")
        request = interview.NewRequest(answers=given, out=str(tmp_path / "gate.toml"), usual=True)
        answer = interview.new(request, lambda _: None, 1796304600)
    assert answer.exit_code == 2
    assert "No space left" in answer.findings[0].title + answer.findings[0].why
    assert not list(tmp_path.iterdir())


def test_only_one_command_at_a_time_in_a_folder(tmp_path: Path) -> None:
    assert write_set(tmp_path, OLD) == ()
    with alone_in(tmp_path):
        assert [finding.code for finding in write_set(tmp_path, NEW)] == ["E710"]
        assert [finding.code for finding in write_stick(tmp_path, NEW_STICK)[1]] == ["E710"]
        assert found_in(tmp_path) == OLD
    assert write_set(tmp_path, NEW) == ()
    assert found_in(tmp_path) == NEW


# What is no file, and what leads elsewhere


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "lot.toml").write_text(SITE, encoding="utf-8")
    (tmp_path / "transfer.json").write_bytes(small_bytes())
    os.mkfifo(tmp_path / "pipe")
    os.mkfifo(tmp_path / "pipe.toml")
    (tmp_path / "zero.toml").symlink_to("/dev/zero")
    (tmp_path / "loop.toml").symlink_to("loop.toml")
    return tmp_path


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("night pipe.toml", "E709"),
        ("night zero.toml", "E709"),
        ("night loop.toml", "E703"),
        ("verify pipe", "E709"),
        ("compare pipe lot.toml", "E709"),
        ("copy pipe .", "E709"),
        ("renew lot.toml --from pipe", "E709"),
        ("check --transfer pipe", "E709"),
        ("check lot.toml --ordinance pipe.toml", "E709"),
        ("build lot.toml --controller pipe.toml", "E709"),
        ("ordinances zero.toml", "E709"),
        ("verify {long}", "E703"),
        ("copy transfer.json {long}", "E782"),
        ("hours lot.toml --since 2001-01-01 --until 2099-12-31", "E713"),
        ("night lot.toml 2099-12-31 --days 14", "E758"),
    ],
)
def test_what_never_ends_is_not_waited_for(folder: Path, line: str, code: str) -> None:
    result = run(folder, *line.format(long="x" * 300).split())
    assert result.code in (2, 3)
    assert code in result.err


@pytest.mark.parametrize("name", ["x" * 300, "a\0b", "pipe", "pipe/below", "/dev/null"])
def test_a_folder_that_cannot_be_is_refused(folder: Path, name: str) -> None:
    before = sorted(folder.iterdir())
    (finding,) = write_set(folder / name, NEW)
    assert finding.code in ("E730", "E735")
    assert sorted(folder.iterdir()) == before


def test_a_file_is_not_written_through_a_link_beside_it(tmp_path: Path) -> None:
    (tmp_path / "theirs").write_bytes(b"theirs")
    for name in ("x.svg.new", ".x.svg.schedcomp-new", "x.svg"):
        (tmp_path / name).symlink_to("theirs")
    replace_file(tmp_path / "x.svg", b"drawing")
    assert (tmp_path / "theirs").read_bytes() == b"theirs"
    assert (tmp_path / "x.svg").read_bytes() == b"drawing"


# Clock and streams


@pytest.mark.parametrize(("now", "code"), [("0", 2), ("4133980800", 2), ("9" * 5000, 0)])
def test_a_clock_that_is_wrong(folder: Path, now: str, code: int) -> None:
    """1970, the end of 2100, and nonsense, for which the computer's own clock is taken."""
    result = run(folder, "night", "lot.toml", SOURCE_DATE_EPOCH=now)
    assert result.code == code, result.err
    assert ("E758" in result.err) == bool(code)
    assert run(folder, "night", "lot.toml", "2027-12-03", SOURCE_DATE_EPOCH=now).code == 0


def explained(stream: object) -> tuple[int, str]:
    """Exit code and errors of a command that prints into a stream."""
    err = io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
    with (
        contextlib.redirect_stdout(stream),  # type: ignore[type-var]
        contextlib.redirect_stderr(err),
        patch.object(sys, "argv", ["schedcomp", "explain"]),
        pytest.raises(SystemExit) as stop,
    ):
        cli.main()
    err.seek(0)
    return int(stop.value.code or 0), err.read()


def test_an_output_that_is_full_gone_or_not_there() -> None:
    with Path("/dev/full").open("w", encoding="utf-8") as stream:
        code, told = explained(stream)
    assert code == 3
    assert "E712" in told
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "w", encoding="utf-8") as stream:
        assert explained(stream) == (0, "")
    assert explained(None) == (0, "")


# Whole commands, killed at every step


def forked(folder: Path, number: int, *line: str) -> int:
    """Exit code of a command in a process that ends at this step, 9 if it did."""
    child = os.fork()
    if child == 0:

        class Ends(BaseException):
            def __init__(self) -> None:
                os._exit(9)

        with stopped_at(number, Ends, for_good=True):
            os._exit(run(folder, *line).code)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


@LONG
@pytest.mark.parametrize("command", ["build", "renew"])
def test_whole_commands_are_killed_at_every_step(tmp_path: Path, command: str) -> None:
    """At every third step, each over an older set of other dates."""
    (tmp_path / "lot.toml").write_text(SITE, encoding="utf-8")
    november = "--from 2027-11-01 --through 2027-11-30"
    assert run(tmp_path, "build", "lot.toml", *november.split(), "--out", "old").code == 0
    lines = {
        "build": f"build lot.toml {DECEMBER} --out set",
        "renew": "renew lot.toml --from old/transfer.json --keyed 2027-11-30 "
        "--through 2027-12-31 --out set",
    }
    old = found_in(tmp_path / "old")
    target = tmp_path / "set"
    assert run(tmp_path, *lines[command].split()).code == 0
    new = found_in(target)
    seen = set()
    for number in count(0, 3):
        for path in target.iterdir():
            path.unlink()
        assert write_set(target, old) == ()
        code = forked(tmp_path, number, *lines[command].split())
        found = found_in(target)
        assert found.items() <= old.items() or found.items() <= new.items()
        settle(target)
        assert found_in(target) in (old, new)
        seen.add(found_in(target) == new)
        if code != 9:
            break
    assert seen == {False, True}


@LONG
def test_answers_under_many_settings_of_the_computer(tmp_path: Path) -> None:
    """Five orders of sets, zones, languages, encodings, terminals, and another current folder."""
    told: set[tuple[Result, ...]] = set()
    made = set()
    surroundings: list[dict[str, str]] = [
        {"PYTHONHASHSEED": "0", "TZ": "UTC"},
        {"PYTHONHASHSEED": "1", "TZ": "Pacific/Kiritimati", "LC_ALL": "C"},
        {"PYTHONHASHSEED": "2", "TZ": ":nonsense", "LANG": "xx_YY.nonsense"},
        {"PYTHONHASHSEED": "3", "TZ": "", "LC_ALL": "POSIX", "PYTHONUTF8": "0", "COLUMNS": "20"},
        {"PYTHONHASHSEED": "4711", "TZ": "America/St_Johns", "PYTHONUTF8": "1", "COLUMNS": "9999"},
        {"LC_ALL": "tr_TR.UTF-8", "PYTHONIOENCODING": "utf-8:strict", "TERM": "dumb"},
    ]
    for number, setting in enumerate(surroundings):
        here = tmp_path / f"some where {number}"
        here.mkdir()
        (here / "lot.toml").write_text(SITE, encoding="utf-8")
        answers = [
            run_outside(here, *line.split(), **setting)
            for line in (
                f"build lot.toml {DECEMBER} --out set",
                "night ./lot.toml",
                "why lot.toml 2027-12-03 17:30 --paper",
                "renew lot.toml --from set/transfer.json --keyed 2027-12-31 --out renewed",
                "verify set/transfer.json --site lot.toml",
            )
        ]
        assert [answer.code for answer in answers[:3]] == [0, 0, 0], answers
        told.add(tuple(answers))
        files = [*sorted((here / "set").iterdir()), *sorted((here / "renewed").iterdir())]
        made.add(tuple((path.name, path.read_bytes()) for path in files))
    assert len(told) == 1
    assert len(made) == 1
