"""The pages of a sheet: what stands on them, for whom, and what must not."""

from __future__ import annotations

import json
import re
from datetime import date

import pytest

from schedcomp.capacity_report import Saving, Shortfall
from schedcomp.compiled import Compiled
from schedcomp.controller import ExceptionSlots
from schedcomp.model import Action
from schedcomp.ordinance.verdict import NO_RULES, ClauseVerdict, NightFailed, Status
from schedcomp.program import ClockStart, EventDates, SunOffset
from schedcomp.promises import PromiseVerdict
from schedcomp.records import replace
from schedcomp.sheet import keying, owner
from schedcomp.sheet.blocks import clean
from schedcomp.sheet.facts import SheetFacts, sheet_facts
from schedcomp.sheet.nearness import program_hours
from schedcomp.sheet.summertime import summer_time
from schedcomp.sheet.wording import Hand, date_runs, runs_words
from schedcomp.site import Confirmation, PanelFacts, Paper, Unit
from schedcomp.told_time import both, twelve_hour
from tests import made_up
from tests.sheets import CODE, job, making, page, sheet

NOT_MET = replace(
    NO_RULES,
    titles=("County rule",),
    nights=4,
    year=(
        ClauseVerdict(
            rule="County rule",
            clause="4.2(b)",
            text="dark from 11 pm",
            sentence="dark from 23:00 until 06:00, every day, for Lot poles",
            on="exact year",
            status=Status.FAIL,
            circuits=("Lot poles",),
            nights=4,
            applying=4,
            failed=(
                NightFailed(day=date(2027, 3, 13), seconds=1800, start=1805000400, end=1805002200),
            ),
            assumed=("on closed days the clock time alone counts",),
        ),
    ),
)


@pytest.fixture(scope="module")
def made() -> SheetFacts:
    return sheet(made_up.WITH_SPECIAL_DAYS)


def with_paper(paper: Paper) -> Compiled:
    compiled = made_up.WITH_SPECIAL_DAYS
    return replace(compiled, site=replace(compiled.site, paper=paper))


class TestOwner:
    def test_caution_comes_first(self, made: SheetFacts) -> None:
        lines = page(made, "owner").splitlines()
        assert made.pages[0].key == "owner"
        assert "OFF at the clock is not isolation" in lines[2]
        assert "Control voltage may come from another source" in lines[2]

    def test_times_of_one_night_and_dark_nights(self, made: SheetFacts) -> None:
        text = page(made, "owner")
        assert "Lot poles | 18:15 to 23:00" in text
        assert "1 night: Sun 14 Mar 2027." in text

    def test_what_to_do_in_three_steps_each(self, made: SheetFacts) -> None:
        lines = page(made, "owner").splitlines()
        for title in ("Lights on at noon", "No light in the evening", "After a power cut"):
            place = lines.index(title)
            assert lines[place + 1].startswith("Selector to AUTO. Does the unit show")
            assert "all" in lines[place + 3]

    def test_no_selector_no_word_of_it(self) -> None:
        compiled = made_up.WITH_SPECIAL_DAYS
        none = PanelFacts(selector="none")
        circuits = tuple(replace(c, panel=none) for c in compiled.site.circuits)
        text = page(
            sheet(replace(compiled, site=replace(compiled.site, circuits=circuits))), "owner"
        )
        assert "\nDoes the unit show the right date and time?" in text
        assert "Selector" not in text

    def test_until_when_and_what_it_costs(self, made: SheetFacts) -> None:
        text = page(made, "owner")
        assert "GOOD UNTIL | Friday 10 March 2028" in text
        assert "Costs | 89.5 kWh, 12.53 USD from Fri 12 Mar 2027 through Mon 15 Mar 2027" in text

    def test_no_words_of_the_tool(self, made: SheetFacts) -> None:
        text = page(made, "owner").casefold()
        for word in ("schedcomp", "day type", "exact year", "certificate", "certain", "toml"):
            assert word not in text

    def test_what_it_replaces(self) -> None:
        text = page(sheet(with_paper(Paper(replaces="2026-11-30, 7F3A-92C1"))), "owner")
        assert "Replaces | sheet of Mon 30 Nov 2026, 7F3A-92C1" in text
        odd = page(sheet(with_paper(Paper(replaces="2026-13-45, old"))), "owner")
        assert "Replaces | sheet of 2026-13-45, old" in odd

    def test_twelve_hour_clock_only_where_asked_for(self, made: SheetFacts) -> None:
        text = page(sheet(with_paper(Paper(clock="12 hour"))), "owner")
        assert "Lot poles | 6:15\u00a0PM to 11:00\u00a0PM" in text
        assert "PM" not in page(made, "owner")

    def test_nights_on_screen_keep_to_the_clock_asked_for(self, made: SheetFacts) -> None:
        twelve = sheet(with_paper(Paper(clock="12 hour")))
        assert not re.search(r"\b\d\d:\d\d\b(?!\u00a0)", twelve.nights)
        assert "2:00\u00a0AM goes forward to 3:00\u00a0AM" in twelve.nights
        for facts in (twelve, made):
            assert '"because “every day: usual”"' in facts.nights  # its time stands beside it


def test_worst_of_all_runs(made: SheetFacts) -> None:
    text = page(made, "proof")
    assert "Worst | on 2 min early on Fri 12 Mar 2027: all circuits" in text


def test_wishes_are_told_once(made: SheetFacts, monkeypatch: pytest.MonkeyPatch) -> None:
    """On the owner's page, or further on where that has no room."""
    told = "Lot poles, every day; holidays: dark"
    assert told in page(made, "owner")
    assert told not in page(made, "proof")
    monkeypatch.setattr(owner, "_MOST_WISHES", 1)
    full = sheet(made_up.WITH_SPECIAL_DAYS)
    assert told not in page(full, "owner")
    assert told in page(full, "proof")


def test_how_near_the_lamps_come_stands_with_the_times(made: SheetFacts) -> None:
    told = "lamps come on up to 2 min earlier"
    for key in ("owner", "months"):
        assert told in page(made, key)
    assert told in json.loads(made.nights)["note"]


def test_hours_of_the_program_are_those_of_its_own_run() -> None:
    """Lit spans of the run, added up by hand: no source."""
    compiled = made_up.WITH_SPECIAL_DAYS
    [circuit, *_] = compiled.site.circuits
    start, end = compiled.year.start, compiled.year.end
    run = replace(
        compiled.audit.runs[0],  # type: ignore[union-attr]
        name="sun exact",
        differences=(),
        switchings=(
            (
                circuit.channel,
                (
                    (start + 3600, Action.ON, 1),
                    (start + 7200, Action.OFF, 2),
                    (end - 1800, Action.ON, 1),
                    (end + 1800, Action.OFF, 2),
                ),
            ),
        ),
    )
    audit = replace(compiled.audit, runs=(run,))  # type: ignore[type-var]
    dark = replace(compiled.year.circuit(circuit.name), spans=())
    year = replace(compiled.year, circuits=(dark, *compiled.year.circuits[1:]))
    hours = program_hours(replace(compiled, audit=audit, year=year), circuit)
    assert hours == pytest.approx(1.5)


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (("2027-12-24",), ["Fri 24 Dec 2027"]),
        (
            ("2027-12-31", "2028-01-01"),
            ["Fri 31 Dec 2027 through Sat 1 Jan 2028"],
        ),
        (
            ("2027-01-05", "2027-03-02", "2027-03-03", "2027-05-06", "2028-01-03"),
            [
                "in 2027 Tue 5 Jan",
                "Tue 2 Mar through Wed 3 Mar (2 nights)",
                "Thu 6 May",
                "in 2028 Mon 3 Jan",
            ],
        ),
    ],
)
def test_runs_of_dates_name_a_year_where_it_is_needed(
    days: tuple[str, ...], words: list[str]
) -> None:
    assert runs_words(map(date.fromisoformat, days)) == words


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("on from 04:30 until dawn", "on from 4:30\u00a0AM until dawn"),
        ("every day 12:00: dark", "every day 12:00\u00a0noon: dark"),
        ("lit 2027-02-20 20:30", "lit Sat 20 Feb 2027 8:30\u00a0PM"),
        ("from 2027-02-30 on, 12:34:56", "from 2027-02-30 on, 12:34:56"),
    ],
)
def test_phrases_of_the_file_have_dates_and_times_of_the_sheet(text: str, words: str) -> None:
    assert Hand(twelve=True).phrase(text) == words


def test_what_showed_that_a_unit_holds_the_program() -> None:
    compiled = made_up.WITH_SPECIAL_DAYS
    told = Confirmation(how="keyed-back list", day=date(2027, 3, 12), program_code=CODE)
    units = (
        Unit(label="A", confirmed=told),
        Unit(label="B", confirmed=replace(told, program_code="0000-0001")),
        Unit(label="C"),
    )
    text = page(sheet(replace(compiled, site=replace(compiled.site, units=units))), "settings")
    assert "A | ____ | ____ | ____ | keyed-back list, Fri 12 Mar 2027" in text
    assert "B | ____ | ____ | ____ | not confirmed; on Fri 12 Mar 2027 it held 0000-0001" in text
    assert "C | ____ | ____ | ____ | not confirmed\n" in f"{text}\n"


def test_circuits_with_the_same_times_share_a_line(made: SheetFacts) -> None:
    compiled = made_up.WITH_SPECIAL_DAYS
    first, second = compiled.year.circuits
    alike = replace(compiled.year, circuits=(first, replace(second, spans=first.spans)))
    text = page(sheet(replace(compiled, year=alike)), "owner")
    assert "Lot poles, Sign | 18:15 to 23:00" in text
    assert "Lot poles, Sign |" not in page(made, "owner")


class TestKeying:
    def test_old_program_goes_first_and_the_count_comes_last(self, made: SheetFacts) -> None:
        lines = page(made, "keying").splitlines()
        assert "read out the program that is in the unit now" in lines[3]
        assert "0 slots used" in lines[5]
        assert any("6 slots used, 58 free" in line for line in lines[-5:])
        assert any("Special days: 3 used, 13 free" in line for line in lines[-5:])

    def test_one_line_a_slot_with_a_tick_for_every_unit(self, made: SheetFacts) -> None:
        text = page(made, "keying")
        assert (
            "2 | 1 Lot poles | OFF | 23:00 (11:00\u00a0PM) | Mon–Thu, Sun | 20 Nov to 6 Jan | "
            "OFF at 23:00 | [ ] | [ ]"
        ) in text
        assert "1 | 1 + 2 Lot poles; Sign | ON | 15 min after sunset (+15) | every day" in text

    def test_many_units_take_copies(self) -> None:
        compiled = made_up.WITH_SPECIAL_DAYS
        units = tuple(Unit(label=f"Panel {n}") for n in range(1, 10))
        text = page(sheet(replace(compiled, site=replace(compiled.site, units=units))), "keying")
        assert "one copy of this page for each of the 9 units" in text
        assert "| Done" in text

    def test_slots_of_plans_that_are_counted_apart(self) -> None:
        compiled = made_up.WITH_SPECIAL_DAYS
        apart = ExceptionSlots(slots=16, events_from="plan_events", plan_events=8, plans=4)
        controller = replace(compiled.controller, exceptions=apart)
        text = page(sheet(replace(compiled, controller=controller)), "keying")
        assert "4 slots used, 60 free" in text
        assert "Special-day programs: 2 slots used, 6 free." in text

    @pytest.mark.parametrize(
        ("days", "words"),
        [
            (range(7), "every day"),
            ((0, 1, 2, 3, 4), "Mon–Fri"),
            ((5, 6), "Sat, Sun"),
            ((0, 1, 2, 6), "Mon–Wed, Sun"),
            ((2,), "Wed"),
        ],
    )
    def test_weekdays(self, days: tuple[int, ...], words: str) -> None:
        assert keying.weekday_words(frozenset(days)) == words

    def test_starts(self) -> None:
        assert keying.start_words(ClockStart(0)) == "00:00 (12:00\u00a0midnight)"
        assert keying.start_words(SunOffset("sunset", 0)) == "at sunset (offset 0)"
        assert keying.start_words(SunOffset("sunrise", -75)) == "1 h 15 min before sunrise (−75)"

    def test_dates(self) -> None:
        assert keying.dates_words(None) == "all year"
        assert keying.dates_words(EventDates((12, 25), (12, 25))) == "25 Dec"
        two = EventDates((12, 24), (1, 2), (2027, 2028))
        assert keying.dates_words(two) == "24 Dec 2027 to 2 Jan 2028"


class TestSettings:
    def test_both_notations_and_the_side_spelled_out(self, made: SheetFacts) -> None:
        text = page(made, "settings")
        assert "Latitude | 40.59° NORTH   =   40° 35′ 24″ NORTH" in text
        assert "Longitude | 111.6° WEST   =   111° 36′ WEST" in text
        assert "Place in Panel B | 40.58° NORTH" in text

    def test_summer_time_in_words_with_three_pairs(self, made: SheetFacts) -> None:
        """15 U.S.C. 260a: second Sunday of March to first Sunday of November, at 2 o'clock."""
        text = page(made, "settings")
        assert "forward 1 h on the second Sunday of March at 02:00" in text
        assert "back on the first Sunday of November at 02:00" in text
        for pair in ("Sun 14 Mar 2027 forward, Sun 7 Nov 2027 back", "Sun 12 Mar 2028", "2029"):
            assert pair in text

    def test_order_of_the_unit(self) -> None:
        compiled = made_up.WITH_SPECIAL_DAYS
        turned = replace(compiled.controller, entry_order=("location", "clock", "events"))
        text = page(sheet(replace(compiled, controller=turned)), "settings")
        assert text.index("Latitude") < text.index("Date and weekday")

    def test_a_unit_without_summer_time(self) -> None:
        compiled = made_up.WITH_SPECIAL_DAYS
        fixed = replace(compiled.controller, clock="standard")
        text = page(sheet(replace(compiled, controller=fixed)), "settings")
        assert "Summer time | OFF, and never changed" in text
        assert "standard time all year, UTC - 7 h" in text

    @pytest.mark.parametrize(
        ("zone", "rule"),
        [
            ("Europe/Stockholm", "the last Sunday of March at 02:00"),
            ("Pacific/Auckland", "the last Sunday of September at 02:00"),
            ("Africa/Cairo", "forward 1 h on the last Friday of April at 00:00"),
            ("Africa/Cairo", "back at the end of the last Thursday of October (24:00, midnight)"),
            ("America/Havana", "forward 1 h on the second Sunday of March at 00:00"),
            ("America/Phoenix", ""),
            ("Asia/Gaza", ""),
        ],
    )
    def test_rules_of_zones(self, zone: str, rule: str) -> None:
        """Directive 2000/84/EC; New Zealand Time Order 2007; the rules Egypt and Cuba of tzdata;
        none in Arizona; the moon in Gaza.
        """
        found = summer_time(zone, date(2027, 1, 1))
        assert rule in found.rule
        assert bool(found.rule) == bool(rule)
        assert bool(found.pairs) == (zone != "America/Phoenix")

    def test_a_unit_that_keeps_standard_time_shows_it_in_summer_too(self, made: SheetFacts) -> None:
        """From 14 March the clock at the site is an hour ahead of such a unit."""
        compiled = made_up.WITH_SPECIAL_DAYS
        fixed = replace(compiled.controller, clock="standard")
        text = page(sheet(replace(compiled, controller=fixed)), "display")
        assert "Mon 15 Mar 2027 | 06:38 | 18:33 | standard time" in text
        assert "Mon 15 Mar 2027 | 07:38 | 19:33 | summer time" in page(made, "display")

    def test_no_unit_is_said_to_hold_the_program(self, made: SheetFacts) -> None:
        assert page(made, "settings").count("| not confirmed") == 2


class TestLabel:
    def test_no_times_and_no_dark_dates(self, made: SheetFacts) -> None:
        text = page(made, "label")
        assert not re.search(r"\d{1,2}:\d\d|\bAM\b|\bPM\b", text)
        assert "Mar 2027" not in text
        assert "14 March" not in text

    def test_it_comes_last_and_the_site_file_stands_elsewhere(self, made: SheetFacts) -> None:
        """The codes of the site file hold all times: they are not on paper that is cut up."""
        keys = [p.key for p in made.pages]
        assert keys[-2:] == ["visits", "label"]
        assert keys.index("file") < keys.index("settings")

    def test_one_for_every_unit_with_the_code(self, made: SheetFacts) -> None:
        text = page(made, "label")
        assert text.count(f"Program code | {CODE}") == 2
        assert "Unit | Panel A" in text
        assert text.count("OFF at the clock is not isolation") == 2
        assert "GOOD UNTIL | Friday 10 March 2028" in text


class TestMarks:
    def test_does_not_fit(self) -> None:
        facts = sheet(made_up.NOT_FITTING)
        assert facts.mark == "DOES NOT FIT"
        assert "keying" not in [p.key for p in facts.pages]
        assert "label" not in [p.key for p in facts.pages]
        assert "the wishes need 71 slots" in page(facts, "proof")
        assert facts.pages[-1].key == "changes"
        everything = "\n".join(page(facts, p.key) for p in facts.pages)
        for part in ("Set these first", "Key these in", "The units", "holds program"):
            assert part not in everything

    def test_what_would_fit(self) -> None:
        shortfall = Shortfall(
            tolerance_minutes=10,
            slots=71,
            fits_at_minutes=14,
            slots_there=60,
            most_minutes=30,
            savings=(Saving(kind="calendar line", text="fri: late", circuits=("Sign",), slots=50),),
        )
        text = page(sheet(replace(made_up.NOT_FITTING, shortfall=shortfall)), "proof")
        assert "Would fit | within 14 min: 60 of 64 slots" in text
        assert "Would save slots | Without `fri: late` of Sign it would need 50 slots" in text
        never = replace(shortfall, fits_at_minutes=None, slots_there=None, savings=())
        text = page(sheet(replace(made_up.NOT_FITTING, shortfall=never)), "proof")
        assert "Would fit | at no tolerance up to 30 min" in text
        assert "Would save" not in text

    def test_not_met(self) -> None:
        kept = made_up.WITH_SPECIAL_DAYS.promises[0]
        broken: PromiseVerdict = replace(kept, run_lit=not kept.wanted_lit)
        facts = sheet(replace(made_up.WITH_SPECIAL_DAYS, promises=(broken,)))
        assert facts.mark == "NOT MET"
        assert "keying" not in [p.key for p in facts.pages]
        assert "BROKEN on 1 of 1 date" in page(facts, "proof")

    def test_a_test_run_that_disagrees(self) -> None:
        facts = sheet(replace(made_up.WITH_SPECIAL_DAYS, audit=made_up.DISAGREEING))
        assert facts.mark == "TEST RUN DISAGREES"

    def test_without_a_rule_this_is_said(self) -> None:
        assert "No rule was checked." in page(sheet(made_up.WITH_SPECIAL_DAYS), "proof")

    def test_a_clause_that_is_not_met_marks_every_page(self) -> None:
        facts = sheet(replace(made_up.WITH_SPECIAL_DAYS, rules=NOT_MET))
        assert facts.mark == "NOT MET"
        assert facts.mark_words == "Clause 4.2(b) of County rule is not met."
        assert "keying" not in [p.key for p in facts.pages]
        text = page(facts, "proof")
        assert "NOT MET: 4.2(b) of 1 clause of County rule" in text
        assert "4.2(b) | dark from 11 pm | NOT MET on 1 night, 30 min" in text
        assert "Sat 13 Mar 2027, the worst" in text
        assert "4.2(b): on closed days the clock time alone counts." in text

    def test_an_accepted_clause_is_keyed_and_told(self) -> None:
        accepted = replace(NOT_MET, accepted=(("4.2(b)", "variance 24-118"),))
        facts = sheet(replace(made_up.WITH_SPECIAL_DAYS, rules=accepted))
        assert facts.mark == ""
        text = page(facts, "proof")
        assert "Accepted although not met: 4.2(b): variance 24-118." in text
        assert "NOT MET on 1 night, 30 min; accepted: variance 24-118" in text


def test_paper_goes_by_where_the_site_is() -> None:
    assert sheet(made_up.WITH_SPECIAL_DAYS).paper_size == "letter"
    assert sheet(with_paper(Paper(size="a4"))).paper_size == "a4"


def test_only_the_input_decides(made: SheetFacts) -> None:
    assert sheet(made_up.WITH_SPECIAL_DAYS) == made
    other = sheet_facts(made_up.WITH_SPECIAL_DAYS, making(made_on=date(2027, 3, 2)))
    assert other != made


def test_the_day_of_making_is_kept_inside_the_period() -> None:
    early = job(made_up.COMPILED)
    early = replace(early, making=replace(early.making, commission=None, made_on=date(2001, 1, 1)))
    assert early.first_day == made_up.PERIOD.first


def test_times_on_paper() -> None:
    assert [twelve_hour(m).replace("\u00a0", " ") for m in (0, 5, 720, 725, 1439)] == [
        "12:00 midnight",
        "12:05 AM",
        "12:00 noon",
        "12:05 PM",
        "11:59 PM",
    ]
    assert both(1380).replace("\u00a0", " ") == "23:00 (11:00 PM)"


@pytest.mark.parametrize(
    ("written", "set_as"),
    [
        ("(`hours of mon-fri` holds)", "(“hours of mon-fri” holds)"),
        ("dawn (sunrise - 15 min)", "dawn (sunrise\u00a0−\u00a015 min)"),
        ("40 x 160 W", "40\u00a0×\u00a0160 W"),
        ("Yard - 3", "Yard - 3"),
        ("one ` alone", "one ` alone"),
    ],
)
def test_signs_of_print(written: str, set_as: str) -> None:
    assert clean(written) == set_as


def test_runs_of_dates() -> None:
    days = [date(2027, 1, d) for d in (3, 1, 2, 7)]
    assert date_runs(days) == [
        (date(2027, 1, 1), date(2027, 1, 3)),
        (date(2027, 1, 7), date(2027, 1, 7)),
    ]
