"""Wording about copying a program to a stick and checking it there (E738, E780 to E791)."""

from __future__ import annotations

from schedcomp.messages.kind import caution, problem

NOT_A_UNIT = problem(
    "E780",
    "The program has no unit with the label {found}.",
    why="Its units are: {known}. {near}A label that nobody knows would send someone to look for "
    "that panel.",
    fix='write one of them, or leave the option out for all units\n--unit "{example}"',
)

LABEL_UNUSABLE = problem(
    "E781",
    "{found} cannot be the label of a unit.",
    why="{what} It is printed on the label and in the list of the set.",
    fix='write\n--unit "Panel A"',
)
LABEL_EMPTY = "Nothing would say which unit is meant."
LABEL_NOT_ONE_LINE = "It holds a sign that cannot be printed on one line."
LABEL_TOO_LONG = "It is longer than {most} letters."
LABEL_TWICE = "It is given twice."

NO_TARGET = problem(
    "E782",
    "{folder} is not a folder.",
    why="{seen} A folder is not made here: if the stick is not plugged in, the files would end up "
    "on another disk. Nothing was written.",
    fix="plug the stick in and name the folder it appears as, for example\n{example}",
)
NOTHING_THERE = "There is nothing with this name."
IS_A_FILE = "There is a file with this name."

NO_ROOM = problem(
    "E783",
    "There is no room for the program on {folder}.",
    why="It needs {needed} kB{free}. What was there before is as it was.",
    fix="make room on it, or take another one\n{example}",
)
FREE = " and {kilobytes} kB are free"

WRITE_PROTECTED = problem(
    "E784",
    "Files cannot be written to {folder}.",
    why="It is write-protected, or belongs to someone else. The computer says: {words}. What was "
    "there before is as it was.",
    fix="move the small slide on its side, or take another one\n{example}",
)

LEADS_AWAY = problem(
    "E785",
    "{name} in {folder} is not what this program puts there.",
    why="A link or something else has a name that is needed; writing there could change something "
    "in another place. Nothing was written.",
    fix="rename or remove it, then copy again\n{example}",
)

NOT_AS_WRITTEN = problem(
    "E786",
    "What {folder} gives back is not what was written to it.",
    why="{name} came back otherwise. The stick is worn out or broken. It still names the set that "
    "was there before, if there was one; trust neither.",
    fix="take another stick\n{example}",
)

COPY_STOPPED = problem(
    "E787",
    "The program could not be copied to {folder}.",
    why="The computer says: {words}. What was there before is as it was.",
    fix="plug the stick in again and repeat it, or take another one\n{example}",
)

NOT_TIDIED = caution(
    "E788",
    "The program is on {folder}, but an older set could not be moved to its folder replaced.",
    why="The computer says: {words}. The file {pointer} names the right folder; the next copy "
    "tidies up.",
)

OTHER_SHEET = caution(
    "E789",
    "{name} beside {transfer} was not copied.",
    why="{what} A sheet of another program beside this one would mislead whoever reads it.",
    fix="build again, so that both are made together, and copy again\n{example}",
)
SHEET_WITHOUT_CODE = "The program code {code} does not stand in it."
SHEET_NOT_READ = "It could not be read: {words}."
SHEET_NOT_PLAIN = "It is not a file."
SHEET_TOO_BIG = "It is larger than {most} MB."
NOTHING_BESIDE = "No check.json beside it says that it belongs to program {code}."

# Checking a set

SET_NOT_WHOLE = problem(
    "E790",
    "The set on {folder} is not as it was copied.",
    why="{what} A unit keyed or loaded from it could hold something else than was proven.",
    fix="copy the program again from where it was built\n{example}",
)
NO_POINTER = "There is no file {pointer} that names the set to use."
STRANGE_POINTER = "The file {pointer} does not name a set of this program."
NO_SUCH_SET = "The folder {name} that {pointer} names is not there."
NO_LIST = "Its list manifest.json is missing or damaged."
FILE_GONE = "{name} is missing."
FILE_STRANGE = "{name} is not in its list."
FILE_CHANGED = "{name} is not the file that was copied: size or checksum differ."
OTHER_CODE = "Its list says program {listed}, and its transfer file holds {held}."

# What a transfer file means

NOT_POSSIBLE = problem(
    "E791",
    "{name} is whole, but asks for what {controller} cannot do.",
    why="{what} A unit keyed or loaded from it would not do what the sheet says.",
    fix="build it again\n{example}",
)
TOO_MANY_SLOTS = "It needs {used} slots{where}, and there are {there}."
OF_CHANNEL = " on channel {channel}"
SLOT_BEYOND = "There is no slot {slot}; the last is {last}."
SLOT_TWICE = "Slot {slot} holds {count} actions, and has room for {room}."
OFF_THE_STEP = "Slot {slot} starts at {time}, and the unit switches in steps of {step} min."
OFFSET_TOO_LARGE = "Slot {slot} is {offset} min from {word}, and the limit is {limit} min."
OFFSET_OFF_STEP = "Slot {slot} is {offset} min from {word}, and offsets go in steps of {step} min."
WEEKDAYS_UNKNOWN = "Slot {slot} fires on {days}, a choice that the unit does not offer."
NO_DATES = "Slot {slot} has dates, and the unit stores none."
DATES_WRAP = "Slot {slot} goes on past the end of the year, and the unit's dates cannot."
DATES_WITH_YEAR = "Slot {slot} has dates with their year, and the unit's have none."
DATES_WITHOUT_YEAR = "Slot {slot} has dates without their year, and the unit's have one."
SEVERAL_CHANNELS = "Slot {slot} switches several channels, and the unit's slots switch one."
TOO_MANY_SPECIAL = "It needs {used} slots for special days, and there are {there}."
NO_SUCH_PLAN = "Special days {slot} follow plan {plan}, and the unit knows only plain dark."
OTHER_MIDNIGHT = "Its period does not begin or end at 00:00 of {zone}, as clocks are known here."
OTHER_CHANGES = (
    "The clock of {zone} changes at other times than it says: the law was changed since, or the "
    "file was made with old rules."
)

OTHER_PROGRAM = problem(
    "E792",
    "{site} gives another program than that of {name}.",
    why="The file holds {held}, the site file gives {made}. {what}",
    fix="if the site file is right, build again and bring the new program into the units\n"
    "{example}",
    page="""\
A program was made from the site file for the period of the transfer file: another one. Then
the site file, its controller, or the rules for clock changes and holidays are not those the
program was made from, and a unit that holds the program does not do what the site file says today.

`schedcomp compare` with the transfer file and the site file tells which nights differ and by how
much.""",
)
STILL_RIGHT = caution(
    "E793",
    "{site} gives another program than that of {name}, but both do what it asks.",
    why="The file holds {held}, the site file gives {made}. The test run of the program in the "
    "file agrees with the site file on every night of the period. A renewed program keeps the "
    "slots of the old one and may differ in this way.",
)
NO_PROGRAM_NOW = "no program at all"
DIFFERENT_NIGHTS = "Its test run does not agree with the site file, for the first time {day}."
OTHER_CONTROLLER = (
    "The controllers differ: {held} in the file and {made} now, in name or in what they can do."
)
