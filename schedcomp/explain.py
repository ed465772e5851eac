"""The longer word on a message or a topic: what `explain` prints, and the list of all.

The topics stand in `schedcomp/data/topics.txt`, each under `== NAME: what it is`.

The examples stand in `schedcomp/data/catalogue.txt`, each a section: `== CODE`, the command typed
after `$ ` where it was not enough to read the files, the message, and after `-- right` the lines
that put it right.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from string import Formatter

from schedcomp.diag import WIDTH
from schedcomp.messages.kind import Kind
from schedcomp.records import Record

BLANK = "…"
SHOWN_NEAR = 4
_DATA = Path(__file__).parent / "data"
_CATALOGUE = _DATA / "catalogue.txt"
_TOPICS = _DATA / "topics.txt"

GROUPS = {
    "E1": "How a line is written",
    "E2": "What the site file or controller file says",
    "E3": "Dates, holidays and hours",
    "E4": "Sun and place",
    "E5": "Promises and rules",
    "E6": "Slots and the controller",
    "E7": "Files and commands",
    "E8": "Many sites at once",
    "E9": "Mistakes of schedcomp itself",
}


def wording(template: str) -> str:
    """A message with its variable parts shown as `…`."""
    parts = []
    for text, field, _, _ in Formatter().parse(template):
        parts += [text, BLANK if field is not None else ""]
    return "".join(parts)


class Topic(Record):
    """What can be written in one place; `about` says what in a few words."""

    name: str
    about: str
    text: str


@cache
def topics() -> Mapping[str, Topic]:
    """Every topic, by name."""
    sections = re.split(r"(?m)^== ", _TOPICS.read_text("utf-8"))[1:]
    found = [re.fullmatch(r"(\w+): (.*)\n((?s:.*))", section) for section in sections]
    made = [Topic(m[1], m[2], m[3].strip("\n") + "\n") for m in found if m]
    return {topic.name: topic for topic in made}


class Example(Record):
    """A message as it was told once; `typed` is the command, "" if none was needed."""

    typed: str
    shown: str
    right: tuple[str, ...]


@cache
def examples() -> Mapping[str, Example]:
    """The example of each message, by code."""
    return read_examples(_CATALOGUE.read_text("utf-8"))


def read_examples(text: str) -> dict[str, Example]:
    """The sections of a catalogue, by code."""
    found = {}
    for section in re.split(r"(?m)^== ", text)[1:]:
        code, _, rest = section.partition("\n")
        shown, _, right = rest.partition("\n-- right\n")
        command = re.match(r"\$ (.*)\n", shown)
        typed = command[1] if command else ""
        shown = shown[command.end() :] if command else shown
        found[code] = Example(typed, shown.strip("\n"), tuple(right.strip("\n").splitlines()))
    return found


def page(kind: Kind) -> str:
    """All that is to be said about one kind of message, at most 80 columns wide."""
    blocks = [_fill(f"{kind.severity.value} {kind.code}: {wording(kind.title)}")]
    if kind.page:
        blocks += [_paragraph(text) for text in kind.page.strip("\n").split("\n\n")]
    example = examples().get(kind.code)
    if example is None:
        blocks += [_fill(sentence) for sentence in wording(kind.why).splitlines() if sentence]
        blocks += [f"To fix: {wording(kind.fix)}"] if kind.fix else []
    else:
        blocks += _example(example)
    return "\n\n".join(blocks) + "\n"


def _example(example: Example) -> list[str]:
    typed = f"\n    {example.typed}" if example.typed else ""
    blocks = [f"For example:{typed}", example.shown]
    if example.right:
        blocks.append("\n".join(["Right is:", *(f"    {line}" for line in example.right)]))
    return blocks


def all_codes(kinds: Iterable[Kind]) -> str:
    """The topics, and every code with its message, grouped by what it is about."""
    lines = ["Topics", *(f"  {topic.name:<8} {topic.about}" for topic in topics().values())]
    group = ""
    for kind in kinds:
        if kind.code[:2] != group:
            group = kind.code[:2]
            lines += ["", GROUPS[group]]
        name = f"  {kind.code}  {kind.severity.value:<8} "
        lines.append(
            textwrap.fill(
                wording(kind.title),
                WIDTH,
                initial_indent=name,
                subsequent_indent=" " * len(name),
                break_long_words=False,
            )
        )
    return "\n".join(lines).lstrip("\n") + "\n"


def normal_code(text: str) -> str:
    """A code as typed by people: `e104`, `104` and ` E104` all mean E104."""
    text = text.strip().upper()
    return f"E{text}" if re.fullmatch(r"[0-9]{3}", text) else text


def near_codes(code: str, kinds: Iterable[Kind]) -> tuple[Kind, ...]:
    """Kinds with codes close to one that does not exist, the closest first."""
    by_code = {kind.code: kind for kind in kinds}
    number = re.fullmatch(r"E([0-9]{1,4})", code)
    if number:
        wanted = int(number[1])
        closest = sorted(by_code, key=lambda known: (abs(int(known[1:]) - wanted), known))
        return tuple(by_code[known] for known in closest[:SHOWN_NEAR])
    return tuple(by_code[known] for known in get_close_matches(code, by_code, SHOWN_NEAR))


def record(kind: Kind) -> dict[str, object]:
    """One kind as a plain record for JSON; its example is empty while it has none."""
    example = examples().get(kind.code, Example("", "", ()))
    return {
        "code": kind.code,
        "severity": kind.severity.value.lower(),
        "title": wording(kind.title),
        "why": wording(kind.why),
        "fix": wording(kind.fix),
        "page": kind.page,
        "example": {
            "typed": example.typed,
            "shown": example.shown,
            "right": list(example.right),
        },
    }


def _paragraph(text: str) -> str:
    """Sentences are wrapped anew; a paragraph with lines set in by blanks stays as it is."""
    set_in = any(line.startswith(" ") for line in text.splitlines())
    return text if set_in else _fill(" ".join(text.split()))


def _fill(text: str) -> str:
    return textwrap.fill(text, WIDTH, break_long_words=False, break_on_hyphens=False)
