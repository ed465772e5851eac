"""Wording about transfer files (E766 to E769)."""

from __future__ import annotations

from schedcomp.messages.kind import problem

# What is seen of a file that is no transfer file.

TOO_BIG = "It is larger than {most} MB, and a transfer file is not."
EMPTY = "It is empty."
NOT_TEXT = (
    "Its byte number {number} belongs to no text in UTF-8: it is another kind of file, or it was "
    "damaged in copying."
)
SENSELESS = (
    "It makes no sense from line {line}, column {column} on: it is another kind of file, or a part "
    "of it was lost in copying."
)
TOO_DEEP = "It holds lists in lists, hundreds deep, as no transfer file does."
NO_NUMBER = "It holds {found} for a number, as no transfer file does."
MANY_DIGITS = "It holds a number of thousands of digits, as no transfer file does."
TWICE = "{found} stands twice in one record, as in no transfer file."
IS_CHECK = "It is a check.json: it tells what a build found out, and holds no program."
NO_FORMAT_LINE = "There is no {key} in it, with which every transfer file says what it is."

NOT_A_TRANSFER_FILE = problem(
    "E766",
    "{name} cannot be read as a transfer file.",
    why="{seen} Nothing of it was used.",
    fix="name a transfer.json that was written by a build, for example by\n"
    "schedcomp build north-lot.toml",
)

# Another version

OLDER = "An earlier schedcomp wrote it."
BUILD_AGAIN = "build it again with this one"
LATER = "A later schedcomp may have written it."
USE_THE_LATER = "use the one that wrote it, or build it again with this one"
NOT_SEALED = "Its checksum does not fit either: it may just be damaged."

OTHER_VERSION = problem(
    "E767",
    "{name} is a transfer file of version {found}; this program reads version {known}.",
    why="{what} A part that is read otherwise than it was meant could switch lamps at wrong "
    "times, so nothing of it was used. {seal}",
    fix="{fix}\nschedcomp build north-lot.toml",
)

# A broken seal

BAD_VALUE = "It holds a number or a letter that no transfer file can hold."
BAD_CHECKSUM = "The checksum (sha256) in it does not belong to the rest of it."
BAD_CODE = "The program code {found} in it does not belong to what a unit is to hold."

DAMAGED = problem(
    "E768",
    "{name} is not as it was written.",
    why="{what} Something was lost or changed in copying, or changed by hand. A unit with this "
    "program could switch at other times than the sheet says, so nothing of it was used.",
    fix="copy the file again from where it was built, or build it again, for example\n"
    "schedcomp build north-lot.toml",
    page="""\
A transfer file carries two numbers made from its own content.

The checksum (sha256) is made from everything else in the file. If a single sign of the file is
lost or changed, it fits no more.

The program code, such as 7F3A-92C1, is made from what a unit has to hold: events, special days,
clock and location. It is the same on the sheet, on the label and in the file, so that people can
compare them.

To change a program, change the site file and build again; a transfer file is not changed by hand.
""",
)

NOT_IN_FORM = problem(
    "E769",
    "{name} is sealed, but does not say what a transfer file must say.",
    why="{part}: {what} The checksum is right, so the file was written this way, by another "
    "program than this one. Nothing of it was used.",
    fix="have the file written again, for example by\nschedcomp build north-lot.toml",
)

# What is wrong in a part of a sealed file

INSTEAD = "{wanted} belongs here, not {found}."
MISSING = "{name} is missing."
NOT_KNOWN = "{name} is not known here."
EMPTY_LIST = "the list is empty."
EMPTY_TEXT = "the text is empty."
NOT_ONE_LINE = "the text holds a sign that cannot be printed on one line."
LISTED_TWICE = "something stands in the list twice."
OTHER_LENGTH = "there are {count} here and {other} in {part}."
OTHER_VALUE = "{part} says {value}."
BACKWARDS = "it ends before it begins."
ONE_YEAR_ALONE = "of from and through only one has its year."
NOT_USED = "this is not used by an event that starts at {word}."
OF_A_PLAN = "an event of a plan fires on the dates of its plan."
PLAN_WITHOUT_EVENTS = "a plan {plan} has no events."
NOT_PROVEN = "slots and bound say otherwise."
NO_ZONE = "{found} is no time zone that this program knows."
TWO_ENDS = "an opening period has two ends."
NOT_IN_HOUR = "{minutes} min do not divide an hour."

# What belongs in a place

RECORD = "a record"
LIST = "a list"
TEXT = "a text"
FLAG = "true or false"
NUMBER = "a number"
NUMBER_FROM = "a number from {low:g} to {high:g}"
NUMBER_AT_LEAST = "a number of {low:g} or more"
POSITIVE = "a number above 0"
WHOLE = "a whole number"
DATE = "a date like 2027-12-03"
MONTH_DAY = "a date like 12-24 or 2027-12-24"
REAL_DATE = "a date of the calendar"
DATE_OF_YEARS = "a date of the years {first} through {last}"
TIME = "a time like 2027-12-03T07:00:00Z"
CLOCK = "a clock time like 23:00"
