"""How an answer leaves: text or one record to stdout, findings to stderr, and the exit code."""

from __future__ import annotations

import io
import json
import os
import sys
import time
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

if TYPE_CHECKING:
    from schedcomp.answers.answer import Answer

CLOCK_VARIABLE = "SOURCE_DATE_EPOCH"
"""Seconds since 1970 to take for now, so that an answer can be had again: an open convention."""

SiteFile = Annotated[str, typer.Argument(metavar="SITE", help="The site file (TOML).")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one complete record as JSON.")]


def give(answer: Answer, command: str, as_json: bool) -> NoReturn:
    """Print an answer and stop with its exit code."""
    from schedcomp import __version__, diag

    if as_json:
        record = {
            "schedcomp": __version__,
            "command": command,
            "exit_code": answer.exit_code,
            **answer.record,
            "findings": diag.as_records(answer.findings),
        }
        say(sys.stdout, json.dumps(record, indent=2) + "\n")
    else:
        findings = diag.render(answer.findings)
        say(sys.stderr, f"{findings}\n" if findings and answer.text else findings)
        say(sys.stdout, answer.text)
    raise typer.Exit(answer.exit_code)


def say(stream: io.TextIOBase | object, text: str) -> None:
    """Write at once; a reader that has gone away is no reason to end differently."""
    assert isinstance(stream, io.TextIOBase)
    try:
        stream.write(text)
        stream.flush()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def now() -> int:
    """Seconds since 1970; of the clock, unless the environment names another time."""
    given = os.environ.get(CLOCK_VARIABLE, "")
    return int(given) if given.isascii() and given.isdigit() else int(time.time())


def ask(prompt: str) -> str | None:
    """A question on stderr, so that stdout holds the answer alone; None at the end of input."""
    say(sys.stderr, prompt)
    line = sys.stdin.readline()
    if not line:
        say(sys.stderr, "\n")
        return None
    return line
