"""Every caution and note on wishes: said with the right dates and counts, and not said nearby.

Mon 1 to Sun 14 March 2027 at Denver unless said otherwise; the clock goes forward on Sun 14.
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from schedcomp.diag import Severity, render
from schedcomp.messages import wishes
from schedcomp.messages.kind import Kind
from tests.sites import DENVER, NEW_YORK, TROMSO, Exact, Place, exact, site_text

EVENING = ["on from 18:00 until 23:00"]
BOTH = ["on from 18:00 until 23:00", "on from 05:00 until 06:00"]
SHOP = 'mon-sat = "08:00-20:00"\nsun = "closed"\n'
ALL_MARCH = ("2027-03-01", "2027-03-14")


def march(
    windows: Sequence[str] = EVENING,
    calendar: Sequence[str] = ("every day: usual",),
    *,
    types: str = "",
    circuit: str = "",
    hours: str = "",
    site: str = "",
    more: str = "",
    place: Place = DENVER,
    period: tuple[str, str] = ALL_MARCH,
) -> Exact:
    text = site_text(
        place,
        windows,
        calendar=calendar,
        types=types,
        circuit=circuit,
        hours=hours,
        site=site,
        more=more,
    )
    return exact(text, *period)


def said(found: Exact, kind: Kind) -> list[tuple[str, str]]:
    """Title, without its full stop, and why of the findings of a kind."""
    return [(f.title.removesuffix("."), f.why) for f in found.findings if f.code == kind.code]


def line_of(found: Exact, kind: Kind) -> list[str]:
    """What the findings of a kind point at."""
    return [f.at.text for f in found.findings if f.code == kind.code and f.at]


def test_plain_wishes_are_met_with_silence() -> None:
    assert march().findings == ()
    assert march(BOTH).findings == ()


def test_a_day_type_never_used() -> None:
    found = march(types='spare = ["on from dusk until 22:00"]')
    assert said(found, wishes.UNUSED_DAY_TYPE) == [
        ("Day type spare is never used", "No calendar line names it, so its windows light nothing.")
    ]
    assert line_of(found, wishes.UNUSED_DAY_TYPE) == ["spare"]
    used = march(
        calendar=["every day: usual", "sun: spare"], types='spare = ["on from 19:00 until 22:00"]'
    )
    assert used.findings == ()
    sign = '[[circuit]]\nname = "Sign"\nchannel = 2\ncalendar = ["every day: spare"]\n'
    elsewhere = march(types='spare = ["on from 19:00 until 22:00"]', more=sign)
    assert elsewhere.findings == ()


@pytest.mark.parametrize(
    ("lines", "idle", "reason"),
    [
        (["every day: usual", "2026-07-04: dark"], "2026-07-04: dark", wishes.NO_DATE_NAMED),
        (["every day: usual", "feb 29: dark"], "feb 29: dark", wishes.NO_DATE_NAMED),
        (["every day: usual", "mar 15: dark"], "mar 15: dark", wishes.NO_DATE_NAMED),
        (["sun: dark", "every day: usual"], "sun: dark", wishes.ALL_NAMED_AGAIN),
        (
            ["every day: usual", "sun evenings: dark", "sat, sun: usual"],
            "sun evenings: dark",
            wishes.ALL_NAMED_AGAIN,
        ),
    ],
)
def test_a_line_that_decides_nothing(lines: list[str], idle: str, reason: str) -> None:
    found = march(calendar=lines)
    assert said(found, wishes.IDLE_LINE) == [
        ("This line decides nothing from Mon 1 Mar 2027 through Sun 14 Mar 2027", reason)
    ]
    assert line_of(found, wishes.IDLE_LINE) == [idle]


@pytest.mark.parametrize(
    "lines",
    [
        ["every day: usual", "mar 14: dark"],
        ["every day: usual", "sun: dark", "sun mornings: usual"],
        ["sat, sun: dark", "mon-sat: usual"],
    ],
)
def test_a_line_that_decides_one_half_is_not_idle(lines: list[str]) -> None:
    assert said(march(BOTH, lines), wishes.IDLE_LINE) == []


def test_a_window_that_never_lights() -> None:
    found = march(["on from 08:00 until dawn", *EVENING])
    assert said(found, wishes.ALWAYS_EMPTY) == [
        (
            "Lot: `on from 08:00 until dawn (sunrise - 15 min)` never lights anything",
            "Asked for on 14 dates from Mon 1 Mar 2027 through Sun 14 Mar 2027: its end comes "
            "before its start.",
        )
    ]
    assert said(found, wishes.EMPTY_SOMETIMES) == []
    once = march(["on from 08:00 until dawn"], ["every day: dark", "sat: usual", "mar 13: dark"])
    ((_, why),) = said(once, wishes.ALWAYS_EMPTY)
    assert why.startswith("Asked for on 1 date from Sat 6 Mar 2027 through Sat 6 Mar 2027:")


def test_a_window_that_lights_on_some_dates_only() -> None:
    # Sunrise at Denver: 06:19:27 on 10 March, 06:17:53 on 11 March (skyfield 1.55, DE421).
    found = march(["on from 06:18 until sunrise"], period=("2027-03-01", "2027-03-13"))
    assert said(found, wishes.EMPTY_SOMETIMES) == [
        (
            "Lot: `on from 06:18 until sunrise` lights nothing on 3 dates",
            "First Thu 11 Mar 2027, last Sat 13 Mar 2027: its end comes before its start. The "
            "lamps do not switch for it then.",
        )
    ]
    assert said(found, wishes.ALWAYS_EMPTY) == []
    assert (
        march(["on from 06:18 until sunrise"], period=("2027-03-01", "2027-03-10")).findings == ()
    )


def test_windows_in_the_midnight_sun_and_on_closed_days_say_why() -> None:
    bright = march(
        ["on from sunset until sunrise"], place=TROMSO, period=("2027-05-16", "2027-05-20")
    )
    ((title, why),) = said(bright, wishes.EMPTY_SOMETIMES)
    assert title.endswith("lights nothing on 3 dates")
    assert why.startswith("First Tue 18 May 2027, last Thu 20 May 2027: the sun does not sink")
    shut = march(["on from 18:00 until close"], hours=SHOP)
    ((title, why),) = said(shut, wishes.EMPTY_SOMETIMES)
    assert title == "Lot: `on from 18:00 until close` lights nothing on 2 dates"
    assert why.startswith("First Sun 7 Mar 2027, last Sun 14 Mar 2027: the place is closed")
    gone = march(["on from 02:15 until 02:45"], ["every day: usual"])
    ((title, why),) = said(gone, wishes.EMPTY_SOMETIMES)
    assert title == "Lot: `on from 02:15 until 02:45` lights nothing on 1 date"
    assert why.startswith("First Sun 14 Mar 2027, last Sun 14 Mar 2027: the clock skips it")


def test_mornings_lost_by_a_line_for_late_evenings() -> None:
    late = 'late = ["on from 18:00 until 01:00"]'
    found = march(BOTH, ["every day: usual", "fri, sat: late"], types=late)
    assert said(found, wishes.LOST_LIGHT) == [
        (
            "Lot: this line takes the light from 4 mornings",
            "Day type late has no window there; the line it overrules, `every day: usual`, has "
            "one. First Fri 5 Mar 2027, last Sat 13 Mar 2027.",
        )
    ]
    (told,) = [f for f in found.findings if f.code == wishes.LOST_LIGHT.code]
    assert told.fix.splitlines()[1] == '"fri, sat evenings: late",'
    assert [at.text for _, at in told.also] == ["every day: usual"]
    assert line_of(found, wishes.LOST_LIGHT) == ["fri, sat: late"]


def test_evenings_are_lost_too_and_counted_where_the_line_decides() -> None:
    early = 'early = ["on from 05:00 until 06:00"]'
    lines = ["every day: usual", "sun: early", "mar 7: usual"]
    ((title, _),) = said(march(BOTH, lines, types=early), wishes.LOST_LIGHT)
    assert title == "Lot: this line takes the light from 1 evening"


@pytest.mark.parametrize(
    ("windows", "line"),
    [
        (BOTH, "fri, sat evenings: late"),
        (BOTH, "fri, sat: dark"),
        (BOTH, "fri, sat: full"),
        # Nothing stood there before, so nothing is lost.
        (EVENING, "fri, sat: late"),
    ],
)
def test_light_that_is_kept_or_meant_to_go_is_not_lost(windows: list[str], line: str) -> None:
    evening, morning = "on from 18:00 until 01:00", "on from 04:00 until 05:00"
    types = f'late = ["{evening}"]\nfull = ["{evening}", "{morning}"]'
    found = march(windows, ["every day: usual", line], types=types)
    assert said(found, wishes.LOST_LIGHT) == []


def test_dates_with_a_line_of_their_own_that_the_closed_place_keeps_dark() -> None:
    shop = 'shop = ["on from 18:00 until close"]'
    lines = ["every day: usual", "sun: shop"]
    found = march(calendar=lines, types=shop, hours=SHOP)
    assert said(found, wishes.CLOSED_DATES) == [
        (
            "Lot: dark on 2 dates named by this line, because the place is closed",
            "Day type shop waits for opening hours that these dates do not have. First Sun 7 Mar "
            "2027, last Sun 14 Mar 2027.",
        )
    ]
    assert line_of(found, wishes.CLOSED_DATES) == ["sun: shop"]


@pytest.mark.parametrize(
    ("windows", "line"),
    [
        (["on from 18:00 until close or 21:00"], "sun: shop"),
        (["on from 18:00 until close", "on from 05:00 until 06:00"], "sun: shop"),
        (["on from 00:00 until 06:00", "on from 18:00 until close"], "sun: shop"),
        (["on from 18:00 until close"], "mon-sat: shop"),
        (["on from 18:00 until close"], "every day: shop"),
    ],
)
def test_a_closed_place_that_leaves_some_light_or_has_no_line_of_its_own(
    windows: list[str], line: str
) -> None:
    listed = ", ".join(f'"{window}"' for window in windows)
    found = march(
        ["on from 18:00 until 24:00"],
        ["every day: usual", line],
        types=f"shop = [{listed}]",
        hours=SHOP,
    )
    assert said(found, wishes.CLOSED_DATES) == []


HOLIDAYS = 'holidays = { add = { "Stock-taking" = "2027-03-09", "Founders Day" = "2027-03-10" } }'


def test_dark_on_a_holiday_on_which_the_place_is_open() -> None:
    lines = ["every day: usual", "holidays: dark"]
    one = march(calendar=lines, site=HOLIDAYS, hours=f'{SHOP}"2027-03-09" = "closed"')
    assert said(one, wishes.OPEN_BUT_DARK) == [
        (
            "Lot: dark on 1 holiday on which [hours] says open",
            "Founders Day on Wed 10 Mar 2027.",
        )
    ]
    (told,) = [f for f in one.findings if f.code == wishes.OPEN_BUT_DARK.code]
    assert told.fix.splitlines()[1] == '"holiday Founders Day: usual",'
    ((title, why),) = said(march(calendar=lines, site=HOLIDAYS, hours=SHOP), wishes.OPEN_BUT_DARK)
    assert title == "Lot: dark on 2 holidays on which [hours] says open"
    assert why == "Stock-taking on Tue 9 Mar 2027 and Founders Day on Wed 10 Mar 2027."


def test_lit_on_a_holiday_on_which_the_place_is_closed() -> None:
    hours = f'{SHOP}"holiday Stock-taking" = "closed"'
    assert said(march(site=HOLIDAYS, hours=hours), wishes.CLOSED_BUT_LIT) == [
        (
            "Lot: lit as usual on 1 holiday on which [hours] says closed",
            "Stock-taking on Tue 9 Mar 2027. The calendar has no line for these holidays.",
        )
    ]


@pytest.mark.parametrize(
    ("calendar", "hours"),
    [
        (["every day: usual", "holidays: dark"], f'{SHOP}holidays = "closed"'),
        (["every day: usual", "holidays: usual"], f'{SHOP}holidays = "closed"'),
        (["every day: usual", "tue, wed: dark"], f'{SHOP}holidays = "closed"'),
        (["every day: usual"], SHOP),
        (["every day: usual"], f'{SHOP}holidays = "10:00-12:00"'),
        (["every day: usual", "holidays: dark"], ""),
    ],
)
def test_holidays_that_hours_and_calendar_treat_alike(calendar: list[str], hours: str) -> None:
    found = march(calendar=calendar, site=HOLIDAYS, hours=hours)
    assert said(found, wishes.OPEN_BUT_DARK) == []
    assert said(found, wishes.CLOSED_BUT_LIT) == []


def test_a_window_in_the_small_hours_under_a_weekday() -> None:
    found = march(["on from 00:30 until 04:00"], ["every day: dark", "fri: usual"])
    assert said(found, wishes.SMALL_HOURS) == [
        (
            "The window that starts at 00:30 belongs to the date it starts on",
            "Under `fri: usual` it lights Fri 5 Mar 2027 from 00:30, which is the night after Thu "
            "4 Mar 2027.",
        )
    ]
    assert line_of(found, wishes.SMALL_HOURS) == ["fri: usual"]


@pytest.mark.parametrize(
    ("window", "line"),
    [
        ("on from 03:00 until 04:00", "fri: usual"),
        ("on from 00:30 until 04:00", "every day: usual"),
        ("on from 00:30 until 04:00", "2027-03-05: usual"),
        ("on from 22:00 until 02:00", "fri: usual"),
        ("on from 00:30 until 04:00", "fri evenings: usual"),
    ],
)
def test_the_small_hours_of_a_date_or_of_every_date_are_plain(window: str, line: str) -> None:
    assert said(march([window], ["every day: dark", line]), wishes.SMALL_HOURS) == []
    late = march(["on from 02:59 until 04:00"], ["every day: dark", "mon-fri in mar: usual"])
    assert len(said(late, wishes.SMALL_HOURS)) == 1


def test_dates_that_no_line_names() -> None:
    found = march(calendar=["mon-fri: usual", "sat evenings: usual"])
    # Two Saturday mornings and two whole Sundays.
    assert said(found, wishes.NO_LINE) == [
        (
            "Lot: no calendar line names 6 mornings and evenings, which stay dark",
            "First Sat 6 Mar 2027, last Sun 14 Mar 2027.",
        )
    ]
    one = march(calendar=["every day except mar 10: usual", "mar 10 mornings: dark"])
    assert said(one, wishes.NO_LINE) == [
        (
            "Lot: no calendar line names 1 morning or evening, which stay dark",
            "First Wed 10 Mar 2027, last Wed 10 Mar 2027.",
        )
    ]
    assert said(march(calendar=["mon-fri: usual", "sat, sun: dark"]), wishes.NO_LINE) == []


def test_short_gaps_that_may_not_be_bridged() -> None:
    def lamps(shortest: str, keep: str) -> list[tuple[str, str]]:
        circuit = f'shortest_off = "{shortest}"\nkeep_dark = ["{keep}"]'
        return said(march(circuit=circuit), wishes.SHORT_GAP)

    assert lamps("15 min", "every day: from 20:00 until 20:10") == [
        (
            "Lot: 14 gaps shorter than shortest_off will not be bridged",
            "Hours kept dark are never bridged: first Mon 1 Mar 2027, last Sun 14 Mar 2027. "
            "Discharge lamps may not light again at once.",
        )
    ]
    ((title, _),) = lamps("15 min", "2027-03-03: from 20:00 until 20:10")
    assert title == "Lot: 1 gap shorter than shortest_off will not be bridged"
    assert lamps("10 min", "every day: from 20:00 until 20:10") == []
    assert lamps("15 min", "every day: from 23:00 until 23:10") == []
    bridged = march(
        ["on from 18:00 until 20:00", "on from 20:10 until 22:00"],
        circuit='shortest_off = "15 min"',
    )
    assert said(bridged, wishes.SHORT_GAP) == []


def test_what_shortest_on_and_shortest_off_change_is_told() -> None:
    windows = [
        "on from 18:00 until 18:04",
        "on from 20:00 until 20:50",
        "on from 20:57 until 22:00",
    ]
    found = march(windows, circuit='shortest_on = "5 min"\nshortest_off = "8 min"')
    ends = "First Mon 1 Mar 2027, last Sun 14 Mar 2027."
    ((title, why),) = said(found, wishes.LEFT_OUT)
    assert ("14 " in title, "4 min" in title, why) == (True, True, ends)
    ((title, why),) = said(found, wishes.BRIDGED)
    assert ("14 " in title, "7 min" in title, why) == (True, True, ends)
    exact_length = march(windows, circuit='shortest_on = "4 min"\nshortest_off = "7 min"')
    assert exact_length.findings == ()


def test_hours_kept_dark_from_a_time_until_the_same_time() -> None:
    def told(until: str) -> list[tuple[str, str]]:
        kept = f'keep_dark = ["every day: from 22:45 until {until}"]'
        return said(march(["on from dusk until dawn"], circuit=kept), wishes.KEPT_DARK_ALL_DAY)

    assert told("22:45") == [
        (
            "Lot: this line keeps the lamps dark for 24 hours",
            "It begins and ends at the same time, so on its dates nothing is ever lit.",
        )
    ]
    assert told("22:46") == []


def test_lamps_lit_at_midday() -> None:
    found = march(["on from 22:00 until 13:00"], ["every day: dark", "mon: usual"])
    assert said(found, wishes.LIT_AT_NOON) == [
        (
            "Lot: lit at midday on 2 dates",
            "First Tue 2 Mar 2027, last Tue 9 Mar 2027. The first time they are lit from Mon 1 Mar "
            "2027, 22:00 until Tue 2 Mar 2027, 13:00.",
        )
    ]
    # The sun is highest at 12:12 on 2 March; at Tromso in December it does not rise.
    assert said(march(["on from 22:00 until 11:00"]), wishes.LIT_AT_NOON) == []
    polar = march(["on from dusk until dawn"], place=TROMSO, period=("2026-12-01", "2027-01-10"))
    assert said(polar, wishes.LIT_AT_NOON) == []


def test_a_time_that_the_clock_skips() -> None:
    found = march(["on from 20:00 until 02:30"], place=NEW_YORK)
    assert said(found, wishes.SKIPPED_CLOCK) == [
        (
            "Lot: the clock skips 02:30 on Sun 14 Mar 2027",
            "It is done at 03:00, when the clock goes forward.",
        )
    ]
    pair = march(["on from 20:00 until the earlier of dawn and 02:30"], place=NEW_YORK)
    assert len(said(pair, wishes.SKIPPED_CLOCK)) == 1
    hours = '"every day" = "12:00-02:30"'
    close = march(["on from 20:00 until close"], place=NEW_YORK, hours=hours)
    assert len(said(close, wishes.SKIPPED_CLOCK)) == 1
    night = single("lit", "2027-03-14 02:30 until 2027-03-14 05:00")
    assert len(said(march(place=NEW_YORK, more=night), wishes.SKIPPED_CLOCK)) == 1


def single(state: str, period: str) -> str:
    return f'[[one_off]]\ncircuit = "Lot"\n{state} = "{period}"\nbecause = "sale"\n'


def test_a_time_at_the_jump_is_not_skipped() -> None:
    hours = '"every day" = "12:00-03:00"'
    night = single("lit", "2027-03-14 03:00 until 2027-03-14 05:00")
    for found in (
        march(["on from 20:00 until 03:00"], place=NEW_YORK),
        march(["on from 20:00 until close"], place=NEW_YORK, hours=hours),
        march(place=NEW_YORK, more=night),
        march(["on from 20:00 until 02:30"], place=NEW_YORK, period=("2027-03-01", "2027-03-13")),
    ):
        assert found.findings == ()


def test_a_skipped_midnight_is_told_by_the_date_it_ends() -> None:
    cairo = Place(30.0444, 31.2357, "Africa/Cairo")
    for clock, reading, shown in (
        ("24 hour", "24:00 on Thu 29 Apr 2027", "01:00"),
        ("12 hour", "12:00\u00a0midnight on Fri 30 Apr 2027", "1:00\u00a0AM"),
    ):
        found = march(
            ["on from 20:00 until 24:00"],
            place=cairo,
            period=("2027-04-28", "2027-05-02"),
            more=f'[paper]\nclock = "{clock}"',
        )
        ((title, why),) = said(found, wishes.SKIPPED_CLOCK)
        assert title == f"Lot: the clock skips {reading}"
        assert why.startswith(f"It is done at {shown}")


def test_a_single_period_that_the_clock_swallows() -> None:
    for state, word in (("lit", "light"), ("dark", "darkness")):
        night = single(state, "2027-03-14 02:15 until 2027-03-14 02:45")
        assert said(march(place=NEW_YORK, more=night), wishes.SWALLOWED_ONE_OFF) == [
            (
                f"Lot: the single period of {word} on Sun 14 Mar 2027 has no length",
                "The clock goes forward to 03:00 over both of its times, so nothing is switched.",
            )
        ]
    longer = single("lit", "2027-03-14 02:15 until 2027-03-14 03:15")
    assert said(march(place=NEW_YORK, more=longer), wishes.SWALLOWED_ONE_OFF) == []
    other_day = single("lit", "2027-03-13 02:15 until 2027-03-13 02:45")
    assert said(march(place=NEW_YORK, more=other_day), wishes.SWALLOWED_ONE_OFF) == []


AUTUMN = ("2027-11-05", "2027-11-09")


def autumn(window: str, circuit: str = "", hours: str = "") -> Exact:
    return march([window], place=NEW_YORK, circuit=circuit, hours=hours, period=AUTUMN)


def test_a_time_that_the_clock_shows_twice() -> None:
    found = autumn("on from 20:00 until 01:30")
    assert said(found, wishes.FIRST_PASS) == [
        (
            "Lot: the clock shows 01:30 twice on Sun 7 Nov 2027",
            "The first of the two is meant, at UTC offset -4 h; nothing is undone in the second.",
        )
    ]
    assert said(found, wishes.SECOND_PASS) == []
    assert len(said(autumn("on from 01:00 until 06:00"), wishes.FIRST_PASS)) == 1
    for window in ("20:00 until 02:00", "20:00 until 00:59", "sunset until sunrise - 5 h"):
        assert autumn(f"on from {window}").findings == ()


def test_a_time_done_at_the_second_pass() -> None:
    kept = autumn("on from 20:00 until 05:00", 'keep_dark = ["every day: from 00:30 until 01:30"]')
    assert said(kept, wishes.FIRST_PASS) == []
    ((title, why),) = said(kept, wishes.SECOND_PASS)
    assert title == "Lot: the clock shows 01:30 twice on Sun 7 Nov 2027"
    assert why.startswith("It is done at the second of the two, at UTC offset -5 h:")
    hours = '"every day" = "12:00-01:30"\nstaff_after = "1 h"'
    leave = autumn("on from 20:00 until leave", hours=hours)
    assert len(said(leave, wishes.SECOND_PASS)) == 1
    assert said(leave, wishes.FIRST_PASS) == []


def test_a_site_far_from_any_town_and_one_in_the_sea() -> None:
    desert = march(place=Place(-23.5, 125.0, "Australia/Perth"))
    ((title, _),) = said(desert, wishes.FAR_FROM_TOWN)
    assert title == "The site lies 748 km southeast of Port Hedland, Australia"
    assert said(desert, wishes.AT_SEA) == []
    sea = march(place=Place(0.0, -30.0, "America/Noronha"))
    ((title, _),) = said(sea, wishes.AT_SEA)
    assert title == "The site lies in the sea, 838 km northeast of Touros, Brazil"
    assert said(sea, wishes.FAR_FROM_TOWN) == []
    for kind in (wishes.FAR_FROM_TOWN, wishes.AT_SEA):
        assert said(march(), kind) == []


def test_every_circuit_is_looked_at_by_itself() -> None:
    sign = '[[circuit]]\nname = "Sign"\nchannel = 2\ncalendar = ["mon-sat: usual"]\n'
    ((title, _),) = said(march(more=sign), wishes.NO_LINE)
    assert title == "Sign: no calendar line names 4 mornings and evenings, which stay dark"


def test_none_of_these_stops_a_build_and_all_fit_a_page() -> None:
    every = [kind for kind in vars(wishes).values() if isinstance(kind, Kind)]
    assert {kind.severity for kind in every} == {Severity.CAUTION, Severity.NOTE}
    found = march(
        ["on from 08:00 until dawn", "on from 22:00 until 13:00"],
        ["mon-fri: usual", "2026-07-04: dark"],
        types='spare = ["on from dusk until 22:00"]',
    )
    assert len(set(found.codes())) >= 5
    assert all(len(line) <= 80 for line in render(found.findings).splitlines())


def test_no_light_is_lost_where_the_overruled_window_lights_nothing() -> None:
    found = march(
        ["on from 18:00 until 23:00", "on from 08:00 until dawn"],
        ["every day: usual", "mon-fri: early"],
        types='early = ["on from 18:00 until 20:00"]',
    )
    assert said(found, wishes.ALWAYS_EMPTY)
    assert not said(found, wishes.LOST_LIGHT)
