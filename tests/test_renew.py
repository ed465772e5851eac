"""Renewals from outside: files, the list to key, what people notice, and wrong inputs."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from schedcomp import audit, cli, cli_output, pipeline
from schedcomp.answers.answer import BAD_FILES, CLEAN, FINDINGS, USAGE, Answer
from schedcomp.answers.build import BuildRequest, build
from schedcomp.answers.renew import RenewRequest, renew
from schedcomp.program import Program
from schedcomp.records import Record
from schedcomp.renewal import body_of
from schedcomp.transfer import Transfer
from schedcomp.transferfile import load_transfer
from tests.sites import rows_of

IN_2026 = 1796304600
"""Thu 3 Dec 2026, 13:30 UTC."""

IN_2027 = 1827840600
"""Fri 3 Dec 2027, 13:30 UTC."""

SITE = """\
schedcomp = 1
[site]
name = "Test lot"
latitude = 39.7392
longitude = -104.9903
timezone = "America/Denver"
controller = "sun-weekly-48"
tolerance = "10 min"
[day_types]
usual = ["on from dusk until 23:00"]
long = ["on from dusk until 00:50"]
[[circuit]]
name = "Lot"
channel = 1
calendar = ["every day: usual", "fri, sat evenings: long"]
[[unit]]
label = "Panel A"
[[unit]]
label = "Panel B"
"""
EARLIER = SITE.replace("23:00", "22:30")


class Desk(Record):
    """A folder with the program of 2027, and renewals of it."""

    folder: Path

    @property
    def old(self) -> Path:
        return self.folder / "old" / "transfer.json"

    def site(self, text: str) -> str:
        path = self.folder / "site.toml"
        path.write_text(text, encoding="utf-8")
        return str(path)

    def renew(self, text: str, now: int = IN_2027, **more: str | None) -> Answer:
        asked: dict[str, str | None] = {"out": str(self.folder / "new"), "through": "2028-12-31"}
        request = RenewRequest(
            site=self.site(text),
            **{"old": str(self.old), **asked, **more},  # type: ignore[arg-type]
        )
        return renew(request, now)

    def transfer(self, name: str) -> Transfer:
        transfer, found = load_transfer(self.folder / name / "transfer.json")
        assert transfer is not None, found
        return transfer


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    made = Desk(tmp_path_factory.mktemp("renew"))
    out = str(made.folder / "old")
    built = build(BuildRequest(site=made.site(SITE), year="2027", out=out), IN_2026)
    assert built.exit_code == CLEAN, built.findings
    return made


class Renewed(Record):
    answer: Answer
    tested: tuple[Program, ...]


@pytest.fixture(scope="module")
def renewed(desk: Desk) -> Renewed:
    """The curfew is half an hour earlier from 2028 on; the programs that were run are noted."""
    tested: list[Program] = []
    run: Callable[..., object] = audit.run_program

    def noting(program: Program, *rest: object) -> object:
        tested.append(program)
        return run(program, *rest)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pipeline, "run_program", noting)
        answer = desk.renew(EARLIER)
    return Renewed(answer, tuple(tested))


def test_the_files_are_those_of_a_build_and_the_list_to_key(desk: Desk, renewed: Renewed) -> None:
    assert renewed.answer.exit_code == CLEAN
    names = {path.name for path in (desk.folder / "new").iterdir()}
    assert {"table.csv", "check.json", "events.csv", "transfer.json", "changes.csv"} <= names
    assert set(renewed.answer.record["files"]) == names  # type: ignore[call-overload]
    made = desk.transfer("new")
    assert (made.period.first, made.period.last) == (date(2027, 12, 4), date(2028, 12, 31))
    assert made.program_code != desk.transfer("old").program_code


@pytest.mark.usefixtures("renewed")
def test_only_the_curfew_is_keyed(desk: Desk) -> None:
    [row] = rows_of((desk.folder / "new" / "changes.csv").read_bytes())
    assert row == {
        "do": "change",
        "list": "events",
        "slot": "2",
        "channels": "",
        "old_line": "OFF 23:00 mon tue wed thu sun, channel 1",
        "new_line": "OFF 22:30 mon tue wed thu sun, channel 1",
        "purpose": "off at 22:30",
        "keyed: Panel A": "[ ]",
        "keyed: Panel B": "[ ]",
    }
    before, after = desk.transfer("old").program, desk.transfer("new").program
    kept = [body_of(e) for e in before.events if e.slot != 2]
    assert kept == [body_of(e) for e in after.events if e.slot != 2]
    assert [e.slot for e in before.events] == [e.slot for e in after.events]


@pytest.mark.usefixtures("renewed")
def test_a_repeat_of_what_is_gone_says_so(desk: Desk) -> None:
    purposes = {e.slot: e.purpose for e in desk.transfer("new").program.events if e.safety}
    assert purposes[5] == "left from before: off at 23:10 does nothing while all is well"
    assert purposes[6].startswith("safety repeat of slot 3: ")


def test_the_test_run_was_that_of_the_renewed_program(desk: Desk, renewed: Renewed) -> None:
    final = desk.transfer("new").program
    same = [
        [(e.slot, body_of(e)) for e in one.events] == [(e.slot, body_of(e)) for e in final.events]
        for one in renewed.tested
    ]
    assert any(same)
    check = json.loads((desk.folder / "new" / "check.json").read_text("utf-8"))
    assert check["test_run"]["agrees"]
    assert check["program"]["program_code"] == desk.transfer("new").program_code


def test_what_people_notice_is_told(renewed: Renewed) -> None:
    """Five evenings a week, half an hour less: 2027-12-04 was a Saturday, with the long evening."""
    record = renewed.answer.record["renewal"]
    assert isinstance(record, dict)
    [lot] = record["for_people"]
    evenings = sum(
        date.fromordinal(day).weekday() not in (4, 5)
        for day in range(date(2027, 12, 4).toordinal(), date(2029, 1, 1).toordinal())
    )
    assert lot["nights"] == evenings
    assert (lot["more_seconds"], lot["less_seconds"]) == (0, evenings * 1800)
    assert lot["first"] == "2027-12-05"
    assert record["old_program_first_wrong"] == {
        "date": "2027-12-05",
        "circuit": "Lot",
        "what": "go off too late",
    }
    text = renewed.answer.text
    assert "1 to change, 6 stay as they are" in text
    assert "To key in Panel A and Panel B:\nchange  slot 2: OFF 23:00 mon tue wed" in text
    assert f"made for Sat 4 Dec 2027 through Sun 31 Dec 2028 (from the" in text  # noqa: F541
    assert max(len(line) for line in text.splitlines()) <= 80
    json.dumps(renewed.answer.record)


def test_where_nothing_changes_nothing_is_keyed(desk: Desk) -> None:
    answer = desk.renew(SITE, out=str(desk.folder / "same"))
    assert answer.exit_code == CLEAN
    assert "\nNothing to key; no error found through " in answer.text
    record = answer.record["renewal"]
    assert isinstance(record, dict)
    assert record["nothing_to_key"]
    assert record["old_program_code"] == record["new_program_code"]
    assert record["old_program_first_wrong"] is None
    assert rows_of((desk.folder / "same" / "changes.csv").read_bytes()) == []
    assert desk.transfer("same").program == desk.transfer("old").program


def test_a_tolerance_of_its_own_is_not_handed_on_to_other_circuits(tmp_path: Path) -> None:
    text = SITE.replace('tolerance = "10 min"\n', "").replace(
        'name = "Lot"\n', 'name = "Lot"\ntolerance = "20 min"\n'
    )
    sign = '[[circuit]]\nname = "Sign"\nchannel = 2\ncalendar = ["every day: usual"]\n'
    text = text.replace("[[unit]]", f"{sign}[[unit]]", 1)
    desk = Desk(tmp_path)
    out, site = str(tmp_path / "old"), desk.site(text)
    request = BuildRequest(site=site, out=out, first="2027-11-01", through="2027-12-31")
    assert build(request, IN_2026).exit_code == CLEAN
    answer = desk.renew(text, through="2028-01-31")
    assert answer.exit_code == CLEAN, answer.findings
    before, after = (
        {c.name: c.tolerance_minutes for c in desk.transfer(name).circuits}
        for name in ("old", "new")
    )
    assert before == after
    assert before["Sign"] is not None
    assert before["Sign"] < 20


def test_what_no_unit_can_do_leaves_the_old_program_in_force(desk: Desk) -> None:
    """A weekly controller cannot leave out one date of the year, nor key in half a renewal."""
    dated = SITE.replace('"fri, sat evenings: long"', '"2028-02-02 to 2028-02-09: dark"')
    dated = dated.replace('controller = "sun-weekly-48"', 'controller = "clock-weekly-28"')
    answer = desk.renew(dated, out=str(desk.folder / "refused"))
    assert answer.exit_code == BAD_FILES
    assert codes(answer) == ["E776"]
    none = SITE.replace('"10 min"', '"0 min"')
    answer = desk.renew(none, out=str(desk.folder / "refused"))
    assert answer.exit_code == FINDINGS
    names = {path.name for path in (desk.folder / "refused").iterdir()}
    assert names == {"table.csv", "check.json"}
    assert "DOES NOT FIT" in answer.text


def test_what_stays_and_ends_an_override_is_named(desk: Desk) -> None:
    """Slot 5 was the repeat of the old curfew; now it comes 40 min after the new one."""
    held = EARLIER.replace("channel = 1", "channel = 1\noverride_minutes = 120")
    answer = desk.renew(held, out=str(desk.folder / "held"))
    assert answer.exit_code == CLEAN
    [note] = [finding for finding in answer.findings if finding.code == "E647"]
    assert "40 min after the OFF" in note.title or "10 min after the OFF" in note.title
    assert "slots 5 and 6" in note.why


def test_a_reason_belongs_to_what_is_accepted(desk: Desk) -> None:
    request = RenewRequest(site=desk.site(SITE), old=str(desk.old), accept=("4.2",))
    assert renew(request, IN_2027).exit_code == USAGE


# When it begins


@pytest.mark.parametrize(
    ("now", "keyed", "first"),
    [
        (IN_2027, None, "4 Dec 2027"),
        (IN_2027, "2028-01-15", "16 Jan 2028"),
        (IN_2026, None, "1 Jan 2027"),
    ],
)
def test_it_begins_the_day_after_keying_but_not_before_the_old_one(
    desk: Desk, now: int, keyed: str | None, first: str
) -> None:
    """Told by what is too early."""
    answer = desk.renew(EARLIER, now, keyed=keyed, through="2026-12-31")
    assert answer.exit_code == USAGE
    [found] = answer.findings
    assert found.code == "E778"
    assert found.title.endswith(f"{first}.")


# Wrong inputs


def codes(answer: Answer) -> list[str]:
    return [finding.code for finding in answer.findings]


@pytest.mark.parametrize(
    ("old", "new", "code", "told"),
    [
        ("latitude = 39.7392", "latitude = 39.78", "E775", "That site is 5 km away."),
        ('"America/Denver"', '"America/Boise"', "E775", "Its clock is that of America/Denver"),
        ('"sun-weekly-48"', '"sun-yearly-64"', "E776", "Another kind of controller"),
        ("channel = 1", "channel = 2", "E777", "would switch other lamps"),
    ],
)
def test_what_is_not_of_this_unit_is_refused(
    desk: Desk, old: str, new: str, code: str, told: str
) -> None:
    assert old in SITE
    answer = desk.renew(SITE.replace(old, new))
    assert answer.exit_code == BAD_FILES
    [found] = [finding for finding in answer.findings if finding.code == code]
    assert told in found.why
    assert found.fix.splitlines()[-1].startswith("schedcomp build ")


def test_a_changed_controller_file_is_refused(desk: Desk) -> None:
    text = (Path(pipeline.__file__).parent / "data/controllers/sun-weekly-48.toml").read_text()
    more = text.replace("event_slots          = 48", "event_slots          = 56")
    assert more != text
    path = desk.folder / "more.toml"
    path.write_text(more, encoding="utf-8")
    answer = desk.renew(SITE, controller=str(path))
    assert codes(answer) == ["E776"]
    assert "changed since in: event_slots." in answer.findings[0].why


def test_a_damaged_file_is_refused(desk: Desk) -> None:
    broken = desk.folder / "broken.json"
    broken.write_text(desk.old.read_text("utf-8").replace("23:00", "22:00"), encoding="utf-8")
    answer = desk.renew(SITE, old=str(broken))
    assert (answer.exit_code, codes(answer)) == (BAD_FILES, ["E768"])
    answer = desk.renew(SITE, old=str(desk.folder / "none.json"))
    assert answer.exit_code == BAD_FILES


def test_the_old_file_is_not_written_over(desk: Desk) -> None:
    before = desk.old.read_bytes()
    answer = desk.renew(EARLIER, out=str(desk.folder / "old"))
    assert (answer.exit_code, codes(answer)) == (USAGE, ["E779"])
    assert answer.findings[0].fix.endswith("--out old-new")
    assert desk.old.read_bytes() == before


@pytest.mark.parametrize(("through", "code"), [("31.12.2028", "E765"), ("2050-01-01", "E757")])
def test_dates_that_cannot_be_taken(desk: Desk, through: str, code: str) -> None:
    answer = desk.renew(EARLIER, through=through)
    assert (answer.exit_code, codes(answer)) == (USAGE, [code])


def test_the_command_hands_everything_on(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(cli_output.CLOCK_VARIABLE, str(IN_2027))
    typed = ["renew", desk.site(SITE), "--from", str(desk.old), "--through", "2027-01-01"]
    typed += ["--keyed", "2027-12-24", "--json"]
    done = CliRunner().invoke(cli.app, typed)
    assert done.exit_code == USAGE
    record = json.loads(done.stdout)
    assert record["command"] == "renew"
    assert "25 Dec 2027" in record["findings"][0]["title"]
