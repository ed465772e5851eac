"""What would make a program fit, and slots against minutes, against compilations of other files.

Every figure is found a second time: from a site file without the line, from a site file with the
tolerance written in it, from a controller file with the properties told.
"""

from __future__ import annotations

from functools import cache

import pytest

from schedcomp import capacity, controllerfile, pipeline
from schedcomp.capacity import (
    Wishes,
    curve,
    is_enough,
    smallest_tolerance,
    tolerances_to,
    which_are_enough,
)
from schedcomp.capacity_report import CurvePoint, Properties, Saving, Shortfall, Specification
from schedcomp.controller import Controller
from schedcomp.diag import Source
from schedcomp.ordinance.rules import Rules
from schedcomp.output.check_fit import shortfall_json
from schedcomp.program import Fitted
from schedcomp.records import replace
from schedcomp.report.fit import specification_words
from schedcomp.report.shortfall import savings_words
from schedcomp.savings import savings_of
from schedcomp.shortfall import shortfall_findings, shortfall_of
from schedcomp.site import Site
from schedcomp.specification import specification
from schedcomp.unit_place import unit_sun_of
from tests.sites import DENVER, exact, site_text

FIRST, LAST = "2027-01-01", "2027-01-31"
NO_RULES = Rules((), (), ())

LINES = (
    "every day: usual",
    "fri, sat evenings: late",
    "2027-01-09 evenings: dark",
    "jan 20 to jan 25 mornings: early",
)
WINDOWS = ("on from dusk until 22:00", "on from 05:30 until dawn")
TYPES = 'late = ["on from dusk until 23:30"]\nearly = ["on from 04:00 until dawn"]'
NIGHT = """[[one_off]]
circuit = "Lot"
lit = "2027-01-14 22:30 until 2027-01-15 02:00"
"""
SIGN = """[[circuit]]
name = "Sign"
channel = 2
photocell = "none"
override_minutes = 0
calendar = ["every day: usual", "sun: shut"]
"""
SIGN_TYPES = TYPES + '\nshut = ["on from 17:00 until 19:00"]'


def text_of(
    lines: tuple[str, ...] = LINES,
    *,
    windows: tuple[str, ...] = WINDOWS,
    tolerance: str = "6 min",
    more: str = NIGHT,
    types: str = TYPES,
) -> str:
    site = f'tolerance = "{tolerance}"' if tolerance else ""
    return site_text(DENVER, windows, calendar=lines, types=types, site=site, more=more)


def wishes_of(text: str) -> Wishes:
    found = exact(text, FIRST, LAST)
    return Wishes(found.site, found.world, NO_RULES, found.year)


def controller_of(name: str, slots: int | None = None) -> Controller:
    controller, findings = controllerfile.load_controller(name)
    assert controller is not None, findings
    return controller if slots is None else replace(controller, event_slots=slots)


@cache
def fitted_of(text: str, controller: Controller) -> Fitted:
    """The program of a whole compilation."""
    found = exact(text, FIRST, LAST)
    unit = unit_sun_of(found.site, controller, found.world)
    fitted, _ = pipeline.plan(found.site, controller, found.world, found.year, unit)
    return fitted


YEARLY = controller_of("clock-yearly-48")
WITH_SUN = controller_of("sun-yearly-32")
WEEKLY = controller_of("clock-weekly-28")


# What a line would save

of_one_file = pytest.mark.xdist_group("savings of one file")
"""Tests of the same savings run in one worker, which finds them once."""


@cache
def found_savings(controller: Controller) -> tuple[Saving, ...]:
    """What the parts of the usual file would save, each fitted."""
    return tuple(savings_of(wishes_of(text_of()), controller, 6))


@of_one_file
@pytest.mark.parametrize("controller", [YEARLY, WITH_SUN], ids=lambda c: c.name)
def test_savings_of_lines_are_those_of_files_without_them(controller: Controller) -> None:
    savings = found_savings(controller)
    lines = [saving for saving in savings if saving.kind == "calendar line"]
    assert {saving.text for saving in lines} == set(LINES)
    for saving in lines:
        rest = tuple(line for line in LINES if line != saving.text)
        assert saving.slots == fitted_of(text_of(rest), controller).slots_needed, saving.text
        assert saving.at is not None
        assert saving.text in saving.at.line_text


@of_one_file
def test_savings_of_windows_and_single_nights_are_those_of_files_without_them() -> None:
    savings = found_savings(YEARLY)
    for window in WINDOWS:
        rest = tuple(other for other in WINDOWS if other != window)
        [saving] = [s for s in savings if (s.text, s.day_type) == (window, "usual")]
        assert saving.slots == fitted_of(text_of(windows=rest), YEARLY).slots_needed
    [night] = [saving for saving in savings if saving.kind == "single night"]
    assert night.text == "2027-01-14 22:30 until 2027-01-15 02:00"
    assert night.slots == fitted_of(text_of(more=""), YEARLY).slots_needed
    assert night.seconds_less == 3.5 * 3600


@pytest.mark.parametrize("per_channel", [False, True], ids=["shared", "per channel"])
def test_only_the_circuit_concerned_is_fitted_again(per_channel: bool) -> None:
    """The sum over circuits is what a compilation of all of them says."""
    controller = replace(YEARLY, slots_are="per channel") if per_channel else YEARLY
    text = text_of(types=SIGN_TYPES, more=SIGN)
    savings = savings_of(wishes_of(text), controller, 6)
    by_line = {(s.circuits, s.text): s.slots for s in savings if s.kind == "calendar line"}
    without = text.replace(', "sun: shut"', "")
    assert by_line[("Sign",), "sun: shut"] == fitted_of(without, controller).slots_needed
    without = text.replace('"2027-01-09 evenings: dark", ', "")
    assert by_line[("Lot",), LINES[2]] == fitted_of(without, controller).slots_needed


def test_a_window_of_a_shared_day_type_concerns_every_circuit_that_uses_it() -> None:
    text = text_of(types=SIGN_TYPES, more=SIGN)
    [saving] = [s for s in savings_of(wishes_of(text), YEARLY, 6) if s.text == WINDOWS[1]]
    assert saving.circuits == ("Lot", "Sign")
    without = text_of(windows=WINDOWS[:1], types=SIGN_TYPES, more=SIGN)
    assert saving.slots == fitted_of(without, YEARLY).slots_needed


def test_circuits_that_share_events_are_fitted_together() -> None:
    """A controller whose slots act on any channel: the parts do not add up."""
    shared = replace(YEARLY, event_covers="any channels")
    text = text_of(LINES[:2], types=SIGN_TYPES, more=SIGN)
    by_line = {s.text: s.slots for s in savings_of(wishes_of(text), shared, 6)}
    without = wishes_of(text.replace(', "sun: shut"', ""))
    together, _ = without.within(6).fit(shared)
    assert by_line["sun: shut"] == together.slots_needed


def test_special_days_beyond_those_held_are_no_saving() -> None:
    """Each circuit alone would take the only special day; together they cannot."""
    few = replace(WITH_SUN, exceptions=replace(WITH_SUN.exceptions, slots=1))
    lot = ("every day: usual", "2027-01-09: dark", "2027-01-30 evenings: late")
    sign = SIGN.replace('"sun: shut"', '"2027-01-16: dark", "sun: shut"')
    text = text_of(lot, types=SIGN_TYPES, more=sign)
    by_line = {s.text: s.slots for s in savings_of(wishes_of(text), few, 10)}
    without = text.replace(', "sun: shut"', "").replace('"6 min"', '"10 min"')
    assert by_line["sun: shut"] == fitted_of(without, few).slots_needed


@of_one_file
def test_what_saves_most_comes_first_and_the_rest_is_named_untried() -> None:
    wishes = wishes_of(text_of())
    every = found_savings(YEARLY)
    counts = [saving.slots for saving in every if saving.slots is not None]
    assert counts == sorted(counts)
    assert len(counts) == len(every) == 9
    work = 2 * 3 * len(wishes.year.period.dates())
    few = savings_of(wishes, YEARLY, 6, most_work=work)
    assert [saving.tried for saving in few] == [True, True] + [False] * 7
    assert {saving.text for saving in few} == {saving.text for saving in every}
    assert all(saving.slots is None for saving in few[2:])


def test_a_line_that_changes_nothing_costs_no_fit(monkeypatch: pytest.MonkeyPatch) -> None:
    """`mon` is decided anew by the last line, `mar` is outside the period."""
    lines = ("every day: late", "mon: usual", "mar: dark", "every day: usual")
    wishes = wishes_of(text_of(lines, more=""))
    asked: list[Site] = []
    fit = Wishes.fit

    def counted(self: Wishes, controller: Controller) -> object:
        asked.append(self.site)
        return fit(self, controller)

    monkeypatch.setattr(Wishes, "fit", counted)
    savings = savings_of(wishes, YEARLY, 6)
    assert {saving.text for saving in savings} == {"every day: usual", *WINDOWS}
    assert all(saving.tried for saving in savings)
    assert len(asked) == len(savings), "the only circuit is not asked for as it is"


def test_a_line_whose_absence_makes_a_program_possible_is_a_saving() -> None:
    """Without dates a weekly clock cannot leave out one evening."""
    text = text_of(("every day: fixed", "2027-01-09 evenings: dark"), types=FIXED, more="")
    wishes = wishes_of(text)
    found = shortfall_of(wishes, WEEKLY, 6, fitted_of(text, WEEKLY).slots_needed)
    assert found.slots is None
    assert [(s.text, s.slots) for s in found.savings] == [("2027-01-09 evenings: dark", 2)]
    assert found.useful == found.savings


FIXED = 'fixed = ["on from 18:00 until 22:00"]'


# The smallest tolerance that would fit


@pytest.mark.parametrize("slots", [3, 4, 8, 14])
def test_the_smallest_tolerance_is_that_of_trying_each_minute(slots: int) -> None:
    wishes = wishes_of(text_of(("every day: usual",), more=""))
    controller = replace(YEARLY, event_slots=slots)
    found = smallest_tolerance(wishes, controller)
    first = next((m for m in range(61) if _fits(wishes, controller, m)), None)
    if first is None:
        assert found.tolerance_minutes is None or found.tolerance_minutes > 60
        return
    assert (found.tolerance_minutes, found.proven) == (first, True)
    assert found.slots_needed is not None
    assert found.slots_needed <= slots


def _fits(wishes: Wishes, controller: Controller, minutes: int) -> bool:
    fitted, _ = wishes.within(minutes).fit(controller)
    return fitted.program is not None


def test_no_tolerance_helps_clock_times() -> None:
    text = text_of(("every day: fixed", "sat: other", "sun: third"), types=THREE, more="")
    wishes = wishes_of(text)
    controller = replace(WEEKLY, event_slots=5)
    assert smallest_tolerance(wishes, controller).tolerance_minutes is None
    found = shortfall_of(wishes, controller, 6, 6)
    assert (found.fits_at_minutes, found.slots_there, found.most_minutes) == (None, None, 120)
    kinds = [note.code for note in shortfall_findings(wishes, controller, found)]
    assert kinds == ["E651", "E652"]


THREE = FIXED + '\nother = ["on from 19:00 until 23:00"]\nthird = ["on from 20:00 until 21:00"]'


def test_a_circuit_with_a_tolerance_of_its_own_keeps_it() -> None:
    text = text_of(("every day: usual",), more="").replace(
        "override_minutes = 0", 'override_minutes = 0\ntolerance = "3 min"'
    )
    wishes = wishes_of(text)
    controller = replace(YEARLY, event_slots=4)
    assert smallest_tolerance(wishes, controller).tolerance_minutes is None
    [note, *_] = shortfall_findings(wishes, controller, shortfall_of(wishes, controller, 3, 9))
    assert "keeps Lot as it is" in note.why


def test_the_smallest_tolerance_is_that_of_circuits_without_their_own() -> None:
    own = """[[circuit]]
name = "Sign"
channel = 2
photocell = "none"
override_minutes = 0
tolerance = "40 min"
calendar = ["every day: usual"]
"""
    wishes = wishes_of(text_of(("every day: usual",), tolerance="2 min", more=own))
    controller = replace(YEARLY, event_slots=9)
    first = next(m for m in range(40) if _fits(wishes, controller, m))
    fitted, _ = wishes.fit(controller)
    assert (fitted.program, fitted.tolerance_minutes) == (None, 2)
    found = shortfall_of(wishes, controller, fitted.tolerance_minutes, fitted.slots_needed)
    assert (found.fits_at_minutes, found.proven) == (first, True)
    [note, *_] = shortfall_findings(wishes, controller, found)
    assert "keeps Sign as it is" in note.why
    enough, _ = wishes.smallest_up_to(60).fit(controller)
    assert (enough.tolerance_minutes, enough.most_minutes) == (first, 40)


def test_a_smaller_tolerance_may_do_without_the_lengths_of_darkness_chosen() -> None:
    """So it is not proven that nothing smaller fits where they are kept."""
    wishes = wishes_of(text_of(("every day: usual",), more=""))
    controller = replace(YEARLY, event_slots=8)
    plain = smallest_tolerance(wishes, controller)
    kept = replace(wishes, year=replace(wishes.year, lengths_kept=True))
    found = smallest_tolerance(kept, controller)
    assert plain.proven
    assert found == replace(plain, proven=False)


# The notes


def shortfall(*savings: Saving, slots: int | None = 60, minutes: int | None = 13) -> Shortfall:
    return Shortfall(
        tolerance_minutes=10,
        slots=slots,
        fits_at_minutes=minutes,
        slots_there=None if minutes is None else 48,
        most_minutes=120,
        savings=savings,
    )


def saving(text: str, slots: int | None, **more: object) -> Saving:
    made = Saving(kind="calendar line", text=text, circuits=("Lot",), slots=slots)
    return replace(made, **more)


def test_the_words_of_savings() -> None:
    at = exact(text_of(), FIRST, LAST).site.circuits[0].calendar[1].at
    assert at is not None
    told = shortfall(
        saving("fri, sat evenings: late", 52, at=at, seconds_less=367_000),
        saving("holidays: dark", 59, seconds_less=-3600),
        saving("mon: dark", 60),
        saving("tue: dark", 61),
        saving("wed: dark", None),
        saving("thu: dark", None, tried=False),
    )
    assert savings_words(told, one_circuit=True).splitlines() == [
        f"Without `fri, sat evenings: late` (line {at.line}) it would need 52 slots, and lamps "
        "would be lit 102 h less.",
        "Without `holidays: dark` it would need 59 slots, and lamps would be lit 1 h more.",
        "Not tried: `thu: dark`.",
    ]
    assert "`holidays: dark` of Lot it" in savings_words(told, one_circuit=False)


def test_only_the_best_savings_are_told() -> None:
    told = shortfall(*(saving(f"jan {day}: dark", 20 + day) for day in range(1, 13)))
    lines = savings_words(told, one_circuit=True).splitlines()
    assert len(lines) == 9
    assert lines[-1] == "4 more would save less."


def test_the_notes_name_the_key_that_holds_the_tolerance_back() -> None:
    wishes = wishes_of(text_of())
    [note, _] = shortfall_findings(wishes, YEARLY, shortfall())
    assert note.title == "Within 13 min a program fits clock-yearly-48: 48 slots of 48."
    assert note.fix.endswith('\ntolerance = "13 min"')
    wishes = wishes_of(text_of(tolerance=""))
    [note, nothing] = shortfall_findings(wishes, YEARLY, shortfall(saving("mon: dark", None)))
    assert note.fix.endswith('\ntolerance_limit = "13 min"')
    assert nothing.code == "E653"
    assert nothing.why.startswith("1 line or window ")


def test_what_was_not_proven_is_not_claimed() -> None:
    wishes = wishes_of(text_of(tolerance=""))
    for minutes, claim in (
        (13, "this is the smallest that fits"),
        (None, "120 min makes a program fit"),
    ):
        sure = shortfall(minutes=minutes)
        [note, *_] = shortfall_findings(wishes, YEARLY, sure)
        assert claim in f"{note.title} {note.why}"
        [note, *_] = shortfall_findings(wishes, YEARLY, replace(sure, proven=False))
        assert claim not in f"{note.title} {note.why}"
        assert "was found" in f"{note.title} {note.why}"


def test_the_record_of_a_shortfall() -> None:
    assert shortfall_json(None) is None
    record = shortfall_json(shortfall(saving("mon: dark", 40), slots=None, minutes=None))
    assert record == {
        "tolerance_minutes": 10,
        "slots": None,
        "fits_at_minutes": None,
        "fits_at_proven": True,
        "slots_there": None,
        "most_minutes": 120,
        "without": [
            {
                "kind": "calendar line",
                "text": "mon: dark",
                "line": None,
                "day_type": None,
                "circuits": ("Lot",),
                "tried": True,
                "slots": 40,
                "seconds_less": 0,
            }
        ],
    }


# Slots against minutes


def test_the_tolerances_asked_for() -> None:
    usual = (*range(11), 12, 15, 20, 30)
    assert tolerances_to(30, 10) == usual
    assert tolerances_to(7, 3) == tuple(range(8))
    assert tolerances_to(33, 14) == (*range(11), 12, 14, 15, 20, 30, 33)
    assert tolerances_to(5, 25) == (*range(6), 25)


def test_between_equal_counts_nothing_is_fitted_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    slots = {0: None, 1: 40, 2: 30, 3: 30, 4: 30, 5: 30, 6: 30, 7: 30, 8: 30}
    asked: list[int] = []

    def pretended(_wishes: Wishes, _controller: Controller, minutes: int) -> CurvePoint:
        asked.append(minutes)
        count = slots[minutes]
        return CurvePoint(tolerance_minutes=minutes, slots=count, bound=count, fits=True)

    monkeypatch.setattr(capacity, "point", pretended)
    points = curve(wishes_of(text_of()), YEARLY, tuple(slots))
    assert [point.slots for point in points] == list(slots.values())
    assert sorted(asked) == sorted(set(asked)) == [0, 1, 2, 4, 8]


def test_a_longer_program_at_a_larger_tolerance_is_not_told(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Where the search ends early, the program of the smaller tolerance is the better one."""
    found = {1: (20, 15), 2: (22, 18), 3: (19, 17)}

    def pretended(_wishes: Wishes, _controller: Controller, minutes: int) -> CurvePoint:
        count, bound = found[minutes]
        return CurvePoint(tolerance_minutes=minutes, slots=count, bound=bound, fits=count < 21)

    monkeypatch.setattr(capacity, "point", pretended)
    points = curve(wishes_of(text_of()), YEARLY, (1, 2, 3))
    assert [(p.tolerance_minutes, p.slots, p.bound, p.fits) for p in points] == [
        (1, 20, 18, True),
        (2, 20, 18, True),
        (3, 19, 17, True),
    ]


# Which controllers are enough, and what to specify


def test_which_controllers_are_enough_is_what_compilations_say() -> None:
    text = text_of(types=SIGN_TYPES, more=SIGN)
    controllers = [controller_of(name) for name in controllerfile.builtin_controllers()]
    answers = which_are_enough(wishes_of(text), controllers)
    assert [answer.controller for answer in answers] == [c.name for c in controllers]
    assert {answer.enough for answer in answers} == {True, False}
    for controller, answer in zip(controllers, answers, strict=True):
        if controller.channels < 2:
            assert (answer.enough, answer.missing_channel) == (False, 2)
            continue
        fitted = fitted_of(text, controller)
        assert answer.enough == (fitted.program is not None)
        assert answer.slots == fitted.slots_needed
        assert bool(answer.out_of_reach) == (fitted.slots_needed is None)


def test_without_a_tolerance_the_smallest_that_fits_is_told() -> None:
    text = text_of(("every day: usual",), tolerance="", more="")
    answer = is_enough(wishes_of(text), replace(YEARLY, event_slots=8))
    fitted = fitted_of(text, replace(YEARLY, event_slots=8))
    assert answer.enough
    assert answer.tolerance_minutes == fitted.tolerance_minutes > 0


SPECIFIED = [
    pytest.param(text_of(), id="all kinds of lines"),
    pytest.param(text_of(("every day: usual", "fri, sat evenings: late"), more=""), id="weekly"),
    pytest.param(text_of(("every day: fixed",), types=FIXED, more=""), id="clock only"),
    pytest.param(
        text_of(("every day: usual",), more="").replace(
            "[day_types]", 'dusk = "civil dusk"\ndawn = "civil dawn"\n[day_types]'
        ),
        id="civil dusk",
    ),
]


@pytest.mark.parametrize("text", SPECIFIED)
def test_a_unit_as_specified_is_enough_and_none_with_less_is(text: str) -> None:
    """By way of controller files with just these properties."""
    found = specification(wishes_of(text))
    assert found is not None
    assert found.fewest_slots <= found.slots <= found.fewest_slots * 3 / 2
    bought = unit_with(found.properties, found.slots)
    fitted = fitted_of(text, bought)
    assert fitted.program is not None
    assert fitted.tolerance_minutes == 6
    assert fitted_of(text, unit_with(found.properties, found.slots - 1)).program is None
    for without in found.tried:
        left = weaker(found.properties, without.dropped)
        if without.needed:
            allowed = found.fewest_slots * 3 // 2
            assert fitted_of(text, unit_with(left, allowed)).program is None, without
        else:
            assert left == found.properties, without


def unit_with(properties: Properties, slots: int) -> Controller:
    starts = ", ".join(f'"{word}"' for word in ("clock", *(s.word for s in properties.sun_starts)))
    special = "{ slots = 100 }" if properties.special_days else "{ slots = 0 }"
    text = f"""schedcomp_controller = 1
name = "bought"
event_slots = {slots}
channels = 1
starts_at = [{starts}]
weekdays = "{properties.weekdays}"
date_ranges = "{"yearly" if properties.dates else "none"}"
exceptions = {special}
"""
    controller, found = controllerfile.controller_from_source(Source("bought.toml", text))
    assert controller is not None, found
    return controller


def weaker(properties: Properties, dropped: str) -> Properties:
    """The properties without one of them; the same where it is not among them."""
    fewer_days = {"any set": "single days or all"}.get(properties.weekdays, properties.weekdays)
    return {
        "special days": replace(properties, special_days=False),
        "levels": replace(properties, sun_starts=properties.sun_starts[:2]),
        "sun": replace(properties, sun_starts=()),
        "dates": replace(properties, dates=False),
        "weekday sets": replace(properties, weekdays=fewer_days),
        "weekdays": replace(properties, weekdays="all only"),
    }[dropped]


def test_the_words_to_copy_into_an_order() -> None:
    found = Specification(
        tolerance_minutes=10,
        properties=Properties(
            sun_starts=WITH_SUN.sun_starts, weekdays="any set", dates=True, special_days=False
        ),
        slots=13,
        proven=True,
        special_days=0,
        fewest_special_days=2,
        channels=1,
        offset_minutes=11,
        sun_error_minutes=2.0,
        fewest_slots=9,
        tried=(),
    )
    assert specification_words(found) == (
        "A yearly time switch with clock times and sun times (sunrise and sunset), an offset for "
        "each slot of at least 11 min either way, and sun times within 2 min of the true ones; at "
        "least 13 event slots; for each slot any set of weekdays and dates of the year; 1 channel; "
        "special days not needed."
    )
    plain = Properties(sun_starts=(), weekdays="all only", dates=False, special_days=True)
    weekly = replace(found, properties=plain, slots=2, special_days=3, channels=2)
    assert specification_words(weekly) == (
        "A weekly time switch with clock times; sun times not needed; at least 2 event slots; "
        "neither weekdays nor dates needed; 2 channels; at least 3 special days with switching "
        "times of their own."
    )


def test_a_tolerance_that_no_unit_can_keep_is_widened() -> None:
    """To the second, dusk falls on no step of a clock."""
    text = text_of(("every day: usual",), tolerance="0 min", more="")
    found = specification(wishes_of(text))
    assert found is not None
    assert found.tolerance_minutes == 1
    own = text.replace("override_minutes = 0", 'override_minutes = 0\ntolerance = "0 min"')
    assert specification(wishes_of(own)) is None
