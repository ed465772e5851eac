"""Trouble with rule files (E196 to E199), and what the phrases of a rule wait for."""

from __future__ import annotations

from schedcomp.messages.kind import problem
from schedcomp.messages.wanted import Instead, Wanted

RULE = Wanted(
    "A rule",
    "write one of these\n"
    "dark from the later of 23:00 and close + 1 h until 06:00\n"
    "lit while open and dark\n"
    "lit only from sunset until 22:30\n"
    "not on before sunset\n"
    "at most 50 % of kW from 00:00 until 06:00\n"
    "at least 10 % of kW from 00:00 until 06:00\n"
    "dark while the sun is up\n"
    "dark at least 6 h each night\n"
    "never all off\n"
    "controller: override at most 2 h\n"
    "not checkable: reduced by a motion sensor",
)
DARK_REST = Wanted(
    "When the lamps must be dark",
    "write one of these\n"
    "dark from 23:00 until 06:00\n"
    "dark all day\n"
    "dark while closed\n"
    "dark at least 6 h each night\n"
    "dark within 1 h of the middle of the night for at least 3 h",
)
LIT_REST = Wanted(
    "When the lamps must or may be lit",
    "write one of these\n"
    "lit from sunset + 30 min until sunrise - 30 min\n"
    "lit while open and dark\n"
    "lit only from sunset until 22:30\n"
    "lit only on these dates\n"
    "lit at most 5 h each night\n"
    "lit on at most 30 nights a year",
)
LIT_EACH_NIGHT = Wanted(
    'The words "at most" with "each night"', "write\nlit at most 5 h each night"
)
LIT_NIGHTS = Wanted(
    "How many nights, a year, a month, a week or in a row",
    "write one of these\nlit on at most 30 nights a year\n"
    "lit on at most 3 nights a week from 22:00 until 24:00",
)
CONDITION = Wanted(
    "What the rule waits for",
    "write one of these\nwhile open\nwhile closed\nwhile people are there\n"
    "while nobody is there\nwhile dark\nwhile the sun is up",
)
MIDDLE = Wanted(
    'The words "of the middle of the night for at least"',
    "write\ndark within 1 h of the middle of the night for at least 3 h",
)
EACH_NIGHT = Wanted('The words "each night"', "write\ndark at least 6 h each night")
SHORTER = Wanted(
    'The words "if that is shorter"',
    "write\ndark at least 6 h each night or from close + 1 h until open - 1 h if that is shorter",
)
ALL_DAY = Wanted('The words "all day"', "write\ndark all day")
NOT_WHAT = Wanted(
    'The words "on before" or "checkable"',
    "write one of these\nnot on before sunset\nnot checkable: reduced by a motion sensor",
)
THESE_DATES = Wanted('The words "on these dates"', "write\nlit only on these dates")
PERCENT = Wanted(
    "A number from 0 to 100 with a percent sign",
    "write, for example\nat most 50 % of kW from 00:00 until 06:00",
)
MEASURE = Wanted(
    '"kW", "lumens" or "lamps"', "write, for example\nat most 50 % of kW from 00:00 until 06:00"
)
COUNT = Wanted("A whole number", "write, for example\nat most 12 exception days a year")
A_YEAR = Wanted(
    'The words "days a year", "days a month", "days a week" or "days in a row"',
    "write, for example\nat most 12 exception days a year",
)
ALL_OFF = Wanted('The words "all off"', "write\nnever all off")
LEVEL = Wanted(
    'A light level between "at most" or "at least" and its hours',
    "write, for example\nlevel at most 500 cd/m2 from sunset until sunrise",
)
ABILITY = Wanted(
    "What the controller must be able to do",
    "write one of these\n"
    "controller: 7 day types a week\n"
    "controller: holiday shut-off\n"
    "controller: keeps time 10 h without power\n"
    "controller: override at most 2 h\n"
    "controller: automatic\n"
    "controller: knows the sun\n"
    "controller: sun times within 15 min\n"
    "controller: clock within 5 min\n"
    "controller: clock drift at most 5 min a year\n"
    "controller: summer time by itself\n"
    "controller: an offset for each channel\n"
    "controller: dates of the year\n"
    "controller: photocell\n"
    "controller: calendar only as back-up to a photocell\n"
    "controller: two levels",
)
RULE_COLON = Wanted(
    "A colon with what follows it",
    "write one of these\ncontroller: automatic\nnot checkable: reduced by a motion sensor",
)
REASON = Wanted(
    "Why no schedule can show it", "write, for example\nnot checkable: needs a light meter"
)
HOURS_TEST = Wanted(
    "What the closing or opening time must be",
    "write one of these\nclose between 00:00 and 07:00\n"
    "not close or open between 00:00 and 07:00\nclose by 24:00",
)
EXCEPT_NIGHT = Wanted(
    "Dates, a colon and why the rule does not hold then",
    "write one of these\n2027-06-18: club tournament\n2027-06-18 until 01:30: club tournament",
)
USE_LINE = Wanted(
    "Dates, a colon and the hours of use",
    "write one of these\nmon-fri: 18:00-22:00\n2027-06-18: 18:00-23:30",
)
VALID = Wanted(
    "Two dates with the years in which the text holds",
    "write\n2026-07-01 to 2027-06-30",
)
GRADE = Wanted(
    "A number of nights and what it is called",
    "write\nmore than 4 nights a year: serious",
)
DARK_INSTEAD = Instead(
    '"dark"',
    "A rule is about what people see, not about a switch.",
    "write, for example\ndark from 23:00 until 06:00",
    {"on": ("lit",), "off": ("dark",)},
)

ORDINANCE_EXPECTED = problem(
    "E196",
    "{name} is no rule file: it begins with {key}.",
    why="The clauses of a rule stand in a file of their own.",
    fix="begin a rule file with this line\nschedcomp_ordinance = 1",
)

UNKNOWN_ORDINANCE = problem(
    "E197",
    "There is no built-in rule named {found}, and no file of that name.",
    why="{near}Built in are: {known}. The folder looked in is {folder}.",
    fix='write one of those names, or the path of a rule file\nordinance = "{example}"',
)

SAME_CLAUSE = problem(
    "E198",
    "Two clauses are called {clause}.",
    why="Findings name a clause by its number, so each number stands for one clause.",
    fix='write, for example\nclause = "{clause} (2)"',
)

END_GIVEN = problem(
    "E199",
    "The rule of clause {clause} has an end, so there is none to choose.",
    why="until is for texts that leave the end open, such as dark from 23:00.",
    fix='leave out until, or the end in the rule\nrule = "{rule}"',
)
