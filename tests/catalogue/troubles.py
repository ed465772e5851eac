"""What can happen to the computer, or to us, while an example runs."""

from __future__ import annotations

import errno
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, ThreadPoolExecutor
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any
from unittest.mock import patch

from schedcomp.audit_report import AuditReport, Difference, Overlap
from schedcomp.model import HOUR, Action
from schedcomp.output.disk import read_back
from schedcomp.records import replace
from tests.small_transfer import small_bytes

Trouble = Callable[[Path], AbstractContextManager[object]]
TROUBLES: dict[str, Trouble] = {}


def trouble(name: str) -> Callable[[Callable[[Path], Iterator[None]]], Trouble]:
    """Name what a generator does to the folder of the example until it goes on."""

    def named(make: Callable[[Path], Iterator[None]]) -> Trouble:
        return TROUBLES.setdefault(name, contextmanager(make))

    return named


@contextmanager
def refused(call: str, number: int, *names: str, passes: int = 0) -> Iterator[None]:
    """Calls of a function of `os` fail for paths with all of these names in them."""
    real, left = getattr(os, call), [passes]

    def refusing(*given: Any, **named: Any) -> Any:
        if any(set(names) <= set(Path(str(path)).parts) for path in given):
            left[0] -= 1
            if left[0] < 0:
                raise OSError(number, os.strerror(number))
        return real(*given, **named)

    with patch.object(os, call, refusing):
        yield


@trouble("a file that may not be read")
def _unreadable(_: Path) -> Iterator[None]:
    with refused("open", errno.EACCES, "locked.toml"):
        yield


@trouble("a pipe")
def _pipe(_: Path) -> Iterator[None]:
    from schedcomp.plainfile import NotPlain, read_plain

    def refusing(path: Path, most_bytes: int) -> bytes:
        if path.name == "pipe.toml":
            raise NotPlain
        return read_plain(path, most_bytes)

    with patch("schedcomp.textfile.read_plain", refusing):
        yield


@trouble("a huge file")
def _huge(folder: Path) -> Iterator[None]:
    from schedcomp.fleet.storelist import LARGEST_BYTES

    with (folder / "stores.bak").open("wb") as stream:
        stream.truncate(LARGEST_BYTES + 1)
    yield


@trouble("a folder named like a file to write")
def _taken(folder: Path) -> Iterator[None]:
    (folder / "program" / "table.csv").mkdir(parents=True)
    yield


@trouble("a folder that is write-protected")
def _protected(_: Path) -> Iterator[None]:
    with refused("mkdir", errno.EACCES, "program"):
        yield


@trouble("a full disk")
def _full(_: Path) -> Iterator[None]:
    with refused("mkdir", errno.ENOSPC, "program"):
        yield


@trouble("a disk that fails")
def _failing(_: Path) -> Iterator[None]:
    with refused("mkdir", errno.EIO, "program"):
        yield


@trouble("a file that is open in another program")
def _in_use(folder: Path) -> Iterator[None]:
    (folder / "program").mkdir()
    (folder / "program" / "table.csv").write_text("an older table")
    with refused("replace", errno.EACCES, "program", "table.csv"):
        yield


@trouble("old files that cannot be removed")
def _left(folder: Path) -> Iterator[None]:
    (folder / "program").mkdir()
    (folder / "program" / "table.csv").write_text("an older table")
    with refused("unlink", errno.EACCES, ".schedcomp-old"):
        yield


@trouble("a disk that dies half-way")
def _half_way(folder: Path) -> Iterator[None]:
    (folder / "program").mkdir()
    (folder / "program" / "table.csv").write_text("an older table")
    with refused("replace", errno.EIO, "program", "table.csv", passes=1):
        yield


@trouble("a full disk that takes the answer")
def _full_output(_: Path) -> Iterator[None]:
    from schedcomp import cli_output

    real = cli_output.say

    def full(stream: object, text: str) -> str:
        return os.strerror(errno.ENOSPC) if stream is sys.stdout else real(stream, text)

    with patch.object(cli_output, "say", full):
        yield


@trouble("another command at work")
def _busy(folder: Path) -> Iterator[None]:
    from schedcomp.output.disk import alone_in
    from schedcomp.output.lock import locked

    (folder / "program").mkdir()
    with alone_in(folder / "program"), locked(folder / "program"):
        yield


@trouble("an earlier run")
def _earlier(folder: Path) -> Iterator[None]:
    (folder / "fleet-2026" / "sites").mkdir(parents=True)
    yield


@trouble("processes that end")
def _ended(_: Path) -> Iterator[None]:
    class Ended(ThreadPoolExecutor):
        def submit(self, *_: Any, **__: Any) -> Any:
            raise BrokenExecutor

    with patch("schedcomp.fleet.whole.pool", lambda *_: Ended(1)):
        yield


@trouble("a package that is not installed")
def _no_typst(_: Path) -> Iterator[None]:
    with patch.dict("sys.modules", {"typst": None}):
        yield


# Sticks

STICK = "E:\\"


@trouble("a full stick")
def _full_stick(_: Path) -> Iterator[None]:
    free = type("Usage", (), {"free": 20_000})
    with patch.object(shutil, "disk_usage", lambda _: free):
        yield


@trouble("a write-protected stick")
def _slide(_: Path) -> Iterator[None]:
    with refused("mkdir", errno.EROFS, STICK):
        yield


@trouble("a stick pulled out")
def _pulled(_: Path) -> Iterator[None]:
    with refused("mkdir", errno.EIO, STICK):
        yield


@trouble("a worn-out stick")
def _worn_out(_: Path) -> Iterator[None]:

    def worn_out(path: Path) -> bytes:
        content = read_back(path)
        return content[:-1] + b"?" if "unfinished" in path.parts else content

    with patch("schedcomp.output.stick_folder.read_back", worn_out):
        yield


@trouble("a stick whose older set cannot move")
def _held(folder: Path) -> Iterator[None]:
    from schedcomp.answers.copy import CopyRequest, copy

    (folder / "older.json").write_bytes(small_bytes())
    copy(CopyRequest(transfer="older.json", folder=STICK))
    real = os.rename

    def refusing(source: Path, target: Path) -> None:
        if "replaced" in Path(target).parts:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        real(source, target)

    with patch.object(os, "rename", refusing):
        yield


@trouble("a sheet of another program")
def _stranger(folder: Path) -> Iterator[None]:
    (folder / "sheet.html").write_text("<p>Program 0000-0000</p>")
    yield


@trouble("a link on the stick")
def _link(folder: Path) -> Iterator[None]:
    (folder / STICK / "replaced").symlink_to(folder)
    yield


# Our own mistakes


@trouble("a program that switches off too early")
def _too_early(_: Path) -> Iterator[None]:
    from schedcomp import pipeline
    from schedcomp.fit.fitting import fit
    from schedcomp.program import ClockStart

    real = fit

    def wrong(*given: Any, **named: Any) -> Any:
        fitted, target = real(*given, **named)
        program = fitted.program
        if program is None:
            return fitted, target
        events = tuple(
            replace(e, start=ClockStart(22 * 60)) if e.action is Action.OFF else e
            for e in program.events
        )
        return replace(fitted, program=replace(program, events=events)), target

    with patch.object(pipeline, "fit", wrong):
        yield


@contextmanager
def _reported(change: Callable[[AuditReport], AuditReport]) -> Iterator[None]:
    """The test run reports something else than it saw."""
    from schedcomp import pipeline
    from schedcomp.audit import run_program

    real = run_program

    with patch.object(pipeline, "run_program", lambda *given: change(real(*given))):
        yield


def _second_switching(report: AuditReport) -> tuple[int, int, Action]:
    channel, switchings = report.exact_run.switchings[0]
    instant, action, _ = switchings[1]
    return channel, instant, action


@trouble("a program that trusts the sun too much")
def _some_error(_: Path) -> Iterator[None]:
    def change(report: AuditReport) -> AuditReport:
        channel, at, action = _second_switching(report)
        late = Difference("too late", channel, action, at, at + HOUR)
        return replace(report, interval_differences=(late,))

    with _reported(change):
        yield


def _overlapping(first: int, second: int) -> Callable[[Path], Iterator[None]]:
    def make(_: Path) -> Iterator[None]:
        def change(report: AuditReport) -> AuditReport:
            channel, at, _ = _second_switching(report)
            return replace(report, overlaps=(Overlap(channel, first, second, at, at + 60),))

        with _reported(change):
            yield

    return make


trouble("slots in either order")(_overlapping(1, 2))
trouble("a slot that meets special days")(_overlapping(0, 2))
trouble("special days that are not sure")(_overlapping(0, 0))


@trouble("a mistake of ours")
def _ours(_: Path) -> Iterator[None]:
    import schedcomp
    from schedcomp import cli, pipeline

    def broken(*_: object) -> None:
        raise KeyError("a state thought impossible")

    with (
        patch.object(pipeline, "read_year", broken),
        patch.object(cli, "_place", lambda _: "fit/solver.py line 88"),
        patch.object(schedcomp, "__version__", "1.0"),
    ):
        yield
