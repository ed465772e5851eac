"""What a command was asked for (E750 to E769), and our own faults (E901)."""

from __future__ import annotations

from schedcomp.messages.kind import fault, problem

BAD_DATE = problem(
    "E750",
    "{found} is not a date.",
    why="Dates are written year-month-day, with four digits for the year: 2027-12-03 is the "
    "3rd of December 2027.",
    fix="write\n{option}2027-12-03",
)

TWO_READINGS = problem(
    "E751",
    "{found} could be {first} or {second}.",
    why="The order of day and month differs from place to place, so this program takes neither.",
    fix="write one of these\n{option}{first_typed}\n{option}{second_typed}",
)

OTHER_DATE_FORM = problem(
    "E765",
    "{found} is not written as this program reads dates.",
    why="Dates are written year-month-day, so that no two people read them differently.",
    fix="write\n{typed}",
)

NO_SUCH_DATE = problem(
    "E752",
    "{found} is not in the calendar.",
    why="{month} {year} has {days} days.",
    fix="write\n{option}{last_typed}",
)

BAD_YEAR = problem(
    "E753",
    "{found} is not a year this program can work out.",
    why="Years are four digits, from {first} through {last}.",
    fix="write\n--year {example}",
)

YEAR_AND_DATES = problem(
    "E754",
    "The period is given twice: --year, and --from or --through.",
    why="A period is either one calendar year or the dates from one day through another.",
    fix="write one of these\n--year 2027\n--from 2026-12-01 --through 2027-12-31",
)

HALF_A_PERIOD = problem(
    "E755",
    "{given} is given without {missing}.",
    why="A period needs its first and its last day; both belong to it.",
    fix="write both, for example\n{example}",
)

PERIOD_BACKWARDS = problem(
    "E756",
    "The period ends before it begins: from {first} through {last}.",
    why="The first day must not be later than the last.",
    fix="write\n--from {last} --through {first}",
)

PERIOD_TOO_LONG = problem(
    "E757",
    "A period of {days} days is too long; the longest is {longest} days.",
    why="A program is made for the dates it has been checked on. Holidays and clock changes of "
    "later years are not settled yet, so a program is renewed every year or two.",
    fix="write a shorter period, for example\n--from {first} --through {example}",
)

YEARS_NOT_COVERED = problem(
    "E758",
    "{found} lies outside the years {first} through {last}.",
    why="Sun times are known to this program for those years only.",
    fix="write a date of one of those years, for example\n{option}2027-12-03",
)

TODAY_BY_CLOCK = "Today, {day} by the clock of this computer,"

NOT_PRINTED = problem(
    "E712",
    "The answer could not be printed.",
    why="The computer says: {words}. Files that this command writes are not concerned.",
    fix="make room where it was to go, or let it appear on the screen, with no > or | behind the "
    "command",
)

BAD_TIME = problem(
    "E759",
    "{found} is not a date and a clock time.",
    why="Write the date as year-month-day and the time from 00:00 to 23:59, with a blank between.",
    fix='write\n"{day} 06:30"',
)

TIME_SKIPPED = problem(
    "E760",
    "{reading} on {day} does not exist.",
    why="The clock goes forward on that date: where it would show {before} it shows {after}. "
    "A switching written for {reading} is done at {after}.",
    fix="ask for\n{example}",
    page="""\
When summer time begins, the clock jumps, usually by one hour, and the readings in between are
never shown. There is no moment with such a reading, so the lamps are neither lit nor dark "then".

A wish such as "on until 02:30" is kept on that date: the lamps go off at the jump, when the clock
shows 03:00. At every later reading of the clock they are as the wish says.

When summer time ends, some readings are shown twice. A wish means the first pass, and nothing is
undone in the second. The command `why` then answers for both passes.""",
)

NO_SUCH_CODE = problem(
    "E761",
    "There is no message with the code {found}, and no topic of that name.",
    why="Topics are {topics}.{near}",
    fix="type\n{typed}",
)

NO_SUCH_CONTROLLER = problem(
    "E762",
    "There is no built-in controller named {found}.",
    why="Built in are: {known}.",
    fix="write one of those names, for example\nschedcomp controllers {example}",
)

BAD_NIGHTS = problem(
    "E763",
    "{found} is not a number of nights.",
    why="Between 1 and {most} nights can be shown at a time.",
    fix="write\n--days 14",
)

CONTROLLER_NOT_NAMED = problem(
    "E764",
    "The site file names no controller, and neither does the command.",
    why="How many slots a program may have, and how they may be written, depends on the "
    "controller.",
    fix="add this line under [site] in the site file, or --controller NAME to the command\n"
    'controller = "sun-yearly-64"',
)

OUR_FAULT = fault(
    "E901",
    "This is a mistake in schedcomp, not in your files.",
    why="No file was written. Please report it with this line: "
    "schedcomp {version}, {step}, {what}.",
    fix="nothing in your files; to see every step that led there, set this and try again\n"
    "SCHEDCOMP_DEBUG=1",
    page="""\
The program came to a state that its authors thought impossible. It stopped before it wrote
anything: an older set of results in the folder is as it was.

Please report the line that the message shows, with the site file if you may share it. That line
names the version, the place in the program and the kind of fault, and nothing of your site.""",
)
