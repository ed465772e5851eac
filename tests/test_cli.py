"""The commands: exit codes, streams, files, JSON, and the time they know.

Most lines are given to the command in this process, which saves an interpreter for each; that one
of its own says the same is tested at the top.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import subprocess
import sys
from pathlib import Path
from unittest.mock import patch

import pytest

from schedcomp import cli
from schedcomp.records import Record

NOW = "1796304600"
"""Thu 3 Dec 2026, 13:30 UTC."""

SITE = """\
schedcomp = 1

[site]
name       = "Sample lot"
latitude   = 40.5853
longitude  = -105.0844
timezone   = "America/Denver"
controller = "sun-yearly-64"
tolerance  = "10 min"
holidays   = { add = { "Stock-taking" = "2027-12-30" } }

[hours]
mon-sat  = "08:00-21:00"
sun      = "closed"

[day_types]
usual = ["on from dusk until 23:00", "on from 05:30 until dawn"]
shop  = ["on from dusk until close"]

[[circuit]]
name     = "Lot poles"
channel  = 1
load_kw  = 6.4
serves   = "people"
egress   = "separate, always on: panel E, breaker 3"
calendar = ["every day: usual", "holidays: dark"]
promise  = ["fri 2027-12-03 17:30: lit", "every day 23:50: dark"]

[[circuit]]
name     = "Sign"
channel  = 2
serves   = "sign"
calendar = ["every day: shop"]
"""

TWO_SLOTS = """\
schedcomp_controller = 1
name        = "two-slots"
event_slots = 2
channels    = 2
starts_at   = ["clock", "sunrise", "sunset"]
"""

DECEMBER = "--from 2027-12-01 --through 2027-12-31"
ALWAYS_WRITTEN = {"table.csv", "check.json"}
WITH_PROGRAM = {*ALWAYS_WRITTEN, "events.csv", "transfer.json", "calendar.ics"}


class Result(Record):
    code: int
    out: str
    err: str


def settings(environment: dict[str, str]) -> dict[str, str]:
    return {**os.environ, "SOURCE_DATE_EPOCH": NOW, "PYTHONWARNINGS": "error", **environment}


def run(folder: Path, *arguments: str, **environment: str) -> Result:
    """The command in this process, with its own streams, folder and environment."""
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="") for _ in range(2))
    with (
        contextlib.chdir(folder),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
        patch.dict(os.environ, settings(environment)),
        patch.object(sys, "argv", ["schedcomp", *arguments]),
        pytest.raises(SystemExit) as stop,
    ):
        cli.main()
    return Result(int(stop.value.code or 0), shown_on(out), shown_on(err))


def shown_on(stream: io.TextIOWrapper) -> str:
    stream.seek(0)
    return stream.read()


def run_outside(folder: Path, *arguments: str, **environment: str) -> Result:
    """The command in an interpreter of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "schedcomp", *arguments],
        cwd=folder,
        env=settings(environment),
        capture_output=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )
    return Result(done.returncode, done.stdout, done.stderr)


def december(folder: Path, site: str, out: str = "set", *more: str) -> Result:
    """A build of one month."""
    return run(folder, "build", site, *DECEMBER.split(), "--out", out, *more)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "lot.toml").write_text(SITE, encoding="utf-8")
    (tmp_path / "two.toml").write_text(TWO_SLOTS, encoding="utf-8")
    broken = SITE.replace("every day 23:50: dark", "2027-12-30 22:00: lit")
    (tmp_path / "promise.toml").write_text(broken, encoding="utf-8")
    (tmp_path / "typo.toml").write_text(SITE.replace("until 23:00", "until 23:70"), "utf-8")
    (tmp_path / "torn.toml").write_text(SITE[:120] + "\n[[", encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("--version", 0),
        ("build lot.toml --year 27", 2),
        ("build typo.toml", 3),
        (f"build promise.toml {DECEMBER}", 1),
        (f"build lot.toml {DECEMBER} --json", 0),
        ("why lot.toml 2027-12-03 17:30", 0),
    ],
)
def test_an_interpreter_of_its_own_says_the_same(folder: Path, line: str, code: int) -> None:
    outside = run_outside(folder, *line.split())
    files = {p.name: p.read_bytes() for p in folder.glob("*/*")}
    assert outside.code == code, outside.err
    assert outside == run(folder, *line.split())
    assert files == {p.name: p.read_bytes() for p in folder.glob("*/*")}
    assert bool(files) == line.startswith(("build promise", "build lot.toml --from"))


EXIT_CODES = [
    ("--version", 0),
    ("--help", 0),
    ("build --help", 0),
    ("", 2),
    ("biuld lot.toml", 2),
    ("build", 2),
    ("build lot.toml --colour", 2),
    ("build lot.toml --year 27", 2),
    ("build lot.toml --year 2027 --from 2027-01-01", 2),
    ("build lot.toml --from 2027-01-01", 2),
    ("build lot.toml --through 2027-01-01", 2),
    ("build lot.toml --from 2027-02-30 --through 2027-03-01", 2),
    ("build lot.toml --from 03/04/2027 --through 2027-12-31", 2),
    ("build lot.toml --from 2027-12-31 --through 2027-01-01", 2),
    ("build lot.toml --from 2027-01-01 --through 2059-01-01", 2),
    ("night lot.toml tomorrow", 2),
    ("night lot.toml --days 0", 2),
    ("night lot.toml --days 1.5", 2),
    ("why lot.toml", 2),
    ("why lot.toml 2027-03-14", 2),
    ("why lot.toml 2027-03-14 25:00", 2),
    ("why lot.toml 2027-03-14 02:30", 2),
    ("controllers no-such", 2),
    ("explain E999", 2),
    ("build missing.toml", 3),
    ("build torn.toml", 3),
    ("build typo.toml", 3),
    ("build lot.toml --controller missing.toml", 3),
    ("night typo.toml", 3),
    ("why typo.toml 2027-03-14 12:00", 3),
    (f"build promise.toml {DECEMBER}", 1),
    (f"build lot.toml {DECEMBER} --controller two.toml", 1),
    (f"build lot.toml {DECEMBER}", 0),
    ("night lot.toml 2027-12-03", 0),
    ("why lot.toml 2027-12-03 17:30", 0),
    ("controllers", 0),
    ("controllers sun-yearly-64", 0),
    ("explain", 0),
    ("explain E901", 0),
]


@pytest.mark.parametrize(("line", "code"), EXIT_CODES, ids=[line for line, _ in EXIT_CODES])
def test_exit_codes_and_streams(folder: Path, line: str, code: int) -> None:
    """Results on stdout, findings on stderr, never a traceback, never a colour."""
    result = run(folder, *line.split())
    assert result.code == code, result.err + result.out
    assert "Traceback" not in result.out + result.err
    assert "\x1b" not in result.out + result.err
    if code in (2, 3):
        assert not result.out
        assert result.err
    if code == 0:
        assert result.out
    for text in (result.out, result.err):
        rows = [row for row in text.splitlines() if not row.strip().startswith("schedcomp ")]
        assert all(len(row) <= 80 for row in rows), text  # a command is never broken


USAGE_WORDS = [
    ("build lot.toml --from 03/04/2027 --through 2027-12-31", ["E751", "3 April", "4 March"]),
    ("build lot.toml --from 2027-02-30 --through 2027-03-01", ["E752", "--from 2027-02-28"]),
    ("build lot.toml --from 2027-3-1 --through 2027-4-1", ["E765", "--from 2027-03-01"]),
    ("build lot.toml --from 13/02/2027 --through 2027-04-01", ["E765", "--from 2027-02-13"]),
    ("build lot.toml --year 1999", ["E753", "2001", "2099", "--year 2027"]),
    ("build lot.toml --through 2027-06-30", ["E755", "--from 2027-01-01 --through 2027-06-30"]),
    ("why lot.toml 2027-03-14 02:30", ["E760", "show 02:00 it shows 03:00", '"2027-03-14 03:00"']),
    ("why lot.toml 12:00", ["E759"]),
    ("night lot.toml 2100-01-01", ["E758"]),
    ("explain E902", ["E761", "E901"]),
    ("controllers sun", ["E762", "sun-yearly-64"]),
]


@pytest.mark.parametrize(("line", "words"), USAGE_WORDS, ids=[line for line, _ in USAGE_WORDS])
def test_what_is_said_to_a_slip(folder: Path, line: str, words: list[str]) -> None:
    result = run(folder, *line.split())
    assert result.code == 2
    flat = " ".join(result.err.split())
    for word in words:
        assert word in flat


def test_help_comes_without_the_engine() -> None:
    """Help must come at once: nothing heavy is imported for it."""
    heavy = ["numpy", "pandas", "rich", "skyfield", "holidays", "pydantic", "highspy", "tzfpy"]
    script = (
        "import sys\n"
        "from schedcomp.cli import main\n"
        "sys.argv = ['schedcomp', 'build', '--help']\n"
        "try:\n    main()\nexcept SystemExit as stop:\n    assert not stop.code\n"
        f"found = [m for m in {heavy!r} if m in sys.modules]\n"
        "print('LOADED', found)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, encoding="utf-8", check=True
    )
    assert "--through" in done.stdout
    assert "LOADED []" in done.stdout


def test_a_build_loads_nothing_it_does_not_use(folder: Path) -> None:
    """Frames, the map of the zones and the libraries of tests and recipes stay out."""
    unused = ["pandas", "rich", "tzfpy", "skyfield", "numpy.ma", "holidays.countries"]
    script = (
        "import sys\n"
        "from schedcomp.cli import main\n"
        "sys.argv = ['schedcomp', 'build', 'lot.toml', '--from', '2027-12-01', '--through',\n"
        "            '2027-12-31', '--out', 'made']\n"
        "try:\n    main()\nexcept SystemExit as stop:\n    assert not stop.code\n"
        f"print('LOADED', [m for m in {unused!r} if m in sys.modules])\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=folder,
        capture_output=True,
        encoding="utf-8",
        check=True,
    )
    assert "LOADED []" in done.stdout


def test_build_writes_a_whole_set(folder: Path) -> None:
    result = december(folder, "lot.toml", "made/here")
    assert result.code == 0, result.err
    assert {p.name for p in (folder / "made/here").iterdir()} >= WITH_PROGRAM
    assert "made/here" in result.out


def test_the_default_folder_is_named_after_file_and_period(folder: Path) -> None:
    assert run(folder, "build", "lot.toml").code == 0
    assert (folder / "lot-2027").is_dir()
    assert run(folder, "build", "lot.toml", *DECEMBER.split()).code == 0
    assert (folder / "lot-2027-12-01-to-2027-12-31").is_dir()


def test_a_broken_promise_takes_the_old_program_away(folder: Path) -> None:
    """Never an old program beside a new table that breaks a promise."""
    assert december(folder, "lot.toml").code == 0
    assert {p.name for p in (folder / "set").iterdir()} >= WITH_PROGRAM
    result = december(folder, "promise.toml")
    assert result.code == 1
    left = {p.name for p in (folder / "set").iterdir()}
    assert left >= ALWAYS_WRITTEN
    assert not left & {"events.csv", "transfer.json"}
    flat = " ".join(result.out.split())
    assert "NOT written" in flat
    assert "BROKEN 1 of 2: `2027-12-30 22:00: lit` (Lot poles)" in flat


def test_what_does_not_fit_says_what_would(folder: Path) -> None:
    result = december(folder, "lot.toml", "set", "--controller", "two.toml")
    assert result.code == 1
    flat = " ".join(result.out.split())
    assert "DOES NOT FIT" in flat
    assert "the controller has 2" in flat
    assert "sun-yearly-64" not in result.err
    assert "events.csv and transfer.json were NOT written" in flat
    left = {p.name for p in (folder / "set").iterdir()}
    assert left >= ALWAYS_WRITTEN
    assert not left & {"events.csv", "transfer.json"}


def test_problems_in_files_leave_an_older_set_alone(folder: Path) -> None:
    assert december(folder, "lot.toml").code == 0
    before = {p.name: p.read_bytes() for p in (folder / "set").iterdir()}
    assert december(folder, "typo.toml").code == 3
    assert {p.name: p.read_bytes() for p in (folder / "set").iterdir()} == before


def test_a_folder_that_cannot_be_written_is_a_finding(folder: Path) -> None:
    (folder / "taken").write_text("a file", encoding="utf-8")
    result = december(folder, "lot.toml", "taken")
    assert result.code == 3
    assert "E730" in result.err
    assert not result.out


def test_the_summary_is_short(folder: Path) -> None:
    result = run(folder, "build", "lot.toml", "--year", "2027")
    lines = result.out.splitlines()
    assert len(lines) <= 20
    assert "sunset today" in " ".join(lines[:2])
    flat = " ".join(result.out.split())
    for part in (
        "sun-yearly-64, 64 slots",
        "Fri 1 Jan 2027 through Fri 31 Dec 2027",
        "dusk sunset + 15 min, dawn sunrise - 15 min: about 50 lux, clear sky",
        "lamps on up to 10 min before dusk, off up to 10 min after dawn",
        "needs 6 (proven), uses 13 of 64, 7 are safety repeats",
        "Test run agrees",
        "kept 2 of 2; no rule was checked",
        "Sun 14 Mar 2027 02:00 goes forward to 03:00",
        "OFF at the clock is not isolation",
    ):
        assert part in flat, result.out


@pytest.mark.parametrize(
    "line",
    [
        f"build lot.toml {DECEMBER}",
        f"build promise.toml {DECEMBER}",
        "build typo.toml",
        "build lot.toml --year x",
        "night lot.toml 2027-12-03",
        "why lot.toml 2027-12-03 17:30",
        "controllers",
        "explain E901",
    ],
)
def test_json_is_one_record_with_the_findings(folder: Path, line: str) -> None:
    plain, result = run(folder, *line.split()), run(folder, *line.split(), "--json")
    assert result.code == plain.code
    assert not result.err
    record = json.loads(result.out)
    assert record["command"] == line.split()[0]
    assert record["exit_code"] == result.code
    codes = [finding["code"] for finding in record["findings"]]
    for code in codes:
        assert f" {code}: " in plain.err
    assert bool(codes) == bool(plain.err)


def test_json_of_a_night_names_every_switching(folder: Path) -> None:
    record = json.loads(run(folder, "night", "lot.toml", "2027-12-03", "--json").out)
    poles = record["nights"][0]["circuits"][0]
    assert [s["action"] for s in poles["switchings"]] == ["on", "off", "on", "off"]
    assert poles["switchings"][1]["time"] == "23:00:00"
    assert poles["switchings"][0]["line"] == "every day: usual"


STRANGE_SURROUNDINGS = {
    "TZ": "Pacific/Kiritimati",
    "LANG": "C",
    "LC_ALL": "C",
    "PYTHONUTF8": "0",
    "PYTHONHASHSEED": "4711",
    "COLUMNS": "200",
}


def test_answers_do_not_depend_on_the_machine(folder: Path) -> None:
    """Zone, language, terminal and the order of sets change nothing: two commands in an
    interpreter that was begun with others, against the same two here.
    """
    commands = (("build", "lot.toml", *DECEMBER.split(), "--out", "set"), ("night", "lot.toml"))
    here = [run(folder, *command) for command in commands]
    files = {p.name: p.read_bytes() for p in (folder / "set").iterdir()}
    (folder / "set").rename(folder / "before")
    program = f"""
import sys
from schedcomp import cli
for command in {commands!r}:
    sys.argv = ["schedcomp", *command]
    try:
        cli.main()
    except SystemExit as end:
        print("CODE", end.code, flush=True)
"""
    done = subprocess.run(
        [sys.executable, "-c", program],
        cwd=folder,
        env=settings(STRANGE_SURROUNDINGS),
        capture_output=True,
        encoding="utf-8",
        timeout=120,
        check=True,
    )
    assert done.stdout == "".join(f"{result.out}CODE {result.code}\n" for result in here)
    assert done.stderr == "".join(result.err for result in here)
    assert {p.name: p.read_bytes() for p in (folder / "set").iterdir()} == files


def test_a_terminal_without_the_letters_stops_nothing(folder: Path) -> None:
    text = SITE.replace("Sample lot", "Müller – straße ☾")
    (folder / "lot.toml").write_text(text, encoding="utf-8")
    result = run_outside(folder, "night", "lot.toml", "2027-12-03", PYTHONIOENCODING="ascii")
    assert result.code == 0, result.err
    assert "M?ller" in result.out


def test_tonight_is_the_evening_at_the_site(folder: Path) -> None:
    """At 03:00 UTC on the 4th it is still the evening of the 3rd in Denver."""
    result = run(folder, "night", "lot.toml", SOURCE_DATE_EPOCH="1796353200")
    assert "Wed 2 Dec 2026 (evening)" not in result.out
    assert "Thu 3 Dec 2026 (evening)" in result.out


def test_our_own_fault_says_so(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fails(*_: object) -> None:
        raise KeyError("a name of a site")

    monkeypatch.setattr("schedcomp.answers.explain.explain", fails)
    monkeypatch.setattr(sys, "argv", ["schedcomp", "explain"])
    monkeypatch.delenv("SCHEDCOMP_DEBUG", raising=False)
    with pytest.raises(SystemExit) as stop:
        cli.main()
    shown = capsys.readouterr()
    assert stop.value.code == 70
    assert shown.err.startswith("Fault E901: This is a mistake in schedcomp, not in your files.\n")
    assert "No file was written" in shown.err
    assert "KeyError" in shown.err
    assert "Traceback" not in shown.err
    assert "a name of a site" not in shown.err
    assert not shown.out


def test_the_steps_of_a_fault_are_shown_when_asked_for(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fails(*_: object) -> None:
        raise KeyError("lamps")

    monkeypatch.setattr("schedcomp.answers.explain.explain", fails)
    monkeypatch.setattr(sys, "argv", ["schedcomp", "explain"])
    monkeypatch.setenv("SCHEDCOMP_DEBUG", "1")
    with pytest.raises(SystemExit) as stop:
        cli.main()
    assert stop.value.code == 70
    assert "Traceback" in capsys.readouterr().err


def test_lamps_lit_from_end_to_end_are_switched_on_by_a_spare_slot(folder: Path) -> None:
    always = SITE.replace("on from dusk until 23:00", "on from 00:00 until 24:00")
    always = always.replace(', "holidays: dark"', "").replace("23:50: dark", "23:50: lit")
    (folder / "always.toml").write_text(always, encoding="utf-8")
    assert "E644" not in december(folder, "always.toml").err
    rows = (folder / "set" / "events.csv").read_text().splitlines()
    [row] = [row for row in rows if row.endswith("on at noon in case the unit started dark")]
    assert ",on,clock,12:00," in row
    bare = always.replace("[site]", '[site]\nspare = "none"')
    (folder / "bare.toml").write_text(bare, encoding="utf-8")
    told = december(folder, "bare.toml", "bare").err
    assert "Caution E644" in told
    assert 'spare = "safety"' in told
