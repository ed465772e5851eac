"""Rules in a build and in `check`: what keeps a program back, acceptance, people, the envelope."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from schedcomp import controllerfile, pipeline, sitefile, transferfile
from schedcomp.answers import build, check, moments, ordinances, verify
from schedcomp.answers.answer import BAD_FILES, CLEAN, FINDINGS, USAGE
from schedcomp.compiled import Compiled
from schedcomp.diag import render
from schedcomp.expand import expand
from schedcomp.hints import Hint, hints_for
from schedcomp.model import MINUTE, Action, Period
from schedcomp.ordinance.load import builtin_ordinances, load_ordinance
from schedcomp.ordinance.rules import Rules, rules_of, with_duties
from schedcomp.ordinance.verdict import ClauseVerdict, Status
from schedcomp.program import SunOffset
from schedcomp.records import replace
from schedcomp.target import make_target
from schedcomp.unit_place import unit_clock, unit_sun_of
from tests.judged import (
    Scene,
    report,
    requirement,
    rule_of,
    site_and_world,
    verdicts,
)
from tests.sites import read

NOW = 1796304600
SAMPLE = Path(__file__).parents[1] / "sample_sites" / "with_rule" / "prairie_clinic.toml"
RULE = requirement("4.2(b)", "dark from 22:00 until 06:00") + requirement(
    "5", "lit only from sunset until 23:00"
)


def written(folder: Path, rule: str = RULE, windows: str = "on from dusk until 22:30") -> Path:
    """A site with a rule beside it, on a unit that knows the sun."""
    scene = Scene(
        rule,
        (windows,),
        site='ordinance = "rule.toml"\ntolerance = "10 min"',
        # A dated line: the years after it are not looked through for how long the program lasts.
        calendar=("every day: usual", "2027-03-05 evenings: early"),
        types='early = ["on from dusk until 21:30"]',
    )
    (folder / "site.toml").write_text(scene.text(), encoding="utf-8")
    head = 'schedcomp_ordinance = 1\ntitle = "A rule"\nconfirmed_by = "the officer"\n'
    (folder / "rule.toml").write_text(head + rule, encoding="utf-8")
    return folder / "site.toml"


def request(path: Path, out: Path, *accept: tuple[str, str]) -> build.BuildRequest:
    return build.BuildRequest(
        site=str(path),
        first="2027-03-01",
        through="2027-03-10",
        out=str(out),
        accept=tuple(clause for clause, _ in accept),
        because=tuple(because for _, because in accept),
    )


def test_a_clause_that_is_not_met_keeps_the_program_back(tmp_path: Path) -> None:
    path = written(tmp_path)
    made = build.build(request(path, tmp_path / "out"), NOW)
    assert made.exit_code == FINDINGS
    names = {p.name for p in (tmp_path / "out").iterdir()}
    assert names >= {"check.json", "table.csv", "sheet.html"}
    assert not names & {"events.csv", "transfer.json", "special_days.csv"}
    sheet = (tmp_path / "out" / "sheet.html").read_text(encoding="utf-8")
    assert "Clause 4.2(b) of A rule is not met." in sheet
    [problem] = [f for f in made.findings if f.code == "E530"]
    assert problem.title == (
        "Lamps are on inside the hours entered for clause 4.2(b) on 9 nights, 270 min in all."
    )
    assert 'by "every day: usual"' in problem.why
    assert "NOT MET: 4.2(b)" in made.text
    found = json.loads((tmp_path / "out" / "check.json").read_text(encoding="utf-8"))
    assert found["rule"].startswith("NOT MET: 4.2(b) of 2 clauses of A rule")
    assert [c["verdict"] for c in found["rules"]["exact_year"]] == ["fail", "pass"]
    assert [c["nights_failed"] for c in found["rules"]["test_run"]] == [9, 0]
    assert found["program_may_be_keyed"] is False


@pytest.mark.parametrize(
    ("clause", "why"),
    [
        (requirement("9", "controller: two levels"), "one circuit has one level"),
        (
            requirement("9", "at most 2 exception days a month")
            + requirement(
                "8",
                "dark from 23:00 until 06:00",
                'except_nights = ["2027-03-02: fair", "2027-03-03: fair", "2027-03-06: fair"]',
            ),
            "declared nights: 3 a month at most",
        ),
    ],
)
def test_a_clause_on_wiring_or_a_count_is_not_told_in_minutes(
    clause: str, why: str, tmp_path: Path
) -> None:
    path = written(tmp_path, clause)
    made = build.build(request(path, tmp_path / "out"), NOW)
    [problem] = [f for f in made.findings if f.code in ("E530", "E532")]
    assert problem.title == f"Clause 9 is not met: {why}."
    found = json.loads((tmp_path / "out" / "check.json").read_text(encoding="utf-8"))
    assert f"A rule; 9: {why}; nights judged" in found["rule"]
    sheet = (tmp_path / "out" / "sheet.html").read_text(encoding="utf-8")
    assert f"NOT MET: {why}" in sheet
    made = build.build(request(path, tmp_path / "out", ("9", "letter of 3 May")), NOW)
    [caution] = [f for f in made.findings if f.code == "E531"]
    assert caution.why.endswith(f": {why}.")
    assert "0 min" not in problem.why + problem.title + caution.why


def test_accepted_with_a_reason_it_is_written_and_printed(tmp_path: Path) -> None:
    path = written(tmp_path)
    why = "variance 24-118, ends 2027-06-30"
    made = build.build(request(path, tmp_path / "out", ("4.2(B)", why)), NOW)
    assert made.exit_code == CLEAN, render(made.findings)
    assert (tmp_path / "out" / "transfer.json").exists()
    assert f"ACCEPTED    4.2(B): {why}" in made.text
    found = json.loads((tmp_path / "out" / "check.json").read_text(encoding="utf-8"))
    assert found["rules"]["accepted"] == [{"clause": "4.2(B)", "because": why}]
    [accepted] = [f for f in made.findings if f.code == "E531"]
    assert why in accepted.title


def test_what_is_accepted_must_exist_and_have_a_reason(tmp_path: Path) -> None:
    path = written(tmp_path)
    unknown = build.build(request(path, tmp_path / "out", ("9.9", "no reason")), NOW)
    assert unknown.exit_code == BAD_FILES
    assert [f.code for f in unknown.findings] == ["E560"]
    bare = replace(request(path, tmp_path / "out"), accept=("5",))
    assert build.build(bare, NOW).exit_code == USAGE


def test_a_broken_promise_can_be_accepted_too(tmp_path: Path) -> None:
    path = written(tmp_path, rule=requirement("5", "lit only from sunset until 23:00"))
    text = path.read_text(encoding="utf-8")
    text = text.replace("load_kw = 2", 'load_kw = 2\npromise = ["every day 22:15: dark"]')
    path.write_text(text, encoding="utf-8")
    assert build.build(request(path, tmp_path / "one"), NOW).exit_code == FINDINGS
    accepted = request(path, tmp_path / "two", ("every day 22:15: dark", "the owner knows"))
    assert build.build(accepted, NOW).exit_code == CLEAN


def test_a_rule_that_cannot_be_read_stops_the_build(tmp_path: Path) -> None:
    path = written(tmp_path, rule=requirement("1", "off from 23:00 until 06:00"))
    made = build.build(request(path, tmp_path / "out"), NOW)
    assert made.exit_code == BAD_FILES
    assert not (tmp_path / "out").exists()
    assert [f.code for f in made.findings] == ["E127"]


def test_without_a_rule_this_is_said(tmp_path: Path) -> None:
    text = Scene("", ("on from sunset until 22:30",)).text()
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    made = check.check(check.CheckRequest(site=str(tmp_path / "site.toml"), years="2027-2028"), NOW)
    assert made.exit_code == CLEAN
    assert "No rule was checked" in made.text


# check


def test_check_over_years_and_from_a_transfer_file(tmp_path: Path) -> None:
    path = written(tmp_path)
    accepted = request(path, tmp_path / "out", ("4.2(b)", "variance"))
    assert build.build(accepted, NOW).exit_code == CLEAN
    asked = check.CheckRequest(site=str(path), years="2027-2028")
    years = check.check(asked, NOW)
    assert years.exit_code == FINDINGS
    assert "731 nights" in years.text
    said = " ".join(years.text.split())
    assert "Judged on the exact year, by a clock that is right. No program was judged:" in said
    assert "--transfer FILE judges one" in said
    assert years.record["program"] == {
        "judged": False,
        "program_code": None,
        "why_not": check.NO_PROGRAM_FOR_YEARS,
    }
    assert all(len(line) <= 80 for line in years.text.splitlines())
    file = str(tmp_path / "out" / "transfer.json")
    rule = (str(tmp_path / "rule.toml"),)
    alone = check.check(check.CheckRequest(transfer=file, ordinances=rule), NOW)
    assert alone.exit_code == FINDINGS
    found = alone.record["rules"]
    assert isinstance(found, dict)
    assert [c["nights_failed"] for c in found["test_run"]] == [9, 0]
    assert found["exact_year"] == []
    assert "accepted: variance" in alone.text
    assert found["accepted"] == [{"clause": "4.2(b)", "because": "variance"}]
    checked = verify.verify(file, str(path))
    assert (checked.exit_code, "same program" in checked.text) == (CLEAN, True)
    assert "Accepted although not met: 4.2(b): variance." in checked.text
    both = check.check(check.CheckRequest(site=str(path), year="2027", transfer=file), NOW)
    assert isinstance(both.record["rules"], dict)
    assert [c["nights_failed"] for c in both.record["rules"]["test_run"]] == [364, 0]
    assert both.record["rules"]["accepted"] == [{"clause": "4.2(b)", "because": "variance"}]
    every = check.check(replace(asked, transfer=file, every_night=True), NOW)
    assert isinstance(every.record["rules"], dict)
    assert [len(c["failed"]) for c in every.record["rules"]["exact_year"]] == [730, 0]


def test_an_old_program_is_judged_with_the_sun_of_its_unit_early_and_late(tmp_path: Path) -> None:
    """Made for another rule; its unit may take the sun to be 2 min earlier than it is."""
    path = written(tmp_path, requirement("1", "dark from 23:00 until 06:00"))
    assert build.build(request(path, tmp_path / "out"), NOW).exit_code == CLEAN
    file = str(tmp_path / "out" / "transfer.json")
    events = transferfile.load_transfer(file)[0].program.events  # type: ignore[union-attr]
    offset = min(
        e.start.offset_minutes
        for e in events
        if isinstance(e.start, SunOffset) and e.action is Action.ON
    )
    for minutes, failed in ((offset - 1, True), (offset - 5, False)):
        head = 'schedcomp_ordinance = 1\ntitle = "New"\nconfirmed_by = "the officer"\n'
        window = f"dark from 12:00 until sunset {'+' if minutes >= 0 else '-'} {abs(minutes)} min"
        (tmp_path / "new.toml").write_text(head + requirement("2", window), encoding="utf-8")
        rule = (str(tmp_path / "new.toml"),)
        found = check.check(check.CheckRequest(transfer=file, ordinances=rule), NOW)
        assert isinstance(found.record["rules"], dict)
        (clause,) = found.record["rules"]["test_run"]
        assert bool(clause["nights_failed"]) == failed, (minutes, clause)
        assert clause["costs"] == (("the error of the unit's sun times",) if failed else ())
        assert "the unit's sun times early, right and late" in " ".join(found.text.split())


SECOND = """
[[circuit]]
name = "Sign"
channel = 2
load_kw = 2
serves = "sign"
egress = "none on this circuit"
photocell = "none"
override_minutes = 0
calendar = ["every day: before", "every day mornings: dark"]
"""


@pytest.mark.parametrize(
    ("rule", "sign_until", "met"),
    [
        # 3 h 53 min from dusk until 22:00 on the first night, the longest of the ten.
        ("lit at most 3 h 58 min each night", "", True),
        ("lit at most 3 h 54 min each night", "", True),
        # The lot takes over from the sign; it may come on early, the sign go off late.
        ("at most 50 % of kW from 17:00 until 23:00", "dusk - 8 min", False),
        ("at most 50 % of kW from 17:00 until 23:00", "dusk - 20 min", True),
        ("never all off from 17:00 until 21:59", "dusk", True),
    ],
)
def test_a_program_just_made_is_judged_as_its_file_is(
    rule: str, sign_until: str, met: bool, tmp_path: Path
) -> None:
    """What several circuits do together, or one in a night, with the unit's sun early and late."""
    scene = Scene(
        requirement("1", rule),
        ("on from dusk until 22:00",),
        site='ordinance = "rule.toml"\ntolerance = "8 min"',
        types=f'before = ["on from 17:00 until {sign_until}"]' if sign_until else "",
        more=SECOND if sign_until else "",
        calendar=("every day: usual", "2027-03-05 mornings: dark"),
    )
    (tmp_path / "site.toml").write_text(scene.text(), encoding="utf-8")
    head = 'schedcomp_ordinance = 1\ntitle = "A rule"\nconfirmed_by = "the officer"\n'
    (tmp_path / "rule.toml").write_text(head + scene.rule, encoding="utf-8")
    asked = request(tmp_path / "site.toml", tmp_path / "out", ("1", "to see it written"))
    made = build.build(asked, NOW)
    assert made.exit_code == CLEAN, render(made.findings)
    assert [f.code for f in made.findings if f.code == "E531"] == ([] if met else ["E531"])
    found = json.loads((tmp_path / "out" / "check.json").read_text(encoding="utf-8"))
    file = str(tmp_path / "out" / "transfer.json")
    again = check.check(
        check.CheckRequest(transfer=file, ordinances=(str(tmp_path / "rule.toml"),)), NOW
    )
    assert isinstance(again.record["rules"], dict)
    of_build, of_file = found["rules"]["test_run"], again.record["rules"]["test_run"]
    assert [c["verdict"] for c in of_build] == ["pass" if met else "fail"]
    assert [c["verdict"] for c in of_file] == [c["verdict"] for c in of_build]
    assert [list(c["costs"]) for c in of_file] == [c["costs"] for c in of_build]
    assert [c["verdict"] for c in found["rules"]["exact_year"]] == ["pass"]


def test_a_program_alone_is_judged_to_the_last_morning_with_people_and_conflicts(
    tmp_path: Path,
) -> None:
    rule = requirement("night", "dark from 21:00 until 06:00") + requirement(
        "late", "lit from 21:00 until 21:30"
    )
    scene = Scene(
        rule,
        ("on from dusk until 21:00",),
        '"every day" = "08:00-21:00"\nstaff_after = "30 min"',
        site='tolerance = "10 min"',
        circuit='load_kw = 2\nserves = "people"',
    )
    (tmp_path / "site.toml").write_text(scene.text(), encoding="utf-8")
    head = 'schedcomp_ordinance = 1\ntitle = "A rule"\n'
    (tmp_path / "rule.toml").write_text(head + rule, encoding="utf-8")
    built = build.build(request(tmp_path / "site.toml", tmp_path / "out"), NOW)
    assert built.exit_code == CLEAN, render(built.findings)
    alone = check.check(
        check.CheckRequest(
            transfer=str(tmp_path / "out" / "transfer.json"),
            ordinances=(str(tmp_path / "rule.toml"),),
        ),
        NOW,
    )
    found = alone.record["rules"]
    assert isinstance(found, dict)
    assert [c["nights_applying"] for c in found["test_run"]] == [10, 10]
    assert [c["verdict"] for c in found["test_run"]] == ["pass", "fail"]
    [conflict] = found["conflicts"]
    assert (conflict["nights"], conflict["most_minutes"]) == (10, 30.0)
    people = found["people"][0]
    assert (people["nights"], people["minutes"], people["against"]) == (10, 300.0, ("night",))


def test_darkness_is_laid_to_the_line_that_decides_it() -> None:
    """Not to the light of the evening before, which ended long ago."""
    scene = Scene(
        "",
        ("on from dusk until 22:00",),
        '"every day" = "08:00-20:00"',
        last="2027-03-07",
        calendar=("every day: usual", "2027-03-04: dark", "2027-03-05 evenings: early"),
        types='early = ["on from dusk until 19:00"]',
        circuit='load_kw = 2\nserves = "people"',
    )
    [found] = report(scene).people
    assert (found.nights, found.worst.day, found.worst.line) == (
        2,
        date(2027, 3, 4),
        "2027-03-04: dark",
    )
    first_only = replace(scene, first="2027-03-05")
    [found] = report(first_only).people
    assert (found.nights, found.worst.line) == (1, "2027-03-05 evenings: early")


def test_a_reason_for_accepting_is_not_empty(tmp_path: Path) -> None:
    asked = request(written(tmp_path), tmp_path / "out", ("5", "  "))
    assert build.build(asked, NOW).exit_code == USAGE


def test_what_an_override_holds_and_lengths_of_darkness_cut_the_bands() -> None:
    """An OFF five hours after sunset may move by what is to spare, less than the tolerance."""
    scene = Scene(
        requirement("a", "dark from sunset + 330 min until 05:00")
        + requirement("b", "dark at least 5 h 30 min each night between 18:30 and 05:00"),
        ("on from sunset until sunset + 5 h", "on from 05:00 until sunrise"),
        last="2027-03-07",
        envelope='photocell = "none"\noverride_minutes = 27',
    )
    site, world = site_and_world(scene)
    rules, _ = rules_of((rule_of(scene.rule, scene.top),), site, world)
    assert rules is not None
    year = with_duties(expand(site, world), rules)
    controller, _ = controllerfile.load_controller(scene.controller)
    assert controller is not None
    clock, sun = unit_clock(controller, world), unit_sun_of(site, controller, world)

    def room(of: Rules) -> set[int]:
        bound = with_duties(expand(site, world), of)
        offs = make_target(site, bound, controller, clock, sun, 10).channels[0].switchings
        return {
            (s.latest - s.instant) // MINUTE
            for s in offs
            if s.action.value == "off" and s.reason.phrase.startswith("sunset")
        }

    assert room(replace(rules, clauses=(), duties=())) == {9, 10}
    assert room(replace(rules, clauses=rules.clauses[:1], duties=rules.duties[:1])) == {2, 3}
    lengths = room(replace(rules, clauses=rules.clauses[1:], duties=rules.duties[1:]))
    assert min(lengths) < 9
    assert year.lengths_kept


def hints(scene: Scene) -> tuple[Hint, ...]:
    site, world = site_and_world(scene)
    rules, _ = rules_of((rule_of(scene.rule, scene.top),), site, world)
    assert rules is not None
    return hints_for(site, world, rules, report(scene))


def test_a_hint_is_the_smallest_change_and_was_tried() -> None:
    scene = Scene(RULE, ("on from dusk until 22:30",))
    assert hints(scene) == (
        Hint(
            "4.2(b)",
            "end `on from dusk until 22:30` of usual 30 min earlier",
            "on from dusk until 22:00",
            30,
        ),
    )
    mended = replace(scene, windows=("on from dusk until 22:00",))
    assert all(v.met for v in verdicts(mended).values())
    lit = Scene(requirement("1", "lit from sunset until 22:00"), ("on from dusk until 21:45",))
    assert hints(lit) == ()  # both ends are wrong
    start = replace(lit, windows=("on from dusk until 22:00",))
    assert [(h.typed, h.minutes) for h in hints(start)] == [
        ("on from dusk - 15 min until 22:00", 15)
    ]


def test_hours_kept_dark_where_no_window_is_to_blame() -> None:
    scene = Scene(requirement("1", "dark from 23:00 until 05:00"), ("on from dusk until dawn",))
    [hint] = hints(scene)
    assert hint.typed == 'keep_dark = ["every day: from 23:00 until 05:00"]'


def test_check_of_nothing_is_a_slip() -> None:
    assert check.check(check.CheckRequest(), NOW).exit_code == USAGE


def test_no_room_beside_a_rule_gives_the_window_that_has_it() -> None:
    """Sun times off by 2 min and 0.1 degrees, and steps of a minute: 8 minutes are enough."""
    rule = requirement("a", "not on before sunset")

    def compiled(window: str) -> tuple[Compiled, list[str]]:
        scene = Scene(rule, (window,), last="2027-03-12", site='tolerance = "8 min"')
        site, found = read(scene.text())
        assert site is not None, render(found)
        rules = (rule_of(scene.rule),)
        controller, _ = controllerfile.load_controller(scene.controller)
        assert controller is not None
        with pytest.MonkeyPatch.context() as patched:
            patched.setattr(pipeline, "load_ordinances", lambda _: (rules, ()))
            made, more = pipeline.compile(site, scene.period, controller)
        assert made is not None, render(more)
        return made, [f.fix for f in more if f.code == "E541"]

    made, fixes = compiled("on from sunset until 22:00")
    assert made.fitted.program is None
    [fix] = fixes
    typed = fix.splitlines()[-1]
    assert typed == "on from sunset + 8 min until 22:00"
    made, fixes = compiled(typed)
    assert (made.may_write_program, fixes) == (True, [])


def test_a_visit_goes_to_the_minute_that_shows_something(tmp_path: Path) -> None:
    rule = requirement("a", "not on before sunset")
    path = written(tmp_path, rule, "on from sunset + 20 min until 22:30")
    made = check.check(check.CheckRequest(site=str(path), years="2027-2028"), NOW)
    visits = made.record["visits"]
    assert isinstance(visits, list)
    assert visits
    for visit in visits:
        assert visit["must_be"] == "dark"
        assert "16:00" <= visit["at"]["local"][11:16] <= "20:40", visit


# The sample


@pytest.fixture(scope="module")
def sample() -> Compiled:
    site, found = sitefile.load_site(SAMPLE)
    assert site is not None, render(found)
    controller, _ = controllerfile.load_controller(site.controller)
    assert controller is not None
    spring = Period(date(2027, 2, 1), date(2027, 3, 31))
    compiled, found = pipeline.compile(site, spring, controller)
    assert compiled is not None, render(found)
    return compiled


def test_the_sample_meets_its_rule(sample: Compiled) -> None:
    assert sample.may_write_program
    assert [v.status for v in sample.rules.year] == [Status.PASS] * 5
    assert [v.status for v in sample.rules.run] == [Status.PASS] * 5
    assert not sample.rules.people
    assert not sample.rules.without_clause


def test_the_bands_of_the_sample_stop_at_duties(sample: Compiled) -> None:
    """Light for people begins at dusk: the fit may light the lot earlier, never later."""
    site = replace(sample.site, fit=replace(sample.site.fit, favour="dark"))
    clock = unit_clock(sample.controller, sample.world)
    sun = unit_sun_of(site, sample.controller, sample.world)

    def latest_over(required: bool) -> int:
        year = sample.year
        if not required:
            circuits = tuple(replace(c, required_lit=()) for c in year.circuits)
            year = replace(year, circuits=circuits)
        target = make_target(site, year, sample.controller, clock, sun, 10)
        lot = target.channels[0].switchings
        return max(s.latest - s.instant for s in lot if s.action.value == "on")

    assert latest_over(required=False) >= 9 * MINUTE
    starts = [start for start, _ in sample.year.circuits[0].required_lit]
    target = make_target(site, sample.year, sample.controller, clock, sun, 10)
    for switching in target.channels[0].switchings:
        if switching.action.value == "on":
            later = [t for t in starts if t >= switching.instant]
            assert not later or switching.latest <= later[0]


# Envelope and people


def the(found: dict[str, ClauseVerdict]) -> ClauseVerdict:
    [verdict] = found.values()
    return verdict


def enveloped(rule: str, photocell: str, minutes: int) -> ClauseVerdict:
    scene = Scene(requirement("a", rule), ("on from sunset until 22:00",))
    text = f'photocell = "{photocell}"\noverride_minutes = {minutes}'
    return the(verdicts(replace(scene, envelope=text)))


def test_an_override_may_cost_the_pass() -> None:
    rule = "dark from 22:30 until 06:00"
    assert enveloped(rule, "none", 30).status is Status.PASS
    failed = enveloped(rule, "none", 31)
    assert (failed.status, failed.costs) == (Status.FAIL, ("the override",))
    assert failed.failed_seconds == 31 * MINUTE


def test_a_photocell_in_series_takes_light_and_gives_none() -> None:
    assert enveloped("dark from 22:00 until 06:00", "series", 0).status is Status.PASS
    lit = enveloped("lit from sunset until 22:00", "series", 0)
    assert (lit.status, lit.costs) == (Status.FAIL, ("the photocell",))
    assert enveloped("lit from sunset + 15 min until 22:00", "series", 0).status is Status.PASS


def test_a_photocell_in_parallel_may_light_at_any_time() -> None:
    failed = enveloped("dark from 22:00 until 06:00", "parallel", 0)
    assert (failed.status, failed.costs) == (Status.FAIL, ("the photocell",))
    assert enveloped("lit from sunset + 15 min until sunrise - 15 min", "parallel", 0).met


def test_a_slow_clock_is_told_and_decides_nothing() -> None:
    scene = Scene(requirement("a", "dark from 22:00 until 06:00"), ("on from sunset until 22:00",))
    verdict = the(verdicts(scene))
    assert verdict.status is Status.PASS
    [slow] = verdict.drifted
    assert (slow.seconds, slow.nights, slow.worst_seconds) == (2 * MINUTE, 31, 2 * MINUTE)


HOURS = '"every day" = "08:00-20:00"\nstaff_before = "30 min"\nstaff_after = "30 min"'


def test_people_are_always_looked_after() -> None:
    scene = Scene("", ("on from dusk until close",), HOURS, circuit='serves = "people"')
    [dark, all_off] = report(scene).people
    assert (dark.kind, dark.circuit, dark.nights) == ("dark with people", "Lot", 31)
    assert dark.worst.seconds >= 30 * MINUTE
    assert (all_off.kind, all_off.nights) == ("off with closing", 31)
    kept = replace(scene, windows=("on from dusk until leave", "on from arrive until dawn"))
    assert report(kept).people == ()
    assert report(replace(kept, hours="", windows=("on from dusk until 21:00",))).people == ()


def test_people_against_a_dark_clause_show_both() -> None:
    rule = requirement("curfew", "dark from 20:00 until 06:00")
    scene = Scene(rule, ("on from dusk until 20:00",), HOURS, circuit='serves = "people"')
    dark = report(scene).people[0]
    assert dark.against == ("curfew",)


# Built-in rules


def test_every_built_in_rule_can_be_read_back() -> None:
    assert len(builtin_ordinances()) >= 12
    for name in builtin_ordinances():
        ordinance, found = load_ordinance(name)
        assert ordinance is not None, render(found)
        assert not found
        assert ordinance.text_version, name
        assert ordinance.entered_by, name
        assert "Confirm" in ordinance.note, name
        assert ordinance.unconfirmed
        shown = ordinances.ordinances(name, None, NOW)
        assert shown.exit_code == CLEAN, render(shown.findings)
        assert all(len(line) <= 80 for line in shown.text.splitlines())
    assert "21(2), winter" in ordinances.ordinances("de-bw-facades", None, NOW).text


def test_a_built_in_rule_with_an_open_end_waits_for_a_choice(tmp_path: Path) -> None:
    head = 'schedcomp_ordinance = 1\ntitle = "Ours"\nbased_on = "us-oh-after-closing"\n'
    path = tmp_path / "ours.toml"
    path.write_text(head, encoding="utf-8")
    waits = ordinances.ordinances(str(path), None, NOW)
    assert "its end is open" in waits.text
    change = '[[change]]\nclause = "(e)"\nuntil = "sunrise"\n'
    path.write_text(head + change, encoding="utf-8")
    chosen = ordinances.ordinances(str(path), None, NOW)
    assert "the text leaves its end open: sunrise was chosen" in chosen.text


# On paper


def test_half_a_page_on_one_minute() -> None:
    told = moments.why(str(SAMPLE), "2027-12-03 23:30", NOW, paper=True)
    assert told.exit_code == CLEAN
    lines = told.text.splitlines()
    assert len(lines) <= 45
    assert all(len(line) <= 80 for line in lines)
    squeezed = " ".join(told.text.split())
    assert "What was asked of the lamps on Fri 3 Dec 2027, 23:30" in squeezed
    assert "Lot: dark." in squeezed
    assert "Clause 4b-16a asks for dark at this minute (Lot, Front)" in squeezed
    assert "Clause 21-13-3(2) asks for nothing at this minute (Lot)" in squeezed
    assert "does not show what the lamps did" in squeezed
    assert "lawful" not in squeezed
