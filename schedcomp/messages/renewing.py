"""Wording of how long a program lasts and of its renewal (E770 to E789)."""

from __future__ import annotations

from schedcomp.messages.kind import problem

# What the lamps do; it follows "the lamps of CIRCUIT".

WRONG_ON = {
    "missing": "do not come on when they should",
    "extra": "come on when they should not",
    "too early": "come on too early",
    "too late": "come on too late",
    "wrong at the start": "come on wrongly if the controller starts with the lamps lit",
}
WRONG_OFF = {
    "missing": "do not go off when they should",
    "extra": "go off when they should not",
    "too early": "go off too early",
    "too late": "go off too late",
    "wrong at the start": "go off wrongly if the controller starts with the lamps dark",
}
NOT_SURE = "{what}, where the unit's own sun times are off"
EITHER_ORDER = "may come on or go off: two slots could act in either order"
HOUR_WRONG = "come on and go off early or late by what the clock changes"

# Why a later date goes wrong.

MADE_FOR_ONE_YEAR = "slot {slot} was made for dates of {year} and acts on them in every year"
SPECIAL_FOR_ONE_YEAR = (
    "special days {slot} were made for dates of {year} and come again in every year"
)
DATES_END = "the dates stored in the unit carry their year, and the last is {last}"
NEVER_TESTED = "the program was made for {first} through {last}, not for a date such as {day}"
HOLDS_NOW = "`{line}` holds on {later} and did not on {earlier}"
HELD_THEN = "`{line}` held on {earlier} and does not on {later}"
HOURS_OF = "hours of {dates}"
CLOCK_CHANGE_MOVED = "the clock changes on {later}, and in the program's period on {earlier}"
CLOCK_CHANGES_KEYED = (
    "the unit keeps clock changes as dates, and those keyed in are not those of {year}"
)
SUN_MOVED = (
    "{phrase} is {length} {way} on {later} than on {earlier}, and the slots leave no more room"
)
SUN_DECIDES = "the sun lets `{line}` light {lit} at that time and not {dark}"
CAUSE_UNKNOWN = "{day} has not the same times as that date in the program's period"
CHANNEL_UNUSED = "the site has no circuit on this channel"


# Several years in one program

BAD_YEARS = problem(
    "E770",
    "{found} is not a run of years this program can work out.",
    why="Two years with a hyphen between them, the earlier one first; both belong to the period.",
    fix="write\n--years {example}",
)

TOO_MANY_YEARS = problem(
    "E771",
    "One program for {count} years is too much to ask; the most is {most}.",
    why="Holidays and clock changes of later years are not settled yet.",
    fix="write\n--years {example}",
)

YEARS_AND_MORE = problem(
    "E772",
    "The period is given twice: --years, and --year, --from or --through.",
    why="A period is one calendar year, a run of them, or the dates from one day through another.",
    fix="write one of these\n--years 2027-2031\n--from 2026-12-01 --through 2027-12-31",
)

YEARS_FOR_YEAR = problem(
    "E773",
    "{found} is more than one year.",
    why="One program that is right in several years has an option of its own.",
    fix="write\n--years {typed}",
)

YEARS_NOT_TOGETHER = problem(
    "E774",
    "No program does for all of {first} to {last}; one does for {possible}.",
    why="{obstacle}",
    fix="build for the years that go together\n{typed}",
    page="""\
A unit that stores no year does the same on a date of every year. Weekdays, holidays, Easter and the
clock changes fall on other dates each year, and the sun keeps other times by up to a minute or
more. The more years one program must serve, the fewer dates it may treat alike, until no event is
left that is right in all of them, or more slots are needed than the unit has.

The command builds whole runs of years from the first one on to find how far one program reaches.
Renew the program when that run ends; a larger tolerance or fewer dated lines make the run longer.
""",
)

OBSTACLE_REACH = (
    "With {year} too, no event of {controller} can switch {circuit} {action} at {phrase} on {day} "
    "(`{line}`) without switching wrongly on another date."
)
OBSTACLE_SLOTS = "With {year} too, it takes {needed} slots, and {controller} has {slots}."
OBSTACLE_LATER = (
    "The program for {possible}, left alone, first goes wrong on {day}: the lamps of {circuit} "
    "{what} ({cause})."
)

# Renewing a program

OTHER_SITE = problem(
    "E775",
    "{name} is the program of another site, {old}.",
    why="{what} Its slots say nothing about what the units of {site} hold.",
    fix="name the transfer.json that was keyed in at this site, or make a new program\n{typed}",
)
ELSEWHERE = "That site is {distance} away."
OTHER_ZONE = "Its clock is that of {old}, and here it is {new}."

OTHER_CONTROLLER = problem(
    "E776",
    "{name} is a program for {old}, not for {new}.",
    why="{what} Slot numbers of the one mean nothing on the other, so everything has to be keyed "
    "in anew.",
    fix="make a new program\n{typed}",
)
OTHER_NAME = "Another kind of controller is named now."
OTHER_PROPERTIES = "The controller file has changed since in: {properties}."

OTHER_WIRING = problem(
    "E777",
    "{circuit} was on channel {old} in {name} and is on channel {new} now.",
    why="A slot that is left as it is would switch other lamps than before.",
    fix="write the channel that drives these lamps, or make a new program\n"
    "channel = {old}\n{typed}",
)

NOTHING_LEFT = problem(
    "E778",
    "{through} is too early: the new program begins on {first}.",
    why="{why}",
    fix="write a later date, for example\n--through {example}",
)
BEGINS_AFTER_KEYING = "It has to be right from the day after it is keyed in, {keyed}."
BEGINS_WITH_OLD = "It begins no earlier than the old program, which was made for {first} on."

OLD_IN_THE_WAY = problem(
    "E779",
    "The files would be written over {name}, which the units still hold.",
    why="Until the new slots are keyed in, the old program is the one that counts.",
    fix="write them into another folder\n--out {suggestion}",
)
