"""Clauses in the usual language of lighting rules, in odd combinations, as rule files.

All are from memory of how such texts are worded; none is the text of a place. Each has a schedule
that meets it and single minutes that break it.
"""

from __future__ import annotations

from tests.judged import Scene, requirement
from tests.real_clauses import (
    ALL_NIGHT,
    DUSK_TO_23,
    LATE,
    LIT_23,
    LONDON,
    SHOP,
    Case,
    dark,
    lit,
    second,
)
from tests.sites import DENVER, TROMSO

US = 'holidays = { country = "US", observed = false }'
NIGHT = 'night = ["on from dusk until dawn"]'

USUAL = (
    Case(
        "the earlier of closing and a clock, eves until midnight, in summer, half the load",
        Scene(
            requirement(
                "a",
                "reduced by 50 % of kW from the earlier of close + 1 h and 23:00 until 06:00",
                'dates = "may 1 to sep 30 except fri, sat, day before holidays"',
            )
            + requirement(
                "b",
                "reduced by 50 % of kW from 00:00 until 06:00",
                'dates = "fri, sat, day before holidays"',
            ),
            ("on from dusk until the earlier of 23:00 and close + 1 h",),
            SHOP,
            "2027-05-24",
            "2027-06-06",
            calendar=("every day: usual", "fri, sat evenings: eve", "2027-05-30 evenings: eve"),
            types=f'eve = ["on from dusk until 24:00"]\n{NIGHT}',
            more=second("Rest", "night"),
            site=US,
        ),
        (
            ("a", lit("2027-05-27 21:00 until 2027-05-27 21:01")),
            ("b", lit("2027-05-31 00:00 until 2027-05-31 00:01")),
        ),
    ),
    Case(
        "eves as declared nights on which the hours begin later",
        Scene(
            requirement(
                "a",
                "dark from 22:00 until 06:00",
                'except_nights = ["fri, sat, day before holidays until 24:00: no work next day"]',
            ),
            ("on from dusk until 22:00",),
            first="2027-07-01",
            last="2027-07-11",
            calendar=("every day: usual", "fri, sat evenings: eve", "2027-07-03 evenings: eve"),
            types='eve = ["on from dusk until 24:00"]',
            site=US,
        ),
        (
            ("a", lit("2027-07-04 00:00 until 2027-07-04 00:01")),
            ("a", lit("2027-07-06 22:00 until 2027-07-06 22:01")),
        ),
    ),
    Case(
        "a school field until 22:30 with half an hour to leave",
        Scene(
            requirement("field", "dark from 22:30 until 06:00", 'circuits = ["Lot"]')
            + requirement("leave", "lit from 22:30 until 23:00", 'circuits = ["Path"]')
            + requirement("all", "dark from 23:00 until 06:00"),
            ("on from dusk until 22:30",),
            types='path = ["on from dusk until 23:00"]',
            more=second("Path", "path"),
        ),
        (
            ("field", lit("2027-03-10 22:30 until 2027-03-10 22:31")),
            ("all", lit("2027-03-10 23:59 until 2027-03-11 00:00")),
        ),
    ),
    Case(
        "put out after 23:00, the end left open",
        Scene(requirement("a", "dark from 23:00", 'until = "dawn"'), DUSK_TO_23),
        (("a", LIT_23),),
    ),
    Case(
        "winter by calendar date, cut at midnight",
        Scene(
            requirement(
                "a",
                "dark from 22:00 until 05:00",
                'dates = "nov 1 to feb 28"',
                'by = "calendar date"',
            ),
            ("on from dusk until 22:00",),
            first="2027-02-20",
            last="2027-03-10",
            calendar=("every day: usual", "mar 1 to mar 31 evenings: late"),
            types='late = ["on from dusk until 02:00"]',
        ),
        (("a", lit("2027-02-28 23:59 until 2027-03-01 00:00")),),
    ),
    Case(
        "hours in UTC",
        Scene(
            requirement("a", "dark from 23:00 until 04:00", 'time = "UTC"'),
            ("on from dusk until 24:00",),
            place=LONDON,
            first="2027-04-01",
            last="2027-04-20",
        ),
        (("a", lit("2027-04-11 00:00 until 2027-04-11 00:01")),),
    ),
    Case(
        "hours in standard time across the change of clocks",
        Scene(
            requirement("a", "dark from 22:00 until 05:00", 'time = "standard"'),
            ("on from dusk until 22:00",),
            calendar=("every day: usual", "2027-03-14 to 2027-03-31 evenings: late"),
            types='late = ["on from dusk until 23:00"]',
        ),
        (
            ("a", lit("2027-03-10 22:00 until 2027-03-10 22:01")),
            ("a", lit("2027-03-20 23:00 until 2027-03-20 23:01")),
        ),
    ),
    Case(
        "floodlights on so many nights a year, a month, a week and in a row",
        Scene(
            requirement("year", "lit on at most 4 nights a year")
            + requirement("month", "lit on at most 4 nights a month from 22:00 until 24:00")
            + requirement("week", "lit on at most 2 nights a week")
            + requirement("row", "lit on at most 2 nights in a row"),
            calendar=("every day: dark", "thu, fri evenings: game"),
            types='game = ["on from 20:00 until 23:00"]',
            first="2027-03-08",
            last="2027-03-21",
        ),
        (
            ("year", lit("2027-03-20 21:00 until 2027-03-20 21:01")),
            ("month", lit("2027-03-20 23:00 until 2027-03-20 23:01")),
            ("week", lit("2027-03-20 21:00 until 2027-03-20 21:01")),
            ("row", lit("2027-03-13 21:00 until 2027-03-13 21:01")),
        ),
    ),
    Case(
        "declared nights: a cap a month and in a row",
        Scene(
            requirement(
                "a",
                "dark from 22:00 until 06:00",
                'except_nights = ["2027-03-05, 2027-03-06: fair"]',
            )
            + requirement("month", "at most 2 exception nights a month")
            + requirement("row", "at most 2 exception nights in a row"),
            ("on from dusk until 22:00",),
            calendar=("every day: usual", "2027-03-05, 2027-03-06 evenings: fair"),
            types='fair = ["on from dusk until 01:00"]',
        ),
        (("a", lit("2027-03-10 22:00 until 2027-03-10 22:01")),),
    ),
    Case(
        "lit no longer than five hours a night, and two within late hours",
        Scene(
            requirement("night", "lit at most 5 h each night")
            + requirement("late", "lit at most 90 min each night between 21:00 and sunrise"),
            ("on from 17:30 until 22:30",),
        ),
        (
            ("night", lit("2027-03-11 03:00 until 2027-03-11 03:01")),
            ("late", lit("2027-03-11 03:00 until 2027-03-11 03:01")),
        ),
    ),
    Case(
        "a sign while open or until 23:00, whichever is later",
        Scene(
            requirement("a", "lit only from sunset until the later of close and 23:00"),
            ("on from dusk until the later of 23:00 and close",),
            '"every day" = "08:00-22:00"\nsat = "08:00-00:30"',
        ),
        (
            ("a", LIT_23),
            ("a", lit("2027-03-14 00:30 until 2027-03-14 00:31")),
        ),
    ),
    Case(
        "lit only until 22:30, in a month in which the sun sets later",
        Scene(
            requirement("a", "lit only from sunset until 22:30")
            + requirement("b", "lit from dusk until 22:30"),
            ("on from dusk until 22:30",),
            place=TROMSO,
            first="2027-05-01",
            last="2027-05-14",
        ),
        (("a", lit("2027-05-12 20:00 until 2027-05-12 20:01")),),
    ),
    Case(
        "dark from astronomical dusk, as the rule defines it",
        Scene(
            requirement("a", "dark from dusk until dawn"),
            ("on from sunset until sunset + 50 min",),
            top='title = "R"\nsource = "law"\ndusk = "sun 18 deg below horizon"\n'
            'dawn = "sun 18 deg below horizon"',
        ),
        (("a", lit("2027-03-10 20:00 until 2027-03-10 20:01")),),
    ),
    Case(
        "four hours after sunset, then dark until sunset",
        Scene(
            requirement("a", "dark from sunset + 4 h until sunset"),
            ("on from sunset until sunset + 4 h",),
        ),
        (("a", lit("2027-03-11 12:30 until 2027-03-11 12:31")),),
    ),
    Case(
        "half the lumens within an hour of closing",
        Scene(
            requirement("a", "at most 50 % of lumens from close + 1 h until open - 1 h"),
            ("on from dusk until close + 1 h", "on from open - 1 h until dawn"),
            LATE,
            types=NIGHT,
            circuit="lumens = 40000",
            more=second("Rest", "night", "lumens = 40000"),
        ),
        (("a", lit("2027-03-10 23:00 until 2027-03-10 23:01")),),
    ),
    Case(
        "no more than a third of the luminaires late at night",
        Scene(
            requirement("a", "at most 33.4 % of lamps from 23:00 until sunrise"),
            DUSK_TO_23,
            types=NIGHT,
            circuit='lamps = "20 x 100 W"',
            more=second("Rest", "night", 'lamps = "10 x 100 W"'),
        ),
        (("a", LIT_23),),
    ),
    Case(
        "three steps: all, 70 % from 22:00, 40 % from 24:00",
        Scene(
            requirement("2", "at most 70 % of kW from 22:00 until 06:00")
            + requirement("3", "at most 40 % of kW from 00:00 until 06:00"),
            ("on from dusk until 22:00",),
            types=f'mid = ["on from dusk until 24:00"]\n{NIGHT}',
            circuit="load_kw = 3",
            more=second("Mid", "mid", "load_kw = 3")
            + second("Rest", "night", "load_kw = 4").replace("channel = 2", "channel = 3"),
        ),
        (("2", lit("2027-03-10 22:00 until 2027-03-10 22:01")),),
    ),
    Case(
        "field lights by weekday, never on Sundays and holidays",
        Scene(
            requirement("week", "dark from 22:00 until 08:00", 'dates = "mon-thu"')
            + requirement("end", "dark from 23:00 until 08:00", 'dates = "fri, sat"')
            + requirement(
                "rest", "dark all day", 'dates = "sun, holidays"', 'by = "calendar date"'
            ),
            ("on from dusk until 22:00",),
            first="2027-05-20",
            last="2027-06-06",
            calendar=("every day: usual", "fri, sat evenings: end", "sun, holidays: dark"),
            types='end = ["on from dusk until 23:00"]',
            site=US,
        ),
        (
            ("week", lit("2027-05-27 22:00 until 2027-05-27 22:01")),
            ("end", lit("2027-05-28 23:00 until 2027-05-28 23:01")),
            ("rest", lit("2027-05-31 20:00 until 2027-05-31 20:01")),
        ),
    ),
    Case(
        "not before sunset nor 17:45, and not before 05:00",
        Scene(
            requirement("evening", "not on before the later of sunset and 17:45")
            + requirement("morning", "not on before 05:00"),
            ("on from the later of sunset and 17:45 until 22:00", "on from 05:00 until dawn"),
            first="2027-02-15",
            last="2027-03-10",
        ),
        (
            ("evening", lit("2027-02-20 17:44 until 2027-02-20 17:45")),
            ("morning", lit("2027-03-01 04:58 until 2027-03-01 04:59")),
        ),
    ),
    Case(
        "not before an hour before opening, nothing on days without one",
        Scene(
            requirement("a", "not on before open - 1 h"),
            ("on from open - 1 h until sunrise",),
            'mon-sat = "06:00-20:00"\nsun = "closed"',
        ),
        (
            ("a", lit("2027-03-10 04:58 until 2027-03-10 04:59")),
            ("a", lit("2027-03-14 08:00 until 2027-03-14 08:01")),
        ),
    ),
    Case(
        "seven hours without light between 20:00 and 08:00",
        Scene(
            requirement("a", "dark at least 7 h each night between 20:00 and 08:00"),
            ("on from dusk until 22:00", "on from 05:00 until dawn"),
            first="2027-03-15",
        ),
        (("a", lit("2027-03-20 22:00 until 2027-03-20 22:01")),),
    ),
    Case(
        "two hours on both sides of the middle of the night",
        Scene(
            requirement(
                "a", "dark from the middle of the night - 2 h until the middle of the night + 2 h"
            ),
            ("on from dusk until the middle of the night - 2 h",),
        ),
        (("a", lit("2027-03-11 00:30 until 2027-03-11 00:31")),),
    ),
    Case(
        "off by day, with other graces in the morning and evening",
        Scene(
            requirement(
                "a",
                "dark while the sun is up with 30 min grace after sunrise"
                " and 15 min grace before sunset",
            ),
            ("on from sunset - 15 min until sunrise + 30 min",),
        ),
        (("a", lit("2027-03-10 12:30 until 2027-03-10 12:31")),),
    ),
    Case(
        "hours by the closing time: early closers and late ones",
        Scene(
            requirement("early", "dark from 22:00 until 06:00", 'when = "close by 21:00"')
            + requirement(
                "late", "dark from close + 1 h until 06:00", 'when = "not close by 21:00"'
            ),
            ("on from dusk until 22:00",),
            '"every day" = "08:00-20:00"\nsat = "08:00-23:00"',
            calendar=("every day: usual", "sat evenings: late"),
            types='late = ["on from dusk until close + 1 h"]',
        ),
        (
            ("early", lit("2027-03-10 22:00 until 2027-03-10 22:01")),
            ("late", lit("2027-03-14 00:00 until 2027-03-14 00:01")),
        ),
    ),
    Case(
        "closed on Sunday: dark through to Monday's opening",
        Scene(
            requirement("a", "dark from close + 30 min until open"),
            ("on from dusk until close + 30 min",),
            SHOP,
        ),
        (("a", lit("2027-03-14 20:00 until 2027-03-14 20:01")),),
    ),
    Case(
        "holidays by name, and ranges that hang on them",
        Scene(
            requirement(
                "a",
                "dark from 23:00 until 06:00",
                'except_nights = ["holiday Independence Day until 01:00: fireworks"]',
            )
            + requirement(
                "b",
                "lit only on these dates from sunset until 24:00",
                'dates = "day before holiday Independence Day to jul 10"',
            ),
            DUSK_TO_23,
            first="2027-06-28",
            last="2027-07-14",
            calendar=(
                "every day: dark",
                "2027-07-03 to 2027-07-10 evenings: usual",
                "2027-07-04 evenings: show",
            ),
            types='show = ["on from dusk until 24:00"]',
            site=US,
        ),
        (
            ("a", lit("2027-07-05 01:00 until 2027-07-05 01:01")),
            ("b", lit("2027-07-02 22:00 until 2027-07-02 22:01")),
        ),
    ),
    Case(
        "around Easter",
        Scene(
            requirement(
                "a",
                "dark from 22:00 until 06:00",
                'dates = "easter - 7 days to easter + 1 day"',
            ),
            ("on from dusk until 22:00",),
            first="2027-03-15",
            last="2027-04-05",
            calendar=("every day: late", "2027-03-21 to 2027-03-29 evenings: usual"),
            types='late = ["on from dusk until 23:00"]',
        ),
        (("a", lit("2027-03-29 23:00 until 2027-03-29 23:01")),),
    ),
    Case(
        "the first Friday of each month until midnight",
        Scene(
            requirement(
                "a",
                "dark from 22:00 until 06:00",
                'except_nights = ["rrule FREQ=MONTHLY;BYDAY=1FR until 24:00: gallery night"]',
            ),
            ("on from dusk until 22:00",),
            calendar=("every day: usual", "2027-03-05 evenings: late"),
            types='late = ["on from dusk until 24:00"]',
        ),
        (("a", lit("2027-03-12 22:00 until 2027-03-12 22:01")),),
    ),
    Case(
        "summer concerts on Fridays until 23:30, with a permit that ends",
        Scene(
            requirement(
                "a",
                "dark from 22:00 until 06:00",
                'except_nights = ["fri in jun 1 to jun 20 until 23:30: concerts"]',
                'valid = "2027-01-01 to 2027-06-25"',
            ),
            ("on from dusk until 22:00",),
            first="2027-06-07",
            last="2027-06-29",
            calendar=(
                "every day: usual",
                "fri in jun 1 to jun 20 evenings: late",
                "2027-06-26 to 2027-06-29 evenings: late",
            ),
            types='late = ["on from dusk until 23:30"]',
        ),
        (
            ("a", lit("2027-06-11 23:30 until 2027-06-11 23:31")),
            ("a", lit("2027-06-25 22:00 until 2027-06-25 22:01")),
        ),
    ),
    Case(
        "a ski slope, late on two weekdays in a season that wraps the year",
        Scene(
            requirement(
                "a", "dark from 21:00 until 06:00", 'dates = "mon, wed, fri-sun in dec 1 to mar 31"'
            )
            + requirement(
                "b", "dark from 22:30 until 06:00", 'dates = "tue, thu in dec 1 to mar 31"'
            ),
            ("on from dusk until 21:00",),
            calendar=("every day: usual", "tue, thu evenings: late"),
            types='late = ["on from dusk until 22:30"]',
        ),
        (
            ("a", lit("2027-03-10 21:00 until 2027-03-10 21:01")),
            ("b", lit("2027-03-09 22:30 until 2027-03-09 22:31")),
        ),
    ),
    Case(
        "never fully dark, and some lamps while staff is there",
        Scene(
            requirement("a", "never all off")
            + requirement("b", "at least 40 % of lamps while people are there and dark"),
            ALL_NIGHT,
            f'{LATE}\nstaff_after = "1 h"',
            circuit='lamps = "4 x 100 W"',
        ),
        (
            ("a", dark("2027-03-10 02:00 until 2027-03-10 02:01")),
            ("b", dark("2027-03-10 22:30 until 2027-03-10 22:31")),
        ),
    ),
    Case(
        "a rank of display lamps at 20 % after closing, security lamps exempt",
        Scene(
            requirement(
                "a",
                "at most 20 % of kW from close + 30 min until open",
                'exempt = { "Walk" = "security, by the police department" }',
            ),
            ("on from dusk until close + 30 min",),
            LATE,
            types=NIGHT,
            more=second("Walk", "night"),
        ),
        (("a", lit("2027-03-10 22:30 until 2027-03-10 22:31")),),
    ),
    Case(
        "some nights a year may fail before it counts",
        Scene(
            requirement(
                "a",
                "dark from 23:00 until 06:00",
                "nights_allowed = 1",
                'grades = ["more than 2 nights a year: heavy"]',
            )
            + requirement("b", "dark from 23:01 until 06:00"),
            DUSK_TO_23,
            calendar=("every day: usual", "2027-03-05 evenings: slip"),
            types='slip = ["on from dusk until 23:01"]',
        ),
        (("b", lit("2027-03-10 23:01 until 2027-03-10 23:02")),),
    ),
    Case(
        "both by day and late: two stretches in one clause, on weekends until 08:00",
        Scene(
            requirement(
                "a", "dark from 23:00 until 06:00 and from 12:00 until 14:00", 'dates = "sun-thu"'
            )
            + requirement(
                "b",
                "dark from 00:00 until 08:00",
                'dates = "sat, sun"',
                'by = "calendar date"',
            ),
            DUSK_TO_23,
        ),
        (
            ("a", lit("2027-03-11 12:30 until 2027-03-11 12:31")),
            ("b", lit("2027-03-13 07:59 until 2027-03-13 08:00")),
        ),
    ),
    Case(
        "while closed after dark, and one hour before opening is free",
        Scene(
            requirement("a", "dark from close + 1 h until open - 1 h while dark"),
            ("on from dusk until close + 1 h", "on from open - 1 h until dawn"),
            '"every day" = "07:00-21:00"',
            last="2027-03-12",
        ),
        (("a", lit("2027-03-10 05:59 until 2027-03-10 06:00")),),
    ),
    Case(
        "turtle season: nothing lit, by the date of the evening",
        Scene(
            requirement("a", "dark from sunset until sunrise", 'dates = "mar 1 to oct 31"')
            + requirement("b", "controller: dates of the year")
            + requirement("c", "not checkable: lamps seen from the beach (needs a look on site)"),
            calendar=("every day: dark",),
        ),
        (("a", lit("2027-03-10 22:00 until 2027-03-10 22:01")),),
        ("c",),
    ),
    Case(
        "a garage lit from half an hour after sunset, brighter while in use",
        Scene(
            requirement("a", "lit from sunset + 30 min until sunrise - 30 min")
            + requirement("b", "at least 100 % of kW while open and dark"),
            ALL_NIGHT,
            LATE,
        ),
        (
            ("a", dark("2027-03-10 02:00 until 2027-03-10 02:01")),
            ("b", dark("2027-03-10 20:00 until 2027-03-10 20:01")),
        ),
    ),
    Case(
        "small installations are free of it",
        Scene(
            requirement("a", "dark from 23:00 until 06:00", "above_kw = 1"),
            DUSK_TO_23,
            types=NIGHT,
            more=second("Bollards", "night", "load_kw = 0.4"),
        ),
        (("a", LIT_23),),
    ),
    Case(
        "what is switched by a sensor, by colour or by a person",
        Scene(
            requirement("a", "not checkable: off within 20 min after the last motion")
            + requirement("b", "not checkable: not above 3000 K (needs a look on site)")
            + requirement("c", "controller: override at most 2 h")
            + requirement("d", "controller: keeps time 10 h without power")
            + requirement("e", "dark from 23:00 until 06:00"),
            DUSK_TO_23,
        ),
        (("e", LIT_23),),
        ("a", "b"),
    ),
    Case(
        "use by a team: dark but for its hours and half an hour after",
        Scene(
            requirement(
                "a",
                "lit only from open - 30 min until close + 30 min",
                'use = ["tue: 18:00-21:00", "2027-03-13: 18:00-22:00"]',
            ),
            calendar=("every day: dark", "tue evenings: usual", "2027-03-13 evenings: match"),
            types='usual = ["on from 17:30 until 21:30"]\nmatch = ["on from 17:30 until 22:30"]',
            place=DENVER,
        ),
        (
            ("a", lit("2027-03-13 22:30 until 2027-03-13 22:31")),
            ("a", lit("2027-03-10 19:00 until 2027-03-10 19:01")),
        ),
    ),
)
