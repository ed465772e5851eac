"""README, DEVELOPERS and CHANGELOG say what is so: blocks run, names exist, nothing is left out."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
import typer
from typer.core import TyperGroup

from schedcomp import __version__, cli, controllerfile
from schedcomp.answers import answer, build
from schedcomp.diag import WIDTH, Diagnostic, PhraseText, Source, SourceRange, render
from schedcomp.explain import topics
from schedcomp.fleet.columns import SHORT, path_of
from schedcomp.keyedlist import read_keyed
from schedcomp.ordinance.load import ordinance_from_source
from schedcomp.ordinance.phrases import parse_rule
from schedcomp.phrases import parse_dates, parse_moment
from schedcomp.sitefile import site_from_source
from schedcomp.sitefile.keys import EVERY_PART
from tests.test_layers import MODULES, module_name, own_imports

ROOT = Path(__file__).parents[1]
README, DEVELOPERS, CHANGELOG, CI = (
    (ROOT / name).read_text(encoding="utf-8")
    for name in ("README.md", "DEVELOPERS.md", "CHANGELOG.md", ".ci/run")
)
HEADINGS = ("Run it", "Run the tests")
PROSE = re.sub(r"```.*?```", "", README, flags=re.DOTALL)


def section(text: str, heading: str) -> str:
    """What stands below a heading, up to the next one."""
    _, found, rest = text.partition(f"\n{heading}\n")
    assert found, heading
    return re.split(r"^##+ ", rest, maxsplit=1, flags=re.MULTILINE)[0]


def blocks(text: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.DOTALL | re.MULTILINE)


# Commands


@pytest.mark.parametrize("heading", HEADINGS)
def test_a_block_of_commands_names_files_that_exist(heading: str) -> None:
    found = section(README, f"## {heading}")
    assert len(re.findall(r"^```", found, re.MULTILINE)) == 2
    [commands] = blocks(found, "bash")
    for path in re.findall(r"\S+/\S+\.toml", commands):
        assert (ROOT / path).is_file(), path
    assert commands.startswith("python3 -m venv .venv")
    assert "pip install" in commands


def test_the_main_command_is_one_that_there_is() -> None:
    [commands] = blocks(section(README, "## Run it"), "bash")
    words = commands.splitlines()[-1].split()
    assert words[0] == ".venv/bin/schedcomp"
    command = main_command().commands[words[1]]
    known = {name for parameter in command.params for name in parameter.opts}
    assert {word for word in words if word.startswith("--")} == {"--year", "--out"} <= known


@pytest.mark.parametrize("heading", HEADINGS)
def test_ci_takes_its_commands_from_here(heading: str) -> None:
    """The function of the script that finds a block is run as it is."""
    function = re.search(r"^command_under\(\) \{.*?^\}$", CI, re.DOTALL | re.MULTILINE)
    assert function is not None
    done = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", f"{function[0]}\ncommand_under '{heading}'"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    [commands] = blocks(section(README, f"## {heading}"), "bash")
    assert done.stdout == commands
    assert f"bash -euo pipefail -c \"$(command_under '{heading}')\"" in CI


def test_ci_calls_nothing_else_but_the_checks_of_style_and_types() -> None:
    lines = [line for line in CI.splitlines() if re.match(r"(bash|\.venv|python|pip|pytest)", line)]
    own = [line for line in lines if "command_under" not in line]
    assert len(lines) - len(own) == len(HEADINGS)
    assert [line.split("/")[-1].split()[0] for line in own] == ["python", "ruff", "mypy"]


# Files


SITES = {"README": blocks(README, "toml")[0], "explain site": topics()["site"].text}


def test_every_toml_block_loads_without_a_finding() -> None:
    site, controller, rule = blocks(README, "toml")
    read: dict[str, Callable[[Source], tuple[object | None, tuple[Diagnostic, ...]]]] = {
        site: site_from_source,
        topics()["site"].text: site_from_source,
        controller: controllerfile.controller_from_source,
        rule: ordinance_from_source,
    }
    for block, reader in read.items():
        found, findings = reader(Source("block", block))
        assert found is not None, render(findings)
        assert not findings, render(findings)


def test_the_topic_of_sites_leaves_no_key_out() -> None:
    written = topics()["site"].text
    for part, keys in EVERY_PART.items():
        for key in keys:
            assert re.search(rf"\b{key}\b", written), (part, key)


@pytest.mark.parametrize("site", SITES)
def test_the_site_of_readme_builds(site: str, tmp_path: Path) -> None:
    (tmp_path / "site.toml").write_text(SITES[site], encoding="utf-8")
    request = build.BuildRequest(
        site=str(tmp_path / "site.toml"), year="2027", out=str(tmp_path / "out")
    )
    made = build.build(request, now=1796304600)
    assert made.exit_code == answer.CLEAN, render(made.findings)
    for name in (path.name for path in (tmp_path / "out").iterdir()):
        assert f"| `{name}` |" in section(README, "## What comes out"), name
    listed = re.findall(r"^\| `(\S+)` \|", section(README, "## What comes out"), re.MULTILINE)
    assert sorted(listed) == sorted(path.name for path in (tmp_path / "out").iterdir())


def test_the_tolerances_told_are_true(tmp_path: Path) -> None:
    """How many slots the sample takes at the smallest tolerance that fits, and at others."""
    told = re.search(
        r"`(\S+)`\s+would take (\d+) slots for (\d+) min, and\s+takes (\d+) for (\d+) min",
        section(README, "## Tolerance"),
    )
    assert told is not None
    sample = (ROOT / told[1]).read_text(encoding="utf-8")
    for tolerance, slots, minutes in (("", told[2], told[3]), (told[5], told[4], told[5])):
        written = f'tolerance = "{tolerance} min"\n' if tolerance else ""
        text = re.sub(r"^tolerance .*\n", written, sample, flags=re.MULTILINE)
        (tmp_path / "site.toml").write_text(text, encoding="utf-8")
        request = build.BuildRequest(
            site=str(tmp_path / "site.toml"), year="2027", out=str(tmp_path / "out")
        )
        fitted = build.build(request, now=1796304600).record["fit"]
        assert isinstance(fitted, dict)
        assert fitted["slots_needed"] == int(slots)
        assert fitted["tolerance_minutes"] == int(minutes)


# Phrases


def forms(topic: str, *, least: int = 10) -> list[str]:
    """What can be written, in the first column of a topic; what it is stands behind or below."""
    lines = topics()[topic].text.partition("\n\n")[0].splitlines()
    written = [re.split(r"\s{2,}", line)[0] for line in lines if not line.startswith(" ")]
    found = [text for line in written for text in line.split("; ")]
    assert len(found) > least
    return found


def phrase(text: str) -> PhraseText:
    return PhraseText(text, SourceRange(Source("README.md", text), 0, len(text)))


@pytest.mark.parametrize("text", forms("times"))
def test_every_time_of_day_is_one(text: str) -> None:
    found, problems = parse_moment(phrase(text), is_end=True)
    assert found is not None, render(problems)


@pytest.mark.parametrize("text", forms("dates"))
@pytest.mark.parametrize("half", ["", " evenings", " mornings"])
def test_every_form_of_dates_is_one(text: str, half: str) -> None:
    found, problems = parse_dates(phrase(text + half), halves_allowed=True)
    assert found is not None, render(problems)


@pytest.mark.parametrize("text", forms("rules"))
def test_every_form_of_a_rule_is_one(text: str) -> None:
    written = re.sub(r"\bB\b", "06:00", re.sub(r"\bA\b", "23:00", text))
    found, problems = parse_rule(phrase(written))
    assert found is not None, render(problems)


def test_every_column_of_a_store_list_is_one() -> None:
    told = forms("stores")
    for title in told:
        assert path_of(title) is not None, title
    assert set(SHORT) <= set(told)


def test_the_list_of_slots_can_be_read() -> None:
    unit, _ = controllerfile.load_controller("sun-yearly-64")
    assert unit is not None
    read, findings = read_keyed(Source("panel-a.txt", topics()["slots"].text), unit, (1,))
    assert read is not None, render(findings)


def test_topics_fit_a_terminal() -> None:
    for topic in topics().values():
        assert all(len(line) <= WIDTH for line in topic.text.splitlines()), topic.name
        assert f"`schedcomp explain {topic.name}`" in PROSE


# Commands and controllers


def main_command() -> TyperGroup:
    command = typer.main.get_command(cli.app)
    assert isinstance(command, TyperGroup)
    return command


def test_every_command_has_help_and_is_in_readme() -> None:
    for name, command in main_command().commands.items():
        assert command.help, name
        assert f"| `schedcomp {name}" in section(README, "## Commands"), name
        for parameter in command.params:
            assert getattr(parameter, "help", None), (name, parameter.name)


def test_every_command_in_readme_is_one() -> None:
    told = set(re.findall(r"`schedcomp ([a-z]+)", PROSE))
    assert told == set(main_command().commands)


def test_every_option_in_readme_is_one() -> None:
    known = {
        name
        for command in main_command().commands.values()
        for parameter in command.params
        for name in parameter.opts
    }
    assert set(re.findall(r"`[^`]*?(--[a-z]+)", PROSE)) <= {*known, "--help"}


def test_exit_codes_are_told() -> None:
    codes = (answer.CLEAN, answer.FINDINGS, answer.USAGE, answer.BAD_FILES, cli.OUR_FAULT)
    told = re.search(r"Exit codes: ([^.]+)\.", PROSE)
    assert told is not None
    assert tuple(int(code) for code in re.findall(r"\b\d+\b", told[1])) == codes


def test_every_built_in_controller_is_named() -> None:
    named = set(re.findall(r"`((?:sun|clock)-[a-z]+-\d+)`", section(README, "## Controllers")))
    assert named == set(controllerfile.builtin_controllers())


@pytest.mark.parametrize("words", ["OFF at the clock is not isolation", "Lock out", "dark evening"])
def test_the_cautions_that_matter_are_there(words: str) -> None:
    assert words in section(README, "## Cautions")


# Names


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_every_path_named_exists(text: str) -> None:
    paths = re.findall(r"`((?:schedcomp|tests|sample_sites|\.ci)/[\w./]+|\w+\.md)`", text)
    links = re.findall(r"\]\((?!https?:)([^)]+)\)", text)
    assert paths
    for path in (*paths, *links):
        assert (ROOT / path).exists(), path


def test_every_package_is_told_of_in_developers() -> None:
    for folder in (ROOT / "schedcomp").iterdir():
        if (folder / "__init__.py").exists():
            assert f"schedcomp/{folder.name}" in DEVELOPERS, folder.name


def test_names_in_developers_are_found_in_the_code() -> None:
    places = [*(ROOT / "schedcomp").rglob("*.py"), *(ROOT / "tests" / "catalogue").glob("*.py")]
    code = "\n".join(p.read_text(encoding="utf-8") for p in places)
    names = set(re.findall(r"`(_?[A-Za-z]+(?:_[A-Za-z]+)*|[A-Z]\w+)`", DEVELOPERS))
    for name in names:
        assert re.search(rf"\b{re.escape(name)}\b", code), name


def test_the_line_of_imports_names_modules_that_exist() -> None:
    assert len(names_in_order()) > 25
    for name in names_in_order():
        import_module(f"schedcomp.{name}")


def names_in_order() -> list[str]:
    """Modules and packages as the line of imports has them."""
    found = section(DEVELOPERS, "## Who may import whom")
    line = re.sub(r"\([^)]*\)", "", found.split("\n\n")[-2])
    return [name.strip() for name in line.replace("\n", " ").split(",")]


BACKWARDS = {("renewal", "fit")}
"""The exception that DEVELOPERS tells."""


def test_the_line_of_imports_is_the_order_they_go() -> None:
    place = {name: n for n, name in enumerate(names_in_order())}
    for path in MODULES:
        own = module_name(path).split(".")[1]
        behind = {
            other
            for name in own_imports(path)
            if place.get(other := name.split(".")[1], -1) > place.get(own, len(place))
        }
        assert {(own, other) for other in behind} <= BACKWARDS, path


@pytest.mark.parametrize("example", blocks(DEVELOPERS, "python"))
def test_the_python_of_developers_runs(
    example: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(ROOT)
    run: Callable[..., None] = exec
    names: dict[str, Any] = {}
    run(example, names)
    frame = names["compiled"].to_frame()
    assert set(frame["circuit"]) == {"Lot poles"}
    assert f"[{len(frame)} rows x {len(frame.columns)} columns]" in capsys.readouterr().out


def test_the_changelog_has_this_version_first() -> None:
    versions = re.findall(r"^## (\S+)$", CHANGELOG, re.MULTILINE)
    assert versions[0] == __version__
