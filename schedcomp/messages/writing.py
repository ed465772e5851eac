"""How times, offsets and lines are written, and what dusk means (E104 to E159).

What is missing or too much is in `wanted`, dates in `writing_dates`.
"""

from __future__ import annotations

from schedcomp.messages.kind import problem

# Clock times

NOT_A_CLOCK = problem(
    "E104",
    "{found} is not a clock time.",
    why="Clock times have hours from 00 to 23 and minutes from 00 to 59.",
    fix="write one of these\n23:30\n11:30 pm",
    page="Clock times are written as 23:30, 7:30, 11:30 pm, 11 pm or noon.\n"
    "24:00 and midnight are the end of a date, so they stand only where something ends.\n"
    "00:00 is the start of a date.\n\n"
    "Wrong: on from dusk until 2330\nRight: on from dusk until 23:30",
)
MINUTES_OVER = problem(
    "E105",
    "{found} is not a clock time.",
    why="Minutes run from 00 to 59, so it could be meant as {before} or as {after}.",
    fix="write one of these\n{before}\n{after}",
)
HOURS_OVER = problem(
    "E106",
    "{found} is not a clock time.",
    why="A date ends at 24:00. This could be meant as {reading} on the next date.",
    fix="write\n{reading}",
    page="A window that begins in the evening may end after midnight: the end is then read as a "
    "time of the next date.\n\n"
    "Wrong: on from dusk until 25:30\nRight: on from dusk until 01:30",
)
OTHER_CLOCK_FORM = problem(
    "E107",
    "{found} is not written as clock times are written here.",
    why="It could be meant as {reading}: hours and minutes with a colon between them, no seconds.",
    fix="write\n{reading}",
)
TWO_CLOCKS = problem(
    "E108",
    "{found} could be {one} or {other}.",
    why="The lamps would switch at the wrong one half of the time, so neither is taken.",
    fix="write one of these\n{one}\n{other}",
)
TWELVE_ALONE = problem(
    "E109",
    "{found} could be noon or midnight.",
    why="People read it both ways, and the lamps would be 12 hours out.",
    fix="write 12:00 for noon, 00:00 for the start of a date\n12:00\n00:00",
)
TWELVE_AND_TWENTY_FOUR = problem(
    "E110",
    "{found} mixes the 12-hour and the 24-hour clock.",
    why="It could be meant as {reading} or as {other}.",
    fix="write one of these\n{reading}\n{other}",
)
MIDNIGHT_AS_START = problem(
    "E111",
    "{found} could be the start of this date (00:00) or its end (24:00).",
    why="They are a whole day apart. Midnight has one meaning only as an end, after until.",
    fix="write 00:00 with the date that begins then\n00:00",
)
DAY_END_AS_START = problem(
    "E112",
    "{found} is the end of a date; nothing can begin there.",
    why="The same moment is 00:00 of the next date.",
    fix="write 00:00 with the next date\n00:00",
)
CLOCK_WITH_OFFSET = problem(
    "E113",
    "A clock time takes no offset.",
    why="{found} is {reading}. Offsets belong to sun words and opening-hours words, which move "
    "from date to date; the earlier of and the later of take none, their members do.",
    fix="write\n{reading}",
)

# Moments

PAIR_IN_PAIR = problem(
    "E114",
    "A pair of times cannot stand inside another pair.",
    why="The earlier of and the later of have two plain times; with more it is hard to see which "
    "one switches the lamps.",
    fix="name two plain times, and put the third into a window of its own\n"
    "the later of close + 30 min and 21:00",
    page="The members of a pair are clock times, sun words and opening-hours words, each with its "
    "own offset.\nThe lamps are lit when any window of the day type asks for it, so a later end "
    "can be a second window.\n\n"
    "Wrong: on from dusk until the later of the earlier of close and 23:00 and 21:00\n"
    "Right: on from dusk until the earlier of close and 23:00\n"
    "       on from dusk until 21:00",
)
THIRD_MEMBER = problem(
    "E115",
    "The earlier of and the later of compare two times, not three.",
    why="With more it is hard to see which one switches the lamps.",
    fix="name two times, and put the third into a window of its own\n"
    "the later of close + 30 min and 21:00",
)
NO_FALLBACK = problem(
    "E116",
    '"{moment}" takes no "or" after it.',
    why="A time after or is for dates without opening hours, so it stands only behind open, "
    "close, arrive and leave. Clock times and sun words need none.",
    fix="write one of these\nclose or 21:00\nthe earlier of dusk and 21:00",
)
OFFSET_FIRST = problem(
    "E117",
    "The offset stands before what it is counted from.",
    why='Moments begin with their word: "{turned}".',
    fix="write\n{turned}",
)
TWO_OFFSETS = problem(
    "E118",
    "A moment takes one offset, not two.",
    why="Hours and minutes go into one offset.",
    fix="write, for example\ndusk + 1 h 30 min",
)
TOO_LONG = problem(
    "E119",
    "{found} is longer than {most}.",
    why="A length like this would carry the switching into another night.",
    fix="write at most {most}, or name a clock time\n{example}",
)
OFFSET_SECONDS = problem(
    "E120",
    "Offsets are in whole minutes.",
    why="Time switches hold their offsets in minutes, so {found} could not be kept.",
    fix="write, for example\n2 min",
)
DURATION_FORM = problem(
    "E122",
    "{found} is not written as lengths of time are written here.",
    why="It is {same}.",
    fix="write\n{same}",
)
DURATION_NUMBER = problem(
    "E123",
    "{found} is not a length of time.",
    why="Lengths are whole hours, minutes and seconds, the larger unit first, each unit once.",
    fix="write, for example\n1 h 30 min",
)
NO_UNIT = problem(
    "E125",
    "{found} has no unit that is known here.",
    why="{number} could be minutes or hours, and the lamps would be far off with the wrong one.",
    fix="write one of these\n{number} min\n{number} h",
)
WITHOUT_ON = problem(
    "E126",
    'A window begins with "on".',
    why="The windows of a day type say when the lamps are on; everything else is dark.",
    fix="{fix}",
)
TWILIGHT_AS_MOMENT = problem(
    "E128",
    '"{found}" is not a moment by itself.',
    why="What dusk and dawn mean is said once for the whole site, under [site], so that every "
    "window means the same light.",
    fix='write {word} here, and under [site]\n{word} = "{kind} {word}"',
)

# Lines

PROMISE_NEEDS_CLOCK = problem(
    "E152",
    "A promise is about a clock time; {found} moves from date to date.",
    why="A promise is checked at the minute you would look at your watch.",
    fix="write, for example\n2027-12-25 20:00: dark",
)
OTHER_WEEKDAY = problem(
    "E153",
    "{day} is a {weekday}.",
    why="Weekday and date do not fit, so one of them is a slip; the promise would be checked on "
    "the wrong night.",
    fix="write, or correct the date\n{written} {day}",
)
WEEKDAY_BEFORE_DATE = problem(
    "E154",
    "A date with its year needs no weekday here.",
    why="Only a promise names both; elsewhere it could mean every such weekday as well.",
    fix="write\n{written}",
)
STRETCH_BACKWARDS = problem(
    "E155",
    "This period ends before it begins, or has no length.",
    why="Its end would be on {day} too. Without a second date the end is on the first.",
    fix="write, if the next date is meant\n{written}",
)
HOURS_AFTER_MIDNIGHT = problem(
    "E156",
    "{before} closes after midnight, so nothing can follow it.",
    why="Periods of a date stand in order; the next one would begin on the next date.",
    fix="write this period into the line of its own date\n{found}",
)
HOURS_ORDER = problem(
    "E157",
    "{found} does not come after {before}.",
    why="Opening periods of a date stand in order and do not overlap; otherwise nobody could say "
    "when the place closes and the lamps go off.",
    fix="write\n{right}",
)

# What dusk and dawn mean

WRONG_SIDE = problem(
    "E158",
    "{found} cannot be the meaning of {word}.",
    why="It is on the {other} side; {word} is in the {side}, and lamps would burn through the day.",
    fix="write\n{written}",
)
NOT_A_DEFINITION = problem(
    "E159",
    "{found} cannot be the meaning of {word}.",
    why="{word} follows the sun: it is counted from {sun}, or given by how low the sun is or how "
    "much light is left. A fixed time belongs into a window.",
    fix="write one of these\n{sun} {sign} 15 min\ncivil {word}",
)
LEVEL_OUTSIDE = problem(
    "E134",
    "{found} is not a height of the sun that can be used here.",
    why="It is a plain number of degrees, at most {below} below the horizon, where the sky is at "
    "its darkest, or {above} above it.",
    fix="write, for example\nsun 6 deg below horizon",
)
LUX_OUTSIDE = problem(
    "E150",
    "{found} is not an amount of light that can be used here.",
    why="It is a plain number from {least} to {most}: from the darkest night sky to full day.",
    fix="write, for example\n20 lux",
)
