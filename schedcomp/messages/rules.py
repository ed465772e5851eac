"""Wording of findings about rules and people (E521 to E579)."""

from __future__ import annotations

from schedcomp.messages.kind import caution, note, problem

CIRCUIT_FACTS_MISSING = problem(
    "E521",
    "The circuit {circuit} does not say {keys}.",
    why="A rule is named. Whether lamps may burn in its dark hours, and surely burn in its lit "
    "ones, also depends on the photocell and on how long a wall override holds; neither is taken "
    "for granted then.",
    fix="write what is there, for example\n{typed}",
)

NO_SUCH_CIRCUIT = problem(
    "E522",
    "Clause {clause} names the circuit {name}, which this site does not have.",
    why="The circuits of this site are {known}.",
    fix='write one of them, for example\ncircuits = ["{one}"]',
)

OPEN_END = problem(
    "E523",
    "Clause {clause} leaves open when the lamps may be lit again.",
    why="Its rule reads `{rule}`, and texts like this name no end. Whether lamps may come on "
    "before dawn depends on the end that is chosen; it is printed with every result.",
    fix='choose one with the clause, the strictest first\nuntil = "sunset"\nuntil = "sunrise"\n'
    'until = "open - 1 h"\nuntil = "06:00"',
    page="Many texts say only from when lamps must be off. A program that lights the lamps again "
    "at 04:30 may or may not be meant to be allowed. Choose the end that the authority reads into "
    "its text: sunset (not lit again before the next evening), sunrise, opening, or a clock time. "
    "For a built-in rule, write a file of your own:\n\n"
    '    schedcomp_ordinance = 1\n    title = "Dark hours, as read for this site"\n'
    '    based_on = "NAME"\n    [[change]]\n    clause = "..."\n    until = "sunrise"',
)

NOT_MET = problem(
    "E530",
    "Lamps are {state} the hours entered for clause {clause} on {nights}, {minutes} in all.",
    why="{worst}{more}",
    fix="{fix}",
    page="The clause is judged night by night, as the rule file has it. The verdict counts the "
    "override and the photocell of each circuit, and goes by a clock that is right. While a clause "
    "is not met no program file is written, unless it is accepted with a reason.",
)

NOT_MET_ACCEPTED = caution(
    "E531",
    "Clause {clause} is not met and was accepted: {because}.",
    why="{what}",
)

NOT_MET_BY_COUNT_OR_UNIT = problem(
    "E532",
    "Clause {clause} is not met: {why}.",
    why="It asks for `{asked}`.{more}",
    fix="{fix}",
    page="Such a clause is about the controller, the wiring, or how many nights were declared, and "
    "not about the hours in which lamps burn. While it is not met no program file is written, "
    "unless it is accepted with a reason.",
)

CONFLICT = caution(
    "E535",
    "Clauses {dark} and {lit} ask for opposite things of {circuit} on {nights}.",
    why="{dark} asks for dark, {lit} for light, up to {minutes} a night; for example on {day} from "
    "{start} until {end}. No schedule meets both.",
    fix="ask the authority which of the two yields, and enter that\n"
    'exempt = {{ "{circuit}" = "clause {lit} goes before" }}',
)

DRIFT = note(
    "E536",
    "Clause {clause}: a unit whose clock is {minutes} {way} would break it on {nights}.",
    why="With a clock that is right it is met. The worst would be {worst} on {day}.",
    fix="{fix}",
)

NO_ROOM = problem(
    "E541",
    "{circuit}: the rule leaves no room beside {count} after the sun.",
    why="First: {action} at {phrase} on {first}. A program may not do it {way}, and the sun "
    "times of the unit, or its few slots, are not exact to the minute: no program does this.",
    fix="leave the rule {minutes} minutes\n{typed}",
)

UNCONFIRMED = caution(
    "E540",
    "{rule}: nobody is named who confirmed it against the current local text.",
    why="{note}Texts change, and the authority decides what its rule means.",
    fix='ask, then write in the rule file\nconfirmed_by = "the code officer, by letter"',
)

PEOPLE_IN_THE_DARK = caution(
    "E550",
    "{circuit} is dark while people are there on {nights}, {minutes} in all.",
    why="From arriving until leaving, whenever it is dark outside, this circuit should surely be "
    "lit. {when}; the worst is {worst}.{against}",
    fix="close the dates in [hours] on which nobody comes, or let the lamps follow the people, for "
    "example\n"
    "on from dusk until the later of leave and 21:00\non from arrive until dawn",
)

ALL_OFF_WITH_CLOSING = caution(
    "E551",
    "All circuits go off in the same minute, within 15 min of closing, on {nights}.",
    why="The last people leave in full darkness. {when}.",
    fix="let one circuit that serves people stay on until they have left\non from dusk until leave",
)

UNKNOWN_ACCEPTED = problem(
    "E560",
    "What is to be accepted, {name}, is no clause of the rules named and no promise of the site.",
    why="Known are {known}.",
    fix="write it as it stands there\n{typed}",
)

ACCEPTED_TWICE = problem(
    "E563",
    "{name} is accepted twice.",
    why="What is accepted is printed everywhere with one reason, so one of the two would be lost.",
    fix="{fix}",
)
ONCE_TYPED = 'write it once, with all there is to say\n--accept "{name}" --because "{because}"'
ONCE_IN_CELLS = (
    "write it once, with all there is to say, in the columns accept and because\n{name}\n{because}"
)

ACCEPT_WITHOUT_REASON = problem(
    "E561",
    "Each --accept needs a --because of its own, in the same order.",
    why="What is accepted is printed everywhere with its reason.",
    fix='write, for example\n--accept "{one}" --because "variance 24-118, ends 2027-06-30"',
)

NOTHING_TO_CHECK = problem(
    "E562",
    "check needs a site file, or a transfer file with --transfer.",
    why="A site file says what the lamps are to do, a transfer file what a program does.",
    fix="type one of these\nschedcomp check north-lot.toml --year 2027\n"
    "schedcomp check --transfer transfer.json --ordinance dark_hours.toml",
)
