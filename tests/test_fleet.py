"""Many sites at once: store lists, folders, runs that go on, what has to be keyed where."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import subprocess
import sys
from concurrent.futures import BrokenExecutor, Executor, Future, ThreadPoolExecutor
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from schedcomp import fleet, later, sitefile
from schedcomp.cli_fleet import bar_line
from schedcomp.diag import Diagnostic
from schedcomp.fleet import (
    answer,
    cells,
    columns,
    onesite,
    running,
    sitefolder,
    storelist,
    workers,
)
from schedcomp.fleet.job import Order, SiteJob
from schedcomp.fleet.outcome import FAULT, NOT_MET, READY, UNREADABLE, Outcome
from schedcomp.fleet.whole import Fleet, Progress
from schedcomp.model import Period
from schedcomp.output import lock
from schedcomp.records import replace
from schedcomp.site_controller import controller_of
from schedcomp.transfer import Transfer
from schedcomp.transferfile import load_transfer
from schedcomp.versions import versions

ROOT = Path(__file__).parents[1]
MARCH = Period(date(2027, 3, 1), date(2027, 3, 31))
NOW = 1796304600

TEMPLATE = """\
schedcomp = 1
[site]
name = "Shop"
latitude = 39.7
longitude = -105.0
timezone = "America/Denver"
holidays = { country = "US", only = ["Christmas Day"], observed = false }
controller = "sun-yearly-32"
tolerance = "10 min"
[hours]
mon-sun = "08:00-20:00"
[day_types]
usual = ["on from 18:00 until 22:00"]
[[circuit]]
name = "Lot"
channel = 1
load_kw = 2
serves = "sign"
egress = "none on this circuit"
calendar = ["every day: usual"]
"""
SIGN = """\
[[circuit]]
name = "Sign"
channel = 2
serves = "sign"
egress = "none on this circuit"
calendar = ["every day: usual"]
"""


@pytest.fixture(autouse=True)
def _not_ahead(monkeypatch: pytest.MonkeyPatch) -> None:
    """A program of these sites is right for ten years, which takes long to find out."""
    monkeypatch.setattr(later, "YEARS_AHEAD", 0)


def write(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def listed(folder: Path, *lines: str) -> Path:
    write(folder, "shop.toml", TEMPLATE)
    return write(folder, "shops.csv", "\n".join(lines) + "\n")


def ran(folder: Path, *lines: str, **more: Any) -> Fleet:
    path = listed(folder, *lines)
    return gone_on(folder, path, **more)


def gone_on(folder: Path, path: Path, **more: Any) -> Fleet:
    wishes: dict[str, Any] = {
        "period": MARCH,
        "out": folder / "out",
        "template": str(folder / "shop.toml"),
        "workers": 1,
        **more,
    }
    made, found = fleet.run(path, **wishes)
    assert made is not None, found
    return made


def codes(found: tuple[Diagnostic, ...]) -> list[str]:
    return [finding.code for finding in found]


def told(outcome: Outcome) -> list[tuple[object, object, object]]:
    """Code, line and column of what was found wrong with a site."""
    return [(f["code"], f.get("line"), f.get("column")) for f in outcome.findings]


def rows_of(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_text("utf-8"))))


# Cells and columns


@pytest.mark.parametrize(
    "text",
    [
        "a,b,c\n1,2,3\n",
        'a,b\r\n"1, 2","say ""so"""\r\n\r\n x , y\r\n',
        "a;b\n1,5;2\n",
        'a\tb\n"two\nlines"\tz\n',
        "a,b\n,\n1,",
    ],
)
def test_cells_are_those_that_another_reader_of_csv_finds(text: str) -> None:
    """Python's own csv module is the other reader; blanks around a cell are ours to drop."""
    between = cells.separator_of(text)
    other = [
        [cell.strip() for cell in row]
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=between)
    ]
    found = list(cells.rows(text))
    assert [[c.text for c in row.cells] for row in found] == [r for r in other if any(r)]
    for row in found:
        for cell in row.cells:
            if cell.inner is not None:
                assert text[cell.inner :].startswith(cell.text)
        assert text.split("\n")[row.lines_before].strip()


@pytest.mark.parametrize(
    ("title", "path"),
    [
        ("Site ID", ("site id",)),
        ("site_id", ("site id",)),
        ("zone", ("site", "timezone")),
        ("rule", ("site", "ordinance")),
        ("tolerance", ("site", "tolerance")),
        ("circuit.load_kw", ("circuit", "", "load_kw")),
        ("circuit.Lot no. 2.load_kw", ("circuit", "Lot no. 2", "load_kw")),
        ("hours.dec 24", ("hours", "dec 24")),
        ("holidays.subdivision", ("site", "holidays", "subdivision")),
        ("unit.serial", ("unit", "", "serial")),
        ("people.call", ("people", "call")),
        ("load_kw", None),
        ("circuit.load", None),
        ("one_off.lit", None),
    ],
)
def test_what_a_column_sets(title: str, path: columns.Path | None) -> None:
    assert columns.path_of(title) == path


@pytest.mark.parametrize(
    ("header", "code", "typed"),
    [
        ("site id,circuit.loadkw", "E802", "circuit.load_kw"),
        ("site id,load_kw", "E802", "circuit.load_kw"),
        ("site id,coordinate", "E802", "coordinates"),
        ("site id,manager", "E803", "circuit.load_kw"),
        ("site id,zone,timezone", "E804", "zone"),
        ("site id,coordinates,latitude", "E804", "coordinates"),
        ("name,zone", "E805", "site id"),
    ],
)
def test_columns_that_are_refused(tmp_path: Path, header: str, code: str, typed: str) -> None:
    row = ",".join("x" for _ in header.split(","))
    made, found = fleet.run(listed(tmp_path, header, row), period=MARCH, out=tmp_path / "out")
    assert made is None
    assert codes(found) == [code]
    assert typed in found[0].fix.splitlines()
    assert found[0].at is not None
    assert found[0].at.line == 1
    assert not (tmp_path / "out").exists()


# Rows


def test_each_row_is_its_own_site_and_one_bad_row_stops_no_other(tmp_path: Path) -> None:
    made = ran(
        tmp_path,
        "site id,coordinates,circuit.load_kw,circuit.keep_dark,hours.sun",
        '1,"38.5, -104.5",3.5,every day: from 20:00 until 21:00; dec 24: from 17:00 until 23:00,',
        '2,"95, -104.5",,,',
        "3,,heavy,,",
        "1,,,,",
        ',"38.5, -104.5",,,',
        "5,,,",
        "6,,,,25:00-26:00",
        "7,here,,,",
        '"8,"38.5, -104.5",,,',
        "9,,,dec 24: form 17:00 until 23:00,",
    )
    assert [(o.site_id, o.status, told(o)) for o in made.outcomes] == [
        ("1", READY, []),
        ("2", UNREADABLE, [("E226", 3, 4)]),
        ("3", UNREADABLE, [("E207", 4, 4)]),
        ("1", UNREADABLE, [("E810", 5, 1)]),
        ("line 6", UNREADABLE, [("E809", 6, 1)]),
        ("5", UNREADABLE, [("E806", 7, 1)]),
        ("6", UNREADABLE, [("E106", 8, 6)]),
        ("7", UNREADABLE, [("E815", 9, 3)]),
        ("line 10", UNREADABLE, [("E808", 10, 1)]),
        ("9", UNREADABLE, [("E102", 11, 13)]),
    ]
    first, found = sitefile.load_site(tmp_path / "out" / "sites" / "1" / "site.toml")
    assert first is not None, found
    assert (first.latitude_degrees, first.longitude_degrees) == (38.5, -104.5)
    assert first.circuits[0].load_kw == 3.5
    assert len(first.circuits[0].keep_dark) == 2


def test_a_column_for_one_of_several_circuits_names_it(tmp_path: Path) -> None:
    path = listed(tmp_path, "site id,circuit.load_kw,circuit.Sgin.volts", "1,2,", "2,,277")
    write(tmp_path, "shop.toml", TEMPLATE + SIGN)
    made = gone_on(tmp_path, path)
    assert [told(o) for o in made.outcomes] == [[("E812", 2, 3)], [("E813", 3, 4)]]
    typed = [str(o.findings[0]["fix"]).splitlines()[-1] for o in made.outcomes]
    assert typed == ["circuit.Lot.load_kw", "circuit.Sign.volts"]


def test_a_row_accepts_clauses_and_promises_with_their_reasons(tmp_path: Path) -> None:
    """The lamps are lit until 22:00; what one site is let off keeps the programs of others back."""
    write(
        tmp_path,
        "rule.toml",
        'schedcomp_ordinance = 1\ntitle = "Hours"\n'
        '[[requirement]]\nclause = "4.2"\ntext = ""\nrule = "dark from 21:00 until 05:00"\n'
        '[[requirement]]\nclause = "7"\ntext = ""\nrule = "dark from 18:00 until 18:30"\n',
    )
    done = ran(
        tmp_path,
        "site id,rule,circuit.photocell,circuit.override_minutes,accept,because",
        "1,rule.toml,none,0,4.2; 7,vari\u00adance 24-118; permit\u200b 9\x07",
        "2,rule.toml,none,0,,",
        "3,rule.toml,none,0,4.2; 7,variance 24-118",
        "4,rule.toml,none,0,4.2; 8,variance 24-118; permit 9",
        "5,rule.toml,none,0,4.2\u200b; 7,variance 24-118; \u200b",
        "6,rule.toml,none,0,4.2; 7; 4.2,variance 24-118; permit 9; letter",
    )
    states = [READY, NOT_MET, UNREADABLE, UNREADABLE, UNREADABLE, UNREADABLE]
    assert [o.status for o in done.outcomes] == states
    transfer, _ = load_transfer(tmp_path / "out" / "sites" / "1" / "transfer.json")
    assert transfer is not None
    assert transfer.accepted == (("4.2", "variance 24-118"), ("7", "permit 9"))
    assert told(done.outcomes[2]) == [("E825", 4, 20)]
    assert told(done.outcomes[3]) == [("E560", 5, 20)]
    assert told(done.outcomes[4]) == [("E825", 6, 20)]
    assert told(done.outcomes[5]) == [("E563", 7, 20)]
    fix = str(done.outcomes[5].findings[0]["fix"])
    assert fix.splitlines()[1:] == ["4.2", "variance 24-118, letter"]


def test_files_of_a_row_start_at_the_list_and_those_of_a_template_at_it(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    for folder, slots in (("a", 40), ("b", 50)):
        text = f'schedcomp_controller = 1\nname = "{folder}"\nevent_slots = {slots}\n'
        write(tmp_path / folder, "unit.toml", f'{text}starts_at = ["clock", "sunset"]\n')
    write(tmp_path / "b", "late.toml", '[hours]\nmon-sun = "08:00-23:00"\n')
    write(tmp_path / "a", "shop.toml", TEMPLATE.replace("sun-yearly-32", "unit.toml"))
    path = write(
        tmp_path / "b",
        "shops.csv",
        "site id,template,controller,hours file\n1,../a/shop.toml,,\n"
        "2,../a/shop.toml,unit.toml,late.toml\n3,../a/none.toml,,\n4,,,\n",
    )
    made = gone_on(tmp_path, path, template=None)
    assert [o.slots_of for o in made.outcomes] == [40, 50, None, None]
    assert [told(o)[0][0] for o in made.outcomes[2:]] == ["E701", "E811"]
    for name, close in (("1", 20), ("2", 23)):
        site, found = sitefile.load_site(tmp_path / "out" / "sites" / name / "site.toml")
        assert site is not None, found
        assert site.hours is not None
        assert f"{close * 60}" in repr(site.hours.lines[0].value)
        assert (Path(site.folder) / site.controller).is_file()


@pytest.mark.parametrize("sample", sorted((ROOT / "sample_sites").glob("*.toml")), ids=str)
def test_a_site_written_out_is_the_same_site(sample: Path, tmp_path: Path) -> None:
    """Every part of every sample, read back; only places in files differ."""
    write(tmp_path, "shops.csv", "site id\n1\n")
    jobs, _ = storelist.read_store_list(tmp_path / "shops.csv", str(sample))
    assert jobs is not None
    order = Order(period=MARCH, out=str(sample.parent / "out"), made_on=MARCH.first)
    site, text, _ = onesite.load(order, jobs[0])
    again, found = sitefile.load_site(write(tmp_path, "site.toml", text))
    assert site is not None
    assert again is not None, found
    assert bare(again) == bare(site)


def bare(value: object) -> str:
    """A site without where its words stand."""
    words = re.sub(
        r"SourceRange\(source=Source\('[^']*'\), start=\d+, length=\d+\)", "", repr(value)
    )
    return re.sub(r"folder='[^']*'", "", words)


# Names of folders


@pytest.mark.parametrize(
    "site_id",
    ["../../etc", "CON", "a/b", "x" * 300, "Łódź 7", ".", "-rf", "<script>", "a\\b", "com1"],
)
def test_a_site_id_is_never_a_path(site_id: str) -> None:
    assert re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}", storelist.folder_name(site_id))
    assert storelist.folder_name(site_id) != storelist.folder_name(f"{site_id} ")
    assert storelist.folder_name("1042-B") == "1042-B"


# Runs that go on


ROWS = ("site id,coordinates", '1,"38.5, -104.5"', '2,"39.5, -104.5"', '3,"40.5, -104.5"')


def stamps(folder: Path) -> dict[str, int]:
    return {p.parent.name: p.stat().st_mtime_ns for p in folder.glob("out/sites/*/transfer.json")}


def test_a_run_that_was_stopped_goes_on_and_unchanged_sites_stay(tmp_path: Path) -> None:
    path = listed(tmp_path, *ROWS)

    def stop(progress: Progress) -> None:
        if progress.done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        gone_on(tmp_path, path, tell=stop)
    assert set(stamps(tmp_path)) == {"1", "2"}
    assert not (tmp_path / "out" / "summary.csv").exists()
    before = stamps(tmp_path)
    made = gone_on(tmp_path, path)
    assert [o.built for o in made.outcomes] == [False, False, True]
    assert before.items() <= stamps(tmp_path).items()
    summary = (tmp_path / "out" / "summary.csv").read_bytes()

    listed(tmp_path, *ROWS[:2], '2,"39.6, -104.5"', ROWS[3])
    assert [o.built for o in gone_on(tmp_path, path).outcomes] == [False, True, False]
    (tmp_path / "out" / "sites" / "3" / "events.csv").write_text("damaged")
    listed(tmp_path, *ROWS)
    assert [o.built for o in gone_on(tmp_path, path).outcomes] == [False, True, True]
    assert (tmp_path / "out" / "summary.csv").read_bytes() == summary


@pytest.mark.parametrize("what", ["template", "version", "period", "record"])
def test_what_decides_a_site_builds_it_again(
    what: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = listed(tmp_path, *ROWS[:2])
    gone_on(tmp_path, path)
    more: dict[str, Any] = {}
    if what == "template":
        write(tmp_path, "shop.toml", TEMPLATE + "# a remark\n")
    elif what == "version":
        later_one = replace(versions(), schedcomp="9.9.9")
        monkeypatch.setattr("schedcomp.fleet.kept.versions", lambda: later_one)
    elif what == "period":
        more["period"] = Period(date(2027, 4, 1), date(2027, 4, 30))
    else:
        (tmp_path / "out" / "sites" / "1" / "site.json").write_text('{"schedcomp_fleet_site": 1}')
    assert [o.built for o in gone_on(tmp_path, path, **more).outcomes] == [True]


def test_a_site_that_cannot_be_built_any_more_leaves_no_program(tmp_path: Path) -> None:
    path = listed(tmp_path, *ROWS[:2])
    gone_on(tmp_path, path)
    listed(tmp_path, ROWS[0], "1,nowhere")
    assert [o.status for o in gone_on(tmp_path, path).outcomes] == [UNREADABLE]
    assert [p.name for p in (tmp_path / "out" / "sites" / "1").iterdir()] == ["site.json"]


def test_two_runs_into_one_folder_at_once_are_refused(tmp_path: Path) -> None:
    path = listed(tmp_path, *ROWS)
    (tmp_path / "out").mkdir()
    with lock.locked(tmp_path / "out") as is_ours:
        assert is_ours
        made, found = fleet.run(path, period=MARCH, out=tmp_path / "out")
    assert made is None
    assert codes(found) == ["E819"]
    assert not list(tmp_path.glob("out/sites/*"))


def test_a_lock_goes_with_its_process(tmp_path: Path) -> None:
    """The other process ends without giving its lock back, as one that is killed."""
    line = (
        "import os, sys, pathlib; from schedcomp.output.lock import locked\n"
        "with locked(pathlib.Path(sys.argv[1])) as ours:\n"
        "    print(ours, flush=True); input(); os._exit(9)"
    )
    with subprocess.Popen(
        [sys.executable, "-c", line, str(tmp_path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as other:
        assert other.stdout is not None
        assert other.stdin is not None
        assert other.stdout.readline() == "True\n"
        with lock.locked(tmp_path) as is_ours:
            assert not is_ours
        other.stdin.write("\n")
        other.stdin.flush()
        assert other.wait() == 9
    with lock.locked(tmp_path) as is_ours:
        assert is_ours


# What has to be keyed


def test_against_an_earlier_run_only_changed_programs_are_listed(tmp_path: Path) -> None:
    """Slots, days and reasons for: nothing changed, another evening, a new site, one that cannot
    be built; the earlier run had one that is gone.
    """
    header = "site id,coordinates,day_types.usual"
    first = ran(
        tmp_path,
        header,
        '1,"38.5, -104.5",',
        '2,"39.5, -104.5",',
        '3,"40.5, -104.5",',
        '4,"39.5, -104.5",',
        out=tmp_path / "old",
    )
    assert [(o.visit_by, o.reason) for o in first.outcomes] == [("2027-02-28", "first program")] * 4
    made = ran(
        tmp_path,
        header,
        '1,"38.5, -104.5",',
        '2,"39.5, -104.5",on from 18:00 until 23:00',
        '3,"40.5",',
        '5,"41.5, -104.5",',
        against=tmp_path / "old",
    )
    by_id = {o.site_id: o for o in made.outcomes}
    assert made.gone == 1
    assert by_id["1"].code == first.outcomes[0].code
    assert [row["site_id"] for row in rows_of(tmp_path / "out" / "worklist.csv")] == ["2", "5", "3"]
    changed = by_id["2"]
    old, _ = load_transfer(tmp_path / "old" / "sites" / "2" / "transfer.json")
    new, _ = load_transfer(tmp_path / "out" / "sites" / "2" / "transfer.json")
    assert old is not None
    assert new is not None
    assert (changed.add, changed.change, changed.erase) == slots_that_differ(old, new)
    assert changed.visit_by == "2027-02-28"
    assert "from Mon 1 Mar 2027" in changed.reason
    assert by_id["5"].reason == "no program in the earlier run"
    assert by_id["3"].visit_by == first.outcomes[2].good_until
    assert "no new program" in by_id["3"].reason


def slots_that_differ(old: Transfer, new: Transfer) -> tuple[int, int, int]:
    """Added, changed and deleted slots, counted on the lists of events themselves."""
    before, after = (
        {
            e.slot: (e.channels, e.action, e.start, e.weekdays, e.dates, e.plan)
            for e in transfer.program.events
        }
        for transfer in (old, new)
    )
    both = before.keys() & after.keys()
    changed = sum(before[slot] != after[slot] for slot in both)
    return len(after.keys() - before.keys()), changed, len(before.keys() - after.keys())


@pytest.mark.parametrize(("against", "code"), [("out", "E821"), ("nowhere", "E820")])
def test_runs_that_are_none_are_refused(tmp_path: Path, against: str, code: str) -> None:
    path = listed(tmp_path, *ROWS)
    made, found = fleet.run(path, period=MARCH, out=tmp_path / "out", against=tmp_path / against)
    assert made is None
    assert codes(found) == [code]


# Processes and executors


JOBS = tuple(
    SiteJob(number=n, site_id=str(n), folder=str(n), path="", problems=()) for n in range(50)
)
ORDER = Order(period=MARCH, out="", made_on=MARCH.first)


def instead(order: Order, jobs: tuple[SiteJob, ...]) -> tuple[Outcome, ...]:
    """In place of building; one site ends its process."""
    if any(job.site_id == order.against for job in jobs):
        raise BrokenExecutor
    return tuple(
        Outcome(number=j.number, site_id=j.site_id, folder=j.folder, status=READY) for j in jobs
    )


class Counting(ThreadPoolExecutor):
    """Counts what is under way at most."""

    most = under_way = 0

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        self.under_way += 1
        self.most = max(self.most, self.under_way)
        future = super().submit(fn, *args, **kwargs)
        future.add_done_callback(lambda _: setattr(self, "under_way", self.under_way - 1))
        return future


def test_few_sites_are_under_way_at_a_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(running, "build_sites", instead)
    with Counting(3) as executor:
        done = list(running.on_executor(ORDER, iter(JOBS), executor, pending=5, chunk=2))
        assert executor.most <= 5
    assert sorted(o.number for o in done) == list(range(50))


def test_a_process_that_ends_takes_only_its_site_along(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(running, "build_sites", instead)
    order = replace(ORDER, against="17")
    done = list(running.outcomes(order, JOBS, ThreadPoolExecutor, 2))
    assert sorted(o.number for o in done) == list(range(50))
    assert [o.site_id for o in done if o.status == FAULT] == ["17"]
    [lost] = [o for o in done if o.status == FAULT]
    assert [f["code"] for f in lost.findings] == ["E824"]


def test_a_mistake_of_ours_stays_with_its_site(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    right = controller_of

    def wrong(site: Any, named: str | None) -> Any:
        return right(site, named) if site.latitude_degrees < 39 else 1 // 0

    monkeypatch.setattr("schedcomp.fleet.onesite.controller_of", wrong)
    made = ran(tmp_path, *ROWS)
    assert [o.status for o in made.outcomes] == [READY, FAULT, FAULT]
    assert "ZeroDivisionError" in str(made.outcomes[1].findings[0]["why"])


def test_processes_of_our_own_give_the_same_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A warm process against none, byte for byte; it looks ahead as far as usual, so a date of
    one year ends what it sees.
    """
    monkeypatch.setattr(later, "YEARS_AHEAD", 10)
    monkeypatch.setattr(running, "FEW", 1)
    path = listed(tmp_path, *ROWS[:2])
    dated = TEMPLATE.replace('usual"]', 'usual", "2027-03-20 evenings: dark"]')
    write(tmp_path, "shop.toml", dated)
    for out, count in (("one", 1), ("two", 2)):
        made = gone_on(tmp_path, path, out=tmp_path / out, workers=count)
        assert [o.good_until for o in made.outcomes] == ["2028-03-19"]
    for one in (tmp_path / "one").rglob("*.*"):
        if one.is_file() and one.name != "site.json":
            two = tmp_path / "two" / one.relative_to(tmp_path / "one")
            assert one.read_bytes() == two.read_bytes(), one


def test_the_executor_of_a_cluster(tmp_path: Path) -> None:
    """dask.distributed on this machine alone; its workers started in another folder."""
    distributed = pytest.importorskip("distributed")
    path = listed(tmp_path, *ROWS)
    with (
        distributed.LocalCluster(
            n_workers=1,
            threads_per_worker=1,
            processes=False,
            protocol="tcp://",
            host="127.0.0.1",
            dashboard_address="127.0.0.1:0",
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        executor: Executor = client.get_executor()
        made = gone_on(tmp_path, path, executor=executor, pending=2)
    assert [o.status for o in made.outcomes] == [READY] * 3
    assert len(stamps(tmp_path)) == 3


# What is written and shown


HOSTILE = "</td><script>alert(1)</script>=1+1"


def test_the_page_is_inert(tmp_path: Path) -> None:
    name = TEMPLATE.replace('"Shop"', json.dumps(HOSTILE))
    path = listed(tmp_path, "site id", HOSTILE, "=2+2", "@x")
    write(tmp_path, "shop.toml", name.replace("usual = [", "usual = [ 7, "))
    made = gone_on(tmp_path, path)
    page = (tmp_path / "out" / "summary.html").read_text("utf-8")
    assert len(made.outcomes) == 3
    assert "<script" not in page
    assert "&lt;script&gt;" in page
    assert not re.search(r"(?:src|href|url)\s*[=(]", page)
    for cell in csv.reader((tmp_path / "out" / "summary.csv").read_text("utf-8").splitlines()):
        assert not any(text.startswith(("=", "@")) for text in cell)


def test_a_folder_of_site_files(tmp_path: Path) -> None:
    write(tmp_path, "b.toml", TEMPLATE)
    write(tmp_path, "a.toml", "[site]\nname = 3\n")
    write(tmp_path, "late.toml", '[hours]\nmon-sun = "08:00-23:00"\n')
    write(tmp_path, "unit.toml", 'schedcomp_controller = 1\nname = "u"\n')
    jobs, _ = sitefolder.read_folder(tmp_path)
    assert jobs is not None
    assert [job.site_id for job in jobs] == ["a", "b"]
    (tmp_path / "empty").mkdir()
    assert codes(sitefolder.read_folder(tmp_path / "empty")[1]) == ["E818"]
    made, found = fleet.run(tmp_path, period=MARCH, out=tmp_path / "out", template="b.toml")
    assert made is None
    assert codes(found) == ["E823"]


def test_a_file_whose_name_is_no_text(tmp_path: Path) -> None:
    """A name in an older encoding, where the system allows it."""
    name = os.fsdecode(b"caf\xe9.toml")
    try:
        (tmp_path / name).write_text("[site]\nname = 3\n", encoding="utf-8")
    except OSError:
        pytest.skip("names are texts here")
    made = gone_on(tmp_path, tmp_path, template=None)
    assert [(o.site_id, o.status) for o in made.outcomes] == [("caf\\udce9", UNREADABLE)]


def test_the_name_of_the_lock_is_not_followed(tmp_path: Path) -> None:
    path = listed(tmp_path, *ROWS)
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / lock.NAME).symlink_to(tmp_path / "precious")
    made, found = fleet.run(path, period=MARCH, out=tmp_path / "out")
    assert made is None
    assert codes(found) == ["E731"]
    assert not (tmp_path / "precious").exists()


def test_all_that_a_build_writes(tmp_path: Path) -> None:
    ran(tmp_path, *ROWS[:2])
    few = {"events.csv", "transfer.json", "site.json", "site.toml"}
    folder = tmp_path / "out" / "sites" / "1"
    assert {p.name for p in folder.iterdir()} == few
    ran(tmp_path, *ROWS[:2], full=True)
    more = {"table.csv", "check.json", "calendar.ics", "sheet.html", "sheet.pdf", "year_1.svg"}
    assert {p.name for p in folder.iterdir()} == few | more
    assert "Shop" in (folder / "sheet.html").read_text("utf-8")


def asked_for(path: Path | str, **more: Any) -> answer.FleetRequest:
    wishes: dict[str, Any] = {"first": "2027-03-01", "through": "2027-03-31", **more}
    return answer.FleetRequest(sites=str(path), jobs="1", template="shop.toml", **wishes)


def test_the_answer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    listed(tmp_path, *ROWS, "4,nowhere")
    done = answer.fleet(asked_for("shops.csv", out="out"), NOW)
    assert done.exit_code == 3
    assert not [line for line in done.text.splitlines() if len(line) > 80]
    for words in (
        "4 sites: ready 3 and problem",
        "E815",
        "line 5, column 3",
        "Drive to    3 sites",
    ):
        assert words in done.text
    assert done.record["sites"] == 4
    assert json.loads(json.dumps(done.record))["each"][3]["status"] == UNREADABLE
    summary = json.loads((tmp_path / "out" / "summary.json").read_text("utf-8"))
    assert summary["by_status"] == {READY: 3, UNREADABLE: 1}
    assert [row["status"] for row in rows_of(tmp_path / "out" / "summary.csv")].count(READY) == 3


def test_what_was_typed_wrongly(tmp_path: Path) -> None:
    path = listed(tmp_path, *ROWS)
    for wrong, code in (({"jobs": "0"}, "E822"), ({"year": "27"}, "E754")):
        typed = replace(asked_for(path), **wrong)
        assert codes(answer.fleet(typed, NOW).findings) == [code]
    nothing = asked_for(write(tmp_path, "empty.csv", ""))
    assert answer.fleet(nothing, NOW).exit_code == 3
    assert codes(answer.fleet(nothing, NOW).findings) == ["E801"]
    assert codes(answer.fleet(asked_for(tmp_path / "no.csv"), NOW).findings) == ["E701"]
    taken = asked_for(path, out=str(path))
    assert codes(answer.fleet(taken, NOW).findings) == ["E730"]


def test_the_bar_fits_a_line_and_tells_the_time_left() -> None:
    assert bar_line(Progress(0, 10, 0), 0).startswith("[..........")
    assert "5 of 10, about 60 s left" in bar_line(Progress(5, 10, 0), 60)
    assert "about 5 min left, 12 not ready" in bar_line(Progress(5_000, 10_000, 12), 300)
    assert len(bar_line(Progress(10_000, 10_000, 10_000), 1e5)) <= 80


def test_a_chain_of_shops_can_be_read() -> None:
    """The sample: a template, hours of their own for some, and rows that all load."""
    folder = ROOT / "sample_sites" / "shop_chain"
    jobs, found = storelist.read_store_list(folder / "shops.csv", str(folder / "shop.toml"))
    assert jobs is not None, found
    order = Order(period=MARCH, out="out", made_on=MARCH.first)
    names = set()
    for job in jobs:
        site, _, found = onesite.load(order, job)
        assert site is not None, found
        names.add(site.name)
    assert len(names) == len(jobs) == 8


def test_cores_are_those_this_process_may_use() -> None:
    assert 1 <= workers.cores() <= (os.cpu_count() or 1)
