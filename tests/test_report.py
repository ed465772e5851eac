"""What is told to people: words for dates and times, nights, reasons, the summary, controllers."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path

import pytest

from schedcomp import asked, controllerfile, pipeline, sitefile, told_time
from schedcomp.audit_report import AuditReport, Difference
from schedcomp.clock import zone
from schedcomp.compiled import Compiled
from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.diag import Diagnostic
from schedcomp.later import GoodUntil
from schedcomp.model import HOUR, MINUTE, Action, Half, Period
from schedcomp.program import Certificate, ClockStart, Deviation, Event, Fitted, Program
from schedcomp.records import replace
from schedcomp.report import controllers, lasting, light, night, summary, why, words
from schedcomp.site import Site
from schedcomp.words import length_words
from schedcomp.world import World
from schedcomp.year import Bound, Cause, EmptyWindow, Reason, Year
from tests import made_up

DENVER = zone("America/Denver", date(2027, 1, 1), date(2027, 12, 31))
YEAR = Period(date(2027, 1, 1), date(2027, 12, 31))
MARCH = Period(date(2027, 3, 1), date(2027, 3, 31))

SITE = """\
schedcomp = 1

[site]
name       = "Sample lot"
latitude   = 40.5853
longitude  = -105.0844
timezone   = "America/Denver"
controller = "sun-yearly-64"
holidays   = { add = { "Stock-taking" = "2027-06-30" } }

[hours]
mon-sat  = "08:00-21:00"
sun      = "closed"

[day_types]
usual = ["on from dusk until 23:00", "on from 05:30 until dawn"]
shop  = ["on from dusk until close"]

[[circuit]]
name         = "Lot poles"
channel      = 1
load_kw      = 6.4
shortest_on  = "10 min"
shortest_off = "15 min"
keep_dark    = ["2027-03-06: from 21:00 until 22:00"]
calendar     = ["every day: usual", "holidays: dark"]
promise      = ["2027-03-05 19:30: lit"]

[[circuit]]
name     = "Sign"
channel  = 2
calendar = ["mon-sat: shop", "sun: shop", "2027-03-09: dark"]

[[one_off]]
circuit = "Sign"
lit     = "2027-03-10 22:00 until 2027-03-10 23:00"
because = "late sale"
"""


def site_of(folder: Path, text: str = SITE) -> Site:
    path = folder / "site.toml"
    path.write_text(text, encoding="utf-8")
    site, findings = sitefile.load_site(path)
    assert site is not None, findings
    return site


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Site:
    return site_of(tmp_path_factory.mktemp("site"))


@pytest.fixture(scope="module")
def read(site: Site) -> tuple[World, Year]:
    found, findings = pipeline.read_year(site, YEAR)
    assert found is not None, findings
    return found


@pytest.fixture(scope="module")
def compiled(site: Site) -> Compiled:
    controller, _ = controllerfile.load_controller("sun-yearly-64")
    assert controller is not None
    found, findings = pipeline.compile(site, MARCH, controller)
    assert found is not None, findings
    return found


def squeezed(text: str) -> str:
    return " ".join(text.split())


class TestWords:
    def test_times_are_told_to_the_nearest_minute(self) -> None:
        noon = DENVER.first_pass(date(2027, 12, 3), 12 * HOUR)
        assert told_time.clock_words(DENVER, noon + 29) == "12:00"
        assert told_time.clock_words(DENVER, noon + 30) == "12:01"
        assert told_time.exact_clock_words(DENVER, noon + 29) == "12:00:29"
        assert told_time.exact_clock_words(DENVER, noon + 60) == "12:01"

    def test_rounding_carries_into_the_next_date(self) -> None:
        late = DENVER.first_pass(date(2027, 12, 31), 24 * HOUR) - 10
        assert told_time.moment_words(DENVER, late) == "Sat 1 Jan 2028, 00:00"

    def test_clock_changes_name_both_readings(self) -> None:
        told = [told_time.clock_change_words(DENVER, c) for c in DENVER.changes()]
        assert "Sun 14 Mar 2027 02:00 goes forward to 03:00" in told
        assert "Sun 7 Nov 2027 02:00 goes back to 01:00" in told

    @pytest.mark.parametrize(
        ("seconds", "told"),
        [(0, "0 min"), (29, "0 min"), (30, "1 min"), (3600, "1 h"), (33600, "9 h 20 min")],
    )
    def test_lengths(self, seconds: int, told: str) -> None:
        assert length_words(seconds) == told

    @pytest.mark.parametrize(("seconds", "told"), [(0, "0 min"), (-1, "1 min"), (61, "2 min")])
    def test_deviations_are_never_made_smaller(self, seconds: int, told: str) -> None:
        assert words.minutes_words(seconds) == told

    @pytest.mark.parametrize(
        ("value", "told"),
        [(22118.4, "22,118"), (55.83, "55.8"), (4.0, "4"), (0.45, "0.45"), (0, "0")],
    )
    def test_amounts(self, value: float, told: str) -> None:
        assert words.amount_words(value) == told

    def test_a_plain_clock_wish_is_not_told_twice(self) -> None:
        reason = Reason(
            Cause.WINDOW, "23:00", date(2027, 1, 1), Bound(((0, False),)), "usual", "daily: usual"
        )
        assert words.reason_words(DENVER, reason, "23:00") == "because `daily: usual`"
        assert words.reason_words(DENVER, reason, "22:59") == "23:00, because `daily: usual`"


class TestNight:
    def test_every_switching_has_its_reason(self, site: Site, read: tuple[World, Year]) -> None:
        """Sun times of an independent library for that evening: 16:33:12 and 07:13:44."""
        world, year = read
        told = night.nights(site, world, year, date(2027, 12, 10), 1)
        text = night.night_text(world.zone, told)
        assert "Fri 10 Dec 2027 (evening) to Sat 11 Dec (morning)" in text
        assert "  Sunset 16:33, sunrise 07:14." in text
        assert "on  16:48  dusk (sunset + 15 min), because `every day: usual`" in text
        assert "off 23:00  because `every day: usual`" in text
        assert "on  05:30  because `every day: usual`" in text
        assert "off 06:59  dawn (sunrise - 15 min), because `every day: usual`" in text
        assert "off 21:00  close, because `mon-sat: shop`" in text

    def test_a_dark_night_says_which_lines_decide_it(
        self, site: Site, read: tuple[World, Year]
    ) -> None:
        world, year = read
        told = night.nights(site, world, year, date(2027, 6, 30), 1)
        text = squeezed(night.night_text(world.zone, told))
        assert "Wed 30 Jun is Stock-taking." in text
        assert "dark all night `holidays: dark` decides the evening of Wed 30 Jun" in text
        assert "`every day: usual` decides the morning of Thu 1 Jul" in text
        assert "lights nothing on Thu 1 Jul: its end comes before its start" in text

    def test_a_closed_day_is_named_as_the_cause(self, site: Site, read: tuple[World, Year]) -> None:
        world, year = read
        (told,) = night.nights(site, world, year, date(2027, 3, 7), 1)
        notes = " ".join(told.circuits[1].notes)
        assert notes.startswith("dark all night `sun: shop` decides the evening of Sun 7 Mar")
        assert "lights nothing on Sun 7 Mar: the place is closed, so there is no such hour" in notes

    def test_the_night_of_a_clock_change_is_an_hour_short(
        self, site: Site, read: tuple[World, Year]
    ) -> None:
        world, year = read
        (told,) = night.nights(site, world, year, date(2027, 3, 13), 1)
        assert told.end - told.start == 23 * HOUR
        text = night.night_text(world.zone, [told])
        assert "Clock change: Sun 14 Mar 2027 02:00 goes forward to 03:00." in text

    def test_keep_dark_and_one_off_are_told(self, site: Site, read: tuple[World, Year]) -> None:
        world, year = read
        told = night.nights(site, world, year, date(2027, 3, 6), 5)
        text = squeezed(night.night_text(world.zone, told))
        assert "off 21:00 kept dark by `2027-03-06: from 21:00 until 22:00`" in text
        assert "on 22:00 late sale, because `lit 2027-03-10 22:00 until 2027-03-10 23:00`" in text

    def test_nights_together_hold_every_switching_once(
        self, site: Site, read: tuple[World, Year]
    ) -> None:
        world, year = read
        told = night.nights(site, world, year, date(2027, 1, 1), 364)
        for index, circuit in enumerate(site.circuits):
            seen = [s for one in told for s in one.circuits[index].switchings]
            wanted = [
                s
                for s in year.circuit(circuit.name).switchings()
                if told[0].start <= s.instant < told[-1].end
            ]
            assert seen == wanted

    def test_records_hold_what_the_text_tells(self, site: Site, read: tuple[World, Year]) -> None:
        world, year = read
        told = night.nights(site, world, year, date(2027, 12, 3), 2)
        records = json.loads(json.dumps(night.night_records(world.zone, told)))
        assert [r["evening"] for r in records] == ["2027-12-03", "2027-12-04"]
        first = records[0]["circuits"][0]["switchings"][0]
        assert first["action"] == "on"
        assert first["moment"] == "dusk (sunset + 15 min)"
        assert first["line"] == "every day: usual"
        assert first["line_number"] == 26

    def test_polar_day_and_night_say_that_the_sun_does_not_cross(self, tmp_path: Path) -> None:
        text = SITE.replace("40.5853", "69.65").replace("-105.0844", "18.96")
        site = site_of(tmp_path, text.replace("America/Denver", "Europe/Oslo"))
        found, findings = pipeline.read_year(site, YEAR)
        assert found is not None, findings
        world, year = found
        for day, reason in (
            (date(2027, 6, 20), "the sun stays above the horizon"),
            (date(2027, 12, 20), "the sun stays below the horizon"),
        ):
            told = night.nights(site, world, year, day, 1)
            shown = squeezed(night.night_text(world.zone, told))
            assert f"No sunset and no sunrise: {reason}." in shown
            assert json.dumps(night.night_records(world.zone, told))


class TestWhy:
    def at(self, site: Site, read: tuple[World, Year], day: date, minutes: int) -> why.Asked:
        world, year = read
        instant = world.zone.first_pass(day, minutes * MINUTE)
        (answer,) = why.standings(site, world, year, [instant])
        return answer

    def text(self, site: Site, read: tuple[World, Year], day: date, minutes: int) -> str:
        return squeezed(why.why_text(read[0].zone, [self.at(site, read, day, minutes)]))

    def test_the_state_is_that_of_the_exact_year(
        self, site: Site, read: tuple[World, Year]
    ) -> None:
        _, year = read
        for minutes in range(0, 24 * 60, 7):
            answer = self.at(site, read, date(2027, 3, 6), minutes)
            for standing in answer.circuits:
                assert standing.lit == year.circuit(standing.circuit).is_lit(answer.instant)
                assert standing.since is not None
                assert standing.until is not None
                assert (standing.since.action is Action.ON) == standing.lit
                assert standing.since.instant <= answer.instant < standing.until.instant

    def test_lit_says_since_when_and_until_when(self, site: Site, read: tuple[World, Year]) -> None:
        text = self.text(site, read, date(2027, 12, 3), 22 * 60)
        assert "Lot poles: lit. Since Fri 3 Dec 2027, 16:48:" in text
        assert "Until Fri 3 Dec 2027, 23:00, because `every day: usual`." in text
        assert "`every day: usual` decides the evening of Fri 3 Dec." in text

    def test_dark_by_a_keep_dark_line(self, site: Site, read: tuple[World, Year]) -> None:
        text = self.text(site, read, date(2027, 3, 6), 21 * 60 + 30)
        assert "Kept dark from Sat 6 Mar 2027, 21:00 until Sat 6 Mar 2027, 22:00" in text

    def test_dark_because_closed(self, site: Site, read: tuple[World, Year]) -> None:
        text = self.text(site, read, date(2027, 3, 7), 20 * 60)
        assert "lights nothing on Sun 7 Mar: the place is closed" in text

    def test_dark_because_the_window_is_empty(self, site: Site, read: tuple[World, Year]) -> None:
        text = self.text(site, read, date(2027, 6, 21), 5 * 60 + 31)
        assert "lights nothing on Mon 21 Jun: its end comes before its start" in text

    def test_dark_because_too_short(self, site: Site, read: tuple[World, Year]) -> None:
        _, year = read
        start, _ = year.circuit("Lot poles").dropped[0]
        shown = read[0].zone.local(start + 30)
        text = self.text(site, read, shown.date(), shown.hour * 60 + shown.minute + 1)
        assert "would be shorter than shortest_on (10 min), so it is left out" in text

    def test_a_switching_within_the_minute_is_told(
        self, site: Site, read: tuple[World, Year]
    ) -> None:
        text = self.text(site, read, date(2027, 12, 3), 16 * 60 + 48)
        assert "Lot poles: dark." in text
        assert "Within this minute, at 16:48:" in text

    def test_a_holiday_is_named(self, site: Site, read: tuple[World, Year]) -> None:
        text = self.text(site, read, date(2027, 6, 30), 22 * 60)
        assert text.startswith("Wed 30 Jun 2027, 22:00 (Stock-taking)")

    def test_both_passes_of_a_repeated_time(self, site: Site, read: tuple[World, Year]) -> None:
        world, year = read
        day = date(2027, 11, 7)
        passes = [world.zone.first_pass(day, 5400), world.zone.last_pass(day, 5400)]
        told = why.standings(site, world, year, passes)
        text = why.why_text(world.zone, told)
        assert "pass 1 of 2: the clock shows this time twice" in squeezed(text)
        assert "2027-11-07T08:30:00Z" in text
        assert [r["pass"] for r in why.why_records(world.zone, told)] == [1, 2]


class TestEmptyWindowsOfANight:
    @pytest.mark.parametrize(
        ("day", "half", "belongs"),
        [
            (date(2027, 3, 6), Half.EVENING, True),
            (date(2027, 3, 6), Half.MORNING, False),
            (date(2027, 3, 7), Half.MORNING, True),
            (date(2027, 3, 7), Half.EVENING, False),
        ],
    )
    def test_only_those_that_would_start_in_it(
        self, site: Site, read: tuple[World, Year], day: date, half: Half, belongs: bool
    ) -> None:
        world, year = read
        window = EmptyWindow(day, "on from 01:00 until 02:00", "end before start", 0, half)
        poles = replace(year.circuit("Lot poles"), empty=(window,))
        changed = replace(year, circuits=(poles, year.circuit("Sign")))
        (told,) = night.nights(site, world, changed, date(2027, 3, 6), 1)
        assert any("on from 01:00" in n for n in told.circuits[0].notes) == belongs


AROUND = summary.Surroundings(
    where="4 km south of Fort Collins, Colorado; sunset today 16:33",
    light="dusk sunset + 15 min, dawn sunrise - 15 min: about 50 lux, clear sky",
    dusk="dusk is sunset + 15 min (about 50 lux, clear sky)",
    period_note=" (no period was named)",
    cautions=3,
)
WRITTEN = summary.Written(
    folder="lot-2027",
    names=("table.csv", "check.json", "events.csv", "transfer.json"),
    program_code="7F3A-92C1",
)


def with_program(program: Program, certificate: Certificate | None = None) -> Compiled:
    fitted = made_up.WITH_SPECIAL_DAYS.fitted
    changed = replace(fitted, program=program, certificate=certificate or fitted.certificate)
    return replace(made_up.WITH_SPECIAL_DAYS, fitted=changed)


def summed(compiled: Compiled) -> str:
    text = summary.summary_text(compiled, AROUND, WRITTEN)
    lines = text.splitlines()
    assert len(lines) <= summary.LINES
    assert all(len(line) <= 80 for line in lines)
    return squeezed(text)


class TestSummary:
    def test_tells_what_was_made(self, compiled: Compiled) -> None:
        text = summed(compiled)
        assert "Site Sample lot: 4 km south of Fort Collins, Colorado; sunset today 16:33" in text
        assert "Mon 1 Mar 2027 through Wed 31 Mar 2027 (no period was named)" in text
        certificate = compiled.fitted.certificate
        assert certificate is not None
        proven = rf"needs {certificate.slots} \((fewest possible, )?proven\), uses "
        unproven = rf"[0-9]+ found \(at least {certificate.bound} needed\), uses [0-9]+ of 64"
        assert re.search(f"Slots {proven if certificate.proven else unproven}", text), text
        assert "of 64" in text
        assert "Test run agrees with the wishes in all" in text
        assert "Promises kept 1 of 1; no rule was checked" in text
        assert "Sun 14 Mar 2027 02:00 goes forward to 03:00" in text
        assert "3 cautions above" in text
        assert "program code 7F3A-92C1" in text
        assert "OFF at the clock is not isolation." in text
        assert "Lot poles 15" in text

    def test_an_unproven_count_says_so(self, compiled: Compiled) -> None:
        used = len(compiled.fitted.program.events) if compiled.fitted.program else 0
        certificate = Certificate(slots=used, bound=used - 1, tolerance_minutes=2)
        text = summed(replace(compiled, fitted=replace(compiled.fitted, certificate=certificate)))
        assert f"Slots {used} found (at least {used - 1} needed), uses {used} of 64" in text

    def test_what_does_not_fit(self, compiled: Compiled) -> None:
        fitted = Fitted(program=None, certificate=None, slots_needed=71, tolerance_minutes=10)
        text = summed(replace(compiled, fitted=fitted, audit=None))
        assert (
            "DOES NOT FIT: the wishes need 71 slots at a tolerance of 10 min; the controller has 64"
            in text
        )
        assert "events.csv and transfer.json were NOT written" in text

    def test_what_no_program_can_do(self, compiled: Compiled) -> None:
        fitted = Fitted(program=None, certificate=None, slots_needed=None, tolerance_minutes=10)
        text = summed(replace(compiled, fitted=fitted, audit=None))
        assert "no program of any length does this at a tolerance of 10 min" in text

    def test_a_test_run_that_disagrees(self, compiled: Compiled) -> None:
        audit = compiled.audit
        assert audit is not None
        missing = Difference("missing", 1, Action.ON, 0, None)
        runs = (replace(audit.runs[0], differences=(missing,)), *audit.runs[1:])
        wrong = AuditReport(runs=runs, overlaps=(), interval_differences=(missing,))
        text = summed(replace(compiled, audit=wrong))
        assert f"DISAGREES with the wishes: 1 of {len(runs)} runs" in text
        assert "1 switching could come at a wrong time" in text
        assert "NOT written" in text

    def test_a_broken_promise(self, compiled: Compiled) -> None:
        (promise,) = compiled.promises
        broken = replace(promise, wanted_lit=not promise.wanted_lit)
        text = summed(replace(compiled, promises=(promise, replace(broken, text="x: dark"))))
        assert "BROKEN 1 of 2: `x: dark` (Lot poles); no rule was checked" in text

    def test_nights_without_light(self, compiled: Compiled) -> None:
        days = (date(2027, 3, 7), date(2027, 3, 14))
        text = summed(replace(compiled, nights_without_light=days))
        assert (
            "2 nights without any switched light, first Sun 7 Mar 2027, last Sun 14 Mar 2027"
            in text
        )

    @pytest.mark.parametrize(
        ("favour", "told"),
        [
            ("light", "lamps come on up to 6 min before dusk, never after it"),
            ("dark", "lamps come on up to 6 min after dusk, never before it"),
            ("even", "lamps come on up to 6 min before or after dusk"),
        ],
    )
    def test_tolerance_in_words(self, compiled: Compiled, favour: str, told: str) -> None:
        wishes = replace(compiled.site.fit, favour=favour)
        certificate = compiled.fitted.certificate
        assert certificate is not None
        certificate = replace(certificate, tolerance_minutes=6)
        fitted = replace(compiled.fitted, tolerance_minutes=2, certificate=certificate)
        changed = replace(compiled, site=replace(compiled.site, fit=wishes), fitted=fitted)
        assert summary.tolerance_words(changed).startswith(told)

    def test_no_tolerance_where_everything_goes_by_the_clock(self, compiled: Compiled) -> None:
        channels = tuple(replace(c, switchings=()) for c in compiled.target.channels)
        changed = replace(compiled, target=replace(compiled.target, channels=channels))
        told = summary.tolerance_words(changed)
        assert told.startswith("none: every switching goes by the clock")

    def test_stays_within_20_lines_with_many_circuits(self, compiled: Compiled) -> None:
        energy = tuple(
            replace(compiled.energy[0], circuit=f"Row {i} of the long lot behind the hall")
            for i in range(40)
        )
        text = summed(replace(compiled, energy=energy))
        assert "Lit 40 circuits," in text

    def test_safety_repeats_and_special_days_are_counted(self) -> None:
        text = summed(made_up.WITH_SPECIAL_DAYS)
        assert "needs 5 (proven), uses 6 of 64, 1 is a safety repeat" in text
        assert "sun-yearly-64, 64 slots; uses 3 of 16 special-day slots" in text
        assert "in all 101 min, 71 of them unavoidable" in text
        more = Event(
            slot=7, channels=(1,), action=Action.OFF, start=ClockStart(9 * 60), safety=True
        )
        program = made_up.SPECIAL_PROGRAM
        changed = with_program(replace(program, events=(*program.events, more)))
        assert "uses 7 of 64, 2 are safety repeats" in summed(changed)

    def test_what_is_needed_is_told_as_far_as_it_is_proven(self) -> None:
        certificate = Certificate(slots=5, bound=4, tolerance_minutes=3)
        changed = with_program(made_up.SPECIAL_PROGRAM, certificate)
        text = summed(changed)
        assert "Slots 5 found (at least 4 needed), uses 6 of 64, 1 is a safety repeat" in text

    def test_what_one_channel_cannot_hold_is_told_of_one_channel(self, compiled: Compiled) -> None:
        fitted = Fitted(program=None, certificate=None, slots_needed=71, tolerance_minutes=10)
        controller = replace(compiled.controller, slots_are="per channel")
        short = replace(compiled, fitted=fitted, audit=None, controller=controller)
        told = "the wishes need 71 slots on one channel at a tolerance of 10 min; the controller"
        assert f"{told} has 64 for each" in summed(short)

    def test_that_no_program_was_written_is_told_in_the_shortest_form_too(
        self, compiled: Compiled
    ) -> None:
        fitted = Fitted(program=None, certificate=None, slots_needed=71, tolerance_minutes=10)
        accepted = tuple((f"clause {n}", "variance 24-118") for n in range(12))
        rules = replace(compiled.rules, accepted=accepted)
        text = summed(replace(compiled, fitted=fitted, audit=None, rules=rules))
        assert "; the program was NOT written" in text

    def test_the_least_possible_deviation_is_called_so(self) -> None:
        least = Deviation(circuit="Lot poles", load_kw=6.4, seconds=61, bound_seconds=61)
        certificate = Certificate(slots=5, bound=5, tolerance_minutes=3, deviations=(least,))
        text = summed(with_program(made_up.SPECIAL_PROGRAM, certificate))
        assert "in all 2 min, the least possible" in text

    def test_no_slots_for_special_days_are_told_of_a_unit_without(self) -> None:
        assert "Controller sun-yearly-64, 64 slots Slots" in summed(made_up.COMPILED)

    def test_how_long_the_program_is_right(self) -> None:
        text = squeezed(summary.summary_text(made_up.WITH_SPECIAL_DAYS, AROUND, WRITTEN))
        assert "GOOD UNTIL Fri 10 Mar 2028: then lamps come on when they should not" in text
        (row,) = (
            r for r in summary.lasting_rows(made_up.WITH_SPECIAL_DAYS) if r.label == "GOOD UNTIL"
        )
        assert row.text == (
            "Fri 10 Mar 2028: then the lamps of Lot poles come on when they should not (slot 5 "
            "was made for dates of 2027 and acts on them in every year); some holidays of later "
            "years are estimates"
        )

    @pytest.mark.parametrize(
        ("seen", "halted", "told"),
        [
            (date(2036, 12, 31), "", "no error found through 2036"),
            (date(2030, 6, 1), "", "no error found through Sat 1 Jun 2030"),
            (
                date(2030, 12, 31),
                "no dates of Easter are known",
                "no error found through 2030; nothing later was looked at: no dates of Easter "
                "are known",
            ),
        ],
    )
    def test_a_program_in_which_nothing_goes_wrong(
        self, seen: date, halted: str, told: str
    ) -> None:
        good = GoodUntil(last=seen, looked_through=seen, wrong=None, halted=halted)
        assert lasting.good_until_words(good).text == told

    def test_wrong_clocks_are_those_of_all_circuits(self) -> None:
        wrong = replace(made_up.FIRST_WRONG, circuit="", channel=0, what="come on an hour early")
        told = lasting.good_until_words(replace(made_up.GOOD_UNTIL, wrong=wrong))
        assert told.text.startswith("Fri 10 Mar 2028: then the lamps come on an hour early (")

    def test_the_worst_event_to_miss(self) -> None:
        text = summed(made_up.WITH_SPECIAL_DAYS)
        assert "If missed the 23:00 OFF (slot 2) on Fri 12 Mar 2027: lamps burn 13 h" in text
        told = lasting.missed_words(made_up.WITH_SPECIAL_DAYS)
        assert told is not None
        assert told.text == (
            "the 23:00 OFF (slot 2) on Fri 12 Mar 2027: lamps burn 13 h; before the repeats: "
            "25 h 30 min"
        )

    def test_slots_per_channel_are_told_with_their_channel(self) -> None:
        """Each channel counts its own slots from 1."""
        controller = replace(made_up.SPECIAL_CONTROLLER, slots_are="per channel")
        on, off = made_up.PROGRAM.events[:2]
        program = Program(
            controller="",
            events=(on, off, replace(on, channels=(2,)), replace(off, channels=(2,), safety=True)),
        )
        certificate = Certificate(slots=3, bound=3, tolerance_minutes=3)
        changed = replace(with_program(program, certificate), controller=controller)
        text = summed(changed)
        used = "2 of 64 on channel 1 and 2 of 64 on channel 2|up to 2 of 64 on a channel"
        told = rf"needs 3 \((fewest possible, )?proven\), uses ({used}), 1 is a safety repeat"
        assert re.search(told, text), text
        assert "the 23:00 OFF (slot 2 of channel 1)" in text

    def test_an_on_that_is_missed_leaves_lamps_dark(self) -> None:
        on, off = made_up.MISHAPS_BEFORE.missed
        only_on = replace(made_up.MISHAPS, missed=(on,))
        changed = replace(made_up.WITH_SPECIAL_DAYS, mishaps=only_on)
        told = lasting.missed_words(changed)
        assert told is not None
        assert told.text == (
            "the 18:15 ON (slot 1) on Fri 12 Mar 2027: lamps stay dark 4 h 45 min; "
            "before the repeats: lamps burn 25 h 30 min without the 23:00 OFF"
        )
        same = lasting.missed_words(replace(changed, mishaps_before=only_on))
        assert same is not None
        assert "before" not in same.text
        equal = replace(off, until=off.at + on.seconds)
        both = lasting.missed_words(
            replace(changed, mishaps=replace(only_on, missed=(on, equal)), mishaps_before=None)
        )
        assert both is not None
        assert both.text.endswith("lamps burn 4 h 45 min")

    def test_nothing_is_told_of_what_was_not_looked_for(self) -> None:
        assert summary.lasting_rows(made_up.COMPILED) == []
        harmless = replace(made_up.MISHAPS, missed=())
        assert lasting.missed_words(replace(made_up.COMPILED, mishaps=harmless)) is None

    def test_special_days_that_may_not_be_keyed_are_named(self) -> None:
        wrong = replace(made_up.WITH_SPECIAL_DAYS, audit=made_up.DISAGREEING)
        text = summed(wrong)
        full = "events.csv, special_days.csv and transfer.json were NOT written"
        assert full in text or "the program was NOT written" in text
        assert summary.program_files(wrong) == ("events.csv", "special_days.csv", "transfer.json")

    def test_the_longest_names_are_cut_to_20_lines(self) -> None:
        site = replace(made_up.PLAIN_SITE, name="A lot of a store " * 60)
        text = summed(replace(made_up.WITH_SPECIAL_DAYS, site=site))
        assert "A lot of a store" in text
        assert "..." in text
        assert "GOOD UNTIL" in text
        one_word = replace(site, name="x" * 500)
        shown = summary.summary_text(replace(made_up.COMPILED, site=one_word), AROUND, WRITTEN)
        assert len(shown.splitlines()) <= summary.LINES

    def test_rows_are_shortened_only_where_lines_are_scarce(self) -> None:
        long_row = summary.Row("A", "word " * 60, "brief")
        assert summary.fitted_rows([long_row]) == [long_row]
        many = [long_row] * 6
        shown = summary.fitted_rows(many)
        assert sum(len(row.lines) for row in shown) <= summary.LINES
        assert any(row.text == "brief" for row in shown)
        assert any(row.text != "brief" for row in shown)


class TestLight:
    def test_dusk_is_told_with_its_light(self, site: Site, read: tuple[World, Year]) -> None:
        world, year = read
        told = light.dusk_and_dawn_words(site, world.sun, year.period)
        assert told == "dusk sunset + 15 min, dawn sunrise - 15 min: about 50 lux, clear sky"
        assert light.dusk_words(site, world.sun, year.period) == (
            "dusk is sunset + 15 min (about 50 lux, clear sky)"
        )

    def test_sunset_itself_is_about_450_lux(self, site: Site, read: tuple[World, Year]) -> None:
        """Glossary of Meteorology, civil twilight: 585 to 410 lx at its start."""
        world, year = read
        at_sunset = replace(site.dusk, offset_minutes=0)
        level = light.lux_at(at_sunset, Half.EVENING, world.sun, year.period)
        assert level is not None
        assert 410 <= level <= 585

    def test_a_light_level_is_not_told_twice(self, tmp_path: Path) -> None:
        text = SITE.replace("[hours]", "[hours]", 1).replace(
            'controller = "sun-yearly-64"', 'controller = "sun-yearly-64"\ndusk = "20 lux"'
        )
        site = site_of(tmp_path, text)
        found, findings = pipeline.read_year(site, MARCH)
        assert found is not None, findings
        world, year = found
        assert light.dusk_words(site, world.sun, year.period) == "dusk is 20 lux (clear sky)"

    def test_sunset_today(self, site: Site) -> None:
        assert light.sunset_today_words(site, date(2026, 12, 3)) == "sunset today 16:33"
        assert light.sunset_today_words(site, date(2100, 1, 1)) == "sunset today not known"


BUILT_IN = controllerfile.builtin_controllers()


def built_in(name: str) -> Controller:
    controller, findings = controllerfile.load_controller(name)
    assert controller is not None, findings
    return controller


class TestControllers:
    def test_each_has_its_line(self) -> None:
        known = [built_in(name) for name in BUILT_IN]
        lines = controllers.controller_lines(known)
        for controller in known:
            assert f"{controller.name} " in lines
            assert f"{controller.event_slots} slots" in lines

    @pytest.mark.parametrize("name", BUILT_IN)
    def test_each_page_tells_every_property(self, name: str) -> None:
        controller = built_in(name)
        page = controllers.controller_page(controller)
        assert all(len(line) <= 80 for line in page.splitlines())
        for label in ("Slots", "Starts", "Weekdays", "Dates", "Clock", "Power failure"):
            assert f"\n  {label} " in page
        record = json.loads(json.dumps(controllers.controller_record(controller)))
        assert record["name"] == controller.name
        assert record["event_slots"] == controller.event_slots

    def test_every_other_value_has_words(self) -> None:
        other = Controller(
            name="other",
            event_slots=8,
            slots_are="per channel",
            channels=2,
            clock="standard",
            skipped_time="lost",
            repeated_time="twice",
            date_ranges="none",
            weekday_sets=(frozenset(range(5)), frozenset({5, 6})),
            weekday_set_costs="a slot per day",
            exceptions=ExceptionSlots(slots=4, plan="off"),
            event_covers="any channels",
            reserve_hours=10,
            assumed=("sun_date",),
        )
        page = squeezed(controllers.controller_page(other))
        for told in (
            "8, per channel; each holds one action and may act on any channels",
            "standard time all year; it does not follow summer time",
            "a slot in it is lost",
            "a slot in it is done in both passes",
            "no date ranges",
            "only these sets: mon tue wed thu fri; sat sun; a set takes one slot a weekday",
            "4, each a range, dates without the year, all off",
            "none: it knows no sun times",
            "the clock runs on for 10 h",
            "sun_date (not in the controller file)",
        ):
            assert told in page, page


def codes(findings: tuple[Diagnostic, ...]) -> list[str]:
    return [finding.code for finding in findings]


class TestAsked:
    TODAY = date(2026, 11, 25)

    @pytest.mark.parametrize(
        ("today", "year"),
        [(date(2027, 1, 1), 2027), (date(2027, 9, 30), 2027), (date(2027, 10, 1), 2028)],
    )
    def test_the_year_when_none_is_named(self, today: date, year: int) -> None:
        assert asked.default_period(today) == asked.calendar_year(year)

    def test_periods(self) -> None:
        assert asked.read_period("2027", None, None, self.TODAY)[0] == YEAR
        assert asked.read_period(None, "2027-03-01", "2027-03-31", self.TODAY)[0] == MARCH
        assert asked.read_period(None, None, None, self.TODAY)[0] == YEAR

    @pytest.mark.parametrize(
        ("first", "through", "found"),
        [
            ("2027-01-32", "2027-13-01", ["E752", "E750"]),
            ("2027-02-29", "2027-03-01", ["E752"]),
            ("2000-12-31", "2027-03-01", ["E758"]),
            ("someday", "2027-03-01", ["E750"]),
            ("", "2027-03-01", ["E750"]),
            ("2027-03-02", "2027-03-01", ["E756"]),
            ("2027-01-01", "2037-12-31", ["E757"]),
        ],
    )
    def test_bad_periods(self, first: str, through: str, found: list[str]) -> None:
        period, findings = asked.read_period(None, first, through, self.TODAY)
        assert period is None
        assert codes(findings) == found

    @pytest.mark.parametrize(
        ("text", "fix"),
        [
            ("03/04", "--from 2026-04-03\n--from 2026-03-04"),
            ("3.4.27", "--from 2027-04-03\n--from 2027-03-04"),
            ("13/02/2027", "--from 2027-02-13"),
            ("02/13/2027", "--from 2027-02-13"),
            ("4/4/2027", "--from 2027-04-04"),
            ("2027-4-3", "--from 2027-04-03"),
            ("2027/04/03", "--from 2027-04-03"),
        ],
    )
    def test_other_forms_are_shown_as_they_could_be_meant(self, text: str, fix: str) -> None:
        day, findings = asked.read_date(text, "--from ", self.TODAY)
        assert day is None
        assert findings[0].fix.partition("\n")[2] == fix

    @pytest.mark.parametrize(
        "text",
        ["2027-03-14 02:30", "2027-03-14T02:30", "2027-03-14 2:30", "2027-03-14 2:30 AM"],
    )
    def test_moments(self, text: str) -> None:
        moment, _ = asked.read_moment(text, self.TODAY)
        assert moment == asked.AskedMoment(date(2027, 3, 14), 150)
        assert moment.reading == "02:30"

    @pytest.mark.parametrize(
        ("text", "code"),
        [
            ("", "E759"),
            ("02:30", "E759"),
            ("2027-03-14", "E759"),
            ("2027-03-14 24:00", "E759"),
            ("2027-03-14 12:60", "E759"),
            ("2027-03-14 12 pm", "E759"),
            ("2027-03-14 midnight", "E759"),
            ("2027-03-14 dusk", "E759"),
            ("03/04 02:30", "E751"),
        ],
    )
    def test_bad_moments(self, text: str, code: str) -> None:
        moment, findings = asked.read_moment(text, self.TODAY)
        assert moment is None
        assert codes(findings) == [code]

    @pytest.mark.parametrize("text", ["0", "-1", "367", "1.5", "", "two", "٣"])
    def test_bad_counts_of_nights(self, text: str) -> None:
        assert codes(asked.read_nights(text)[1]) == ["E763"]

    def test_counts_of_nights(self) -> None:
        assert asked.read_nights("14") == (14, ())
