"""Wording of findings about holiday lists, dates and opening hours: E301 to E349."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType

from schedcomp.messages.kind import caution, problem
from schedcomp.model import MONTHS, WEEKDAYS

# Holiday lists

UNKNOWN_COUNTRY = problem(
    "E301",
    '"{found}" is not a country code with a holiday list.',
    why="Without its list no holiday would be kept. Codes have two letters. {near}",
    fix='write the code in the holidays line, and leave its other entries\ncountry = "{example}"',
)
UNKNOWN_SUBDIVISION = problem(
    "E302",
    '"{found}" is not a part of {country} with a holiday list of its own.',
    why="{country} has: {codes}.",
    fix="write one of these codes, or leave the part out\n{example}",
)
CHOICE_WITHOUT_COUNTRY = problem(
    "E303",
    "`{key}` chooses from the holiday list of a country, and no country is given.",
    why="Without a country there is no list, only the dates you add.",
    fix='give the country in the holidays line\ncountry = "US", observed = false',
)
LIST_ENDS = problem(
    "E304",
    "The holiday list of {country} does not cover {years}.",
    why="It covers {covered}. In other years it names no holiday, and lamps would run as on any "
    "day.",
    fix="leave the country out and enter the dates yourself\n"
    'holidays = {{ add = {{ "New Year" = "jan 1" }} }}',
)
EMPTY_LIST = caution(
    "E305",
    "The holiday list of {country} names no holiday in this period.",
    why="Every line that uses holidays changes nothing.",
    fix='enter the dates yourself\nholidays = {{ add = {{ "New Year" = "jan 1" }} }}',
)
NOT_IN_LIST = problem(
    "E306",
    '"{name}" is not in the holiday list of {country}.',
    why="{names}",
    fix='write a name of the list, or enter the date yourself\nadd = {{ "{name}" = "dec 24" }}',
)
NOT_THIS_TIME = caution(
    "E307",
    '"{name}" falls on no date of this period.',
    why="The holiday list of {country} has it in other years: {dates}.",
)
OBSERVED_NOT_SAID = problem(
    "E308",
    "Say whether holidays count on the dates they are moved to: {count} in this period.",
    why="{changes}",
    fix="add one of these to the holidays line\nobserved = true\nobserved = false",
    page="""\
When a holiday falls on a weekend, many lists give a working day off instead and name that date
"observed". Some lists move the holiday itself. Offices are closed then, shops often are not, so
nobody but you can say which dates the lamps should follow.

observed = true    the dates given instead count as holidays, as the list has them
observed = false   only the dates on which the holidays really fall count

A single date can still be set by its own calendar line below the line with the holidays:

  "2027-12-24: usual"
""",
)
ESTIMATED = caution(
    "E309",
    "Holiday dates that depend on the moon may still move by a day or two: {count}.",
    why="Estimated by calculation: {dates}. The authority fixes the date shortly before.",
    fix="when the date is announced, put it below the line with the holidays\n{example}",
)
ADDED_FROM_LIST = problem(
    "E310",
    'The added holiday "{name}" is described by other holidays.',
    why="An added holiday needs dates of its own; it is part of the list it would be read from.",
    fix='write its dates\nadd = {{ "{name}" = "2027-09-03" }}',
)
ADDED_NEVER = caution(
    "E312",
    'The added holiday "{name}" falls on no date of this period.',
    why="It changes nothing.",
)

# Dates

NO_HOLIDAY_LIST = problem(
    "E321",
    "This line uses holidays, but the site has no holiday list.",
    why="Without a list these lines would name no date at all.",
    fix="add a line below [site], with the code of the country\n"
    'holidays = {{ country = "{country}", observed = false }}',
)
UNKNOWN_HOLIDAY = problem(
    "E322",
    '"{name}" is not in the holiday list of this site.',
    why="{names}",
    fix='write a name of the list, or add it to the holidays line\nadd = {{ "{name}" = "dec 24" }}',
)
LEFT_OUT_HOLIDAY = problem(
    "E323",
    '"{name}" was left out of the holiday list of this site.',
    why="The holidays line keeps it out with `only` or `except`, so this line names no date.",
    fix="take it back into the holidays line, or name the dates themselves\n{example}",
)
NO_OBSERVED_DATES = problem(
    "E324",
    "The holiday list of this site was chosen without observed dates.",
    why='With observed = false "{name} (observed)" never comes.',
    fix="set in the holidays line\nobserved = true",
)
RULE_WITHOUT_FREQ = problem(
    "E313",
    "This rrule does not say how often it repeats.",
    why="It needs FREQ with DAILY, WEEKLY, MONTHLY or YEARLY.",
    fix="write, for example\nrrule FREQ=MONTHLY;BYDAY=1MO",
)
RULE_BAD_PART = problem(
    "E314",
    '"{part}" is not a part of an rrule that can be read.',
    why="{expected}",
    fix="write, for example\nrrule FREQ=MONTHLY;BYDAY=1MO,3MO",
)
RULE_TWICE = problem(
    "E315",
    'The rrule has "{part}" twice.',
    why="Only one of the two could count.",
    fix="write all values behind one {part}\nrrule FREQ=WEEKLY;BYDAY=MO,TH",
)
RULE_WITH_HOURS = problem(
    "E316",
    'An rrule names dates here, and "{part}" asks for times of the day.',
    why="Times stand in the windows of the day type.",
    fix="use FREQ with DAILY, WEEKLY, MONTHLY or YEARLY\nrrule FREQ=WEEKLY;BYDAY=MO",
)
RULE_MISFIT = problem(
    "E317",
    "{part} does not go with {other}.",
    why="RFC 5545 does not allow the two together, and programs read them differently.",
    fix="leave it out, or write a rule like\nrrule FREQ=MONTHLY;BYDAY=1MO",
)
RULE_UNTIL_CLOCK = caution(
    "E318",
    "UNTIL gives a clock time; {last} is taken as the last date.",
    why="The time is in UTC, and an rrule names whole local dates here.",
    fix="write the last date alone\nUNTIL={last_compact}",
)

RULE_NEEDS_START = problem(
    "E319",
    "{part} has nothing to count from.",
    why="Without a first date the rule could mean several sets of dates.",
    fix="write the first date behind the rule\nrrule {rule} starting 2027-01-04",
)

RULE_PARTS: Mapping[str, str] = MappingProxyType(
    {
        "INTERVAL": "INTERVAL is a whole number from 1 to 1000.",
        "COUNT": "COUNT is a whole number from 1 to 100000.",
        "UNTIL": "UNTIL is a date like 20271231.",
        "WKST": "WKST is one of MO, TU, WE, TH, FR, SA, SU.",
        "BYDAY": "BYDAY is a list of MO, TU, WE, TH, FR, SA, SU, with a number before it for the "
        "first (1MO) or the last (-1MO) of a month or year.",
        "BYMONTH": "BYMONTH is a list of months 1 to 12.",
        "BYMONTHDAY": "BYMONTHDAY is a list of days 1 to 31, or -1 to -31 from the month's end.",
        "BYYEARDAY": "BYYEARDAY is a list of days 1 to 366, or -1 to -366 from the year's end.",
        "BYWEEKNO": "BYWEEKNO is a list of weeks 1 to 53, or -1 to -53 from the year's end.",
        "BYSETPOS": "BYSETPOS is a list of places 1 to 366, or -1 to -366 from the end.",
        "FREQ": "FREQ is one of DAILY, WEEKLY, MONTHLY, YEARLY.",
    }
)
RULE_OTHER_PARTS = (
    "Parts are FREQ, INTERVAL, COUNT, UNTIL, WKST, BYDAY, BYMONTH, BYMONTHDAY, BYYEARDAY, "
    "BYWEEKNO and BYSETPOS, each with = and a value, with ; between them."
)

# Opening hours

DATES_WITHOUT_HOURS = caution(
    "E342",
    "No line of [hours] names {count}; closed is taken then.",
    why="First {first}, last {last}. Windows that wait for opening or closing stay dark on them.",
    fix='say it, as the first line of [hours]\n"every day" = "closed"',
)

# Parts of these sentences

AND_MORE = "{shown} and {count} more"
NAMES_NEAR = "The closest names are: {names}."
NAMES_ALL = "The list has: {names}."
CODE_MEANT = "{name} has the code {code}."
CODES_SAME_LETTER = "Those that begin with {letter} are {codes}."
CODES_SOME = "Some of them are CA, DE, GB and US."
NO_PARTS = "no parts with lists of their own"
NAMES_NONE = "The list is empty."
WITH_OBSERVED = "With observed = true these dates count too: {dates}."
WITHOUT_OBSERVED = "With observed = true these dates do not count: {dates}."
OBSERVED_LABEL = "{name} (observed)"
ESTIMATED_LABEL = "{name} (estimated)"
FROM_YEAR = "{first} and later"
THROUGH_YEAR = "{first} to {last}"


def date_text(day: date) -> str:
    """`Fri 3 Dec 2027`, whatever the language of the computer."""
    weekday, month = WEEKDAYS[day.weekday()].capitalize(), MONTHS[day.month - 1].capitalize()
    return f"{weekday} {day.day} {month} {day.year}"
