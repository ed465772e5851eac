"""Real clauses as rule files, with a schedule that meets each and one minute that breaks it.

Paraphrased facts with the section they stand in, not the wording of the texts; confirm each
against the current local text before relying on it.
"""

from __future__ import annotations

from schedcomp.records import Record
from tests.judged import Scene, requirement
from tests.sites import Place

PARIS = Place(48.8566, 2.3522, "Europe/Paris")
STUTTGART = Place(48.7758, 9.1829, "Europe/Berlin")
ZAGREB = Place(45.815, 15.9819, "Europe/Zagreb")
LONDON = Place(51.5074, -0.1278, "Europe/London")
TUCSON = Place(32.2226, -110.9747, "America/Phoenix")
SEVILLE = Place(37.3891, -5.9845, "Europe/Madrid")
GENOA = Place(44.4056, 8.9463, "Europe/Rome")
AUCKLAND = Place(-36.8509, 174.7645, "Pacific/Auckland")
MIAMI = Place(26.9, -82.0, "America/New_York")

SHOP = 'mon-sat = "08:00-20:00"\nsun = "closed"'
LATE = '"every day" = "08:00-22:00"'
UNTIL_SUNRISE = 'until = "sunrise"'


class Case(Record):
    """`breaks` are (clause, single night): each must fail on one night for one minute.

    `untold` are clauses that no schedule shows, in the meeting schedule.
    """

    name: str
    scene: Scene
    breaks: tuple[tuple[str, str], ...]
    untold: tuple[str, ...] = ()


def lit(text: str) -> str:
    return f'lit = "{text}"'


def dark(text: str) -> str:
    return f'dark = "{text}"'


def second(name: str, windows: str, more: str = "load_kw = 2") -> str:
    """A further circuit, on channel 2, that is lit in one window."""
    return (
        f'[[circuit]]\nname = "{name}"\nchannel = 2\nphotocell = "none"\noverride_minutes = 0\n'
        f'{more}\ncalendar = ["every day: {windows}"]\n'
    )


DUSK_TO_23 = ("on from dusk until 23:00",)
ALL_NIGHT = ("on from sunset until sunrise",)
LIT_23 = lit("2027-03-10 23:00 until 2027-03-10 23:01")

CASES = (
    Case(
        "Mazon, Illinois, zoning s.20",
        Scene(
            requirement("20", "dark from close + 30 min", UNTIL_SUNRISE),
            ("on from dusk until close + 30 min",),
            SHOP,
        ),
        (("20", lit("2027-03-10 20:30 until 2027-03-10 20:31")),),
    ),
    Case(
        "Salt Lake City, Utah, 18.80.070",
        Scene(
            requirement("a", "lit from sunset + 1 h until sunrise while open")
            + requirement("b", "level at least 0.2 fc from sunset + 1 h until sunrise while open"),
            ("on from dusk until close",),
            LATE,
        ),
        (("a", dark("2027-03-10 21:59 until 2027-03-10 22:00")),),
        ("b",),
    ),
    Case(
        "Tucson, Arizona, 7-412",
        Scene(
            requirement("7-412", "lit from sunset - 30 min until sunrise + 30 min"),
            ("on from sunset - 30 min until sunrise + 30 min",),
            place=TUCSON,
        ),
        (("7-412", dark("2027-03-10 02:00 until 2027-03-10 02:01")),),
    ),
    Case(
        "Monroe, Washington, 15.15.080(E)",
        Scene(
            requirement("E", "at most 50 % of kW while closed"),
            ("on from dusk until close",),
            LATE,
            types='night = ["on from dusk until dawn"]',
            more=second("Rest", "night"),
        ),
        (("E", lit("2027-03-10 22:00 until 2027-03-10 22:01")),),
    ),
    Case(
        "Bakersfield, California, 17.71.040(B)",
        Scene(
            requirement(
                "B",
                "dark from close + 1 h until open",
                'use = ["2027-03-10: 18:00-21:30", "2027-03-12: 19:00-22:00"]',
            ),
            calendar=("every day: dark", "2027-03-10: game", "2027-03-12: final"),
            types='game = ["on from 18:00 until 22:30"]\nfinal = ["on from 19:00 until 23:00"]',
        ),
        (("B", lit("2027-03-10 22:30 until 2027-03-10 22:31")),),
    ),
    Case(
        "Norwood, Ohio, site lighting (e)",
        Scene(
            requirement("e", "dark from close + 1 h", UNTIL_SUNRISE)
            + requirement("e2", "controller: automatic")
            + requirement("e3", "not checkable: lights by a motion sensor"),
            ("on from dusk until close + 1 h",),
            SHOP,
        ),
        (("e", lit("2027-03-10 21:00 until 2027-03-10 21:01")),),
        ("e3",),
    ),
    Case(
        "Apache Junction, Arizona, 1-10-6(E)",
        Scene(
            requirement("E", "dark from 00:00 until 05:00", 'by = "calendar date"'),
            ("on from dusk until midnight", "on from 05:00 until dawn"),
            place=TUCSON,
        ),
        (("E", lit("2027-03-10 00:00 until 2027-03-10 00:01")),),
    ),
    Case(
        "Manitowoc, Wisconsin, 18.040",
        Scene(
            requirement(
                "18.040",
                "dark from 23:00 until sunrise",
                'except_nights = ["mar 20 to mar 24: holiday lighting"]',
            )
            + requirement("90 days", "at most 90 exception days a year"),
            DUSK_TO_23,
            calendar=("every day: usual", "mar 20 to mar 24 evenings: feast"),
            types='feast = ["on from dusk until 01:00"]',
        ),
        (("18.040", LIT_23),),
    ),
    Case(
        "a California city code, A(1) to (3)",
        Scene(
            requirement("1", "lit only from sunset until the later of close + 30 min and 22:30")
            + requirement("2", "lit only from sunset until 22:30")
            + requirement("3", "lit only from open until the later of close and 22:30")
            + requirement(
                "4",
                "lit only on these dates from sunset until the later of close + 30 min and 24:00",
                'dates = "holiday Thanksgiving to jan 1"',
            )
            + requirement("5", "dark from 22:30", 'until = "sunset"'),
            ("on from dusk until 22:30",),
            LATE,
            "2027-12-01",
            "2027-12-20",
            site='holidays = { country = "US", observed = false }',
        ),
        (
            ("1", lit("2027-12-10 00:00 until 2027-12-10 00:01")),
            ("2", lit("2027-12-10 00:00 until 2027-12-10 00:01")),
            ("3", lit("2027-12-10 07:59 until 2027-12-10 08:00")),
            ("4", lit("2027-12-10 00:00 until 2027-12-10 00:01")),
            ("5", lit("2027-12-10 00:00 until 2027-12-10 00:01")),
        ),
    ),
    Case(
        "Creede, Colorado, 18-7-40(a)(2)",
        Scene(
            requirement("a2", "dark from close", UNTIL_SUNRISE), ("on from dusk until close",), SHOP
        ),
        (("a2", lit("2027-03-10 20:00 until 2027-03-10 20:01")),),
    ),
    Case(
        "San Benito County, California, 19.31.007",
        Scene(
            requirement(
                "recreation",
                "dark from 21:00",
                UNTIL_SUNRISE,
                'except_nights = ["2027-03-12 until 22:15: game in progress",'
                ' "nov 15 to jan 15: decoration"]',
            )
            + requirement(
                "signs",
                "dark from the later of 21:00 and close",
                UNTIL_SUNRISE,
                'except_nights = ["2027-03-12: game"]',
            ),
            ("on from dusk until 21:00",),
            SHOP,
            calendar=("every day: usual", "2027-03-12 evenings: game"),
            types='game = ["on from dusk until 22:15"]',
        ),
        (
            ("recreation", lit("2027-03-12 22:15 until 2027-03-12 22:16")),
            ("signs", lit("2027-03-10 21:00 until 2027-03-10 21:01")),
        ),
    ),
    Case(
        "San Diego County, California, 59.107",
        Scene(
            requirement("class I", "dark from 23:00 until sunrise", 'circuits = ["Lot"]')
            + requirement(
                "zone C",
                "at most 50 % of kW while open",
                'use = ["2027-03-11: 10:00-12:00"]',
            ),
            DUSK_TO_23,
            types='day = ["on from 10:00 until 12:00"]',
            more=second("Field", "day"),
        ),
        (
            ("class I", LIT_23),
            ("zone C", lit("2027-03-11 11:00 until 2027-03-11 11:01")),
        ),
    ),
    Case(
        "San Diego, California, 142.0740",
        Scene(
            requirement(
                "142.0740",
                "dark from 23:00 until 06:00",
                'exempt = { "Walk" = "walkway lighting" }',
            ),
            ("on from dusk until 23:00", "on from 06:00 until dawn"),
            types='night = ["on from dusk until dawn"]',
            more=second("Walk", "night"),
        ),
        (("142.0740", LIT_23),),
    ),
    Case(
        "Yuma, Arizona, 154-18.03",
        Scene(
            requirement(
                "18.03",
                "dark from 23:00 until sunrise",
                'because = "not shielded"',
                'circuits = ["Lot"]',
            ),
            DUSK_TO_23,
            place=TUCSON,
        ),
        (("18.03", lit("2027-03-10 04:00 until 2027-03-10 04:01")),),
    ),
    Case(
        "Arizona, 49-1103",
        Scene(
            requirement("49-1103", "dark from 00:00 until sunrise"),
            ("on from dusk until midnight",),
            place=TUCSON,
        ),
        (("49-1103", lit("2027-03-10 00:00 until 2027-03-10 00:01")),),
    ),
    Case(
        "Connecticut, 4b-16a",
        Scene(
            requirement("4b-16a", "dark from 23:00 until 06:00"),
            ("on from dusk until 23:00", "on from 06:00 until dawn"),
        ),
        (("4b-16a", lit("2027-03-10 05:59 until 2027-03-10 06:00")),),
    ),
    Case(
        "New York, state buildings",
        Scene(
            requirement(
                "lights out",
                "dark from 23:00 until dawn",
                'dates = "apr 15 to may 31, aug 15 to nov 15"',
            ),
            DUSK_TO_23,
            first="2027-05-20",
            last="2027-06-10",
            calendar=("every day: usual", "jun 1 to jun 30 evenings: late"),
            types='late = ["on from dusk until 01:00"]',
        ),
        (("lights out", lit("2027-05-31 23:00 until 2027-05-31 23:01")),),
    ),
    Case(
        "Minnesota, state buildings",
        Scene(
            requirement(
                "2009", "dark from 00:00 until dawn", 'dates = "mar 15 to may 31, aug 15 to oct 31"'
            ),
            ("on from dusk until midnight",),
            first="2027-05-20",
            last="2027-06-10",
        ),
        (("2009", lit("2027-06-01 00:00 until 2027-06-01 00:01")),),
    ),
    Case(
        "Charlotte County, Florida, 3-5-299",
        Scene(
            requirement("299", "dark from sunset until sunrise", 'dates = "may 1 to oct 31"'),
            first="2027-04-20",
            last="2027-05-10",
            place=MIAMI,
            calendar=("every day: dark", "apr 1 to apr 30 evenings: lit"),
            types='lit = ["on from dusk until 23:00"]',
        ),
        (("299", lit("2027-05-01 22:00 until 2027-05-01 22:01")),),
    ),
    Case(
        "Long Beach, California, 21.44.850",
        Scene(
            requirement("level", "level at most 0.3 fc from dusk until dawn")
            + requirement("sensor", "controller: photocell")
            + requirement("back-up", "controller: calendar only as back-up to a photocell"),
            ("on from dusk until 22:00",),
            circuit='load_kw = 1\nphotocell_level = "20 lux"',
        ),
        (),
        ("level",),
    ),
    Case(
        "Lakeville, Minnesota, B.5",
        Scene(
            requirement("B.5", "level at most 500 cd/m2 from sunset until sunrise")
            + requirement("dimmer", "not checkable: an automatic dimmer (needs a look on site)"),
            ("on from dusk until 22:00",),
        ),
        (),
        ("B.5", "dimmer"),
    ),
    Case(
        "Colorado City, Arizona, 152.059(C)(5)",
        Scene(
            requirement(
                "C5",
                "dark from 23:00",
                UNTIL_SUNRISE,
                "above_kw = 0.03",
                'except_nights = ["2027-03-12: temporary use permit"]',
            ),
            DUSK_TO_23,
            calendar=("every day: usual", "2027-03-12 evenings: late"),
            types='late = ["on from dusk until 23:30"]',
        ),
        (("C5", LIT_23),),
    ),
    Case(
        "Malibu, California, 17.41",
        Scene(
            requirement("seasonal", "lit only on these dates", 'dates = "nov 15 to jan 15"'),
            first="2027-01-05",
            last="2027-01-25",
            calendar=("jan 1 to jan 15 evenings: lit", "jan 16 to jan 31: dark"),
            types='lit = ["on from dusk until 23:00"]',
        ),
        (("seasonal", lit("2027-01-20 20:00 until 2027-01-20 20:01")),),
    ),
    Case(
        "Coconino County, Arizona, 4.3",
        Scene(
            requirement(
                "4.3",
                "lit only on these dates from sunset until 23:00",
                'dates = "oct 25 to jan 15"',
            ),
            first="2027-01-05",
            last="2027-01-25",
            place=TUCSON,
            calendar=("jan 1 to jan 15 evenings: lit", "jan 16 to jan 31: dark"),
            types='lit = ["on from dusk until 23:00"]',
        ),
        (
            ("4.3", lit("2027-01-20 20:00 until 2027-01-20 20:01")),
            ("4.3", lit("2027-01-10 23:00 until 2027-01-10 23:01")),
        ),
    ),
    Case(
        "Washington, 296-832-30015",
        Scene(
            requirement("a", "lit while open and dark")
            + requirement("b", "level at least 1 fc while open and dark"),
            ("on from dusk until close",),
            LATE,
        ),
        (("a", dark("2027-03-10 21:59 until 2027-03-10 22:00")),),
        ("b",),
    ),
    Case(
        "West Virginia, 21-13-3(2)",
        Scene(
            requirement("2", "lit while people are there and dark"),
            ("on from dusk until leave",),
            f'{LATE}\nstaff_before = "30 min"\nstaff_after = "30 min"',
        ),
        (("2", dark("2027-03-10 22:29 until 2027-03-10 22:30")),),
    ),
    Case(
        "California, financial code 13040",
        Scene(
            requirement("13040", "lit from sunset + 30 min until sunrise - 30 min")
            + requirement("13041", "level at least 10 fc from sunset until sunrise"),
            ALL_NIGHT,
        ),
        (("13040", dark("2027-03-10 02:00 until 2027-03-10 02:01")),),
        ("13041",),
    ),
    Case(
        "District of Columbia, 26-131.06",
        Scene(requirement("131.06", "lit while dark"), ALL_NIGHT),
        (("131.06", dark("2027-03-10 02:00 until 2027-03-10 02:01")),),
    ),
    Case(
        "New Orleans, Louisiana, 26-484",
        Scene(
            requirement("484", "lit from 19:00 until close"),
            ("on from 19:00 until close",),
            LATE,
            first="2027-06-01",
            last="2027-06-20",
        ),
        (("484", dark("2027-06-10 19:00 until 2027-06-10 19:01")),),
    ),
    Case(
        "energy standard 90.1 of the 2010s, 9.4.1",
        Scene(
            requirement(
                "facade",
                "dark from the later of 00:00 and close until the earlier of 06:00 and open",
                'circuits = ["Lot"]',
            )
            + requirement(
                "other",
                "reduced by 30 % of kW from the later of 00:00 and close + 1 h"
                " until the earlier of 06:00 and open",
            )
            + requirement("sensor", "not checkable: reduced after 15 min without activity")
            + requirement("power", "controller: keeps time 10 h without power"),
            ("on from dusk until midnight",),
            LATE,
            types='night = ["on from dusk until dawn"]',
            more=second("Rest", "night"),
        ),
        (
            ("facade", lit("2027-03-10 00:00 until 2027-03-10 00:01")),
            ("other", lit("2027-03-10 05:00 until 2027-03-10 05:01")),
        ),
        ("sensor",),
    ),
    Case(
        "energy standard 90.1 of 2022, 9.4.1.4(b)",
        Scene(
            requirement("b", "dark while the sun is up with 30 min grace after sunrise"),
            ("on from sunset until sunrise + 30 min",),
        ),
        (("b", lit("2027-03-10 12:30 until 2027-03-10 12:31")),),
    ),
    Case(
        "California, title 20, 1605.3(l)",
        Scene(
            requirement("sun", "controller: sun times within 15 min", 'read = "from memory"')
            + requirement("drift", "controller: clock drift at most 5 min a year")
            + requirement("summer", "controller: summer time by itself")
            + requirement("offsets", "controller: an offset for each channel"),
            DUSK_TO_23,
        ),
        (),
        ("drift",),
    ),
    Case(
        "Washington, 51-11R R404.3",
        Scene(
            requirement("R404.3", "dark while the sun is up", "above_kw = 0.03")
            + requirement("override", "controller: override at most 24 h"),
            ALL_NIGHT,
        ),
        (("R404.3", lit("2027-03-10 12:30 until 2027-03-10 12:31")),),
    ),
    Case(
        "model lighting ordinance of 2011, III.C",
        Scene(
            requirement("III.C", "reduced by 30 % of lumens from close + 1 h", UNTIL_SUNRISE),
            ("on from dusk until close + 1 h",),
            SHOP,
            types='night = ["on from dusk until dawn"]',
            circuit="lumens = 30000",
            more=second("Rest", "night", "lumens = 70000"),
        ),
        (("III.C", lit("2027-03-10 21:00 until 2027-03-10 21:01")),),
    ),
    Case(
        "Australia and New Zealand, limits of light in curfew hours",
        Scene(
            requirement("curfew", "level at most 2 lux from 23:00 until 06:00")
            + requirement("levels", "controller: two levels"),
            DUSK_TO_23,
            types='night = ["on from dusk until 22:00"]',
            more=second("Rest", "night"),
            place=AUCKLAND,
        ),
        (),
    ),
    Case(
        "Auckland, New Zealand, plan H 6.1",
        Scene(
            requirement("day", "level at most 100 lux from 07:00 until 22:00")
            + requirement("night", "level at most 10 lux from 22:00 until 07:00")
            + requirement("road", "level at most 50 lux from dusk until dawn"),
            ("on from dusk until 21:00",),
            place=AUCKLAND,
        ),
        (),
        ("day", "road"),
    ),
    Case(
        "guidance on obtrusive light, United Kingdom",
        Scene(
            requirement(
                "post-curfew", "level at most 1 lux from 23:00 until 07:00", 'read = "from memory"'
            ),
            DUSK_TO_23,
            place=LONDON,
        ),
        (),
    ),
    Case(
        "West Sussex, part-night street lighting",
        Scene(
            requirement(
                "part-night",
                "lit from dusk until the middle of the night and from 05:30 until dawn",
                'time = "standard"',
                'circuits = ["Lot"]',
            )
            + requirement(
                "all-night",
                "reduced by 40 % of kW from the middle of the night until 05:30",
                'time = "standard"',
            ),
            ("on from dusk until the middle of the night", "on from 05:30 until dawn"),
            place=LONDON,
            first="2027-02-01",
            last="2027-02-20",
            types='night = ["on from dusk until dawn"]',
            more=second("Rest", "night"),
        ),
        (
            ("part-night", dark("2027-02-10 22:00 until 2027-02-10 22:01")),
            ("all-night", lit("2027-02-10 03:00 until 2027-02-10 03:01")),
        ),
    ),
    Case(
        "Lincolnshire, part-night street lighting",
        Scene(
            requirement("part-night", "dark from 00:00 until 06:00", 'time = "standard"'),
            ("on from dusk until 01:00", "on from 07:00 until dawn"),
            place=LONDON,
            first="2027-04-01",
            last="2027-04-20",
        ),
        (("part-night", lit("2027-04-10 06:59 until 2027-04-10 07:00")),),
    ),
    Case(
        "France, arrete of 27 December 2018, art. 2",
        Scene(
            requirement("on", "not on before sunset")
            + requirement("off", "dark from 01:00", 'until = "sunset"')
            + requirement("park", "dark from close + 1 h", 'until = "sunset"'),
            ("on from sunset until 01:00",),
            '"every day" = "08:00-24:00"',
            place=PARIS,
        ),
        (
            ("on", lit("2027-03-10 18:00 until 2027-03-10 18:01")),
            ("off", lit("2027-03-10 01:00 until 2027-03-10 01:01")),
            ("park", lit("2027-03-10 01:00 until 2027-03-10 01:01")),
        ),
    ),
    Case(
        "France, code de l'environnement R.581-59",
        Scene(
            requirement(
                "1",
                "dark from 01:00 until 06:00",
                'when = "not close or open between 00:00 and 07:00"',
            )
            + requirement(
                "2",
                "dark from close + 1 h until open - 1 h",
                'when = "close or open between 00:00 and 07:00"',
            ),
            ("on from sunset until 01:00",),
            '"every day" = "08:00-20:00"\nfri = "08:00-00:30"',
            place=PARIS,
            calendar=("every day: usual", "fri evenings: late"),
            types='late = ["on from sunset until close + 1 h"]',
        ),
        (
            ("1", lit("2027-03-10 01:00 until 2027-03-10 01:01")),
            ("2", lit("2027-03-13 01:30 until 2027-03-13 01:31")),
        ),
    ),
    Case(
        "France, circular on the arrete of 2013, derogations",
        Scene(
            requirement(
                "facades",
                "dark from 01:00",
                'until = "sunset"',
                'except_nights = ["day before holiday \\"Fête du Travail\\": allowed"]',
            ),
            ("on from sunset until 01:00",),
            place=PARIS,
            first="2027-04-20",
            last="2027-05-10",
            site='holidays = { country = "FR" }',
            calendar=("every day: usual", "2027-04-30 evenings: late"),
            types='late = ["on from sunset until 03:00"]',
        ),
        (("facades", lit("2027-05-02 01:00 until 2027-05-02 01:01")),),
    ),
    Case(
        "Bavaria, BayImSchG art. 9",
        Scene(
            requirement("1", "dark from 23:00 until dawn")
            + requirement("2", "lit only from sunset until 23:00"),
            DUSK_TO_23,
            place=STUTTGART,
        ),
        (("1", LIT_23), ("2", LIT_23)),
    ),
    Case(
        "Baden-Wuerttemberg, NatSchG s.21(2)",
        Scene(
            requirement(
                "summer", "dark all day", 'dates = "apr 1 to sep 30"', 'by = "calendar date"'
            )
            + requirement(
                "winter",
                "dark from 22:00 until 06:00",
                'dates = "oct 1 to mar 31"',
                'by = "calendar date"',
            ),
            ("on from dusk until 22:00",),
            place=STUTTGART,
            first="2027-03-20",
            last="2027-04-10",
            calendar=("every day: usual", "apr 1 to sep 30: dark"),
        ),
        (
            ("summer", lit("2027-04-01 00:00 until 2027-04-01 00:01")),
            ("winter", lit("2027-03-31 23:59 until 2027-04-01 00:00")),
        ),
    ),
    Case(
        "Croatia, NN 128/2020",
        Scene(
            requirement("curfew", "dark within 1 h of the middle of the night for at least 3 h")
            + requirement("reduce", "at most 50 % of kW from 00:15 until 03:15"),
            ("on from dusk until 00:15", "on from 03:15 until dawn"),
            place=ZAGREB,
            last="2027-03-20",
        ),
        (
            ("curfew", lit("2027-03-10 00:15 until 2027-03-10 00:16")),
            ("reduce", lit("2027-03-10 00:15 until 2027-03-10 00:16")),
        ),
    ),
    Case(
        "Spain, RDL 14/2022 art. 29",
        Scene(
            requirement(
                "29",
                "dark from 22:00 while closed",
                UNTIL_SUNRISE,
                'valid = "2022-08-10 to 2023-11-01"',
            ),
            ("on from dusk until 22:00",),
            '"every day" = "10:00-21:00"\nfri = "10:00-22:30"',
            first="2023-10-15",
            last="2023-11-10",
            place=SEVILLE,
            calendar=(
                "every day: usual",
                "fri evenings: late",
                "2023-11-02 to 2023-11-30 evenings: late",
            ),
            types='late = ["on from dusk until 22:30"]',
        ),
        (("29", lit("2023-11-01 22:00 until 2023-11-01 22:01")),),
    ),
    Case(
        "Andalusia, decree 37/2025",
        Scene(
            requirement("hours", "dark from 23:00 until 06:00", 'circuits = ["Lot"]')
            + requirement("levels", "controller: two levels"),
            ("on from dusk until 23:00", "on from 06:00 until dawn"),
            place=SEVILLE,
            types='night = ["on from dusk until 22:00"]',
            more=second("Rest", "night"),
        ),
        (("hours", LIT_23),),
    ),
    Case(
        "Liguria, regional regulation",
        Scene(
            requirement("signs", "dark from 00:00", UNTIL_SUNRISE, 'circuits = ["Lot"]')
            + requirement("overall", "reduced by 30 % of kW from 00:00 until 05:00"),
            ("on from dusk until midnight",),
            place=GENOA,
            types='night = ["on from dusk until dawn"]',
            more=second("Rest", "night"),
        ),
        (
            ("signs", lit("2027-03-10 00:00 until 2027-03-10 00:01")),
            ("overall", lit("2027-03-10 00:00 until 2027-03-10 00:01")),
        ),
    ),
    Case(
        "Flanders, VLAREM II 4.6.0.2",
        Scene(
            requirement("4.6.0.2", "not checkable: no more light than the work needs"),
            DUSK_TO_23,
        ),
        (),
        ("4.6.0.2",),
    ),
)
