"""What a site file says (E201 to E269): keys, values, places, names and what refers to them."""

from __future__ import annotations

from schedcomp.messages.kind import caution, problem

# Keys and values

NEAR_KEY = problem(
    "E201",
    "{key} is not known in {part}.",
    why="The nearest known name is {near}.",
    fix="write\n{typed}",
)

UNKNOWN_KEY = problem(
    "E202",
    "{key} is not known in {part}.",
    why="Known there: {known}.",
    fix="delete the line, or make it a remark\n{typed}",
)

KEY_ELSEWHERE = problem(
    "E203",
    "{key} does not belong in {part}.",
    why="It belongs in {other}. An entry counts for the part whose name stands above it.",
    fix="move the line below\n{other}",
)

MISSING_KEY = problem(
    "E204",
    "{part} has no {key}.",
    why="{why}",
    fix="add a line such as\n{typed}",
)

MISSING_PART = problem(
    "E205",
    "The file has no part {part}.",
    why="{why}",
    fix="add these lines\n{part}\n{typed}",
)

NEEDS_TEXT = problem(
    "E206",
    "{key} must be a text in quotes; {found} is {what}.",
    fix="write\n{typed}",
)

NEEDS_NUMBER = problem(
    "E207",
    "{key} must be a number without quotes; {found} is {what}.",
    fix="write\n{typed}",
)

NEEDS_WHOLE = problem(
    "E208",
    "{key} must be a whole number; {found} is not.",
    fix="write the one that is meant, for example\n{typed}",
)

NEEDS_FLAG = problem(
    "E209",
    "{key} must be true or false, without quotes; {found} is {what}.",
    fix="write\n{typed}",
)

NEEDS_LIST = problem(
    "E210",
    "{key} must be a list in square brackets; {found} is {what}.",
    fix="write\n{typed}",
)

NEEDS_GROUP = problem(
    "E211",
    "{key} must be a group of entries; {found} is {what}.",
    fix="write\n{typed}",
)

NEEDS_PARTS = problem(
    "E212",
    "[{key}] needs two brackets on each side.",
    why="There may be several of them, and each has its own.",
    fix="write\n[[{key}]]",
)

SINGLE_PART = problem(
    "E213",
    "[[{key}]] needs one bracket on each side.",
    why="There is only one such part in a file.",
    fix="write\n[{key}]",
)

OUT_OF_RANGE = problem(
    "E214",
    "{key} = {found} is not possible.",
    why="It can be {allowed}.",
    fix="write, for example\n{typed}",
)

BLANK_TEXT = problem(
    "E215",
    "{key} is an empty text.",
    why="An entry that is not wanted is left out as a whole.",
    fix="write, for example\n{typed}",
)

UNPRINTABLE = problem(
    "E216",
    "The text of {key} holds a line break or a sign that cannot be printed.",
    why="It is printed on one line of the sheet and stands in the files for the controller.",
    fix="write it on one line, for example\n{typed}",
)

NEAR_CHOICE = problem(
    "E217",
    '{key} cannot be "{found}".',
    why="The nearest choice is {near}. {key} can be {known}.",
    fix="write\n{typed}",
)

NOT_A_CHOICE = problem(
    "E218",
    '{key} cannot be "{found}".',
    why="It can be {known}.",
    fix="write, for example\n{typed}",
)

NEEDS_UNIT = problem(
    "E219",
    "{key} needs a number with its unit, in quotes; {found} has none.",
    why="min is minutes, h is hours.",
    fix="write\n{typed}",
)

NO_VERSION = problem(
    "E220",
    "The file does not begin with {key} = 1.",
    why="That line tells that this is such a file, and how it is to be read.",
    fix="put this line at the very top\n{key} = 1",
)

SITE_EXPECTED = problem(
    "E246",
    "This is a controller file, where a site file is needed.",
    why="Its line {key} says so. Nothing else in it was looked at.",
    fix="name the site file first, and this one after --controller\n"
    "schedcomp build north-lot.toml --controller {name}",
)

CONTROLLER_EXPECTED = problem(
    "E247",
    "This is a site file, where a controller file is needed.",
    why="Its line {key} says so. Nothing else in it was looked at.",
    fix='name a controller file, or a built-in kind, for example\ncontroller = "sun-yearly-64"',
)

OTHER_VERSION = problem(
    "E221",
    "The file says {key} = {found}; this program reads {key} = 1.",
    why="Files with a higher number were made for a later edition of schedcomp.",
    fix="get the later edition; a file of this edition begins with\n{key} = 1",
)

WHOLE_MINUTES = problem(
    "E222",
    "{key} must be whole minutes; {found} is not.",
    fix="write, for example\n{typed}",
)

# Place and time zone

NEAR_POLE = problem(
    "E225",
    "Latitude {found} is too near the pole.",
    why="Beyond 85 degrees the sun goes round the sky at nearly the same height all day, and its "
    "rising and setting cannot be told to the minute.",
    fix="give a place between 85 S and 85 N, for example\nlatitude = 40.5853",
)

NOT_A_COORDINATE = problem(
    "E226",
    "{found} is not a {axis}.",
    why="A {axis} lies between {low} and {high} degrees. {hint}",
    fix="write, for example\n{typed}",
)

UNCLEAR_COORDINATE = problem(
    "E227",
    "{found} cannot be read as a {axis}.",
    why="It can be degrees with a point, or degrees, minutes and seconds with blanks or signs "
    "between them, and then {letters}.",
    fix="write one of these\n{decimal}\n{sexagesimal}",
)

COORDINATE_COMMA = problem(
    "E228",
    "{found} is written with a decimal comma.",
    why="A comma separates two things; {reading} is written with a point.",
    fix="write\n{typed}",
)

CHANGED_PLACES = problem(
    "E224",
    "Latitude {latitude} and longitude {longitude} changed places.",
    why="No latitude is beyond 90 degrees.",
    fix="write\nlatitude = {longitude}\nlongitude = {latitude}",
)

WRONG_LETTER = problem(
    "E229",
    "{found} ends with {letter}, and a {axis} ends with {letters}.",
    why="Perhaps latitude and longitude changed places.",
    fix="write, for example\n{typed}",
)

SIGN_AND_LETTER = problem(
    "E230",
    "{found} has both a sign and the letter {letter}.",
    why="Each of them tells the side of the equator or of Greenwich; together they could mean "
    "either.",
    fix="write\n{typed}",
)

TOO_MANY_MINUTES = problem(
    "E231",
    "{found} is not possible: {part} run from 0 to 59.",
    why="A degree has 60 minutes and a minute 60 seconds.",
    fix="write degrees with a point instead, for example\n{typed}",
)

COORDINATE_UNDERSCORE = problem(
    "E232",
    "{found} has a line between its digits.",
    why="Coordinates are written with digits, a minus sign and a point only.",
    fix="write\n{typed}",
)

WRONG_COORDINATES = problem(
    "E233",
    "The coordinates do not lie in the time zone {zone}: {slip}.",
    why="As written, {latitude} {longitude}, they lie in the zone {there}; dusk and dawn would "
    "be hours off. Corrected they lie in {zone}.",
    fix="write\nlatitude = {new_latitude}\nlongitude = {new_longitude}",
)

ZONE_FAR_OFF = problem(
    "E234",
    "The coordinates do not fit the time zone {zone}.",
    why="At {latitude} {longitude} the sun would be highest at {noon} on that clock. The zone "
    "there is {there}.",
    fix="correct the coordinates, or write\n{typed}",
)

ZONE_DIFFERS = caution(
    "E235",
    "The coordinates lie in the zone {there}, and the file says {zone}.",
    why="The clocks of the two differ on some dates of the year. Clock times are taken in {zone}.",
    fix="if the place is right, write\n{typed}",
)

FIXED_ZONE = problem(
    "E236",
    "{found} is not the name of a time zone with its summer time rule.",
    why="It stands for a fixed distance from world time, or for several zones. {hint}",
    fix="write\n{typed}",
)

UNKNOWN_ZONE = problem(
    "E237",
    "There is no time zone named {found}.",
    why="Zones are named by region and city. {hint}",
    fix="write\n{typed}",
)

NO_ZONE_HERE = problem(
    "E238",
    "No time zone is given, and none belongs to {latitude} {longitude}.",
    why="The place lies in the open sea; perhaps a minus sign is missing, or latitude and "
    "longitude changed places.",
    fix="correct the coordinates, or add the zone, for example\n{typed}",
)

BAD_PAIR = problem(
    "E239",
    "{found} is not a pair of coordinates.",
    why="Latitude comes first, then a comma, then longitude, as they were keyed into the unit.",
    fix='write, for example\nunit_location = "40.59 N, 105.08 W"',
)

# Names, and what refers to them

SAME_NAME = problem(
    "E240",
    "Two {things} are named {name}.",
    why="Names must differ, and not in capitals alone, so that nobody takes one for the other.",
    fix="give one of them another name, for example\n{typed}",
)

SAME_CHANNEL = problem(
    "E241",
    "Channel {channel} drives two circuits: {first} and {second}.",
    why="A channel switches everything on it together; its on and off times can be only one set.",
    fix="give one of them another channel, or join them into one circuit\nchannel = {free}",
)

DARK_IS_BUILT_IN = problem(
    "E242",
    "The day type dark is built in and cannot be written anew.",
    why="It has no windows: the lamps stay off.",
    fix="use another name, for example\n{typed}",
)

NEAR_DAY_TYPE = problem(
    "E243",
    "There is no day type named {name}.",
    why="The nearest name in [day_types] is {near}.",
    fix="write\n{typed}",
)

UNKNOWN_DAY_TYPE = problem(
    "E244",
    "There is no day type named {name}.",
    why="Day types of this file: {known}. The type dark is built in.",
    fix='add it under [day_types], for example\n{quoted} = ["on from dusk until 23:00"]',
)

UNKNOWN_CIRCUIT = problem(
    "E245",
    "There is no circuit named {name}.",
    why="Circuits of this file: {known}.",
    fix='write\ncircuit = "{near}"',
)

HOURS_MISSING = problem(
    "E248",
    "{word} has no meaning: the file has no [hours].",
    why="Opening hours give their times to open, close, arrive and leave.",
    fix='add the hours, or write a clock time for dates without\n[hours]\nmon-fri = "07:00-20:00"',
)

STAFF_MISSING = problem(
    "E249",
    "{word} has no meaning: [hours] has no {key}.",
    why="arrive is that long before opening, leave that long after closing.",
    fix='add this line under [hours]\n{key} = "30 min"',
)

LAMPS_DIFFER = problem(
    "E251",
    "lamps and load_kw do not agree: {lamps_kw} kW and {load_kw} kW.",
    why="Energy and cost are worked out from one of them.",
    fix="delete one of the two, or write\nload_kw = {lamps_kw}",
)

UNCLEAR_LAMPS = problem(
    "E252",
    "{found} cannot be read as lamps with their power.",
    why="It is a number of lamps, x, and the power of one; several kinds are joined with +.",
    fix="{fix}",
)
LAMPS_EXAMPLE = 'write, for example\nlamps = "40 x 160 W"\nlamps = "12 x 400 W + 4 x 70 W"'
LAMPS_AS = 'write\nlamps = "{lamps}"'

LIT_OR_DARK = problem(
    "E253",
    "A [[one_off]] needs either lit or dark, and one of them only.",
    why="It says from when until when the circuit is lit, or kept dark.",
    fix='write, for example\nlit = "2027-06-18 21:00 until 2027-06-19 00:30"',
)

NO_CALENDAR = problem(
    "E254",
    "The calendar of {circuit} has no lines.",
    why="A date that no line names is dark, so these lamps would never be lit.",
    fix='write, for example\ncalendar = ["every day: usual"]',
)

NO_HOLIDAYS_CHOSEN = problem(
    "E255",
    "The holidays name neither a country nor any date of their own.",
    why="There is nothing to take the dates from.",
    fix='write, for example\nholidays = {{ country = "US", observed = false }}',
)

OVER_LIMIT = problem(
    "E256",
    "tolerance is more than tolerance_limit: {tolerance} min and {limit} min.",
    why="The limit is how far the program may ever be from the wishes.",
    fix='write\ntolerance_limit = "{tolerance} min"',
)

NOT_CONFIRMED = problem(
    "E260",
    "{found} does not tell how, when and for which program code a unit was confirmed.",
    why="What shows that a unit holds the program is {known}.",
    fix='write all three, for example\nconfirmed = "keyed-back list, 2027-03-12, 7F3A-92C1"',
)

ONLY_AND_EXCEPT = problem(
    "E257",
    "The holidays have both only and except.",
    why="only names all that count, so nothing is left to take out.",
    fix="take the names out of only, and leave except out",
)

TEXT_TOO_LONG = problem(
    "E267",
    "{key} is {count} letters long.",
    why="On the sheet and the label there is room for {most}.",
    fix="write a shorter one, such as\n{typed}",
)

TOO_MANY_LINES = problem(
    "E268",
    "{key} has {count} entries.",
    why="At most {most} are read, and the rest would count for nothing.",
    fix='join entries that mean the same, as in\n"nov 20 to jan 6, 2027-02-12: dark"',
)

PHRASE_TOO_LONG = problem(
    "E266",
    "This phrase is {count} letters long.",
    why="At most {most} are read: enough to name every date of a year one by one.",
    fix="divide it into several lines, or name whole stretches of dates, such as\nnov 20 to jan 6",
)
