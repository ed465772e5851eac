"""new, copy, verify, compare and hours from the command line: streams, JSON and exit codes."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from schedcomp import cli
from tests.small_transfer import SMALL_PROGRAM, keyed_list, small, small_bytes
from tests.test_compare import LATER, SITE


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1796304600")
    (tmp_path / "transfer.json").write_bytes(small_bytes())
    (tmp_path / "later.json").write_bytes(small_bytes(LATER))
    (tmp_path / "site.toml").write_text(SITE)
    (tmp_path / "panel.txt").write_text(keyed_list(SMALL_PROGRAM))
    (tmp_path / "stick").mkdir()
    return tmp_path


def run(*words: str, typed: str = "") -> Result:
    return CliRunner().invoke(cli.app, list(words), input=typed)


def record_of(result: Result) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(result.stdout)
    assert found["exit_code"] == result.exit_code
    return found


def test_a_program_goes_on_a_stick_and_is_verified_there(folder: Path) -> None:
    done = run("copy", "transfer.json", "stick", "--unit", "Panel B", "--unit", "Panel A")
    assert done.exit_code == 0, done.stderr
    assert "read back and equal" in done.stdout
    assert done.stderr == ""
    record = record_of(run("verify", "stick", "--json"))
    assert record["program_code"] == small().program_code
    assert record["units"] == ["Panel B", "Panel A"]
    again = record_of(run("copy", "transfer.json", "stick", "--json"))
    assert (again["folder"], again["was_there"]) == (f"{small().program_code}-2", False)
    assert again["replaced"] == [f"replaced/{small().program_code}"]
    assert (folder / "stick" / "use-this.txt").exists()


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("copy", "transfer.json", "gone"), 3, "E782"),
        (("copy", "transfer.json", "stick", "--unit", "Panel X"), 2, "E780"),
        (("copy", "gone.json", "stick"), 3, "E701"),
        (("verify", "gone.json"), 3, "E701"),
        (("verify", "stick"), 3, "E790"),
        (("compare", "panel.txt", "panel.txt"), 2, "E794"),
        (("hours", "site.toml", "--since", "2027-01-02", "--until", "2027-01-01"), 2, "E796"),
        (("new", "--answer", "plaice=x"), 2, "E798"),
        (("new",), 2, "E799"),
    ],
)
def test_what_goes_wrong_has_its_exit_code(
    folder: Path, words: tuple[str, ...], code: int, told: str
) -> None:
    assert folder.exists()
    done = run(*words)
    assert done.exit_code == code
    assert told in done.stderr
    assert done.stdout == ""
    assert [f["code"] for f in record_of(run(*words, "--json"))["findings"]] == [told]


def test_programs_are_compared(folder: Path) -> None:
    assert folder.exists()
    same = run("compare", "transfer.json", "panel.txt")
    assert same.exit_code == 0
    assert same.stdout.count("lamps do the same on every night") == 2
    other = run("compare", "transfer.json", "later.json", "--json")
    assert other.exit_code == 1
    assert record_of(other)["same"] is False
    dates = ("--from", "2027-06-01", "--through", "2027-06-02")
    shorter = record_of(run("compare", "site.toml", "later.json", *dates, "--json"))
    assert len(shorter["channels"][0]["nights"]) == 2


def test_hours_are_told(folder: Path) -> None:
    assert folder.exists()
    done = run("hours", "site.toml", "--since", "2027-01-01", "--until", "2027-02-28", "--json")
    circuits = record_of(done)["circuits"]
    assert [m["month"] for m in circuits[0]["by_month"]] == ["2027-01", "2027-02"]


def test_the_form_is_printed(folder: Path) -> None:
    done = run("new", "--paper")
    assert done.exit_code == 0
    assert done.stdout.startswith("SITE WALK")
    assert len(list(folder.iterdir())) == 5


def test_questions_go_to_stderr(folder: Path) -> None:
    """So that the answer on stdout can be read by a program."""
    done = run("new", typed="North lot\nNowheretown\n")
    assert done.exit_code == 2
    assert "1.1  What is the site called?" in done.stderr
    assert "No town of this name" in done.stderr
    assert done.stdout == ""
    assert not (folder / "north-lot.toml").exists()
