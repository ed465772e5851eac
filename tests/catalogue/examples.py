"""Reads the examples, runs each, and lays out the catalogue of what they tell."""

from __future__ import annotations

import io
import json
import re
import shlex
import shutil
import tomllib
from collections.abc import Callable, Iterator
from contextlib import (
    ExitStack,
    chdir,
    contextmanager,
    redirect_stderr,
    redirect_stdout,
    suppress,
)
from datetime import date
from difflib import ndiff
from itertools import takewhile
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest.mock import patch

from typer.main import get_command

from schedcomp import cli, diag
from schedcomp.cautions import cautions_of
from schedcomp.diag import Diagnostic
from schedcomp.expand import expand
from schedcomp.findings import unit_problems
from schedcomp.model import Period
from schedcomp.ordinance.load import load_ordinances
from schedcomp.panel_facts import panel_cautions
from schedcomp.records import Record, field
from schedcomp.site import Site
from schedcomp.site_controller import controller_of
from schedcomp.sitefile import load_site
from schedcomp.world import read_world
from tests.catalogue.troubles import STICK, TROUBLES
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


class Example(Record, kw_only=True):
    """One mistake or surprise, as changes to a file of `base`, and what puts it right.

    `edit` is [text of the file, what stands there instead, what would be right]; `given` are
    changes that belong to both. With `times` the wrong text stands so often, numbered at its `{n}`.
    `run` is the command typed, `cure` the right one; without `run`
    the files are only read. `trouble` names what happens to the computer meanwhile; with
    `over` it is over when all is put right. `stored_as` is how the file is stored, `cut`: it is
    empty, `sealed`: it is a transfer file with the checksum that belongs to it. `others` are
    changes to other files. `asks_only`: what was typed is at stake, so nothing is worked out.
    `stays`: a caution that is told all the same where what it says was done.
    Only `with_sheet` a build makes the sheet, which takes longer than the rest.
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
    stored_as: str = "utf-8"
    cut: bool = False
    over: bool = False
    asks_only: bool = False
    with_sheet: bool = False
    stays: bool = False
    others: dict[str, list[list[str]]] = field(default_factory=dict)

    @property
    def right_run(self) -> str:
        return self.cure or self.run

    @property
    def has_cure(self) -> bool:
        return bool(self.cure) or self.over or len(self.edit) == 3

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
            return [self.cure] * (self.cure != self.run)
        if len(self.edit) < 3 or self.times > 1:
            return []
        wrong = self.text(base, right=False).splitlines()
        marked = ndiff(wrong, self.text(base, right=True).splitlines())
        return [line[2:] for line in marked if line.startswith("+ ") and line[2:].strip()]


class Told(Record):
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


class Workplace(Record):
    """A folder to run examples in, and the files that stand in it before each.

    `told` is what runs without trouble told, by all that decides it: many examples put right are
    the same.
    """

    folder: Path
    texts: dict[str, bytes]
    told: dict[tuple[object, ...], Told] = field(default_factory=dict)

    def base(self, name: str) -> str:
        return self.texts[name].decode() if name in self.texts else ""

    def tidy(self) -> None:
        """Leave the files of the beginning and nothing else."""
        for left in (*self.folder.iterdir(), *(self.folder / STICK).iterdir()):
            if left.name not in (*self.texts, STICK):
                is_tree = left.is_dir() and not left.is_symlink()
                shutil.rmtree(left) if is_tree else left.unlink()
        for name, content in self.texts.items():
            if (self.folder / name).read_bytes() != content:
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
        stack.enter_context(patch.object(cli, "app", get_command(cli.app)))
        stack.enter_context(patch("os.fsync", lambda _: None))
        stack.enter_context(patch("schedcomp.pipeline.good_until", lambda *_: None))
        # Notes on what would fit have examples that type `fit`.
        stack.enter_context(patch("schedcomp.shortfall.with_shortfall", lambda made: (made, ())))
        stack.enter_context(patch("schedcomp.diag._wrap", _wrapped_at_home(name)))
        shutil.copytree(HERE / "base", folder, dirs_exist_ok=True)
        assert not _told(f"{BUILD} made", NORTH_LOT).codes
        for made in ("transfer.json", "events.csv"):
            shutil.move(folder / "made" / made, folder / made)
        shutil.rmtree(folder / "made")
        (folder / STICK).mkdir()
        files = [path for path in folder.iterdir() if path.is_file()]
        yield Workplace(folder, {path.name: path.read_bytes() for path in files})


def _wrapped_at_home(folder: str) -> Callable[..., str]:
    """Wraps lines as if the folder had a name that is the same on every computer."""
    wrap = diag._wrap
    return lambda text, indent="": wrap(text.replace(folder, HOME), indent)


def run(example: Example, place: Workplace, *, right: bool = False) -> Told:
    """What is told about an example, or about the same put right."""
    command = example.right_run if right else example.run
    site = CLINIC if example.file in OF_CLINIC else example.file
    written = _written(example, place, right)
    trouble = "" if right and example.over else example.trouble
    # Only a command that names such files reads them.
    texts = tuple(
        (name, content)
        for name, content in sorted((place.texts | written).items())
        if name.endswith(".toml") or name in command
    )
    deciding = (command, site, texts, example.with_sheet, example.asks_only)
    if not trouble and deciding in place.told:
        return place.told[deciding]
    for name, content in written.items():
        (place.folder / name).write_bytes(content)
    try:
        with ExitStack() as stack:
            if trouble:
                stack.enter_context(TROUBLES[trouble](place.folder))
            if not example.with_sheet:
                stack.enter_context(patch("schedcomp.answers.build.sheet_files", _no_sheet))
            if example.asks_only:
                stack.enter_context(patch("schedcomp.pipeline.compile", _nothing))
                stack.enter_context(patch("schedcomp.pipeline.read_year", _nothing))
            told = _told(command, site)
    finally:
        place.tidy()
    blocks = tuple((code, text.replace(str(place.folder), HOME)) for code, text in told.blocks)
    if not trouble:
        place.told[deciding] = Told(blocks)
    return Told(blocks)


def _written(example: Example, place: Workplace, right: bool) -> dict[str, bytes]:
    """The files that differ from those of the beginning."""
    stored_as = "utf-8" if right else example.stored_as
    text = example.text(place.base(example.file), right)
    written = {example.file: b"" if example.cut and not right else text.encode(stored_as)}
    for name, changes in example.others.items():
        other = place.base(name)
        for before, after in changes:
            other = replaced(other, before, after, example.code)
        written[name] = other.encode()
    return written


def _no_sheet(*_: object) -> tuple[dict[str, bytes], tuple[Diagnostic, ...]]:
    return {}, ()


def _nothing(*_: object, **__: object) -> tuple[None, tuple[Diagnostic, ...]]:
    return None, ()


def _told(command: str, site: str) -> Told:
    if command in (READ, WISHES):
        shown = diag.render(_read(site, command), shown=10**6)
    else:
        shown = _typed(_words(command))
    return Told(tuple(_blocks(shown)))


def _words(line: str) -> list[str]:
    """A line as a command is read; a backslash is a sign like any other."""
    reader = shlex.shlex(line, posix=True)
    reader.whitespace_split, reader.escape, reader.commenters = True, "", ""
    return list(reader)


def _typed(words: list[str]) -> str:
    """What a command tells on stderr; that for many sites tells of each on stdout."""
    words = list(takewhile(lambda word: word != ">", words))
    with (
        patch("sys.argv", words),
        patch("sys.stdin", io.StringIO()),
        redirect_stderr(io.StringIO()) as told,
        redirect_stdout(told if words[1] == "fleet" else io.StringIO()),
        suppress(SystemExit),
    ):
        cli.main()
    return told.getvalue()


def _blocks(shown: str) -> Iterator[tuple[str, str]]:
    """The findings of an answer, each up to the next blank line."""
    begins = r"^(?:Problem|Caution|Note|Fault) (E\d{3}): "
    for found in re.finditer(rf"{begins}.*?(?=\n*\Z|\n\n)", shown, re.MULTILINE | re.DOTALL):
        yield found[1], found[0]


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
    looks_again = line == f"schedcomp check {example.file}"
    installs = example.over and re.match(r"python -m pip install |SCHEDCOMP_DEBUG=", line)
    if looks_again or installs or line.rstrip(",") in example.text(base, right=True):
        return True
    return _is_part(line, example.right_run)


def _is_part(line: str, command: str) -> bool:
    """Whether words stand in a command one after the other; `SC1A...` is the start of one."""
    try:
        wanted = [word.removesuffix("...") for word in _words(line)]
    except ValueError:
        return False
    typed = _words(command)
    return any(
        all(
            word == there or ("..." in line and there.startswith(word))
            for word, there in zip(wanted, typed[start:], strict=False)
        )
        for start in range(len(typed) - len(wanted) + 1)
    )


def section(example: Example, told: Told, base: str) -> str:
    """An example in the catalogue: what is typed, what is told, what is right."""
    shown = re.sub(r"\nMore: schedcomp explain \w+\Z", "", told.first(example.code))
    parts = [f"== {example.code}"]
    if example.run not in (READ, WISHES):
        parts.append(f"$ {example.run}")
    parts.append(shown)
    if right := example.right_lines(base):
        parts += ["-- right", *right]
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
