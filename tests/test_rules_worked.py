"""Worked examples of reading clauses, with the right answer stated beside each."""

from __future__ import annotations

from datetime import date

import pytest

from schedcomp.model import HOUR, MINUTE, ONE_DAY
from schedcomp.ordinance.asks import duty_of
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.intervals import Interval, seconds_of, split_at
from schedcomp.ordinance.rules import rules_of
from schedcomp.ordinance.verdict import Status
from schedcomp.records import replace
from tests.judged import Scene, report, requirement, rule_of, site_and_world, verdicts
from tests.real_clauses import LONDON, PARIS, STUTTGART, TUCSON, ZAGREB, dark, lit
from tests.sites import NEW_YORK, TROMSO, Place

SEATTLE = Place(47.6062, -122.3321, "America/Los_Angeles")


def clauses(scene: Scene) -> tuple[Clause, ...]:
    site, world = site_and_world(scene)
    rules, found = rules_of((rule_of(scene.rule, scene.top),), site, world)
    assert rules is not None, found
    return rules.clauses


def hours_on(scene: Scene, night: str, clause: int = 0) -> list[str]:
    """The duty of one night as `Wed 23:00-06:00`."""
    made = clauses(scene)[clause]
    day = date.fromisoformat(night)
    parts = split_at(duty_of(made).intervals, made.nights.borders)
    return [shown(made, part) for part in parts[made.nights.days.index(day)]]


def shown(clause: Clause, part: Interval) -> str:
    zone = clause.facts.clock.zone
    start, end = (zone.local(instant) for instant in part)
    return f"{start:%a %H:%M}-{end:%a %H:%M}"


LATER = requirement("a", "dark from the later of 23:00 and close + 1 h until 06:00")


@pytest.mark.parametrize(
    ("hours", "wanted"),
    [
        ('"every day" = "08:00-21:00"', "Wed 23:00-Thu 06:00"),
        ('"every day" = "08:00-22:30"', "Wed 23:30-Thu 06:00"),
        ('"every day" = "08:00-00:30"', "Thu 01:30-Thu 06:00"),
        ('"every day" = "08:00-21:00"\nwed = "closed"', "Wed 23:00-Thu 06:00"),
    ],
)
def test_23_00_or_one_hour_after_close_the_later(hours: str, wanted: str) -> None:
    assert hours_on(Scene(LATER, hours=hours), "2027-03-10") == [wanted]


FRENCH_SIGN = requirement(
    "1", "dark from 01:00 until 06:00", 'when = "not close or open between 00:00 and 07:00"'
) + requirement(
    "2",
    "dark from close + 1 h until open - 1 h",
    'when = "close or open between 00:00 and 07:00"',
)


def test_a_rule_chosen_by_the_closing_time() -> None:
    usual = Scene(FRENCH_SIGN, hours='"every day" = "08:00-20:00"', place=PARIS)
    assert hours_on(usual, "2027-03-10") == ["Thu 01:00-Thu 06:00"]
    assert hours_on(usual, "2027-03-10", clause=1) == []
    late = replace(usual, hours='"every day" = "05:00-00:30"')
    assert hours_on(late, "2027-03-10") == []
    assert hours_on(late, "2027-03-10", clause=1) == ["Thu 01:30-Thu 04:00"]


FRENCH_PARKING = (
    requirement("off", "dark from close + 2 h until the earlier of 07:00 and open - 1 h")
    + requirement("morning", "not on before the earlier of 07:00 and open - 1 h")
    + requirement("evening", "not on before sunset")
)


def test_the_french_parking_rule() -> None:
    winter = Scene(
        FRENCH_PARKING,
        ("on from sunset until 21:30", "on from 07:00 until sunrise"),
        '"every day" = "09:00-19:30"',
        "2027-01-10",
        "2027-01-20",
        place=PARIS,
    )
    assert hours_on(winter, "2027-01-13") == ["Wed 21:30-Thu 07:00"]
    assert all(v.status is Status.PASS for v in verdicts(winter).values())
    early = verdicts(winter, lit("2027-01-14 06:59 until 2027-01-14 07:00"))["morning"]
    assert [n.seconds for n in early.failed] == [MINUTE]
    night_shop = replace(winter, hours='"every day" = "05:00-22:00"')
    assert hours_on(night_shop, "2027-01-13") == ["Thu 00:00-Thu 04:00"]


def test_lamps_lit_over_midnight_are_not_switched_on_too_early() -> None:
    scene = Scene(FRENCH_PARKING, ("on from sunset until 01:00",), '"every day" = "05:00-23:00"')
    morning = verdicts(scene)["morning"]
    assert morning.status is Status.PASS
    # Off at 01:00 and on again at 02:00 is switched on before 04:00.
    again = verdicts(scene, lit("2027-03-10 02:00 until 2027-03-10 02:10"))["morning"]
    assert [n.seconds for n in again.failed] == [10 * MINUTE]


SIX_HOURS = requirement(
    "facade", "dark at least 6 h each night or from close + 1 h until open - 1 h if that is shorter"
)


def test_six_hours_are_elapsed_hours() -> None:
    scene = Scene(
        SIX_HOURS,
        ("on from dusk until midnight", "on from 06:00 until dawn"),
        '"every day" = "10:00-20:00"',
        "2027-03-10",
        "2027-03-16",
        place=SEATTLE,
    )
    [short] = verdicts(scene)["facade"].failed
    assert short.day == date(2027, 3, 13)
    assert short.seconds == HOUR
    earlier = replace(scene, windows=("on from dusk until 23:00", "on from 06:00 until dawn"))
    assert verdicts(earlier)["facade"].status is Status.PASS
    # Closed from 01:00 until 05:00 the gap is 2 h, and 5 h of darkness are enough.
    gap = replace(scene, hours='"every day" = "05:00-01:00"')
    assert verdicts(gap)["facade"].status is Status.PASS


BADEN = requirement(
    "summer", "dark all day", 'dates = "apr 1 to sep 30"', 'by = "calendar date"'
) + requirement(
    "winter", "dark from 22:00 until 06:00", 'dates = "oct 1 to mar 31"', 'by = "calendar date"'
)


def test_a_season_that_cuts_a_night_at_midnight() -> None:
    spring = Scene(BADEN, place=STUTTGART, first="2027-03-30", last="2027-04-02")
    summer, winter = (duty_of(clause) for clause in clauses(spring))
    first = clauses(spring)[0]
    assert shown(first, summer.intervals[0]) == "Thu 00:00-Sat 00:00"
    assert [shown(first, part) for part in winter.intervals] == [
        "Tue 00:00-Tue 06:00",
        "Tue 22:00-Wed 06:00",
        "Wed 22:00-Thu 00:00",
    ]
    autumn = Scene(BADEN, place=STUTTGART, first="2027-09-29", last="2027-10-02")
    made = clauses(autumn)
    assert shown(made[0], duty_of(made[0]).intervals[-1]) == "Wed 00:00-Fri 00:00"
    assert shown(made[1], duty_of(made[1]).intervals[0]) == "Fri 00:00-Fri 06:00"


def test_the_last_night_of_a_season_by_evening_and_by_calendar() -> None:
    def rule(by: str) -> str:
        return requirement(
            "a", "dark from 00:00 until dawn", 'dates = "mar 15 to may 31"', f'by = "{by}"'
        )

    evening = Scene(rule("evening"), first="2027-05-29", last="2027-06-02")
    [night] = hours_on(evening, "2027-05-31")
    assert night.startswith("Tue 00:00-Tue 05:")
    assert hours_on(evening, "2027-06-01") == []
    calendar = replace(evening, rule=rule("calendar date"))
    [night] = hours_on(calendar, "2027-05-31")
    assert night.startswith("Mon 00:00-Mon 05:")
    assert hours_on(calendar, "2027-06-01") == []


def test_a_tournament_is_one_exception_day_of_twelve() -> None:
    def rule(count: int) -> str:
        nights = ", ".join(f'"2027-03-{day:02d}: match"' for day in range(1, count + 1))
        return requirement(
            "hours", "dark from 23:00 until 07:00", f"except_nights = [{nights}]"
        ) + requirement("cap", "at most 12 exception days a year")

    scene = Scene(
        rule(12),
        calendar=("mar 1 to mar 12 evenings: match", "mar 13 to mar 31: dark"),
        types='match = ["on from 18:00 until 01:30"]',
    )
    both = verdicts(scene)
    assert both["hours"].status is Status.PASS
    assert (both["cap"].status, both["cap"].why) == (Status.PASS, "declared nights: 12 in 2027")
    over = verdicts(replace(scene, rule=rule(13)))["cap"]
    assert [night.day for night in over.failed] == [date(2027, 3, 13)]


def test_the_middle_of_the_night_in_zagreb() -> None:
    """One start serves all year from 00:03 until 00:40, as published for Zagreb in 2027."""

    def judged(start: str, end: str) -> Status:
        scene = Scene(
            requirement("a", "dark within 1 h of the middle of the night for at least 3 h"),
            (f"on from sunset until {start}", f"on from {end} until sunrise"),
            place=ZAGREB,
            first="2027-01-01",
            last="2027-12-31",
            calendar=("every day: usual", "2027-03-27, 2027-03-28: dark"),
        )
        return verdicts(scene)["a"].status

    assert judged("00:15", "03:15") is Status.PASS
    assert judged("00:03", "03:03") is Status.PASS
    assert judged("00:39", "03:39") is Status.PASS
    assert judged("00:42", "03:42") is Status.FAIL
    assert judged("00:00", "03:00") is Status.FAIL


@pytest.mark.parametrize(("grace", "minutes"), [("", 60), (" with 30 min grace after sunrise", 30)])
def test_must_be_lit_against_dark_by_day(grace: str, minutes: int) -> None:
    scene = Scene(
        requirement("lit", "lit from sunset - 30 min until sunrise + 30 min")
        + requirement("dark", f"dark while the sun is up{grace}"),
        ("on from sunset - 30 min until sunrise + 30 min",),
        place=TUCSON,
    )
    found = report(scene)
    [conflict] = found.conflicts
    assert (conflict.dark, conflict.lit, conflict.circuit) == ("dark", "lit", "Lot")
    assert conflict.nights == 31
    assert conflict.most_seconds == minutes * MINUTE


def test_the_autumn_night_holds_both_passes() -> None:
    rule = requirement("a", "dark from 23:00 until 06:00")
    scene = Scene(rule, first="2027-11-05", last="2027-11-08", place=NEW_YORK)
    [clause] = clauses(scene)
    lengths = [seconds_of([part]) // HOUR for part in duty_of(clause).intervals]
    assert lengths == [7, 8, 7, 7]
    # Lit from 01:30 of the first pass until 01:31 of it, and nothing in the second.
    broken = verdicts(scene, lit("2027-11-07 01:30 until 2027-11-07 01:31"))["a"]
    assert broken.failed_seconds == MINUTE


def test_a_place_that_never_closes() -> None:
    hours = '"every day" = "open all day"'
    rule = (
        requirement("close", "dark from close + 1 h", 'until = "sunrise"')
        + LATER
        + requirement("clock", "dark from 23:00 until 06:00")
        + requirement("earlier", "dark from the earlier of 23:00 and close until 06:00")
    )
    found = verdicts(Scene(rule, ("on from dusk until 23:00",), hours))
    assert found["close"].status is Status.NOT_APPLYING
    assert found["close"].why == "the place never closes, and the clause goes by closing"
    assert found["a"].status is Status.NOT_APPLYING
    assert found["clock"].status is Status.PASS
    assert found["earlier"].status is Status.PASS


def test_closed_days_take_nothing_away() -> None:
    hours = 'mon-sat = "08:00-20:00"\nsun = "closed"'
    relative = Scene(requirement("a", "dark from close + 1 h until open - 1 h"), hours=hours)
    assert hours_on(relative, "2027-03-13") == ["Sat 21:00-Sun 12:00"]
    assert hours_on(relative, "2027-03-14") == ["Sun 12:00-Mon 07:00"]
    fixed_end = Scene(requirement("a", "dark from close + 1 h until 06:00"), hours=hours)
    assert hours_on(fixed_end, "2027-03-12") == ["Fri 21:00-Sat 06:00"]
    assert hours_on(fixed_end, "2027-03-13") == ["Sat 21:00-Sun 12:00"]
    assert hours_on(fixed_end, "2027-03-14") == ["Sun 12:00-Mon 06:00"]
    [words] = verdicts(fixed_end)["a"].assumed
    assert words.startswith("on closed days the hours run from the previous closing")


def test_closed_since_before_the_period() -> None:
    hours = '"every day" = "closed"\n"mar 5 to mar 31" = "08:00-20:00"'
    scene = Scene(requirement("a", "dark from close until open"), hours=hours)
    assert hours_on(scene, "2027-03-02") == ["Tue 12:00-Wed 12:00"]
    assert hours_on(scene, "2027-03-04") == ["Thu 12:00-Fri 08:00"]


def test_sun_that_stays_up_or_down() -> None:
    rule = (
        requirement("night", "dark from sunset until sunrise")
        + requirement("late", "dark from 23:00 until sunrise")
        + requirement("day", "dark while the sun is up")
    )
    summer = Scene(rule, place=TROMSO, first="2027-06-20", last="2027-06-22")
    assert hours_on(summer, "2027-06-21") == []
    [late] = hours_on(summer, "2027-06-21", clause=1)
    assert late.startswith("Mon 23:00-Tue 00:4")
    assert hours_on(summer, "2027-06-21", clause=2) == ["Mon 12:00-Tue 12:00"]
    winter = Scene(rule, place=TROMSO, first="2027-12-20", last="2027-12-22")
    assert hours_on(winter, "2027-12-21") == ["Tue 12:00-Wed 12:00"]
    assert hours_on(winter, "2027-12-21", clause=2) == []


def test_standard_time_and_utc() -> None:
    def rule(time: str) -> str:
        return requirement("a", "dark from 00:00 until 06:00", f'time = "{time}"')

    legal = Scene(rule("legal"), place=LONDON, first="2027-07-01", last="2027-07-03")
    assert hours_on(legal, "2027-07-01") == ["Fri 00:00-Fri 06:00"]
    for time in ("standard", "UTC"):
        made = clauses(replace(legal, rule=rule(time)))[0]
        zone = site_and_world(legal)[1].zone
        start, end = (zone.local(t) for t in duty_of(made).intervals[0])
        assert (f"{start:%H:%M}", f"{end:%H:%M}") == ("01:00", "07:00")


def test_never_all_off_and_lit_while_open() -> None:
    rest = (
        '[[circuit]]\nname = "Rest"\nchannel = 2\nphotocell = "none"\noverride_minutes = 0\n'
        'calendar = ["every day: night"]\n'
    )
    scene = Scene(
        requirement("a", "never all off")
        + requirement("b", "never all off from 02:00 until 03:00"),
        ("on from sunset until 22:00",),
        types='night = ["on from 22:00 until sunrise"]',
        more=rest,
    )
    assert verdicts(scene)["a"].status is Status.PASS
    broken = verdicts(scene, dark("2027-03-10 21:59 until 2027-03-10 22:00"))
    assert broken["a"].failed_seconds == MINUTE
    assert broken["b"].status is Status.PASS


def test_nights_allowed_and_grades() -> None:
    def scene(nights: int, allowed: int) -> Scene:
        return Scene(
            requirement(
                "a",
                "dark from 23:00 until 06:00",
                f"nights_allowed = {allowed}",
                'grades = ["more than 4 nights a year: serious",'
                ' "more than 10 nights a year: very serious"]',
            ),
            calendar=("every day: dark", f"mar 1 to mar {nights} evenings: late"),
            types='late = ["on from dusk until 23:30"]',
        )

    assert verdicts(scene(4, 4))["a"].status is Status.PASS
    assert verdicts(scene(5, 4))["a"].status is Status.FAIL
    assert verdicts(scene(4, 0))["a"].grades == ()
    assert verdicts(scene(5, 0))["a"].grades == ((2027, 5, "serious"),)
    assert verdicts(scene(11, 0))["a"].grades == ((2027, 11, "very serious"),)


def test_margins_tell_the_night_to_watch() -> None:
    scene = Scene(
        requirement("a", "dark from 23:00 until 06:00"),
        ("on from dusk until 22:50",),
        calendar=("every day: usual", "2027-03-12 evenings: late"),
        types='late = ["on from dusk until 22:58"]',
    )
    margin = verdicts(scene)["a"].margin
    assert margin is not None
    assert (margin.seconds, margin.day) == (2 * MINUTE, date(2027, 3, 12))


def test_every_night_has_a_verdict() -> None:
    scene = Scene(
        requirement("a", "dark from 23:00 until 06:00", 'dates = "fri, sat"'),
        ("on from dusk until 22:00",),
    )
    found = report(scene)
    [verdict] = found.year
    assert (found.nights, verdict.nights, verdict.applying) == (31, 31, 8)
    assert len(found.without_clause) == 23
    assert date(2027, 3, 5) + ONE_DAY * 2 in found.without_clause


def test_shares_of_lamps_and_a_least_share() -> None:
    rest = (
        '[[circuit]]\nname = "Rest"\nchannel = 2\nphotocell = "none"\noverride_minutes = 0\n'
        'lamps = "6 x 100 W"\ncalendar = ["every day: night"]\n'
    )
    scene = Scene(
        requirement("most", "at most 60 % of lamps from 22:00 until 05:00")
        + requirement("least", "at least 50 % of lamps from 22:00 until 05:00")
        + requirement("exempt", "dark from 23:00 until 05:00", 'exempt = { "Rest" = "security" }'),
        ("on from sunset until 22:00",),
        circuit='lamps = "4 x 200 W"',
        types='night = ["on from sunset until sunrise"]',
        more=rest,
    )
    met = verdicts(scene)
    assert {v.status for v in met.values()} == {Status.PASS}
    assert met["exempt"].exempt == (("Rest", "security (43% of the connected kW)"),)
    more = verdicts(scene, lit("2027-03-10 22:00 until 2027-03-10 22:01"))
    assert more["most"].failed_seconds == MINUTE
    fewer = verdicts(replace(scene, types='night = ["on from sunset until 04:59"]'))
    assert fewer["least"].failed_seconds == 31 * MINUTE


@pytest.mark.parametrize(
    ("by", "wanted"),
    [("evening", "Thu 00:00-Thu 05:00"), ("calendar date", "Wed 00:00-Wed 05:00")],
)
def test_not_on_before_a_morning_time(by: str, wanted: str) -> None:
    """By the evening Wednesday's morning is that of Thursday."""
    rule = requirement("a", "not on before 05:00", 'dates = "wed"', f'by = "{by}"')
    assert hours_on(Scene(rule, ("on from 18:00 until 22:00",)), "2027-03-10") == [wanted]


def test_a_threshold_of_power_leaves_small_circuits_out() -> None:
    rule = requirement("a", "dark while the sun is up", "above_kw = 3")
    small = Scene(rule + requirement("b", "controller: knows the sun", "above_kw = 3"))
    found = verdicts(small)
    assert {v.status for v in found.values()} == {Status.NOT_APPLYING}
    assert found["a"].exempt == (("Lot", "not above 3 kW (100% of the connected kW)"),)
