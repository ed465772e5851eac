"""How an answer leaves: text or one record to stdout, findings to stderr, and the exit code."""

from __future__ import annotations

import io
import json
import os
import re
import sys
import time
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

if TYPE_CHECKING:
    from schedcomp.answers.answer import Answer

CLOCK_VARIABLE = "SOURCE_DATE_EPOCH"
"""Seconds since 1970 to take for now, so that an answer can be had again: an open convention."""

LATEST = 250_000_000_000
"""A clock that shows a later time, after the year 9000, is not believed."""

SiteFile = Annotated[str, typer.Argument(metavar="SITE", help="The site file (TOML).")]
AsJson = Annotated[bool, typer.Option("--json", help="Print one complete record as JSON.")]


def give(answer: Answer, command: str, as_json: bool) -> NoReturn:
    """Print an answer and stop with its exit code."""
    from schedcomp import __version__, diag
    from schedcomp.answers.answer import BAD_FILES
    from schedcomp.messages import commands as messages

    if as_json:
        record = {
            "schedcomp": __version__,
            "command": command,
            "exit_code": answer.exit_code,
            **answer.record,
            "findings": diag.as_records(answer.findings),
        }
        unsaid = say(sys.stdout, json.dumps(record, indent=2) + "\n")
    else:
        findings = _plain_spaces(diag.render(answer.findings))
        say(sys.stderr, f"{findings}\n" if findings and answer.text else findings)
        unsaid = say(sys.stdout, _plain_spaces(answer.text))
    if unsaid:
        say(sys.stderr, diag.render_one(messages.NOT_PRINTED.at(None, words=unsaid)) + "\n")
        raise typer.Exit(BAD_FILES)
    raise typer.Exit(answer.exit_code)


def _plain_spaces(text: str) -> str:
    """The text with those spaces as others that held a time on one line."""
    return text.replace("\u00a0", " ")


def say(stream: object, text: str) -> str:
    """Write at once; what the computer says where it cannot, "" where all is well.

    A reader that has gone away, or never was, is no reason to end differently.
    """
    if not isinstance(stream, io.TextIOBase):
        return ""
    try:
        stream.write(text)
        stream.flush()
    except OSError as fault:
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
        return "" if isinstance(fault, BrokenPipeError) else fault.strerror or str(fault)
    return ""


def now() -> int:
    """Seconds since 1970; of the clock, unless the environment names another time."""
    given = os.environ.get(CLOCK_VARIABLE, "")
    is_time = re.fullmatch(r"[0-9]{1,12}", given) and int(given) <= LATEST
    return int(given) if is_time else max(0, min(int(time.time()), LATEST))


def ask(prompt: str) -> str | None:
    """A question on stderr, so that stdout holds the answer alone; None at the end of input."""
    say(sys.stderr, prompt)
    line = sys.stdin.readline()
    if not line:
        say(sys.stderr, "\n")
        return None
    return line
