"""What each place of a phrase waits for, and that it is missing (E101 to E103, E124, E127).

`Wanted` is something that is missing, `Instead` what belongs where people write something else.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from schedcomp.messages.kind import problem
from schedcomp.records import Record
from schedcomp.words import join_or

_LONGEST_SHOWN = 70


class Wanted(Record):
    """What is missing, as the start of a sentence, and what to do: words, then lines to type."""

    words: str
    fix: str


class Instead(Record):
    """What belongs where something else was written, why, and lines to type.

    `puts` are the texts that may go there, the likeliest first, by the word found; under "" those
    for every other word.
    """

    right: str
    why: str
    fix: str
    puts: Mapping[str, tuple[str, ...]]


# Things a phrase can be or need

WINDOW = Wanted(
    'A window such as "on from dusk until 23:00"', "write, for example\non from dusk until 23:00"
)
CALENDAR_LINE = Wanted(
    "A calendar line: dates, a colon and a day type", "write, for example\nevery day: usual"
)
KEEP_DARK = Wanted(
    "A line of hours kept dark", "write, for example\nevery day: from 00:30 until 04:15"
)
PROMISE = Wanted(
    "A promise: dates, a clock time, a colon and lit or dark",
    "write, for example\nevery day 23:50: dark",
)
STRETCH = Wanted(
    "A period with its dates and times",
    "write, for example\n2027-06-18 21:00 until 2027-06-19 00:30",
)
HOURS = Wanted(
    "A line of opening hours", "write one of these\n07:00-20:00\n08:00-12:00, 14:00-18:00\nclosed"
)
DUSK = Wanted(
    "A meaning of dusk",
    "write one of these\nsunset + 15 min\nsun 6 deg below horizon\n20 lux\ncivil dusk",
)
DAWN = Wanted(
    "A meaning of dawn",
    "write one of these\nsunrise - 15 min\nsun 6 deg below horizon\n20 lux\ncivil dawn",
)
DATES = Wanted(
    "A date",
    "write one of these\nevery day\nmon-fri\ndec 24\n2027-12-24\nholidays\nholiday Christmas Day",
)
MOMENT = Wanted(
    "A time of day",
    "write one of these\n23:00\ndusk\nsunrise - 20 min\nclose + 30 min",
)
CLOCK = Wanted("A clock time", "write, for example\n23:30")
DURATION = Wanted("A length of time", "write one of these\n10 min\n1 h 30 min")

# Parts of phrases

FROM = Wanted('The word "from"', "write, for example\nfrom 00:30 until 04:15")
UNTIL = Wanted('The word "until" with an end', "write, for example\non from dusk until 23:00")
EARLIER_OR_LATER = Wanted(
    'The word "earlier" or "later"', "write, for example\nthe later of close and 21:00"
)
OF = Wanted('The word "of"', "write, for example\nthe later of close and 21:00")
AND = Wanted(
    'The word "and" with a second time', "write, for example\nthe later of close and 21:00"
)
NIGHT_MIDDLE = Wanted(
    'The words "the middle of the night"',
    "write, for example\non from dusk until the middle of the night",
)
FULL_DATE = Wanted("A date with its year", "write, for example\n2027-12-24")
RANGE = Wanted("A month or a range of dates", "write, for example\nfri, sat in jun to aug")
RANGE_END = Wanted("The last date of the range", "write, for example\nnov 20 to jan 6")
MONTH = Wanted("A month", "write, for example\nfirst mon of sep")
WEEKDAY = Wanted("A weekday", "write one of these\nmon-fri\nfirst mon of sep")
OF_MONTH = Wanted('The word "of" with a month', "write, for example\nfirst mon of sep")
DAY = Wanted('The word "day"', "write\nevery day")
BEFORE_OR_AFTER = Wanted('The word "before" or "after"', "write, for example\nday before holidays")
DATES_END = Wanted(
    "The end of the dates or a word that joins dates",
    'let the dates end here, or join them with a comma, "to", "in" or "except"\n'
    "fri, sat in jun to aug except holidays",
)
DAYS = Wanted("A number of days", "write, for example\neaster - 2 days")
DAYS_WORD = Wanted('The word "days"', "write, for example\neaster - 2 days")
OBSERVED = Wanted(
    'A comma, a colon, "(observed)" or the end', "write, for example\nholiday Boxing Day"
)
RULE = Wanted("A recurrence rule", "write, for example\nrrule FREQ=MONTHLY;BYDAY=1MO")
COLON = Wanted("The colon after the dates", "write, for example\nfri, sat evenings: late")
DAY_TYPE = Wanted("The name of a day type", "write, for example\nevery day: usual")
PROMISE_CLOCK = Wanted(
    "The clock time of the promise", "write, for example\n2027-12-25 20:00: dark"
)
PROMISE_COLON = Wanted(
    "The colon after the clock time", "write, for example\n2027-12-25 20:00: dark"
)
STATE = Wanted('The word "lit" or "dark"', "write, for example\n2027-12-25 20:00: dark")
ALL_DAY = Wanted('The phrase "all day"', "write\nopen all day")
CLOSING = Wanted("A closing time", "write, for example\n07:00-20:00")
DEGREES = Wanted("A number of degrees", "write, for example\nsun 6 deg below horizon")
DEGREES_WORD = Wanted('The word "deg"', "write, for example\nsun 6 deg below horizon")
BELOW_OR_ABOVE = Wanted(
    'The word "below" or "above"', "write, for example\nsun 6 deg below horizon"
)
HORIZON = Wanted('The word "horizon"', "write, for example\nsun 6 deg below horizon")


def dates_or_holiday(name: str) -> Wanted:
    """`DATES`, where the word written may be the name of a holiday."""
    first, *examples = DATES.fix.splitlines()
    lines = [f"{first}; the first if it is a holiday", f"holiday {name}", *examples[:-1]]
    return Wanted(DATES.words, "\n".join(lines))


def twilight(kind: str, word: str) -> Wanted:
    """The word that must follow `civil`, `nautical` or `astronomical`."""
    return Wanted(f'The word "{word}"', f"write\n{kind} {word}")


# Lines to type where something is no date

DATE_EXAMPLE = "2027-12-24\ndec 24"
FULL_DATE_EXAMPLE = "2027-12-24"

# Words that belong where people write others

UNTIL_INSTEAD = Instead(
    '"until"',
    "Ranges of time are written with one word only, so that nothing is read in two ways.",
    "write, for example\non from dusk until 23:00",
    {"": ("until",)},
)
STRETCH_UNTIL = Instead(
    '"until"',
    "Ranges of time are written with one word only, so that nothing is read in two ways.",
    "write, for example\n2027-06-18 21:00 until 2027-06-19 00:30",
    {"": ("until",)},
)
TO_INSTEAD = Instead(
    '"to"',
    "Ranges of dates are written with one word only; both ends belong to them.",
    "write, for example\nnov 20 to jan 6",
    {"": ("to",)},
)
IN_INSTEAD = Instead(
    '"in"',
    "Weekdays of a part of the year have one word before the months or dates.",
    "write, for example\nfri, sat in jun to aug",
    {"": ("in",)},
)
DASH_INSTEAD = Instead(
    "a dash",
    "A range of weekdays has a dash between its first and its last day.",
    "write, for example\nmon-fri",
    {"": ("-",)},
)
COMMA_INSTEAD = Instead(
    "a comma",
    "Dates are listed with commas; the line holds for each of them.",
    "write, for example\nfri, sat",
    {"": (",",)},
)
HOURS_DASH = Instead(
    "a dash",
    "Opening and closing time have a dash between them.",
    "write, for example\n07:00-20:00",
    {"": ("-",)},
)
CLOCK_INSTEAD = Instead(
    "the clock time",
    "The time of a promise follows its dates without a word between them.",
    "write, for example\n2027-12-25 20:00: dark",
    {"": ("",)},
)
OF_INSTEAD = Instead(
    '"of"',
    "The word before the month says which weekday of it is meant.",
    "write, for example\nfirst mon of sep",
    {"": ("of",)},
)
FROM_INSTEAD = Instead(
    '"from"',
    "Hours kept dark are written without a word for on or off; lamps are off in them.",
    "write, for example\nevery day: from 00:30 until 04:15",
    {"": ("", "from")},
)
STATE_INSTEAD = Instead(
    '"lit" or "dark"',
    "A promise is about what people see at that minute, not about a switch.",
    "write one of these\n2027-12-03 06:30: lit\n2027-12-25 20:00: dark",
    {"on": ("lit",), "off": ("dark",)},
)


def closest(words: Sequence[str]) -> str:
    """`the closest word is "dawn"`."""
    quoted = [f'"{word}"' for word in words]
    return f"the closest word{' is' if len(quoted) == 1 else 's are'} {join_or(quoted)}"


def before_words(found: str) -> str:
    """Where something is missing: before the next word, or at the end."""
    return f'before "{found}"' if found else "at the end of this phrase"


def without_rest(before: str) -> str:
    """To leave out the rest, with the line that is left if it is short enough to show."""
    if len(before) > _LONGEST_SHOWN or not before.isprintable():
        return "leave out the rest"
    return f"leave out the rest\n{before}"


def rest_of(dates: str) -> str:
    """The dates that are left, as a line to type, if they are short enough to show."""
    return f"\n{dates}" if len(dates) <= _LONGEST_SHOWN and dates.isprintable() else ""


THIS = "write"
ONE_OF_THESE = "write one of these"
"""Heads of what to do that are followed by what belongs in place of what was written."""


def lines_to_write(lines: Sequence[str]) -> str:
    """One line, or several that stand in place of one."""
    return "\n".join([THIS if len(lines) == 1 else "write these lines", *lines])


def either(words: Sequence[str]) -> str:
    return join_or(words)


# Findings

EMPTY = problem(
    "E101",
    "Nothing is written here.",
    why="{wanted} belongs here; an empty phrase switches nothing.",
    fix="{fix}",
)
NEAR_WORD = problem(
    "E102",
    'The word "{found}" is not known here.',
    why="{wanted} belongs here; {close}.",
    fix="write\n{example}",
)
MISSING = problem(
    "E103",
    "{wanted} is missing {where}.",
    why="Without it the line does not say what the lamps do.",
    fix="{fix}",
)
LEFT_OVER = problem(
    "E124",
    '"{found}" is too much here.',
    why='The phrase is complete with "{before}"; what follows would have no effect on the lamps.',
    fix="{fix}",
)
INSTEAD = problem(
    "E127",
    '"{found}" stands where {right} belongs.',
    why="{why}",
    fix="{fix}",
)
