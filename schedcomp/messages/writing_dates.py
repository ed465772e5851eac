"""How dates are written (E121, E129 to E133, E135 to E151)."""

from __future__ import annotations

from schedcomp.messages.kind import problem

DATE_READINGS = problem(
    "E121",
    "{found} could be {words}.",
    why="The order of day and month differs from place to place, and the lamps would be dark or "
    "lit on the wrong date.",
    fix="write one of these\n{typed}",
    page="Dates of one year are written year-month-day with four digits for the year, dates of "
    "every year with the name of the month. Other forms are refused even where only one reading "
    "is possible, because the next date in the same form may have two.\n\n"
    "Wrong: 03/04: dark\nRight: apr 3: dark\nRight: 2027-04-03: dark",
)
OTHER_DATE_FORM = problem(
    "E129",
    "{found} is not written as dates are written here.",
    why="It could be meant as {words}. Every date of a file has the same form, so that nobody "
    "misreads one.",
    fix="write\n{typed}",
)
NOT_A_DATE = problem(
    "E130",
    "{found} is not a date.",
    why="Dates are year-month-day, or a day with the name of its month for every year.",
    fix="write, for example\n{example}",
)
NO_SUCH_DATE = problem(
    "E131",
    "{found} is not in the calendar.",
    why="{month} has {days} days, so the line would never act.",
    fix="write, for the last day of the month\n{last}",
)
YEAR_OUTSIDE = problem(
    "E132",
    "The year of {found} cannot be worked out.",
    why="Sun times are known from {first} through {last}.",
    fix="write, for example\n2027-12-24",
)
YEAR_WITHOUT_DATE = problem(
    "E133",
    "{found} is not written as dates of one year are written here.",
    why="A year stands only in front: year-month-day, with digits for the month.",
    fix="write\n{written}",
)
COUNT_OF_DAYS = problem(
    "E135",
    "A number of days stands behind Easter, or is written as day before.",
    why="Dates begin with what the days are counted from.",
    fix="write one of these\neaster - 2 days\nday before holidays\nday before day before holidays",
)
DAY_WITHOUT_MONTH = problem(
    "E136",
    "{found} is a day without its month.",
    why="Nothing says in which month the lamps should follow this line.",
    fix="write, for example\ndec {day}",
)
YEAR_AT_ONE_END = problem(
    "E137",
    "Only one end of this range has a year.",
    why="With a year at both ends the range is once, with none it is every year.",
    fix="write one of these\n2027-12-20 to 2028-01-06\ndec 20 to jan 6",
)
RANGE_BACKWARDS = problem(
    "E138",
    "This range ends before it begins.",
    why="It has no dates, so the lamps would never follow it.",
    fix="write\n{swapped}",
)
IN_USE = problem(
    "E139",
    '"in" stands between weekdays and a month or a range of dates.',
    why="It picks the weekdays out of the range; {found} is neither.",
    fix="write, for example\nfri, sat in jun 1 to aug 31",
)
RANGE_AFTER_IN = problem(
    "E140",
    "{found} could belong to {days} or stand alone.",
    why="It could mean only {days} of these dates, or all of them.",
    fix="write one of these\n{both}\n{whole}",
)
DAY_BESIDE_RANGE = problem(
    "E141",
    "{found} is more than one date.",
    why="It could mean the day beside each date of {range}, or the one beside the whole.",
    fix="name one date, for the one beside the whole\n{written}",
)
TOO_FAR = problem(
    "E142",
    "{found} is too far away to be counted.",
    why="Days are counted up to {most} away; further off, people miscount.",
    fix="name the date itself, for example\n2027-12-24",
)
SECOND_EXCEPT = problem(
    "E143",
    "A phrase has one except, not two.",
    why="It could take out these dates as well, or leave them in.",
    fix="list what is taken out with commas; to put dates back, add a line below\n"
    "every day except holidays, dec 24",
)
LOOSE_WORD = problem(
    "E144",
    '"{found}" means different days to different people.',
    why="Some count Saturday as a weekday, some Friday night as weekend; in some places the "
    "weekend is Friday and Saturday.",
    fix="write\n{written}",
)
EVERY_ONLY_DAY = problem(
    "E145",
    '"{found}" is written in another way here.',
    why="The word every stands only in every day.",
    fix="write\n{written}",
)
HALF_NOT_HERE = problem(
    "E146",
    '"{found}" has no meaning in this place.',
    why="Only calendar lines decide evenings and mornings apart; here whole dates are meant.",
    fix="leave it out{rest}",
)
HALF_NOT_LAST = problem(
    "E147",
    '"{found}" stands once, at the end of the dates.',
    why="It holds for all dates of the line; different halves go into different lines.",
    fix="write, for example, two lines\nfri, sat evenings: late\nsun mornings: usual",
)
HOLIDAY_WITHOUT_NAME = problem(
    "E148",
    "The name of the holiday is missing.",
    why="Without a name the line would be for no date; for all of them write holidays.",
    fix="write one of these\nholiday Christmas Day\nholidays",
)
QUOTES = problem(
    "E149",
    "The quotes around this name are not complete.",
    why="A name in quotes has the same quote before and behind it, and none inside.",
    fix="leave them out, for example\nholiday Christmas Day",
)
RULE_FORM = problem(
    "E151",
    "This recurrence rule cannot be read.",
    why="A rule has at most {most} letters, with ; between its parts and no colon.",
    fix="write, for example\nrrule FREQ=MONTHLY;BYDAY=1MO",
)
