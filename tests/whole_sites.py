"""Whole sites at random: any place with its zone, any wishes, any controller, any year."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta

from hypothesis import strategies as st

from schedcomp.controller import Controller
from schedcomp.controllerfile import builtin_controllers, controller_from_source, load_controller
from schedcomp.diag import Diagnostic, Source
from schedcomp.model import Half, Period
from schedcomp.phrases.printer import (
    print_calendar_line,
    print_dates,
    print_hours,
    print_keep_dark,
    print_stretch,
    print_sun_definition,
    print_window,
)
from schedcomp.phrases.tree import (
    CalendarLine,
    Clock,
    ClosedHours,
    DatedClock,
    DatedRange,
    Dates,
    DatesPhrase,
    Easter,
    EveryDay,
    Except,
    HolidayNamed,
    Holidays,
    HoursMoment,
    HoursValue,
    HoursWord,
    KeepDarkLine,
    Moment,
    MonthDay,
    Neighbour,
    OpenHours,
    Pair,
    SingleDate,
    Stretch,
    SunDefinition,
    SunLevel,
    SunMoment,
    SunWord,
    Weekdays,
    WeekdaysIn,
    Which,
    Window,
    YearlyRange,
)
from schedcomp.places import zones_at
from schedcomp.records import Record, replace
from schedcomp.site import DARK, Site
from schedcomp.sitefile import site_from_source
from tests import strategies

FIRST_DAY, LAST_DAY = date(2001, 1, 8), date(2099, 12, 20)
FARTHEST_DEGREES = 850_000
"""North and south, in ten-thousandths of a degree: nearer to the poles a site is refused."""

ODD_ZONES = (
    (40.6, -105.1), (51.5, -0.1), (53.3, -6.3), (-33.9, 151.2), (63.8, 20.3), (69.6, 18.9),
    (78.2, 15.6), (64.9, -147.9), (1.3, 103.8), (-31.55, 159.08), (-72.01, 2.54), (-43.95, -176.56),
    (27.7, 85.3), (-45.9, 170.5), (30.0, 31.2), (-33.4, -70.7), (23.1, -82.4), (37.7, -25.7),
    (33.9, 35.5), (47.6, -52.7), (-31.9, 128.9), (-13.8, -171.8), (1.87, -157.4), (33.6, -7.6),
    (-77.85, 166.7), (35.7, 51.4), (42.9, 74.6), (-23.5, -46.6), (66.5, 66.6), (64.2, -51.7),
)  # fmt: skip
"""Places whose clocks do something special in some year: half hours, two hours, changes at
midnight, a skipped day, none at all, summer time in winter."""


class WrittenCircuit(Record, kw_only=True):
    name: str
    channel: int
    calendar: tuple[CalendarLine, ...]
    keep_dark: tuple[KeepDarkLine, ...] = ()
    lines: tuple[tuple[str, object], ...] = ()
    """Further keys with their values."""

    def text(self) -> str:
        calendar = [print_calendar_line(line) for line in self.calendar]
        dark = [print_keep_dark(line) for line in self.keep_dark]
        return "".join(
            (
                f"[[circuit]]\nname = {json.dumps(self.name)}\nchannel = {self.channel}\n",
                f"calendar = {_listed(calendar)}\n",
                f"keep_dark = {_listed(dark)}\n" if dark else "",
                *(f"{key} = {_toml(value)}\n" for key, value in self.lines),
            )
        )


class WholeSite(Record, kw_only=True):
    """A site file in parts, a controller file and a period."""

    period: Period
    head: tuple[tuple[str, object], ...]
    day_types: tuple[tuple[str, tuple[Window, ...]], ...]
    circuits: tuple[WrittenCircuit, ...]
    hours: tuple[tuple[str, str], ...] = ()
    holidays: str = ""
    one_offs: tuple[tuple[str, bool, Stretch], ...] = ()
    unit_location: str = ""
    controller_text: str

    @property
    def site_text(self) -> str:
        types = ((name, [print_window(w) for w in windows]) for name, windows in self.day_types)
        hours = [f"{json.dumps(key)} = {_toml(value)}\n" for key, value in self.hours]
        singles = (
            f"[[one_off]]\ncircuit = {json.dumps(circuit)}\n{'lit' if lit else 'dark'} = "
            f'"{print_stretch(stretch)}"\n'
            for circuit, lit, stretch in self.one_offs
        )
        return "".join(
            (
                "schedcomp = 1\n[site]\n",
                *(f"{key} = {_toml(value)}\n" for key, value in self.head),
                self.holidays,
                *(("[hours]\n", *hours) if hours else ()),
                "[day_types]\n",
                *(f"{json.dumps(name)} = {_listed(windows)}\n" for name, windows in types),
                *(circuit.text() for circuit in self.circuits),
                *singles,
                self.unit_location,
            )
        )

    def site(self) -> tuple[Site | None, tuple[Diagnostic, ...]]:
        return site_from_source(Source("site.toml", self.site_text))

    def controller(self) -> tuple[Controller | None, tuple[Diagnostic, ...]]:
        if self.controller_text in builtin_controllers():
            return load_controller(self.controller_text)
        return controller_from_source(Source("unit.toml", self.controller_text))

    def with_line(self, line: CalendarLine) -> WholeSite:
        """The first circuit with one calendar line more."""
        first = self.circuits[0]
        longer = replace(first, calendar=(*first.calendar, line))
        return replace(self, circuits=(longer, *self.circuits[1:]))

    def with_types_renamed(self) -> WholeSite:
        """Every day type under another name, and the types in the opposite order."""
        names = {name: f"z{99 - number}" for number, (name, _) in enumerate(self.day_types)}
        return replace(
            self,
            day_types=tuple((names[name], w) for name, w in reversed(self.day_types)),
            circuits=tuple(
                replace(
                    circuit,
                    calendar=tuple(
                        replace(line, day_type=names.get(line.day_type, DARK))
                        for line in circuit.calendar
                    ),
                )
                for circuit in self.circuits
            ),
        )

    def with_circuits_reversed(self) -> WholeSite:
        return replace(self, circuits=self.circuits[::-1])

    def __repr__(self) -> str:
        return f"{self.period}\n{self.site_text}\n{self.controller_text}"


def _toml(value: object) -> str:
    return json.dumps(value, ensure_ascii=False)


def _listed(texts: Sequence[str]) -> str:
    return "[" + ", ".join(_toml(text) for text in texts) + "]"


# Where


def _with_zone(place: tuple[float, float]) -> tuple[float, float, str]:
    """With the zone in use there; out at sea with that of an odd place."""
    zones = [zone for zone in zones_at(*place) if not zone.startswith("Etc/")]
    if zones:
        return (*place, zones[0])
    return (*place, zones_at(*min(ODD_ZONES, key=lambda odd: abs(odd[1] - place[1])))[0])


def _degrees(limit: int) -> st.SearchStrategy[float]:
    return st.integers(-limit, limit).map(lambda n: n / 10_000)


places: st.SearchStrategy[tuple[float, float, str]] = st.one_of(
    st.sampled_from(ODD_ZONES),
    st.tuples(_degrees(FARTHEST_DEGREES), _degrees(1_800_000)),
    st.tuples(_degrees(600_000), _degrees(1_800_000)),
).map(_with_zone)

# When


@st.composite
def periods(draw: st.DrawFn, longest_days: int) -> Period:
    """Some days or a whole calendar year anywhere in the century, a quarter near a clock change."""
    first = draw(st.dates(FIRST_DAY, LAST_DAY))
    if longest_days >= 365:
        return Period(date(first.year, 1, 1), date(first.year, 12, 31))
    if draw(st.integers(0, 3)) == 0:
        month, day = draw(st.sampled_from([(3, 5), (3, 24), (10, 20), (10, 29), (12, 24), (2, 24)]))
        first = date(first.year, month, day)
    last = first + timedelta(days=draw(st.integers(0, longest_days - 1)))
    return Period(min(first, LAST_DAY), min(last, LAST_DAY))


# Wishes

_minutes = st.sampled_from([0, 0, 15, 30, 20, 45, -15, -30, 60, 90, 7])
_quarters = st.integers(0, 95).map(lambda quarter: Clock(quarter * 15))
_evening_clocks = st.sampled_from([20, 21, 22, 23, 0, 1, 2]).map(lambda hour: Clock(hour * 60))
_gap_clocks = st.integers(1, 13).map(lambda n: Clock(n * 15))
_sun_moments = st.builds(SunMoment, st.sampled_from(SunWord), _minutes)
_hours_moments = st.builds(
    HoursMoment, st.sampled_from(HoursWord), _minutes, st.none() | _evening_clocks
)
_members = st.one_of(_quarters, _sun_moments, _hours_moments)
_moments: st.SearchStrategy[Moment] = st.one_of(
    _quarters,
    _gap_clocks,
    _sun_moments,
    _hours_moments,
    st.builds(Pair, st.sampled_from(Which), _members, _members),
)
_dusks = st.sampled_from([SunMoment(SunWord.DUSK), SunMoment(SunWord.SUNSET, 15)])
_dawns = st.sampled_from([SunMoment(SunWord.DAWN), SunMoment(SunWord.SUNRISE, -10)])
_openings = st.sampled_from([HoursMoment(HoursWord.ARRIVE, 0, Clock(330)), Clock(300), Clock(345)])
_closings: st.SearchStrategy[Moment] = st.one_of(
    _evening_clocks,
    st.builds(HoursMoment, st.just(HoursWord.CLOSE), _minutes, _evening_clocks),
    st.builds(
        Pair,
        st.sampled_from(Which),
        st.builds(HoursMoment, st.just(HoursWord.LEAVE), _minutes),
        _evening_clocks,
    ),
)
windows: st.SearchStrategy[Window] = st.one_of(
    st.builds(Window, _dusks, _closings),
    st.builds(Window, _dusks, _dawns),
    st.builds(Window, _openings, _dawns),
    st.builds(Window, _moments, _moments),
)


# Dates are drawn as functions of the period, so that Hypothesis builds each strategy only once.

InPeriod = Callable[[Period], Dates]


def _fixed(dates: Dates) -> InPeriod:
    return lambda _: dates


def _day(period: Period, share: int) -> date:
    """The date after so many ten-thousandths of a period."""
    return period.first + timedelta(days=(period.last - period.first).days * share // 10_000)


def _month_day(period: Period, share: int) -> MonthDay:
    day = _day(period, share)
    return MonthDay(day.month, day.day)


_shares = st.integers(0, 10_000)
_weekdays = st.one_of(
    st.sampled_from([(0, 1, 2, 3, 4), (5, 6), (4,), (4, 5)]).map(Weekdays), strategies.weekday_sets
)
_yearly = st.builds(
    lambda a, b: lambda period: YearlyRange(_month_day(period, a), _month_day(period, b)),
    _shares,
    _shares,
)
_single: st.SearchStrategy[InPeriod] = st.one_of(
    _shares.map(lambda n: lambda period: SingleDate(_day(period, n))),
    _shares.map(lambda n: lambda period: _month_day(period, n)),
    st.one_of(
        strategies.nth_weekdays,
        st.builds(Easter, st.integers(-60, 60)),
        st.just(Holidays()),
        st.just(HolidayNamed("Founders' Day", False)),
    ).map(_fixed),
)
_base: st.SearchStrategy[InPeriod] = st.one_of(
    _weekdays.map(_fixed),
    _single,
    _yearly,
    st.tuples(_shares, _shares).map(
        lambda ends: lambda period: DatedRange(_day(period, min(ends)), _day(period, max(ends)))
    ),
    st.builds(
        lambda days, within: lambda period: WeekdaysIn(days, within(period)), _weekdays, _yearly
    ),
    st.builds(
        lambda step, of: lambda period: Neighbour(step, of(period)),
        st.sampled_from((-1, 1)),
        _single,
    ),
    strategies.whole_months.map(_fixed),
)
site_dates: st.SearchStrategy[InPeriod] = st.one_of(
    _base,
    st.builds(
        lambda base, without: lambda period: Except(base(period), without(period)),
        _base | st.just(_fixed(EveryDay())),
        _single | _weekdays.map(_fixed),
    ),
)
"""Dates that people write, most of them with something in the period."""

_lines = st.tuples(
    site_dates, st.sampled_from([None, None, Half.EVENING, Half.MORNING]), st.integers(0, 4)
)
LineInPeriod = tuple[InPeriod, Half | None, int]


def calendar_line(drawn: LineInPeriod, period: Period, types: Sequence[str]) -> CalendarLine:
    dates, half, number = drawn
    names = [*types, DARK]
    return CalendarLine(DatesPhrase(dates(period), half), names[number % len(names)])


_hours_values: st.SearchStrategy[HoursValue] = st.one_of(
    st.sampled_from(
        [
            OpenHours(((Clock(480), Clock(1200)),)),
            OpenHours(((Clock(600), Clock(60)),)),
            OpenHours(((Clock(480), Clock(720)), (Clock(840), Clock(1320)))),
            OpenHours(((Clock(0), Clock(1440)),)),
            ClosedHours(),
        ]
    ),
    strategies.hours_values,
)
_levels = st.one_of(
    st.builds(SunDefinition, st.just(SunLevel(-6.0)), st.just(0)),
    st.builds(SunDefinition, st.just(SunLevel(-1.5)), _minutes),
)


_further: st.SearchStrategy[dict[str, object]] = st.fixed_dictionaries(
    {},
    optional={
        "shortest_on": st.sampled_from(["1 min", "10 min", "45 min"]),
        "shortest_off": st.sampled_from(["1 min", "15 min", "45 min"]),
        "tolerance": st.sampled_from(["0 min", "3 min", "8 min"]),
        "load_kw": st.sampled_from([0.4, 6.4]),
        "override_minutes": st.sampled_from([0, 30]),
        "photocell": st.sampled_from(["none", "series", "parallel"]),
        "serves": st.sampled_from(["people", "sign"]),
    },
)
_dark_lines = st.lists(
    st.tuples(
        site_dates,
        st.builds(Window, _moments, _moments)
        | st.builds(Window, st.sampled_from([Clock(0), Clock(1380), Clock(60)]), _gap_clocks),
    ),
    max_size=1,
)
_drawn_circuits = st.tuples(st.integers(0, 3), st.lists(_lines, max_size=4), _dark_lines, _further)


def _circuit(
    drawn: tuple[int, list[LineInPeriod], list[tuple[InPeriod, Window]], dict[str, object]],
    number: int,
    period: Period,
    types: Sequence[str],
) -> WrittenCircuit:
    usual, lines, dark, further = drawn
    return WrittenCircuit(
        name=f"circuit {number}",
        channel=number,
        calendar=(
            CalendarLine(DatesPhrase(EveryDay()), types[usual % len(types)]),
            *(calendar_line(line, period, types) for line in lines),
        ),
        keep_dark=tuple(KeepDarkLine(DatesPhrase(dates(period)), w) for dates, w in dark),
        lines=tuple(further.items()),
    )


# Controllers

_SUN_STARTS = (
    '["clock", "sunrise", "sunset"]',
    '["clock"]',
    '["clock", "sunrise", "sunset"]',
    '["sunrise", "sunset"]',
    '["clock", "civil dawn", "civil dusk", "sunset", "sunrise"]',
    '["clock", "dusk at 4 deg", "dawn at 4 deg"]',
)
_PROPERTIES: dict[str, Sequence[str]] = {
    "slots_are": ('"shared"', '"per channel"'),
    "slot_holds": ('"one action"', '"one action"', '"an on and an off"'),
    "step_minutes": ("1", "1", "5", "15", "30"),
    "starts_at": _SUN_STARTS,
    "offsets": ('"per event"', '"per event"', '"per channel"', '"one for all"'),
    "offset_step_minutes": ("1", "1", "5", "15"),
    "offset_limit_minutes": ("120", "60", "30", "0"),
    "weekdays": (
        '"any set"', '"any set"', '"each day"', '"all only"', '"single days or all"', '"one day"',
        '["all", "mon-fri", "sat, sun"]',
    ),
    "weekday_set_costs": ('"one slot"', '"a slot per day"'),
    "date_ranges": ('"yearly"', '"yearly"', '"yearly no wrap"', '"with year"', '"none"'),
    "skipped_time": ('"at the jump"', '"lost"'),
    "repeated_time": ('"once"', '"twice"'),
    "sun_date": ('"fires on"', '"event on"', '"evening"', '"not known"'),
    "no_sun_event": ('"does not fire"', '"not known"'),
    "location_entry": ('"0.01 degree"', '"minute"', '"whole degree"', '"city list"'),
    "after_power_loss": (
        '"works out the state"', '"keeps the last state"', '"waits for the next event"',
    ),
    "reserve_hours": ("0", "10", "100"),
    "override_ends": ('"next event"', '"after minutes"', '"by hand"'),
    "event_covers": ('"one channel"', '"one channel"', '"any channels"'),
    "sun_error_minutes": ("2", "0", "1", "5"),
    "sun_error_degrees": ("0.1", "0", "0", "0.5"),
    "clock_error_minutes": ("0", "2"),
    "entry_order": ('["clock", "location", "events"]', '["events", "clock"]'),
}  # fmt: skip
_EXCEPTIONS: dict[str, Sequence[str]] = {
    "length": ('"range"', '"single date"'),
    "start": ('"keeps state"', '"off"', '"recalculates"'),
    "end": ('"keeps state"', '"off"', '"recalculates"'),
    "with_year": ("true", "false"),
    "covers": ('"one channel"', '"all channels"'),
}


def _some(properties: dict[str, Sequence[str]]) -> st.SearchStrategy[dict[str, str]]:
    optional = {key: st.sampled_from(values) for key, values in properties.items()}
    return st.fixed_dictionaries({}, optional=optional)


_plans = st.sampled_from(
    [
        {"plan": '"off"'},
        {"plan": '"own events"'},
        {"plan": '"own events"', "events_from": '"event_slots"'},
        {"plan_events": "6", "plans": "2"},
        {},
    ]
)
_special_days = st.tuples(
    st.fixed_dictionaries({"slots": st.sampled_from(["8", "1", "3"])}), _some(_EXCEPTIONS), _plans
)
_clocks = st.sampled_from(
    [
        {},
        {"clock": '"standard"'},
        {"clock": '"local"', "summer_time": '"by hand"'},
        {"summer_time": '"dates"'},
    ]
)
_made_up_controllers = st.tuples(
    st.sampled_from([64, 16, 8, 28, 48, 100, 4, 2]),
    st.integers(0, 2),
    _some(_PROPERTIES),
    _clocks,
    st.none() | st.none() | _special_days,
)
_drawn_controllers = st.one_of(st.sampled_from(builtin_controllers()), *[_made_up_controllers] * 4)
_CHANNELS = {
    name: controller.channels
    for name, (controller, _) in ((n, load_controller(n)) for n in builtin_controllers())
    if controller is not None
}
DrawnController = (
    str
    | tuple[
        int,
        int,
        dict[str, str],
        dict[str, str],
        tuple[dict[str, str], dict[str, str], dict[str, str]] | None,
    ]
)


def _controller_text(drawn: DrawnController, circuits: int) -> str:
    """A controller file, or the name of a class that is built in."""
    if isinstance(drawn, str):
        return drawn if circuits <= _CHANNELS[drawn] else max(_CHANNELS, key=_CHANNELS.__getitem__)
    slots, spare_channels, properties, clock, special = drawn
    keys = {
        "name": '"made up"',
        "event_slots": str(slots),
        "channels": str(circuits + spare_channels),
        **properties,
        **clock,
    }
    if int(keys.get("offset_limit_minutes", 120)) < int(keys.get("offset_step_minutes", 1)):
        keys["offset_limit_minutes"] = "0"
    if special is not None:
        inside = {key: value for part in special for key, value in part.items()}
        pairs = ", ".join(f"{key} = {value}" for key, value in inside.items())
        keys["exceptions"] = f"{{ {pairs} }}"
    return "schedcomp_controller = 1\n" + "".join(f"{k} = {v}\n" for k, v in keys.items())


# All of it

_COUNTRIES = ("US", "GB", "AU", "NO", "JP", "CL", "DE", "EG")
_day_types = st.lists(st.lists(windows, min_size=1, max_size=2).map(tuple), min_size=1, max_size=4)
_heads = st.fixed_dictionaries(
    {},
    optional={
        "favour": st.sampled_from(["light", "dark", "even"]),
        "spare": st.sampled_from(["safety", "none"]),
        "dusk": _levels.map(print_sun_definition),
        "dawn": _levels.map(print_sun_definition),
    },
)
_tolerances: st.SearchStrategy[dict[str, str]] = st.sampled_from(
    [{"tolerance": f"{n} min"} for n in (3, 5, 10, 15, 0)]
    + [{"tolerance_limit": "5 min"}, {"tolerance_limit": "15 min"}, {}]
)
_one_offs = st.lists(
    st.tuples(st.integers(0, 2), st.booleans(), _shares, _quarters, st.integers(0, 2), _quarters),
    max_size=2,
)
_hours = st.lists(st.tuples(site_dates, _hours_values), max_size=3)
_holidays = st.tuples(
    _shares, st.none() | st.tuples(st.sampled_from(_COUNTRIES), st.sampled_from(["true", "false"]))
)
_away = st.none() | st.none() | st.tuples(st.integers(-20, 20), st.integers(-20, 20))


@st.composite
def whole_sites(draw: st.DrawFn, longest_days: int = 14) -> WholeSite:
    """Every part of a site; `longest_days` from 365 on make it whole calendar years."""
    latitude, longitude, zone = place = draw(places)
    period = draw(periods(longest_days))
    windows_of_types = draw(_day_types)
    names = ("usual", "late", "sports", "fair")[: len(windows_of_types)]
    circuits = tuple(
        _circuit(drawn, number, period, names)
        for number, drawn in enumerate(draw(st.lists(_drawn_circuits, min_size=1, max_size=3)), 1)
    )
    head: dict[str, object] = {
        "name": "Made-up lot",
        "latitude": latitude,
        "longitude": longitude,
        "timezone": zone,
    }
    hours = draw(st.none() | _hours | _hours)
    made = WholeSite(
        period=period,
        head=tuple((head | draw(_heads) | draw(_tolerances)).items()),
        day_types=tuple(zip(names, windows_of_types, strict=True)),
        circuits=circuits,
        hours=() if hours is None else _hours_lines(hours, period),
        holidays=_holiday_line(draw(_holidays), period),
        one_offs=tuple(_single_nights(draw(_one_offs), circuits, period)),
        unit_location=_unit_location(draw(_away), place),
        controller_text=_controller_text(draw(_drawn_controllers), len(circuits)),
    )
    return made if hours is not None else _without_hours(made)


def _without_hours(made: WholeSite) -> WholeSite:
    """Without the windows that mean nothing at a place without opening hours."""
    return replace(
        made,
        day_types=tuple(
            (name, tuple(w for w in of if not _needs_hours(w))) for name, of in made.day_types
        ),
        circuits=tuple(
            replace(c, keep_dark=tuple(k for k in c.keep_dark if not _needs_hours(k.window)))
            for c in made.circuits
        ),
    )


def _needs_hours(window: Window) -> bool:
    return any(
        isinstance(member, HoursMoment) and member.fallback is None
        for moment in (window.start, window.end)
        for member in ((moment.first, moment.second) if isinstance(moment, Pair) else (moment,))
    )


def _hours_lines(
    drawn: list[tuple[InPeriod, HoursValue]], period: Period
) -> tuple[tuple[str, str], ...]:
    lines = {print_dates(dates(period)): print_hours(value) for dates, value in drawn}
    staff = {"staff_before": "40 min", "staff_after": "45 min"}
    return tuple({"every day": "07:00-20:00", **lines, **staff}.items())


def _holiday_line(drawn: tuple[int, tuple[str, str] | None], period: Period) -> str:
    share, country = drawn
    keys = [f'add = {{ "Founders\' Day" = "{_day(period, share)}" }}']
    if country is not None:
        keys += [f'country = "{country[0]}"', f"observed = {country[1]}"]
    return f"holidays = {{ {', '.join(keys)} }}\n"


def _single_nights(
    drawn: list[tuple[int, bool, int, Clock, int, Clock]],
    circuits: Sequence[WrittenCircuit],
    period: Period,
) -> Iterator[tuple[str, bool, Stretch]]:
    for circuit, lit, share, start, length, end in drawn:
        first = _day(period, share)
        if length or start.minutes < end.minutes:
            stretch = Stretch(
                DatedClock(first, start), DatedClock(first + timedelta(days=length), end)
            )
            yield circuits[circuit % len(circuits)].name, lit, stretch


def _unit_location(away: tuple[int, int] | None, place: tuple[float, float, str]) -> str:
    """A unit keyed for a place nearby, mostly none."""
    if away is None:
        return ""
    north = max(-85.0, min(85.0, place[0] + away[0] / 100))
    east = max(-180.0, min(180.0, place[1] + away[1] / 100))
    return f'[[unit]]\nlabel = "Panel A"\nunit_location = [{north:.2f}, {east:.2f}]\n'
