"""Wording about lists of slots read off a unit (E290 to E292, E258) and events.csv (E259)."""

from __future__ import annotations

from schedcomp.messages.kind import problem

NOT_READ = problem(
    "E290",
    "{found} cannot stand here.",
    why="{wanted} A slot is one line: its number, ON or OFF, when, and on which days.",
    fix="write it like one of these\n{example}",
    page="""\
A list of what stands in a unit has one slot a line, as one reads it off the display:

    1  ON  sunset+15   daily
    2  OFF 23:00       sun mon tue wed thu
    3  OFF 01:00       fri sat   from 11-20 through 01-06
    4  empty
    5  ON  17:00       plan A
    6  OFF sunrise-20  mon-fri   channels 1 2
    special 1  12-24 through 12-26  plan A
    special 2  07-04  off

Capitals do not matter, and remarks begin with #. Dates are month-day, or with their year
2027-12-24. The channel may be left out where the program uses one only. "off" after special days
is plain dark.

Nothing is guessed: a line that could be read in two ways would make a wrong slot look right.""",
)

SLOT_TWICE = problem(
    "E291",
    "Slot {slot} stands in the list twice.",
    why="The unit has one slot of this number, so one of the two lines was misread or miscounted.",
    fix="look at the unit again and keep the right line, for example\n{example}",
)

NOT_ON_UNIT = problem(
    "E292",
    "{found} does not exist on a {controller}.",
    why="{what}",
    fix="look at the unit again and write what it shows, for example\n{example}",
)
NO_SLOT = "Its slots are numbered 1 to {last}."
NO_CHANNEL = "Its channels are numbered 1 to {last}."
NO_SPECIAL = "It has {count} slots for special days."

NOTHING_LISTED = problem(
    "E258",
    "{name} lists no slot.",
    why="A slot that holds nothing is written too, so that nobody takes a list that was not made "
    "for an empty unit.",
    fix="write a line for every slot of the unit, or for an empty unit\n1 empty",
)

NOT_EVENTS = problem(
    "E259",
    "{name} is not an events.csv of this program: line {line}.",
    why="{what} Nothing of it was used.",
    fix="compare the file as it was written; after changes in a spreadsheet build it again\n"
    "schedcomp build north-lot.toml",
)
COLUMNS_WRONG = "Its columns are not {columns}."
CELL_WRONG = "{found} in the column {column} is wrong. {wanted}"
ONE_OF = "One of these belongs here: {options}."
ROW_SHORT = "It has {count} cells and not {wanted}."
SPECIAL_WITHOUT_DATES = "Special days need their dates."

# What belongs in a place of the list

SLOT = "A slot number belongs here."
ACTION = "ON, OFF or empty belongs here."
START = "A clock time such as 23:00 or a sun time belongs here: {words}."
START_CLOCK = "A clock time such as 23:00 belongs here."
START_RANGE = "Clock times go from 00:00 to 23:59."
OFFSET = "A number of minutes belongs here."
OFFSET_RANGE = "Offsets go up to {limit} min here."
DAYS = "The days belong here: daily, weekdays such as mon tue or mon-fri, or plan and its name."
WEEKDAY = "A weekday such as mon belongs here."
WEEKDAY_TWICE = "This weekday stands here twice."
THROUGH = "The word through and the last date belong here."
DATE = "A date such as 11-20 or 2027-11-20 belongs here."
REAL_DATE = "This date is not in the calendar."
YEAR_MISSING = "The other date has its year, so this one needs it too."
BACKWARDS = "This date comes before the first one."
PLAN_NAME = "The name of a plan belongs here."
PLAN = "The plan belongs here: plan and its name, or off."
CHANNEL = "The channel belongs here, as the program uses several: channel 1."
CHANNEL_NUMBER = "A channel number belongs here."
CHANNEL_TWICE = "This channel stands here twice."
LINE_END = "The line should end here."
