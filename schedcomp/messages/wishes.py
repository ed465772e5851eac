"""Wishes that can be carried out but deserve a second look; none of these stops a build."""

from __future__ import annotations

from schedcomp.messages.kind import caution, note

UNUSED_DAY_TYPE = caution(
    "E270",
    "Day type {name} is never used.",
    why="No calendar line names it, so its windows light nothing.",
    fix='delete it, or use it in a calendar line, for example\n"fri evenings: {name}",',
)

NO_DATE_NAMED = "It names no date of the period."
ALL_NAMED_AGAIN = "Lines further down name all of its dates again."

IDLE_LINE = caution(
    "E271",
    "This line decides nothing from {first} through {last}.",
    why="{reason}",
    fix="delete the line, or move it below the lines that overrule it",
    page="""The last calendar line that names a half of a date decides it. A line that names no date
of the period, or whose dates are all named again further down, changes nothing. Lines for special
dates belong below the general ones.""",
)

ALWAYS_EMPTY = caution(
    "E272",
    "{circuit}: `{window}` never lights anything.",
    why="Asked for on {dates} from {first} through {last}: {reason}.",
    fix="change one of its ends, or delete the window",
)

LOST_LIGHT = caution(
    "E273",
    "{circuit}: this line takes the light from {halves}.",
    why="Day type {new} has no window there; the line it overrules, `{old_line}`, has one. "
    "First {first}, last {last}.",
    fix='name only the half that changes, for example\n"{fixed}",',
    page="""A line without `evenings` or `mornings` decides both halves of its dates. A day type for
late evenings that has no morning window therefore also takes the early-morning light away. Say
`fri evenings: late` to change the evening only, or give the type a morning window. If dark is
meant, use the built-in day type `dark`.""",
)

CLOSED_DATES = caution(
    "E274",
    "{circuit}: dark on {dates} named by this line, because the place is closed.",
    why="Day type {day_type} waits for opening hours that these dates do not have. First {first}, "
    "last {last}.",
    fix='give the clock time for closed dates, for example\n"on from dusk until close or 21:00"',
)

OPEN_BUT_DARK = caution(
    "E275",
    "{circuit}: dark on {holidays} on which [hours] says open.",
    why="{dates}.",
    fix='close these dates in [hours], or light them, for example\n"{name}: {day_type}",',
)

CLOSED_BUT_LIT = caution(
    "E276",
    "{circuit}: lit as usual on {holidays} on which [hours] says closed.",
    why="{dates}. The calendar has no line for these holidays.",
    fix='say what the lamps do then, for example\n"holidays: dark",',
)

SMALL_HOURS = caution(
    "E277",
    "The window that starts at {start} belongs to the date it starts on.",
    why="Under `{line}` it lights {example} from {start}, which is the night after {before}.",
    fix="nothing, if that is wanted; else name the date after",
)

NO_LINE = caution(
    "E278",
    "{circuit}: no calendar line names {halves}, which stay dark.",
    why="First {first}, last {last}.",
    fix='begin the calendar with a line for every date, for example\n"every day: dark",',
)

SHORT_GAP = caution(
    "E279",
    "{circuit}: {gaps} shorter than shortest_off will not be bridged.",
    why="Hours kept dark are never bridged: first {first}, last {last}. Discharge lamps may not "
    "light again at once.",
    fix="move the keep-dark hours, or make the gap longer",
)

LIT_AT_NOON = caution(
    "E280",
    "{circuit}: lit at midday on {dates}.",
    why="First {first}, last {last}. The first time they are lit from {start} until {end}.",
    fix="nothing, if that is wanted; else end the window at dawn",
)

KEPT_DARK_ALL_DAY = caution(
    "E284",
    "{circuit}: this line keeps the lamps dark for 24 hours.",
    why="It begins and ends at the same time, so on its dates nothing is ever lit.",
    fix="nothing, if that is wanted; else let it end at another time",
)

EMPTY_SOMETIMES = note(
    "E281",
    "{circuit}: `{window}` lights nothing on {dates}.",
    why="First {first}, last {last}: {reason}. The lamps do not switch for it then.",
)

SWALLOWED_ONE_OFF = caution(
    "E353",
    "{circuit}: the single period of {state} on {day} has no length.",
    why="The clock goes forward to {shown} over both of its times, so nothing is switched.",
    fix="let it end later than {shown}",
)

LEFT_OUT = note(
    "E282",
    "{circuit}: shortest_on leaves out {count} of up to {longest}.",
    why="First {first}, last {last}.",
)

BRIDGED = note(
    "E283",
    "{circuit}: shortest_off keeps the lamps on through {count} of up to {longest}.",
    why="First {first}, last {last}.",
)

SKIPPED_CLOCK = note(
    "E350",
    "{circuit}: the clock skips {reading} on {day}.",
    why="It is done at {shown}, when the clock goes forward.",
)

FIRST_PASS = note(
    "E351",
    "{circuit}: the clock shows {reading} twice on {day}.",
    why="The first of the two is meant, at UTC offset {offset}; nothing is undone in the second.",
)

SECOND_PASS = note(
    "E352",
    "{circuit}: the clock shows {reading} twice on {day}.",
    why="It is done at the second of the two, at UTC offset {offset}: hours kept dark hold through "
    "both, and minutes after closing are counted as they pass.",
)

FAR_FROM_TOWN = caution(
    "E450",
    "The site lies {where}.",
    why="No town of 15,000 people is within 100 km; a mistyped coordinate often ends up like "
    "this. All sun times follow from it.",
    fix="check latitude and longitude, north and east positive",
)

AT_SEA = caution(
    "E451",
    "The site lies {where}.",
    why="A mistyped sign or digit often ends up like this. All sun times follow from it.",
    fix="check latitude and longitude, north and east positive",
)
