"""The exact year: lines, halves, layers, single nights, the edges of a period, and laws.

2027-03-01 is a Monday and the clocks of Denver change on Sun 14 Mar 2027. Each table row is a day
as a person would say it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import lru_cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schedcomp.expand import expand
from schedcomp.model import Instant, Period
from schedcomp.output.table import table_rows
from schedcomp.phrases.tree import CalendarLine, DatesPhrase, EveryDay, Window
from schedcomp.records import replace
from schedcomp.site import DARK, Circuit, DayType, OneOff, Site
from schedcomp.world import World, read_world
from schedcomp.year import CircuitYear, Year
from tests import strategies
from tests.sites import (
    ANCHORAGE,
    DENVER,
    FAIRBANKS,
    HAVANA,
    NEW_YORK,
    TROMSO,
    Exact,
    Place,
    exact,
    read,
    seconds_lit,
    site_text,
)

NIGHT = ["on from 18:00 until 01:30", "on from 04:30 until 07:00"]
MON, TUE, WED, THU, FRI, SAT, SUN = (f"2027-03-{day:02d}" for day in range(1, 8))


def march(
    windows: Sequence[str] = (),
    calendar: Sequence[str] = ("every day: usual",),
    *,
    types: str = "",
    circuit: str = "",
    more: str = "",
) -> Exact:
    """Two weeks of March at Denver."""
    text = site_text(DENVER, windows, calendar=calendar, types=types, circuit=circuit, more=more)
    return exact(text, "2027-02-27", "2027-03-13")


def single(state: str, period: str, because: str = "") -> str:
    note = f'because = "{because}"\n' if because else ""
    return f'[[one_off]]\ncircuit = "Lot"\n{state} = "{period}"\n{note}'


# Lines and halves


def test_a_window_belongs_to_the_date_it_starts_on() -> None:
    found = march(NIGHT, ["every day: dark", "fri: usual"])
    assert found.asked(FRI) == "04:30 on, 07:00 off, 18:00 on, Sat 01:30 off"
    assert found.day(FRI) == "04:30 on, 07:00 off, 18:00 on"
    assert found.day(SAT) == "lit, 01:30 off"
    assert found.day(THU) == "dark"


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("sat: dark", "lit, 01:30 off"),
        ("sat evenings: dark", "lit, 01:30 off, 04:30 on, 07:00 off"),
        ("sat mornings: dark", "lit, 01:30 off, 18:00 on"),
        ("fri: dark", "04:30 on, 07:00 off, 18:00 on"),
        ("fri evenings: dark", "04:30 on, 07:00 off, 18:00 on"),
        ("fri mornings: dark", "lit, 01:30 off, 04:30 on, 07:00 off, 18:00 on"),
        ("sat evenings: late", "lit, 01:30 off, 04:30 on, 07:00 off, 20:00 on"),
        ("sat: late", "lit, 01:30 off, 20:00 on"),
        ("sat mornings: late", "lit, 01:30 off, 18:00 on"),
    ],
)
def test_dark_keeps_the_tail_and_halves_decide_their_side_only(line: str, expected: str) -> None:
    types = 'late = ["on from 20:00 until 03:00"]'
    assert march(NIGHT, ["every day: usual", line], types=types).day(SAT) == expected


def test_the_last_line_that_names_a_half_decides_it() -> None:
    found = march(
        NIGHT,
        ["every day: usual", "wed: dark", "wed mornings: usual", "thu: dark", "thu: usual"],
    )
    assert found.asked(WED) == "04:30 on, 07:00 off"
    assert found.asked(THU) == "04:30 on, 07:00 off, 18:00 on, Fri 01:30 off"


def test_windows_of_a_date_add_up_and_touching_ones_merge() -> None:
    found = march(
        [
            "on from 20:00 until 22:00",
            "on from 18:00 until 20:00",
            "on from 21:00 until 21:30",
            "on from 22:00 until 04:30",
            "on from 04:30 until 06:00",
        ],
        ["every day: dark", "wed, thu: usual"],
    )
    assert found.asked(WED) == "04:30 on, 06:00 off, 18:00 on, Thu 06:00 off"
    assert found.day(THU) == "lit, 06:00 off, 18:00 on"
    assert found.day(FRI) == "lit, 04:30 off"


def test_a_date_no_line_names_is_dark_and_listed() -> None:
    found = march(NIGHT, ["mon-fri: usual", "sat mornings: usual"])
    assert found.day(SAT) == "lit, 01:30 off, 04:30 on, 07:00 off"
    assert found.day(SUN) == "dark"
    undecided = [(d.day, d.half.value) for d in found.circuit().decided if d.line is None]
    weekend = [date(2027, 2, 27), date(2027, 2, 28), date(2027, 3, 6), date(2027, 3, 7)]
    assert undecided == [
        (day, half)
        for day in (*weekend, date(2027, 3, 13))
        for half in ("mornings", "evenings")
        if (day.weekday(), half) != (5, "mornings")
    ]


def test_a_named_holiday_is_its_own_date_and_not_the_day_off_for_it() -> None:
    # Christmas Day 2027 is a Saturday; Fri 24 Dec is the day off for it.
    for line, dark in (
        ("holiday Christmas Day: dark", ["2027-12-25"]),
        ("holiday Christmas Day (observed): dark", ["2027-12-24"]),
        ("holidays: dark", ["2027-12-24", "2027-12-25", "2027-12-31"]),
        ("day before holiday Christmas Day: dark", ["2027-12-24"]),
    ):
        text = site_text(
            DENVER,
            ["on from 18:00 until 22:00"],
            calendar=["every day: usual", line],
            site='holidays = { country = "US", observed = true }',
        )
        found = exact(text, "2027-12-01", "2027-12-31")
        assert [str(d) for d in found.year.period.dates() if found.day(str(d)) == "dark"] == dark


# Layers


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        (["every day: from 22:00 until 23:00"], "18:00 on, dark 22:00 off, dark 23:00 on"),
        (["every day: from 18:00 until 23:00"], "dark 23:00 on"),
        (["2027-03-03: from 23:00 until 04:00"], "18:00 on, dark 23:00 off"),
        (
            ["every day: from 20:00 until 21:00", "wed: from 20:30 until 22:00"],
            "18:00 on, dark 20:00 off, dark 22:00 on",
        ),
        (
            ["every day: from 20:00 until 20:30", "wed: from 20:30 until 22:00"],
            "18:00 on, dark 20:00 off, dark 22:00 on",
        ),
        (["thu: from 20:00 until 21:00"], "18:00 on"),
        (["wed: from 12:00 until 11:00"], ""),
    ],
)
def test_kept_dark_beats_windows_and_lines_add_up(lines: list[str], expected: str) -> None:
    found = march(
        ["on from 18:00 until 00:30"],
        circuit="keep_dark = [" + ", ".join(f'"{line}"' for line in lines) + "]",
    )
    told = found.day(WED).replace("kept dark", "dark")
    assert told == ", ".join(filter(None, ["lit, 00:30 off", expected]))


SALE = "2027-03-03 20:00 until 2027-03-03 23:00"
PAUSE = "2027-03-03 21:00 until 2027-03-03 22:00"
LONG = "2027-03-02 12:00 until 2027-03-04 12:00"
WINDOW = "18:00 on, kept dark 19:00 off"


@pytest.mark.parametrize(
    ("periods", "expected"),
    [
        ([("lit", SALE)], f"{WINDOW}, one-off 20:00 on, one-off 23:00 off"),
        ([("dark", SALE)], WINDOW),
        (
            [("dark", "2027-03-03 18:20 until 2027-03-03 18:40")],
            "18:00 on, one-off 18:20 off, one-off 18:40 on, kept dark 19:00 off",
        ),
        (
            [("lit", SALE), ("dark", PAUSE)],
            f"{WINDOW}, one-off 20:00 on, one-off 21:00 off, one-off 22:00 on, one-off 23:00 off",
        ),
        ([("dark", PAUSE), ("lit", SALE)], f"{WINDOW}, one-off 20:00 on, one-off 23:00 off"),
        (
            [("lit", SALE), ("dark", SALE), ("lit", PAUSE)],
            f"{WINDOW}, one-off 21:00 on, one-off 22:00 off",
        ),
        ([("lit", LONG)], "lit"),
        ([("lit", LONG), ("dark", SALE)], "lit, one-off 20:00 off, one-off 23:00 on"),
        ([("dark", LONG)], "dark"),
        ([("dark", LONG), ("lit", PAUSE)], "one-off 21:00 on, one-off 22:00 off"),
    ],
)
def test_single_nights_beat_everything_and_the_last_one_wins(
    periods: list[tuple[str, str]], expected: str
) -> None:
    found = march(
        ["on from 18:00 until 24:00"],
        circuit='keep_dark = ["every day: from 19:00 until 24:00"]',
        more="\n".join(single(*period) for period in periods),
    )
    assert found.day(WED) == expected


def test_a_single_night_names_itself_in_the_table() -> None:
    sale = single("lit", "2027-03-03 21:00 until 2027-03-03 23:00", "summer sale")
    found = march(["on from 18:00 until 22:00"], more=sale)
    (row,) = [r for r in found.table() if r["date"] == WED and r["action"] == "off"]
    assert (row["time"], row["cause"], row["day_type"]) == ("23:00:00", "one-off: summer sale", "")


def gap(minutes: int, *, shortest: str, keep: str = "", more: str = "") -> Exact:
    """Two windows with a gap after 20:00 on Wed."""
    circuit = f'shortest_off = "{shortest}"' + (f'\nkeep_dark = ["{keep}"]' if keep else "")
    return march(
        ["on from 18:00 until 20:00", f"on from 20:{minutes:02d} until 22:00"],
        ["every day: dark", f"{WED}: usual"],
        circuit=circuit,
        more=more,
    )


def test_gaps_shorter_than_shortest_off_are_bridged_whole() -> None:
    assert gap(14, shortest="15 min").asked(WED) == "18:00 on, 22:00 off"
    found = gap(15, shortest="15 min")
    assert found.asked(WED) == "18:00 on, 20:00 off, 20:15 on, 22:00 off"
    assert found.circuit().bridged == ()
    found = gap(14, shortest="15 min")
    assert found.circuit().bridged == ((found.at(f"{WED} 20:00"), found.at(f"{WED} 20:14")),)


@pytest.mark.parametrize(
    ("keep", "expected"),
    [
        ("2027-03-03: from 20:00 until 20:10", "18:00 on, 20:00 off, 20:10 on, 22:00 off"),
        ("2027-03-03: from 20:02 until 20:05", "18:00 on, 20:00 off, 20:10 on, 22:00 off"),
        ("2027-03-03: from 19:00 until 19:05", "18:00 on, 19:00 off, 19:05 on, 22:00 off"),
        ("2027-03-03: from 20:10 until 20:12", "18:00 on, 20:00 off, 20:12 on, 22:00 off"),
        ("2027-03-04: from 20:00 until 20:10", "18:00 on, 22:00 off"),
    ],
)
def test_a_gap_that_touches_hours_kept_dark_stays_dark(keep: str, expected: str) -> None:
    found = gap(10, shortest="15 min", keep=keep)
    switchings = found.circuit().switchings()
    told = ", ".join(
        f"{found.world.zone.local(s.instant):%H:%M} {s.action.value}" for s in switchings
    )
    assert told == expected
    off = found.at(f"{WED} 20:00")
    kept = "20:00 off" in expected
    assert bool(found.circuit().short_gaps) == (kept or "19:00" in expected)
    assert (off in [start for start, _ in found.circuit().bridged]) == (not kept)


def test_a_gap_made_by_a_single_dark_period_stays_and_one_beside_a_lit_one_is_bridged() -> None:
    dark = single("dark", "2027-03-03 21:00 until 2027-03-03 21:05")
    found = gap(10, shortest="15 min", more=dark)
    assert found.asked(WED) == ("18:00 on, one-off 21:00 off, one-off 21:05 on, 22:00 off")
    assert found.circuit().short_gaps == ((found.at(f"{WED} 21:00"), found.at(f"{WED} 21:05")),)
    lit = single("lit", "2027-03-03 22:10 until 2027-03-03 23:00")
    assert gap(10, shortest="15 min", more=lit).asked(WED) == "18:00 on, one-off 23:00 off"


def test_bridging_comes_before_dropping() -> None:
    def lamps(shortest_off: str) -> Exact:
        return march(
            ["on from 18:00 until 18:05", "on from 18:10 until 18:15", "on from 20:00 until 20:14"],
            ["every day: dark", f"{WED}: usual"],
            circuit=f'shortest_on = "15 min"\nshortest_off = "{shortest_off}"',
        )

    joined = lamps("6 min")
    assert joined.asked(WED) == "18:00 on, 18:15 off"
    assert len(joined.circuit().dropped) == 1
    apart = lamps("5 min")
    assert apart.asked(WED) == "dark"
    assert len(apart.circuit().dropped) == 3


def test_a_short_span_that_holds_a_single_lit_period_is_kept() -> None:
    def lamps(more: str) -> Exact:
        return march(
            ["on from 18:00 until 18:05", "on from 20:00 until 20:30"],
            ["every day: dark", f"{WED}: usual"],
            circuit='shortest_on = "10 min"\nkeep_dark = ["wed: from 20:05 until 20:30"]',
            more=more,
        )

    assert lamps("").asked(WED) == "dark"
    assert lamps(single("lit", "2027-03-03 18:05 until 2027-03-03 18:09")).asked(WED) == (
        "18:00 on, one-off 18:09 off"
    )
    alone = lamps(single("lit", "2027-03-03 22:00 until 2027-03-03 22:01"))
    assert alone.asked(WED) == "one-off 22:00 on, one-off 22:01 off"
    # What a later dark period leaves of it is wanted too.
    cut = lamps(
        single("lit", "2027-03-03 22:00 until 2027-03-03 23:00")
        + single("dark", "2027-03-03 22:03 until 2027-03-03 23:00")
    )
    assert cut.asked(WED) == "one-off 22:00 on, one-off 22:03 off"


def test_a_single_period_in_the_skipped_hour_is_nothing() -> None:
    for state, expected in (("lit", "dark"), ("dark", "lit, 06:00 off")):
        windows = ["on from 22:00 until 06:00"]
        text = site_text(
            NEW_YORK,
            windows,
            calendar=["every day: dark" if state == "lit" else "sat: usual"],
            types="",
            more=single(state, "2027-03-14 02:15 until 2027-03-14 02:45"),
        )
        found = exact(text, "2027-03-12", "2027-03-15")
        assert found.day("2027-03-14") == expected
        assert all(span.start < span.end for span in found.circuit().spans)
        assert found.circuit().dark == ()


# The edges of a period


def test_december_before_a_year_is_built_with_it() -> None:
    text = site_text(
        DENVER,
        ["on from 18:00 until 06:00"],
        calendar=["every day: usual", "2026-12-24: dark", "2027-12-31 evenings: short"],
        types='short = ["on from 18:00 until 23:00"]',
    )
    found = exact(text, "2026-12-01", "2027-12-31")
    rows = found.table()
    assert (rows[0]["date"], rows[0]["time"], rows[0]["cause"]) == (
        "2026-12-01",
        "00:00:00",
        "period begins",
    )
    assert (rows[-1]["date"], rows[-1]["time"], rows[-1]["cause"]) == (
        "2027-12-31",
        "23:00:00",
        "23:00",
    )
    assert found.day("2026-12-24") == "lit, 06:00 off"
    assert found.day("2026-12-31") == "lit, 06:00 off, 18:00 on"
    assert found.day("2027-01-01") == "lit, 06:00 off, 18:00 on"
    assert len(found.circuit().decided) == 2 * (31 + 365)


def test_a_span_over_new_year_is_cut_in_two_years_and_whole_in_one() -> None:
    text = site_text(DENVER, ["on from 18:00 until 06:00"])
    old, new = (exact(text, f"{y}-01-01", f"{y}-12-31").table() for y in (2027, 2028))
    assert [(r["time"], r["action"], r["cause"]) for r in old[-2:]] == [
        ("18:00:00", "on", "18:00"),
        ("00:00:00", "off", "period ends"),
    ]
    assert [(r["time"], r["action"], r["cause"]) for r in new[:2]] == [
        ("00:00:00", "on", "period begins"),
        ("06:00:00", "off", "06:00"),
    ]
    assert old[-1]["utc"] == new[0]["utc"] == "2028-01-01T07:00:00Z"
    whole = exact(text, "2027-12-31", "2028-01-01").day("2028-01-01")
    assert whole == "lit, 06:00 off, 18:00 on"


def test_the_first_morning_follows_the_calendar_of_the_year_before() -> None:
    text = site_text(
        DENVER,
        ["on from 18:00 until 22:00"],
        calendar=["every day: usual", "dec 31 evenings: party", "2027-12-31: dark"],
        types='party = ["on from 18:00 until 02:00"]',
    )
    assert (
        exact(text, "2027-01-01", "2027-01-31").day("2027-01-01")
        == "lit, 02:00 off, 18:00 on, 22:00 off"
    )
    assert exact(text, "2028-01-01", "2028-01-31").day("2028-01-01") == "18:00 on, 22:00 off"


def test_gaps_are_bridged_before_the_period_is_cut_out() -> None:
    windows = ["on from 18:00 until 23:55", "on from 00:05 until 01:00"]
    text = site_text(DENVER, windows, circuit='shortest_off = "15 min"')
    found = exact(text, "2027-01-01", "2027-01-31")
    assert found.table()[0]["cause"] == "period begins"
    assert found.day("2027-01-01") == "lit, 01:00 off, 18:00 on"
    assert found.table()[-1]["cause"] == "period ends"


@pytest.mark.parametrize("year", [2001, 2099])
def test_the_first_and_the_last_year_are_whole(year: int) -> None:
    text = site_text(DENVER, ["on from dusk until dawn"])
    found = exact(text, f"{year}-01-01", f"{year}-12-31")
    for day in (f"{year}-01-01", f"{year}-12-31"):
        told = found.day(day)
        assert told.startswith("lit, dawn 07:0")
        assert " off, dusk 16:5" in told or " off, dusk 17:0" in told


# Laws


quick = settings(deadline=None, max_examples=50)

HOURS = """\
mon-thu = "08:00-20:00"
fri = "18:00-02:30"
sat = "08:00-12:00, 17:00-24:00"
sun = "closed"
staff_before = "40 min"
staff_after = "45 min"
"""
WORLDS = (
    (DENVER, "2027-03-08", "2027-03-19"),
    (NEW_YORK, "2027-11-01", "2027-11-12"),
    (HAVANA, "2027-11-01", "2027-11-12"),
    (ANCHORAGE, "2027-05-12", "2027-05-23"),
    (FAIRBANKS, "2027-06-12", "2027-06-23"),
    (TROMSO, "2026-11-22", "2026-12-03"),
)


@lru_cache(maxsize=16)
def bare_site(place: Place) -> Site:
    """A site of this place with hours and one circuit; wishes are put in by hand."""
    site, _ = read(site_text(place, calendar=["every day: dark"], hours=HOURS))
    assert site is not None
    return site


@lru_cache(maxsize=64)
def world_of(place: Place, first: date, last: date) -> World:
    world, _ = read_world(bare_site(place), Period(first, last))
    assert world is not None
    return world


class Wishes:
    """A site at random and the facts its year is read against."""

    def __init__(self, site: Site, place: Place, period: Period) -> None:
        self.site = site
        self.place = place
        self.period = period

    def __repr__(self) -> str:
        return f"{self.place} {self.period} {self.site.day_types} {self.site.circuits}"

    @property
    def circuit(self) -> Circuit:
        return self.site.circuits[0]

    def year(self, site: Site | None = None, period: Period | None = None) -> Year:
        period = period or self.period
        return expand(site or self.site, world_of(self.place, period.first, period.last))

    def lamps(self, site: Site | None = None) -> CircuitYear:
        return self.year(site).circuits[0]


@st.composite
def wishes(draw: st.DrawFn, *, plain: bool = False) -> Wishes:
    """`plain`: a calendar only, without keep-dark, single periods and shortest lengths."""
    place, first_text, last_text = draw(st.sampled_from(WORLDS))
    first, last = date.fromisoformat(first_text), date.fromisoformat(last_text)
    types = tuple(
        DayType(name=name, windows=tuple(draw(strategies.wished_windows))) for name in "ab"
    )
    line = st.builds(
        CalendarLine, strategies.wished_dates(first, last), st.sampled_from(["a", "b", DARK])
    )
    calendar = draw(st.lists(line, min_size=1, max_size=4))
    one_off = st.builds(
        lambda stretch, lit: OneOff(circuit="Lot", lit=lit, stretch=stretch),
        strategies.wished_stretches(first, last),
        st.booleans(),
    )
    circuit = replace(bare_site(place).circuits[0], calendar=tuple(calendar))
    one_offs: list[OneOff] = []
    if not plain:
        minutes = st.sampled_from([0, 5, 15, 45])
        one_offs = draw(st.lists(one_off, max_size=3))
        circuit = replace(
            circuit,
            keep_dark=tuple(draw(strategies.wished_keep_dark(first, last))),
            shortest_on_seconds=60 * draw(minutes),
            shortest_off_seconds=60 * draw(minutes),
        )
    site = replace(bare_site(place), day_types=types, circuits=(circuit,), one_offs=tuple(one_offs))
    return Wishes(site, place, Period(first, last))


def ends(lamps: CircuitYear) -> list[tuple[Instant, Instant]]:
    return [(span.start, span.end) for span in lamps.spans]


def inside(lamps: CircuitYear, year: Year) -> list[tuple[Instant, Instant]]:
    """The spans as far as they lie in the period of a year."""
    cut = [(max(a, year.start), min(b, year.end)) for a, b in ends(lamps)]
    return [(a, b) for a, b in cut if a < b]


@quick
@given(wishes())
def test_spans_are_in_order_and_apart(case: Wishes) -> None:
    for lamps in case.year().circuits:
        assert all(a < b for a, b in ends(lamps))
        assert all(
            before.end < after.start
            for before, after in zip(lamps.spans, lamps.spans[1:], strict=False)
        )


@quick
@given(wishes())
def test_lit_and_dark_add_up_to_the_period(case: Wishes) -> None:
    year = case.year()
    rows = [row.instant for row in table_rows(year)]
    lit = sum(off - on for on, off in zip(rows[::2], rows[1::2], strict=True))
    dark_ends = [year.start, *rows, year.end]
    dark = sum(on - off for off, on in zip(dark_ends[::2], dark_ends[1::2], strict=True))
    assert lit + dark == year.end - year.start
    assert lit == seconds_lit(year.circuits[0], year.start, year.end)
    assert min(rows, default=year.start) >= year.start
    assert max(rows, default=year.end) <= year.end


@quick
@given(wishes())
def test_nothing_is_lit_that_must_stay_dark(case: Wishes) -> None:
    lamps = case.lamps()
    for stretch in lamps.dark:
        assert seconds_lit(lamps, stretch.start, stretch.end) == 0


@quick
@given(wishes())
def test_no_gap_and_no_span_is_shorter_than_wished_but_for_what_is_listed(case: Wishes) -> None:
    lamps, one_offs = case.lamps(), [o for o in case.site.one_offs if o.lit]
    gaps = [(a.end, b.start) for a, b in zip(lamps.spans, lamps.spans[1:], strict=False)]
    short = {gap for gap in gaps if gap[1] - gap[0] < case.circuit.shortest_off_seconds}
    assert short <= set(lamps.short_gaps)
    if not one_offs:
        assert all(b - a >= case.circuit.shortest_on_seconds for a, b in ends(lamps))


@quick
@given(wishes(plain=True), st.data())
def test_a_line_changes_only_dates_it_names_and_their_tails(
    case: Wishes, data: st.DataObject
) -> None:
    dates = data.draw(strategies.wished_dates(case.period.first, case.period.last))
    line = CalendarLine(dates, data.draw(st.sampled_from(["a", "b", DARK])))
    before = case.lamps()
    longer = replace(case.circuit, calendar=(*case.circuit.calendar, line))
    after = case.lamps(replace(case.site, circuits=(longer,)))
    # All that these dates could light, by whatever line.
    both = DayType(name="both", windows=tuple(w for t in case.site.day_types for w in t.windows))
    named = replace(case.circuit, calendar=(CalendarLine(dates, "both"),))
    touched = case.lamps(replace(case.site, circuits=(named,), day_types=(both,)))
    for start, end in differences(ends(before), ends(after)):
        assert seconds_lit(touched, start, end) == end - start


def differences(
    one: list[tuple[Instant, Instant]], other: list[tuple[Instant, Instant]]
) -> list[tuple[Instant, Instant]]:
    """The stretches in which just one of two lists of spans is lit."""
    flips = sorted(instant for spans in (one, other) for span in spans for instant in span)
    return [(a, b) for a, b in zip(flips[::2], flips[1::2], strict=True) if a < b]


@quick
@given(wishes())
def test_the_name_of_a_day_type_does_not_matter(case: Wishes) -> None:
    names = {"a": "zulu", "b": "a", DARK: DARK}
    calendar = tuple(replace(c, day_type=names[c.day_type]) for c in case.circuit.calendar)
    renamed = replace(
        case.site,
        day_types=tuple(replace(t, name=names[t.name]) for t in reversed(case.site.day_types)),
        circuits=(replace(case.circuit, calendar=calendar),),
    )
    assert ends(case.lamps(renamed)) == ends(case.lamps())


@quick
@given(wishes(), wishes())
def test_the_order_of_circuits_does_not_matter(case: Wishes, other: Wishes) -> None:
    sign = replace(other.circuit, name="Sign", channel=2)
    both = replace(case.site, circuits=(case.circuit, sign))
    forward = case.year(both)
    backward = case.year(replace(both, circuits=(sign, case.circuit)))
    for name in ("Lot", "Sign"):
        assert forward.circuit(name) == backward.circuit(name)
    alone = case.year()
    assert inside(forward.circuit("Lot"), alone) == inside(alone.circuits[0], alone)
    assert table_rows(forward) == table_rows(backward)


@quick
@given(wishes(plain=True), st.integers(0, 11), st.integers(0, 11))
def test_a_part_of_a_period_has_the_same_lamps(case: Wishes, begin: int, end: int) -> None:
    days = case.period.dates()
    part = case.year(period=Period(days[min(begin, end)], days[max(begin, end)]))
    whole = case.year()
    assert inside(part.circuits[0], part) == inside(whole.circuits[0], part)


@quick
@given(wishes(plain=True), strategies.wished_windows)
def test_another_window_never_darkens(case: Wishes, more: list[Window]) -> None:
    brighter = replace(
        case.site,
        day_types=tuple(replace(t, windows=(*t.windows, *more)) for t in case.site.day_types),
    )
    after = case.lamps(brighter)
    for start, end in ends(case.lamps()):
        assert seconds_lit(after, start, end) == end - start


@quick
@given(wishes(plain=True))
def test_every_day_dark_at_the_end_leaves_nothing(case: Wishes) -> None:
    dark = CalendarLine(DatesPhrase(EveryDay()), DARK)
    circuit = replace(case.circuit, calendar=(*case.circuit.calendar, dark))
    assert case.lamps(replace(case.site, circuits=(circuit,))).spans == ()
