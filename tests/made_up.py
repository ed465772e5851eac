"""Compilations made by hand: four dates at Denver around the spring change, two circuits.

`COMPILED` has names that would harm a spreadsheet, `NOT_FITTING` no program, and
`WITH_SPECIAL_DAYS` special days with a plan, safety repeats, mishaps and a date until when all is
right, under names as people give them.
"""

from __future__ import annotations

from datetime import date, timedelta

from schedcomp.audit_report import (
    AuditReport,
    Difference,
    Mishaps,
    MissedEvent,
    Overlap,
    PowerCut,
    Run,
)
from schedcomp.clock import zone
from schedcomp.compiled import Compiled
from schedcomp.controller import Controller, ExceptionSlots, SunStart
from schedcomp.energy import energy_of, nights_without_light
from schedcomp.holiday_list import Holiday, HolidayList
from schedcomp.later import FirstWrong, GoodUntil
from schedcomp.model import HOUR, MINUTE, ONE_DAY, Action, Half, Instant, Period
from schedcomp.phrases.tree import (
    CalendarLine,
    Clock,
    ClosedHours,
    DatesPhrase,
    EveryDay,
    Holidays,
    OpenHours,
    SunDefinition,
    SunLevel,
    SunWord,
    Weekdays,
)
from schedcomp.places import whereabouts
from schedcomp.program import (
    PLAIN_DARK,
    Certificate,
    ClockStart,
    Deviation,
    Event,
    EventDates,
    Fitted,
    Program,
    SpecialDays,
    SunOffset,
)
from schedcomp.promises import PromiseVerdict
from schedcomp.records import replace
from schedcomp.site import Assumption, Circuit, Hours, HoursLine, Site, Unit
from schedcomp.sun import site_sun
from schedcomp.target import Changed, ChannelTarget, Target, TargetSwitching
from schedcomp.versions import Versions
from schedcomp.world import World
from schedcomp.year import (
    Bound,
    Cause,
    CircuitYear,
    Decided,
    EmptyWindow,
    Reason,
    Span,
    Year,
)

PERIOD = Period(date(2027, 3, 12), date(2027, 3, 15))
ZONE = zone("America/Denver", PERIOD.first, PERIOD.last)
START = ZONE.first_pass(PERIOD.first, 0)
END = ZONE.first_pass(PERIOD.last + ONE_DAY, 0)
VERSIONS = Versions(schedcomp="0.0", tzdata="2026.6", holidays="0.60", ephemeris="DE440")

YARD = '=HYPERLINK("x") Yard'
SIGN = '@Sign, "west"\nside'


def at(text: str) -> Instant:
    """`03-14 02:30` of 2027 on the local clock."""
    day, reading = text.split()
    month, number = day.split("-")
    hours, minutes = reading.split(":")
    seconds = int(hours) * HOUR + int(minutes) * MINUTE
    return ZONE.first_pass(date(2027, int(month), int(number)), seconds)


def reason(phrase: str, instant: Instant, cause: Cause = Cause.WINDOW) -> Reason:
    day = ZONE.local_date(instant)
    line = "every day: usual"
    return Reason(cause, phrase, day, Bound(((instant, False),)), "usual", line)


def span(start: str, end: str, end_cause: Cause = Cause.WINDOW) -> Span:
    begin, stop = at(start), at(end)
    words = {Cause.WINDOW: "23:00", Cause.KEEP_DARK: "00:30", Cause.ONE_OFF: "=sale"}
    return Span(
        begin,
        stop,
        reason("dusk (sunset + 15 min)", begin),
        reason(words[end_cause], stop, end_cause),
    )


POLES = CircuitYear(
    circuit="Lot poles",
    channel=1,
    spans=(
        span("03-10 18:14", "03-10 23:00"),
        span("03-11 23:30", "03-12 01:00"),
        span("03-12 18:15", "03-12 23:00"),
        span("03-13 18:16", "03-14 00:30", Cause.KEEP_DARK),
        span("03-15 22:00", "03-16 02:00", Cause.ONE_OFF),
        span("03-16 19:18", "03-16 23:00"),
    ),
    decided=tuple(
        Decided(day, half, 1 if day == date(2027, 3, 14) else 0)
        for day in PERIOD.dates()
        for half in Half
    ),
    empty=(
        EmptyWindow(date(2027, 3, 13), "on from 23:00 until dusk", "end before start", 0),
        EmptyWindow(date(2027, 3, 12), "on from 23:00 until dusk", "end before start", 0),
        EmptyWindow(date(2027, 3, 14), "on from open until 09:00", "no such hours", 0),
    ),
    bridged=((at("03-12 19:00"), at("03-12 19:05")), (at("03-20 19:00"), at("03-20 19:05"))),
)
SIGNS = CircuitYear(
    circuit=SIGN,
    channel=2,
    spans=(
        span("03-12 18:15", "03-12 22:00"),
        span("03-15 23:59", "03-16 00:00"),
    ),
    decided=tuple(
        Decided(day, half, None if day == date(2027, 3, 13) else 0)
        for day in PERIOD.dates()
        for half in Half
    ),
)
YEAR = Year(period=PERIOD, start=START, end=END, circuits=(POLES, SIGNS))

USUAL = CalendarLine(DatesPhrase(EveryDay()), "usual")
HOLIDAYS = CalendarLine(DatesPhrase(Holidays()), "dark")

SITE = Site(
    name=YARD,
    latitude_degrees=40.5853,
    longitude_degrees=-111.6,
    timezone="America/Denver",
    timezone_given=False,
    dusk=SunDefinition(SunWord.SUNSET, 15),
    dawn=SunDefinition(SunLevel(-1.5, 200.0)),
    hours=Hours(
        lines=(
            HoursLine(
                dates=DatesPhrase(Weekdays((0, 1, 2, 3, 4))),
                value=OpenHours(((Clock(480), Clock(720)), (Clock(840), Clock(1440)))),
                text="08:00-12:00, 14:00-24:00",
            ),
            HoursLine(dates=DatesPhrase(Holidays()), value=ClosedHours(), text="closed"),
        ),
        staff_before_minutes=40,
    ),
    circuits=(
        Circuit(
            name="Lot poles",
            channel=1,
            load_kw=6.4,
            lamps="40 x 160 W",
            serves="people",
            photocell="none",
            override_minutes=30,
            calendar=(USUAL, HOLIDAYS),
        ),
        Circuit(name=SIGN, channel=2, calendar=(USUAL,)),
    ),
    units=(
        Unit(label="Panel A", where="dock, north wall"),
        Unit(label="Panel B", location_degrees=(40.58, -111.61)),
    ),
    price_per_kwh=0.14,
    currency="USD",
    folder="somewhere",
)

CONTROLLER = Controller(
    name="sun-yearly-64",
    event_slots=64,
    channels=4,
    sun_starts=(
        SunStart(word="sunrise", half=Half.MORNING, level_degrees=-0.8333),
        SunStart(word="sunset", half=Half.EVENING, level_degrees=-0.8333),
    ),
    weekday_sets=(frozenset(range(7)), frozenset({5, 6})),
    assumed=("clock_error_minutes",),
)

PROGRAM = Program(
    controller="sun-yearly-64",
    events=(
        Event(
            slot=1,
            channels=(1,),
            action=Action.ON,
            start=SunOffset("sunset", -15),
            purpose='=1+1 "evening"\tON\r\nfrom dusk',
        ),
        Event(
            slot=2,
            channels=(1,),
            action=Action.OFF,
            start=ClockStart(23 * 60),
            weekdays=frozenset({6, 0, 2}),
            dates=EventDates((11, 20), (1, 6)),
        ),
        Event(
            slot=3,
            channels=(2,),
            action=Action.OFF,
            start=ClockStart(5),
            dates=EventDates((12, 24), (1, 2), (2027, 2028)),
            purpose="single nights",
        ),
    ),
)


def channel_target(circuit: CircuitYear, load_kw: float, *changed: Changed) -> ChannelTarget:
    """Every switching from the period's start to the first OFF at or after its end."""
    inside = [s for s in circuit.switchings() if s.instant >= START]
    last = next(i for i, s in enumerate(inside) if s.action is Action.OFF and s.instant >= END)
    return ChannelTarget(
        channel=circuit.channel,
        circuit=circuit.circuit,
        load_kw=load_kw,
        start=START,
        end=inside[last].instant,
        lit_at_start=circuit.is_lit(START),
        switchings=tuple(
            TargetSwitching(s.instant, s.action, s.instant - 180, s.instant, s.reason)
            for s in inside[: last + 1]
        ),
        changed=changed,
        tolerance_minutes=3,
    )


DROPPED = Changed(
    "span dropped", at("03-13 18:16"), at("03-13 18:16") + 40, reason("00:30", at("03-13 18:16"))
)
TARGET = Target(
    start=START,
    end=END,
    channels=(channel_target(POLES, 6.4, DROPPED), channel_target(SIGNS, 0.0)),
)


def run(name: str, *differences: Difference, early: int = 0, late: int = 0) -> Run:
    """Every ON `early` seconds early, every OFF `late` seconds late."""
    shift = {Action.ON: -early, Action.OFF: late}
    return Run(
        name=name,
        differences=differences,
        worst_early_seconds=early,
        worst_early_at=at("03-12 18:15") if early else None,
        worst_late_seconds=late,
        worst_late_at=at("03-12 01:00") if late else None,
        switchings=tuple(
            (
                channel.channel,
                tuple((s.instant + shift[s.action], s.action, 1) for s in channel.switchings),
            )
            for channel in TARGET.channels
        ),
    )


AUDIT = AuditReport(
    runs=(
        run("sun exact", late=7),
        run("sun early", early=120),
        run("sun late", late=60),
        run("sun early, opposite start", early=170),
    ),
    overlaps=(),
    interval_differences=(),
)

DISAGREEING = AuditReport(
    runs=(
        run("sun exact"),
        run("sun late", Difference("extra", 1, Action.ON, None, at("03-14 20:00")), late=900),
    ),
    overlaps=(Overlap(1, 1, 2, at("03-14 20:00"), at("03-14 20:05")),),
    interval_differences=(Difference("missing", 1, Action.OFF, at("03-12 23:00"), None),),
)

COMPILED = Compiled(
    site=SITE,
    controller=CONTROLLER,
    world=World(
        period=PERIOD,
        zone=ZONE,
        sun=site_sun(
            SITE.latitude_degrees,
            SITE.longitude_degrees,
            ZONE,
            PERIOD.first - timedelta(days=3),
            PERIOD.last + timedelta(days=3),
        ),
        holidays=HolidayList(
            holidays=(
                Holiday(day=date(2027, 3, 14), name="Founders' Day", added=True),
                Holiday(day=date(2027, 7, 5), name="Independence Day", observed=True),
            ),
            removed=(Holiday(day=date(2027, 2, 15), name="Presidents' Day"),),
            source="US",
            observed=True,
            given=True,
        ),
        hours=None,
        whereabouts=whereabouts(SITE.latitude_degrees, SITE.longitude_degrees),
    ),
    year=YEAR,
    target=TARGET,
    fitted=Fitted(
        program=PROGRAM,
        certificate=Certificate(slots=3, bound=3, tolerance_minutes=3),
        slots_needed=3,
        tolerance_minutes=3,
    ),
    audit=AUDIT,
    promises=(
        PromiseVerdict(
            circuit="Lot poles",
            text="every day 20:00: lit",
            instant=at("03-12 20:00"),
            wanted_lit=True,
            year_lit=True,
            run_lit=True,
        ),
    ),
    energy=energy_of(SITE, YEAR, ZONE),
    assumed=(Assumption(topic="dusk", text="sunset + 15 min"),),
    nights_without_light=nights_without_light(YEAR, ZONE),
)

NOT_FITTING = replace(
    COMPILED,
    fitted=Fitted(program=None, certificate=None, slots_needed=71, tolerance_minutes=10),
    audit=None,
)

# With special days

PLAIN_SITE = replace(
    SITE,
    name="Sample garden store",
    circuits=(SITE.circuits[0], replace(SITE.circuits[1], name="Sign")),
)
PLAIN_YEAR = replace(YEAR, circuits=(POLES, replace(SIGNS, circuit="Sign")))
PLAIN_TARGET = replace(
    TARGET, channels=(TARGET.channels[0], replace(TARGET.channels[1], circuit="Sign"))
)

SPECIAL_CONTROLLER = replace(
    CONTROLLER,
    weekday_sets=None,
    exceptions=ExceptionSlots(slots=16, covers="one channel", plan_events=8, plans=4),
    event_covers="any channels",
    reserve_hours=10.0,
)

SPECIAL_PROGRAM = Program(
    controller=SPECIAL_CONTROLLER.name,
    events=(
        Event(
            slot=1,
            channels=(1, 2),
            action=Action.ON,
            start=SunOffset("sunset", 15),
            purpose="ON at dusk",
        ),
        Event(
            slot=2,
            channels=(1,),
            action=Action.OFF,
            start=ClockStart(23 * 60),
            weekdays=frozenset({6, 0, 1, 2, 3}),
            dates=EventDates((11, 20), (1, 6)),
            purpose="OFF at 23:00",
        ),
        Event(
            slot=3,
            channels=(2,),
            action=Action.OFF,
            start=ClockStart(22 * 60),
            dates=EventDates((12, 24), (1, 2), (2027, 2028)),
            purpose="OFF at 22:00",
            only_year=2027,
        ),
        Event(
            slot=4,
            channels=(1,),
            action=Action.OFF,
            start=ClockStart(12 * 60),
            purpose="repeats slot 2",
            safety=True,
        ),
        Event(
            slot=5,
            channels=(1,),
            action=Action.ON,
            start=ClockStart(17 * 60),
            plan="A",
            purpose="late sale",
            only_year=2027,
        ),
        Event(
            slot=6,
            channels=(1,),
            action=Action.OFF,
            start=SunOffset("sunrise", -30),
            plan="A",
            purpose="late sale",
            only_year=2027,
        ),
    ),
    special_days=(
        SpecialDays(
            slot=1,
            channels=(1,),
            dates=EventDates((12, 31), (1, 1)),
            plan="A",
            only_year=2027,
        ),
        SpecialDays(
            slot=2,
            channels=(1, 2),
            dates=EventDates((7, 4), (7, 4), (2027, 2027)),
            plan=PLAIN_DARK,
        ),
        SpecialDays(slot=3, channels=(2,), dates=EventDates((2, 29), (2, 29)), plan="rest"),
    ),
)

MISHAPS_BEFORE = Mishaps(
    missed=(
        MissedEvent(
            slot=1, channel=1, action=Action.ON, at=at("03-12 18:15"), until=at("03-12 23:00")
        ),
        MissedEvent(
            slot=2, channel=1, action=Action.OFF, at=at("03-12 23:00"), until=at("03-14 00:30")
        ),
    ),
    cuts=(),
)
MISHAPS = Mishaps(
    missed=(
        MISHAPS_BEFORE.missed[0],
        MissedEvent(
            slot=2, channel=1, action=Action.OFF, at=at("03-12 23:00"), until=at("03-13 12:00")
        ),
    ),
    cuts=(
        PowerCut(
            length_seconds=HOUR,
            channel=1,
            lit=True,
            at=at("03-12 22:30"),
            until=at("03-13 12:00"),
            clock_lost=False,
        ),
    ),
)

FIRST_WRONG = FirstWrong(
    day=date(2028, 3, 11),
    circuit="Lot poles",
    channel=1,
    what="come on when they should not",
    expected=None,
    happened=ZONE.first_pass(date(2028, 3, 11), 17 * HOUR),
    cause="slot 5 was made for dates of 2027 and acts on them in every year",
    line="2027-03-11: late",
    slot=5,
)
GOOD_UNTIL = GoodUntil(
    last=date(2028, 3, 10),
    looked_through=date(2028, 6, 30),
    wrong=FIRST_WRONG,
    estimated=True,
)

WITH_SPECIAL_DAYS = replace(
    COMPILED,
    site=PLAIN_SITE,
    controller=SPECIAL_CONTROLLER,
    year=PLAIN_YEAR,
    target=PLAIN_TARGET,
    fitted=Fitted(
        program=SPECIAL_PROGRAM,
        certificate=Certificate(
            slots=5,
            bound=5,
            tolerance_minutes=3,
            deviations=(
                Deviation(circuit="Lot poles", load_kw=6.4, seconds=5400, bound_seconds=3600),
                Deviation(circuit="Sign", load_kw=0.0, seconds=630, bound_seconds=630),
            ),
        ),
        slots_needed=5,
        tolerance_minutes=3,
    ),
    energy=energy_of(PLAIN_SITE, PLAIN_YEAR, ZONE),
    mishaps=MISHAPS,
    mishaps_before=MISHAPS_BEFORE,
    good_until=GOOD_UNTIL,
)
