"""Special days that stay when a program is renewed."""

from __future__ import annotations

from datetime import date, timedelta

from schedcomp.clock import zone
from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.fit.cells import cells_of
from schedcomp.fit.date_ranges import range_axis
from schedcomp.fit.firings import axis_of
from schedcomp.fit.kept_days import fewer, still_special, with_old
from schedcomp.fit.renewed import _tried
from schedcomp.fit.settled import Stored, StoredDays
from schedcomp.fit.timetable import Timetable
from schedcomp.fit.unit_job import UnitJob, Whole
from schedcomp.model import Action
from schedcomp.program import ClockStart, EventDates, Program, SpecialDays
from schedcomp.records import replace
from schedcomp.target import ChannelTarget
from schedcomp.unit_sun import UnitSun

FIRST = date(2028, 12, 1)
LAST = date(2029, 1, 31)
UTC = zone("UTC", FIRST, LAST)
QUIET = Controller(name="quiet", event_slots=9, exceptions=ExceptionSlots(slots=4))
CHRISTMAS, NEW_YEAR = date(2028, 12, 25), date(2029, 1, 1)


def job_for(controller: Controller, *special: date) -> UnitJob:
    start = UTC.first_pass(FIRST, 0)
    end = UTC.first_pass(LAST + timedelta(days=1), 0) - 1
    channel = ChannelTarget(
        channel=1,
        circuit="Lot",
        load_kw=1.0,
        start=start,
        end=end,
        lit_at_start=False,
        switchings=(),
        special=frozenset(special),
    )
    axis = axis_of(UTC, start, [end])
    return UnitJob((channel,), (), range_axis(controller, axis), controller, UTC)


def stored(first: tuple[int, int], last: tuple[int, int], plan: str = "empty") -> SpecialDays:
    return SpecialDays(slot=1, channels=(1,), dates=EventDates(first, last), plan=plan)


def test_dates_that_may_be_special_again_stay() -> None:
    """The date after a special one may be one too."""
    job = job_for(QUIET, CHRISTMAS, NEW_YEAR)
    old = [
        stored((12, 25), (12, 26)),
        stored((11, 23), (11, 23)),
        stored((12, 31), (1, 1)),
        stored((1, 1), (1, 1)),
        stored((12, 25), (12, 25), "A"),
    ]
    days = job.ranges.axis.dates
    found = [[days[n] for n in entry.days] for entry in still_special(old, job)]
    assert found == [[CHRISTMAS, CHRISTMAS + timedelta(days=1)], [NEW_YEAR]]


def test_only_where_special_days_do_nothing_by_themselves() -> None:
    old = [stored((12, 25), (12, 25))]
    assert len(still_special(old, job_for(QUIET, CHRISTMAS))) == 1
    for rule in (
        replace(QUIET.exceptions, plan="off"),
        replace(QUIET.exceptions, start="off"),
        replace(QUIET.exceptions, end="recalculates"),
        ExceptionSlots(),
    ):
        assert still_special(old, job_for(replace(QUIET, exceptions=rule), CHRISTMAS)) == ()


def test_dates_with_a_year_are_those_of_that_year() -> None:
    with_year = replace(QUIET, exceptions=replace(QUIET.exceptions, with_year=True))
    job = job_for(with_year, CHRISTMAS)
    dated = [
        replace(stored((12, 25), (12, 25)), dates=EventDates((12, 25), (12, 25), (year, year)))
        for year in (2027, 2028)
    ]
    [entry] = still_special([*dated, stored((12, 25), (12, 25))], job)
    assert [job.ranges.axis.dates[n] for n in entry.days] == [CHRISTMAS]


def test_old_days_take_the_place_of_those_that_overlap() -> None:
    def entry(*days: int, plan: str = "empty") -> StoredDays:
        at = (12, days[0])
        return StoredDays((1,), plan, EventDates(at, at), days)

    old, over, beside = entry(24, 25), entry(25), entry(28, plan="A")
    other_channel = replace_channels(entry(25), (2,))
    assert with_old((over, beside), ()) is None
    assert with_old((old, beside), (old,)) is None
    choice = with_old((over, beside, other_channel), (old,))
    assert choice == (old, other_channel, beside)
    assert list(fewer(choice, (old,))) == [(old, beside), (old, other_channel)]


def replace_channels(days: StoredDays, channels: tuple[int, ...]) -> StoredDays:
    return replace(days, channels=channels)


def test_a_plan_that_no_date_runs_is_not_keyed() -> None:
    job = job_for(QUIET, CHRISTMAS)
    cells = tuple(cells_of(channel) for channel in job.channels)
    planned = Stored((1,), Action.OFF, ClockStart(90), 127, None, plan="A")
    at = job.ranges.axis.dates.index(CHRISTMAS)
    days = StoredDays((1,), "A", EventDates((12, 25), (12, 25)), (at,))
    timetable = Timetable(QUIET, UTC, job.ranges.axis, UnitSun(()))
    old = Program(controller="quiet", events=())
    for special_days, count in (((days,), 1), ((), 0)):
        found = Whole((planned,), special_days, cells, cells, 1, 1)
        done = _tried(found, job, timetable, old, repeat=False)
        assert done is not None
        assert len(done.program.events) == len(done.program.special_days) == count
