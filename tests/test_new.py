"""The site walk: questions in order, answers checked at once, true promises, nothing half done."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from schedcomp import asked, pipeline
from schedcomp import interviewchecks as checks
from schedcomp.answers import new as answers
from schedcomp.answers.answer import CLEAN, USAGE, Answer
from schedcomp.controllerfile import load_controller
from schedcomp.diag import Source, has_problem, render
from schedcomp.interview import QUESTIONS, SECTIONS, asked_in_order, keys
from schedcomp.model import Period
from schedcomp.newpromises import promises_for
from schedcomp.newsite import controller_text, file_stem, site_text
from schedcomp.promises import check_promises
from schedcomp.records import replace
from schedcomp.site import Site
from schedcomp.sitefile import load_site, site_from_source
from schedcomp.surveyform import survey_form

NOW = 1796304600
"""Thu 3 Dec 2026: builds are for 2027."""
YEAR = Period(date(2027, 1, 1), date(2027, 12, 31))

SHOP = {
    "name": "Corner pharmacy, lot",
    "place": "40.5853 N, 105.0844 W",
    "zone": "America/Denver",
    "units": "Panel A; Panel B",
    "where": "dock, north wall; pole 14",
    "circuits": "Lot poles; Sign",
    "1 lamps": "12 x 160 W",
    "2 lamps": "none",
    "1 serves": "people",
    "2 serves": "sign",
    "1 photocell": "none",
    "2 photocell": "series",
    "1 override": "30",
    "2 override": "0",
    "1 egress": "separate, always on: panel E, breaker 3",
    "2 egress": "unknown",
    "mon-fri": "08:00-20:00",
    "sat": "09:00-17:00",
    "sun": "closed",
    "before": "30",
    "after": "45",
    "1 off": "the later of leave and 21:00",
    "2 off": "the later of leave and 21:00",
    "1 again": "arrive",
    "2 again": "arrive",
    "curfew": "23:30 until 05:00",
    "country": "US",
    "holidays": "Thanksgiving; Christmas Day",
    "closed": "dec 24",
    "controller": "sun-yearly-64",
}

SIMPLE = {
    "name": "Court",
    "place": "Dunedin, New Zealand",
    "zone": "Pacific/Auckland",
    "units": "Box",
    "where": "none",
    "circuits": "Court",
    "1 lamps": "none",
    "1 serves": "people",
    "1 photocell": "none",
    "1 override": "0",
    "1 egress": "unknown",
    "mon-fri": "none",
    "1 off": "22:00",
    "1 again": "none",
    "curfew": "none",
    "country": "none",
    "closed": "none",
    "controller": "sun-yearly-64",
}


def loaded(given: dict[str, str], promises: tuple[str, ...] = ()) -> Site:
    text = site_text(given, "site", promises)
    site, findings = site_from_source(Source("site.toml", text))
    assert site is not None, render(findings)
    assert not has_problem(findings), render(findings)
    return site


class Person:
    """Types lines one by one and remembers what was shown."""

    def __init__(self, *lines: str) -> None:
        self.lines = list(lines)
        self.shown: list[str] = []

    def __call__(self, prompt: str) -> str | None:
        self.shown.append(prompt)
        return self.lines.pop(0) if self.lines else None


def typed(given: dict[str, str]) -> list[str]:
    """The answers as lines, in the order of the questions."""
    return [given[key] for key, _, _ in asked_in_order(given)]


def options(given: dict[str, str]) -> tuple[str, ...]:
    return tuple(f"{key}={value}" for key, value in given.items())


def nobody(prompt: str) -> str | None:
    raise AssertionError(f"asked: {prompt}")


@pytest.fixture
def unbuilt(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """The requests that would be built; builds are tested elsewhere."""
    requests: list[Any] = []

    def built(request: Any, _: int) -> Answer:
        requests.append(request)
        return Answer(exit_code=CLEAN, text="built\n", record={"built": True})

    monkeypatch.setattr(answers, "build", built)
    return requests


# Questions


def test_sections_and_numbers_are_in_the_order_of_a_walk() -> None:
    """design: place, zone, panel and unit, circuits, hours, curfew, closed days, controller."""
    numbers = [tuple(map(int, q.number.split("."))) for q in QUESTIONS]
    assert numbers == sorted(numbers)
    assert len(set(numbers)) == len(numbers)
    assert {q.number.split(".")[0] for q in QUESTIONS} == set(SECTIONS)
    assert len(set(keys())) == len(keys())
    order = [key for key, _, _ in asked_in_order(SHOP)]
    assert order == [k for k in SHOP if k in order]
    assert set(order) == set(SHOP)


def test_each_circuit_has_its_own_evening_and_those_alike_share_one() -> None:
    other = {**SHOP, "circuits": "Lot poles; Sign; Wall", "2 off": "22:30", "2 again": "none"}
    third = {f"3{key[1:]}": text for key, text in SHOP.items() if key.startswith("1 ")}
    site = loaded({**other, **third})
    assert [d.name for d in site.day_types] == ["usual", "usual_2"]
    assert [c.calendar[0].day_type for c in site.circuits] == ["usual", "usual_2", "usual"]


def test_an_option_without_a_number_is_for_all_circuits(tmp_path: Path, unbuilt: list[Any]) -> None:
    given = {k: v for k, v in SHOP.items() if not k.endswith(" off")}
    told = answers.NewRequest(
        answers=(*options(given), "off=22:00", "2 off=23:00"), out=str(tmp_path / "shop.toml")
    )
    assert answers.new(told, nobody, NOW).exit_code == CLEAN
    text = (tmp_path / "shop.toml").read_text()
    assert '"on from dusk until 22:00"' in text
    assert '"on from dusk until 23:00"' in text
    assert len(unbuilt) == 1


def test_every_example_and_every_usual_answer_is_an_answer() -> None:
    for _, _, question in asked_in_order(SHOP):
        assert question.check(question.example, SHOP) == "", question.key
        usual = question.usual(SHOP)
        if usual is not None:
            assert question.check(usual, SHOP) == "", (question.key, usual)


def test_the_form_has_the_same_questions_and_numbers() -> None:
    form = survey_form()
    flat = " ".join(form.split())
    places = []
    for question in QUESTIONS:
        words = f"{question.number} {' '.join(question.text.split())}"
        assert words in flat, question.number
        places.append(flat.index(words))
    assert places == sorted(places)
    assert all(len(line) <= 80 for line in form.splitlines())
    assert form.count("circuit 2") == sum(q.of_circuit for q in QUESTIONS)
    for number, title in SECTIONS.items():
        assert f"{number}  {title.upper()}" in form


def test_questions_of_hours_are_asked_only_where_there_are_hours() -> None:
    order = [key for key, _, _ in asked_in_order({**SIMPLE, "circuits": "A"})]
    assert "sat" not in order
    assert "before" not in order
    assert "holidays" not in order
    assert "slots" not in order
    own = [key for key, _, _ in asked_in_order({**SIMPLE, "controller": "own"})]
    assert own[-4:] == ["slots", "channels", "sunset", "dates"]
    dawn = [key for key, _, _ in asked_in_order({**SIMPLE, "1 off": "dawn"})]
    assert "1 again" not in dawn


# Checks


@pytest.mark.parametrize(
    ("key", "answer", "told"),
    [
        ("name", "", "An answer is needed"),
        ("name", "a\x07b", "It must fit on one line"),
        ("place", "Nowheretown", "No town of this name"),
        ("place", "Springfield", "several towns"),
        ("place", "95 N, 10 E", "95"),
        ("place", "86 N, 10 E", "Beyond 85 degrees"),
        ("place", "40.5853", "40.5853"),
        ("zone", "America/Denvr", "such as America/Denver"),
        ("zone", "Asia/Tokyo", "Asia/Tokyo"),
        ("zone", "EST", "no time zone of the list"),
        ("units", "", "An answer is needed"),
        ("circuits", "Poles; Poles", "Poles stands there twice"),
        ("lamps", "many", "many"),
        ("serves", "cars", "people, sign, facade or decoration"),
        ("photocell", "yes", "none, series, parallel"),
        ("override", "an hour", "whole minutes"),
        ("override", "2000", "whole minutes, from 0 to 1440"),
        ("mon-fri", "8-25", "8 could be 08:00 or 20:00"),
        ("off", "25:00", "25:00"),
        ("off", "sometime", "sometime"),
        ("again", "25:00", "25:00"),
        ("curfew", "23:00 to 05:00", "until between them"),
        ("curfew", "23:00 until", "end"),
        ("country", "Atlantis", "No holidays are known"),
        ("country", "Germny", "Germany has the code DE. Write two letters such as DE"),
        ("holidays", "Thanksgivin", "Thanksgivin"),
        ("holidays", "", "An answer is needed"),
        ("closed", "03/04", "03/04"),
        ("controller", "sun-yearly-65", "They are: sun-yearly-64"),
        ("controller", "clock", "For any other write own"),
    ],
)
def test_answers_that_cannot_be(key: str, answer: str, told: str) -> None:
    question = next(q for _, _, q in asked_in_order(SHOP) if q.key == key)
    assert told in question.check(answer, SHOP), question.check(answer, SHOP)


@pytest.mark.parametrize(
    ("key", "answer"),
    [
        ("place", "Fort Collins"),
        ("place", "springfield, illinois"),
        ("place", "40 35 07 N, 105 05 04 W"),
        ("place", "-45.87, 170.5"),
        ("off", "dawn"),
        ("off", "01:30"),
        ("off", "close + 30 min"),
        ("again", "05:30"),
        ("curfew", "the later of close and 23:00 until 05:00"),
        ("country", "germany"),
        ("country", "us"),
        ("holidays", "all"),
        ("closed", "dec 24, 2027-07-05"),
        ("controller", "own"),
    ],
)
def test_answers_that_can_be(key: str, answer: str) -> None:
    question = next(q for _, _, q in asked_in_order(SHOP) if q.key == key)
    assert question.check(answer, SHOP) == ""


def test_times_of_opening_need_hours() -> None:
    for key, answer in (("off", "leave"), ("again", "arrive"), ("curfew", "close until 05:00")):
        question = next(q for _, _, q in asked_in_order(SIMPLE) if q.key == key)
        assert "none were given in 4.1" in question.check(answer, SIMPLE)


def test_outputs_must_be_enough_for_the_circuits() -> None:
    given = {**SHOP, "controller": "own"}
    question = next(q for k, _, q in asked_in_order(given) if k == "channels")
    assert "at least 2" in question.check("1", given)
    assert question.check("2", given) == ""
    assert question.usual(given) == "2"
    crowded = {**SHOP, "circuits": ";".join(f"C{n}" for n in range(9))}
    assert "at least 9" in checks.controller("sun-yearly-64", crowded)


def test_the_zone_is_looked_up() -> None:
    assert checks.usual_zone("40.5853 N, 105.0844 W") == "America/Denver"
    assert checks.usual_zone("Fort Collins") == "America/Denver"
    assert checks.usual_zone("0 N, 30 W") is None
    assert checks.usual_zone("nowhere at all") is None


# The file


def test_the_site_file_says_what_was_answered() -> None:
    site = loaded(SHOP)
    assert site.name == "Corner pharmacy, lot"
    assert (site.latitude_degrees, site.longitude_degrees) == (40.5853, -105.084)
    assert [u.label for u in site.units] == ["Panel A", "Panel B"]
    assert [u.where for u in site.units] == ["dock, north wall", "pole 14"]
    poles, sign = site.circuits
    assert (poles.channel, poles.load_kw, poles.override_minutes) == (1, 1.92, 30)
    assert (sign.channel, sign.load_kw, sign.serves, sign.photocell) == (2, None, "sign", "series")
    assert poles.egress == "separate, always on: panel E, breaker 3"
    assert site.hours is not None
    assert (site.hours.staff_before_minutes, site.hours.staff_after_minutes) == (30, 45)
    assert len(poles.keep_dark) == 1
    assert [line.day_type for line in poles.calendar] == ["usual", "dark", "dark"]
    assert site.controller == "sun-yearly-64"


def test_a_simple_site_has_no_more_than_it_needs() -> None:
    site = loaded(SIMPLE)
    assert site.hours is None
    assert site.holidays is None
    assert [u.label for u in site.units] == ["Box"]
    assert len(site.circuits[0].calendar) == 1
    assert "keep_dark" not in site_text(SIMPLE, "site")


def test_remarks_carry_the_numbers_of_the_form() -> None:
    text = site_text(SHOP, "site")
    for number in ("1.1", "1.2", "1.3", "2.1", "3.2", "4.1", "5.3", "6.2", "7.1"):
        assert re.search(rf"# .*{re.escape(number)}", text), number


def test_names_that_would_break_a_file_are_written_safely() -> None:
    name = 'Café "Zur Post" \\ lot # 1'
    assert loaded({**SIMPLE, "name": name, "circuits": name}).name == name
    assert file_stem(name) == "cafe-zur-post-lot-1"
    assert file_stem("東京") == "site"
    assert len(file_stem("x" * 200)) <= 40


def test_a_controller_told_by_its_menu(tmp_path: Path) -> None:
    given = {
        **SHOP,
        "controller": "own",
        "slots": "40",
        "channels": "2",
        "sunset": "yes",
        "dates": "no",
    }
    text = controller_text(given, "lot")
    assert text is not None
    (tmp_path / "lot-controller.toml").write_text(text)
    unit, findings = load_controller("lot-controller.toml", str(tmp_path))
    assert unit is not None, render(findings)
    assert (unit.event_slots, unit.channels, unit.date_ranges) == (40, 2, "none")
    assert [s.word for s in unit.sun_starts] == ["sunrise", "sunset"]
    assert loaded(given).controller == "site-controller.toml"
    clock_only = controller_text({**given, "sunset": "no", "dates": "yes"}, "lot")
    assert clock_only is not None
    assert '["clock"]' in clock_only
    assert '"yearly"' in clock_only
    assert controller_text(SHOP, "lot") is None


# Promises


def variants() -> Iterator[dict[str, str]]:
    yield SHOP
    yield SIMPLE
    yield {**SIMPLE, "1 off": "dawn"}
    yield {**SIMPLE, "1 off": "01:30"}
    yield {**SHOP, "1 off": "leave", "2 off": "22:00", "2 again": "none", "curfew": "none"}
    yield {**SHOP, "country": "none", "closed": "none"}
    yield {**SIMPLE, "place": "Tromsø", "zone": "Europe/Oslo", "1 off": "23:00"}


@pytest.mark.parametrize("given", list(variants()))
def test_three_promises_are_true_and_say_something(given: dict[str, str]) -> None:
    site = loaded(given)
    lines = promises_for(site, YEAR)
    assert len(lines) == 3
    assert len(set(lines)) == 3
    assert any(line.endswith(": lit") for line in lines)
    assert any(line.endswith(": dark") for line in lines)
    promising = loaded(given, lines)
    assert len(promising.circuits[0].promises) == 3
    read, findings = pipeline.read_year(promising, YEAR)
    assert read is not None, render(findings)
    verdicts, broken = check_promises(promising, *read, None)
    assert not broken, render(broken)
    assert len({v.text for v in verdicts}) == 3


def test_a_closed_day_is_promised_dark() -> None:
    lines = promises_for(loaded(SHOP), YEAR)
    assert any(line.startswith("holiday ") and line.endswith(": dark") for line in lines)


def test_promises_keep_away_from_switchings() -> None:
    """A program may be some minutes off; half an hour later or earlier they hold as well."""
    site = loaded(SHOP)
    lines = promises_for(site, YEAR)
    moved = []
    for line in lines:
        found = re.search(r"(\d\d):(\d\d)", line)
        assert found is not None
        minutes = int(found[1]) * 60 + int(found[2])
        for by in (-15, 15):
            at = (minutes + by) % 1440
            moved.append(line.replace(found[0], f"{at // 60:02d}:{at % 60:02d}"))
    promising = loaded(SHOP, tuple(moved))
    read, _ = pipeline.read_year(promising, YEAR)
    assert read is not None
    _, broken = check_promises(promising, *read, None)
    assert not broken, render(broken)


def test_without_circuits_nothing_is_promised() -> None:
    assert promises_for(replace(loaded(SIMPLE), circuits=()), YEAR) == ()


# The command


def test_typed_answers_become_a_file(tmp_path: Path, unbuilt: list[Any]) -> None:
    person = Person(*typed(SHOP))
    out = str(tmp_path / "lot.toml")
    answer = answers.new(answers.NewRequest(out=out), person, NOW)
    assert answer.exit_code == CLEAN, answer.findings
    assert not person.lines
    site, findings = load_site(out)
    assert site is not None, render(findings)
    assert len(site.circuits[0].promises) == 3
    assert sorted(p.name for p in tmp_path.iterdir()) == ["lot.toml"]
    [request] = unbuilt
    assert (request.site, request.first, request.through) == (out, "2027-01-01", "2027-12-31")
    assert request.out == str(tmp_path / "lot-2027")
    assert answer.record["site_file"] == (tmp_path / "lot.toml").as_posix()
    assert answer.record["built"] is True
    assert person.shown[0].startswith("1.1  What is the site called?")


def test_options_and_typed_answers_give_the_same_file(tmp_path: Path, unbuilt: list[Any]) -> None:
    assert unbuilt == []
    one, other = tmp_path / "one.toml", tmp_path / "other.toml"
    answers.new(answers.NewRequest(out=str(one)), Person(*typed(SHOP)), NOW)
    answers.new(answers.NewRequest(answers=options(SHOP), out=str(other)), nobody, NOW)
    assert one.read_text() == other.read_text()


def test_an_empty_line_is_the_usual_answer(tmp_path: Path, unbuilt: list[Any]) -> None:
    assert unbuilt == []
    lines = ["Court", "Dunedin, New Zealand", "", "", "", "Court", *[""] * 12]
    one, other = tmp_path / "one.toml", tmp_path / "other.toml"
    answers.new(answers.NewRequest(out=str(one)), Person(*lines), NOW)
    few = options({k: SIMPLE[k] for k in ("name", "place", "circuits")})
    request = answers.NewRequest(answers=few, out=str(other), usual=True)
    assert answers.new(request, nobody, NOW).exit_code == CLEAN
    assert one.read_text() == other.read_text()


def test_a_wrong_answer_is_told_and_asked_again(tmp_path: Path, unbuilt: list[Any]) -> None:
    assert unbuilt == []
    lines = typed(SIMPLE)
    place = lines.index("Dunedin, New Zealand")
    person = Person(*lines[:place], "Nowheretown", "", *lines[place:])
    request = answers.NewRequest(out=str(tmp_path / "x.toml"))
    assert answers.new(request, person, NOW).exit_code == CLEAN
    assert "No town of this name is known" in person.shown[place + 1]
    assert "An answer is needed here." in person.shown[place + 2]


@pytest.mark.parametrize("count", range(len(typed(SHOP))))
def test_the_end_of_input_stops_cleanly(tmp_path: Path, unbuilt: list[Any], count: int) -> None:
    request = answers.NewRequest(out=str(tmp_path / "lot.toml"))
    answer = answers.new(request, Person(*typed(SHOP)[:count]), NOW)
    assert (answer.exit_code, [f.code for f in answer.findings]) == (USAGE, ["E799"])
    assert not list(tmp_path.iterdir())
    assert not unbuilt


@pytest.mark.parametrize(
    ("option", "told"),
    [
        ("place", "an equals sign"),
        ("plaice=Fort Collins", "Did you mean place"),
        ("1 lamp=10 W", "1 lamps"),
        ("place=Nowheretown", "No town of this name"),
        ("=x", "no such question"),
    ],
)
def test_options_that_cannot_be(tmp_path: Path, option: str, told: str) -> None:
    given = (*options({k: v for k, v in SHOP.items() if k != "place"}), option)
    request = answers.NewRequest(answers=given, out=str(tmp_path / "x.toml"))
    answer = answers.new(request, Person(), NOW)
    assert (answer.exit_code, [f.code for f in answer.findings]) == (USAGE, ["E798"])
    assert told in answer.findings[0].why, answer.findings[0].why
    assert not list(tmp_path.iterdir())


def test_without_a_usual_answer_it_stops(tmp_path: Path) -> None:
    request = answers.NewRequest(usual=True, out=str(tmp_path / "x.toml"))
    answer = answers.new(request, nobody, NOW)
    assert [f.code for f in answer.findings] == ["E799"]
    assert "1.1, name" in answer.findings[0].title
    assert "no usual answer" in answer.findings[0].why


@pytest.mark.parametrize("there", ["lot.toml", "lot-2027", "lot-controller.toml"])
@pytest.mark.parametrize("reply", ["no", "", "what?", None])
def test_nothing_is_replaced_unasked(
    tmp_path: Path, unbuilt: list[Any], there: str, reply: str | None
) -> None:
    given = {
        **SIMPLE,
        "controller": "own",
        "slots": "9",
        "channels": "1",
        "sunset": "yes",
        "dates": "no",
    }
    (tmp_path / there).write_text("mine")
    person = Person() if reply is None else Person(reply)
    request = answers.NewRequest(answers=options(given), out=str(tmp_path / "lot.toml"))
    answer = answers.new(request, person, NOW)
    assert (answer.exit_code, [f.code for f in answer.findings]) == (USAGE, ["E799"])
    assert there in person.shown[0]
    assert [p.name for p in tmp_path.iterdir()] == [there]
    assert (tmp_path / there).read_text() == "mine"
    assert not unbuilt


@pytest.mark.parametrize("by", ["typed", "option"])
def test_what_may_be_replaced_is(tmp_path: Path, unbuilt: list[Any], by: str) -> None:
    (tmp_path / "lot.toml").write_text("mine")
    given = options(SIMPLE) + (("replace=yes",) if by == "option" else ())
    request = answers.NewRequest(answers=given, out=str(tmp_path / "lot.toml"))
    person = Person("yes") if by == "typed" else Person()
    assert answers.new(request, person, NOW).exit_code == CLEAN
    assert "Court" in (tmp_path / "lot.toml").read_text()
    assert len(unbuilt) == 1


@pytest.mark.parametrize("step", ["open", "write", "fsync", "replace"])
def test_a_file_that_cannot_be_written_leaves_nothing(
    tmp_path: Path, unbuilt: list[Any], monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    real: Callable[..., Any] = getattr(os, step)

    def refusing(*args: Any, **named: Any) -> Any:
        if step == "open" and not str(args[0]).startswith(str(tmp_path)):
            return real(*args, **named)
        raise OSError(28, "no room")

    request = answers.NewRequest(answers=options(SIMPLE), out=str(tmp_path / "lot.toml"))
    with monkeypatch.context() as patch:
        patch.setattr(os, step, refusing)
        answer = answers.new(request, nobody, NOW)
    assert (answer.exit_code, [f.code for f in answer.findings]) == (USAGE, ["E799"])
    assert "no room" in answer.findings[0].why
    assert not list(tmp_path.iterdir())
    assert not unbuilt


def test_the_paper_form_needs_no_answers() -> None:
    answer = answers.new(answers.NewRequest(paper=True), nobody, NOW)
    assert answer.exit_code == CLEAN
    assert answer.text == survey_form()


def test_a_site_is_asked_for_written_and_built(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Once for real, for one month, with a controller of its own."""
    winter = Period(date(2027, 6, 1), date(2027, 6, 30))
    monkeypatch.setattr(asked, "default_period", lambda _: winter)
    given = {
        **SIMPLE,
        "controller": "own",
        "slots": "20",
        "channels": "1",
        "sunset": "yes",
        "dates": "no",
    }
    request = answers.NewRequest(answers=options(given), out=str(tmp_path / "court.toml"))
    answer = answers.new(request, nobody, NOW)
    assert answer.exit_code == CLEAN, render(answer.findings)
    assert {p.name for p in tmp_path.iterdir()} == {
        "court.toml",
        "court-controller.toml",
        "court-2027-06-01-to-2027-06-30",
    }
    assert (tmp_path / "court-2027-06-01-to-2027-06-30" / "transfer.json").exists()
    assert "kept 3 of 3" in answer.text
