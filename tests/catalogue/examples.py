"""Reads the examples, runs each, and lays out the catalogue of what they tell."""

from __future__ import annotations

import json
import re
import shlex
import shutil
import tomllib
from collections.abc import Callable, Iterator
from contextlib import ExitStack, chdir, contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest.mock import patch

from typer.testing import CliRunner

from schedcomp import cli, diag
from schedcomp.cautions import cautions_of
from schedcomp.diag import Diagnostic
from schedcomp.expand import expand
from schedcomp.findings import unit_problems
from schedcomp.model import Period
from schedcomp.ordinance.load import load_ordinances
from schedcomp.panel_facts import panel_cautions
from schedcomp.site import Site
from schedcomp.site_controller import controller_of
from schedcomp.sitefile import load_site
from schedcomp.world import read_world
from tests.catalogue.troubles import TROUBLES
from tests.transfer_faults import sealed

HERE = Path(__file__).parent
CATALOGUE = HERE.parents[1] / "schedcomp" / "data" / "catalogue.txt"
NOW = "1796304600"
"""Thu 3 Dec 2026, 13:30 UTC."""
YEAR = Period(date(2027, 1, 1), date(2027, 12, 31))
HOME = "/home/lights"
NORTH_LOT, CLINIC = "north-lot.toml", "clinic.toml"
OF_CLINIC = (CLINIC, "own_unit.toml", "dark_hours.toml")

READ, WISHES = "read", "wishes"
"""Ways to run an example without a command: only read the files, or also work out 2027."""


@dataclass(frozen=True, kw_only=True)
class Example:
    """One mistake or surprise, as changes to a file of `base`, and what puts it right.

    `edit` is [text of the file, what stands there instead, what would be right]; `given` are
    changes that belong to both. With `times` the wrong text stands so often, numbered at its `{n}`.
    `run` is the command typed, `cure` the right one; without `run`
    the files are only read. `trouble` names what happens to the computer meanwhile.
    """

    code: str
    file: str = NORTH_LOT
    edit: list[str] = field(default_factory=list)
    given: list[list[str]] = field(default_factory=list)
    times: int = 1
    run: str = READ
    cure: str = ""
    trouble: str = ""
    sealed: bool = False

    @property
    def right_run(self) -> str:
        return self.cure or self.run

    @property
    def has_cure(self) -> bool:
        return bool(self.cure) or len(self.edit) == 3

    def text(self, base: str, right: bool) -> str:
        """The file as written, or as it is right; `base` is what stands in it otherwise."""
        text = base
        for before, after in self.given:
            text = replaced(text, before, after, self.code)
        if self.edit:
            after = self.edit[min(2, len(self.edit) - 1)] if right else self._wrong
            text = replaced(text, self.edit[0], after, self.code)
        return _sealed(text) if self.sealed else text

    @property
    def _wrong(self) -> str:
        if self.times == 1:
            return self.edit[1]
        return "".join(self.edit[1].replace("{n}", str(n + 1)) for n in range(self.times))

    def right_lines(self, base: str) -> list[str]:
        """What is to be typed instead: the lines that are new in the file, or the command."""
        if self.cure:
            return [self.cure]
        wrong = self.text(base, right=False).splitlines()
        return [line for line in self.text(base, right=True).splitlines() if line not in wrong]


@dataclass(frozen=True)
class Told:
    """What the run of an example says: findings by code, each as it is shown."""

    blocks: tuple[tuple[str, str], ...]

    def first(self, code: str) -> str:
        return next((text for found, text in self.blocks if found == code), "")

    @property
    def codes(self) -> tuple[str, ...]:
        return tuple(code for code, _ in self.blocks)


def _sealed(text: str) -> str:
    """A transfer file that was changed, with the checksum that belongs to it."""
    return sealed(json.loads(text)).decode()


def replaced(text: str, before: str, after: str, code: str) -> str:
    """With the one place of a text changed."""
    if text.count(before) != 1:
        raise ValueError(f"{code}: {before!r} stands {text.count(before)} times in the file")
    return text.replace(before, after)


def every_example() -> dict[str, Example]:
    """All examples by code; ValueError where a code has two."""
    found: dict[str, Example] = {}
    for path in sorted(HERE.glob("E*.toml")):
        for code, members in tomllib.loads(path.read_text("utf-8")).items():
            if code in found:
                raise ValueError(f"{code} has two examples")
            found[code] = Example(code=code, **members)
    return dict(sorted(found.items()))


@dataclass(frozen=True)
class Workplace:
    """A folder to run examples in, and the files that stand in it before each."""

    folder: Path
    texts: dict[str, bytes]

    def base(self, name: str) -> str:
        return self.texts[name].decode() if name in self.texts else ""

    def tidy(self) -> None:
        """Leave the files of the beginning and nothing else."""
        for left in self.folder.iterdir():
            if left.name not in self.texts:
                shutil.rmtree(left) if left.is_dir() else left.unlink()
        for name, content in self.texts.items():
            (self.folder / name).write_bytes(content)


BUILD = "schedcomp build north-lot.toml --from 2027-12-20 --through 2027-12-31 --out"
"""Makes the program that examples about programs start from."""


@contextmanager
def workplace() -> Iterator[Workplace]:
    """The current folder holds the files of `base` and of one build; the clock stands still."""
    with TemporaryDirectory() as name, ExitStack() as stack:
        folder = Path(name)
        stack.enter_context(chdir(folder))
        stack.enter_context(patch.dict("os.environ", {"SOURCE_DATE_EPOCH": NOW}))
        stack.enter_context(patch("schedcomp.diag._wrap", _wrapped_at_home(name)))
        shutil.copytree(HERE / "base", folder, dirs_exist_ok=True)
        assert not _told(f"{BUILD} made", NORTH_LOT).codes
        for made in ("transfer.json", "events.csv"):
            shutil.move(folder / "made" / made, folder / made)
        shutil.rmtree(folder / "made")
        yield Workplace(folder, {path.name: path.read_bytes() for path in folder.iterdir()})


def _wrapped_at_home(folder: str) -> Callable[..., str]:
    """Wraps lines as if the folder had a name that is the same on every computer."""
    wrap = diag._wrap
    return lambda text, indent="": wrap(text.replace(folder, HOME), indent)


def run(example: Example, place: Workplace, *, right: bool = False) -> Told:
    """What is told about an example, or about the same put right."""
    base = place.base(example.file)
    (place.folder / example.file).write_text(example.text(base, right), "utf-8")
    try:
        with TROUBLES[example.trouble](place.folder) if example.trouble else ExitStack():
            told = _told(example.right_run if right else example.run, example.file)
    finally:
        place.tidy()
    at_home = [(code, text.replace(str(place.folder), HOME)) for code, text in told.blocks]
    return Told(tuple(at_home))


def _told(command: str, file: str) -> Told:
    if command in (READ, WISHES):
        shown = diag.render(_read(CLINIC if file in OF_CLINIC else file, command), shown=10**6)
    else:
        name, *words = shlex.split(command)
        assert name == "schedcomp", command
        shown = CliRunner().invoke(cli.app, words).stderr
    return Told(tuple(_blocks(shown)))


def _blocks(shown: str) -> Iterator[tuple[str, str]]:
    """The findings of an answer; the line of totals is left out."""
    shown = re.sub(r"\n\n\d+ (problem|caution|note)s?\b.*\s*\Z", "\n", shown)
    for block in re.split(r"\n\n(?=(?:Problem|Caution|Note|Fault) E\d{3}: )", shown):
        if found := re.match(r"\w+ (E\d{3}): ", block):
            yield found[1], block.rstrip("\n")


def _read(path: str, how: str) -> tuple[Diagnostic, ...]:
    """What reading a site file with its controller and rules finds, and with `WISHES` its year."""
    site, found = load_site(path)
    if site is None:
        return found
    controller, more = controller_of(site)
    ordinances, rules = load_ordinances(site)
    found = (*found, *more, *rules)
    if how == READ or controller is None or ordinances is None:
        return found
    return (*found, *unit_problems(site, controller), *_year(site))


def _year(site: Site) -> tuple[Diagnostic, ...]:
    world, found = read_world(site, YEAR)
    if world is None:
        return found
    year = expand(site, world)
    return (*found, *cautions_of(site, world, year), *panel_cautions(site, year, world.zone))


def proposed(shown: str) -> list[str]:
    """The lines that a finding says can be typed."""
    _, _, fix = shown.partition("\nTo fix: ")
    lines = [line for line in fix.splitlines() if re.match(r"    \S", line)]
    return [line.strip() for line in lines]


def is_applied(line: str, example: Example, base: str) -> bool:
    """Whether a proposed line stands in what the example says is right."""
    line = line.replace("SITE", example.file)
    if example.cure and re.match(r"schedcomp |--", line):
        wanted, typed = shlex.split(line), shlex.split(example.cure)
        return any(typed[i : i + len(wanted)] == wanted for i in range(len(typed)))
    return line.rstrip(",") in example.text(base, right=True)


def section(example: Example, told: Told, base: str) -> str:
    """An example in the catalogue: what is typed, what is told, what is right."""
    shown = re.sub(r"\nMore: schedcomp explain \w+\Z", "", told.first(example.code))
    parts = [f"== {example.code}"]
    if example.run not in (READ, WISHES):
        parts.append(f"$ {example.run}")
    parts.append(shown)
    if example.has_cure:
        parts += ["-- right", *example.right_lines(base)]
    return "\n".join(parts) + "\n"


HEADER = "Made by `python -m tests.catalogue`; the examples are in tests/catalogue.\n"


def catalogue(sections: dict[str, str]) -> str:
    """All sections in order of their codes."""
    return "\n".join([HEADER, *(sections[code] for code in sorted(sections))])


def made_anew() -> str:
    """The catalogue, by running every example."""
    made: dict[str, str] = {}
    with workplace() as place:
        for code, example in every_example().items():
            made[code] = section(example, run(example, place), place.base(example.file))
    return catalogue(made)
