"""Wording of findings about promises (E501 to E519) and the test run (E641 to E659)."""

from __future__ import annotations

from schedcomp.messages.kind import note, problem

# Promises

WISHES_BREAK_PROMISE = problem(
    "E501",
    'The lamps of "{circuit}" are {found} at {clock} where {wanted} is promised, {count}.',
    why="{dates}\n{decided}",
    fix="change the wishes so that the lamps are {wanted} then, or {promise}",
    page="""\
A promise is a line that must come true whatever the other lines say. It is checked at every date
it names, on the wishes and on the program. Here the wishes themselves say otherwise, so no
program file is written.

With a day type that lights until 24:00 on Fridays:

  "every day 23:50: dark"              broken
  "every day except fri 23:50: dark"   kept

Either the promise or the wishes are not what you want; only you can say which.
""",
)
PROGRAM_BREAKS_PROMISE = problem(
    "E502",
    'The program leaves the lamps of "{circuit}" {found} at {clock} where {wanted} is promised, '
    "{count}.",
    why="{dates}\n{decided}\nThe program has this switching at {run}: within the tolerance, but "
    "not within the promise.",
    fix='move the promised time, or allow fewer minutes, for example\n{key} = "{minutes} min"',
    page="""\
A controller with few slots cannot follow the sun to the minute, so its program may switch some
minutes early or late: the tolerance. Here that is enough to break a promise.

Ask for a smaller tolerance (it takes more slots), move the promised time by some minutes, or use
a controller with more slots.
""",
)
PROMISE_AS = 'write the promise as\n"{line}"'
PROMISE_LESS = "leave out of the promise the dates on which they are not"
PROMISE_OUTSIDE = note(
    "E511",
    "This promise was not judged on {dates}.",
    why="The period ends there: it runs from {first} through {last}.",
)
PROMISE_NEVER = note(
    "E512",
    "This promise names no date of the period and was not judged.",
    why="The period runs from {first} through {last}.",
)

# Test run

_OURS = "nothing in your files: this is a mistake in schedcomp. Please report it with the site file"

RUN_DIFFERS = problem(
    "E641",
    'In the test run the lamps of "{circuit}" {what}, {count}.',
    why="{dates}\nSeen with: {runs}.",
    fix=_OURS,
)
ORDER_UNKNOWN = problem(
    "E642",
    'Slots {first_slot} and {second_slot} of "{circuit}" could act in either order, {count}.',
    why="One switches on and the other off. {dates}\nWhich comes last depends on the controller's "
    "own sun times or on the clock change, and decides whether the lamps burn.",
    fix=_OURS,
)
INTERVAL_DIFFERS = problem(
    "E643",
    'With some sun error the lamps of "{circuit}" {what}, {count}.',
    why="{dates}\nThis counts every sun time the controller may have, also those that no single "
    "run showed.",
    fix=_OURS,
)
MEETS_SPECIAL_DAYS = problem(
    "E645",
    'Slot {slot} of "{circuit}" could act just when special days begin or end, {count}.',
    why="There the controller switches the other way by itself. {dates}\nWhich comes last is not "
    "known, and decides whether the lamps burn.",
    fix=_OURS,
)
SPECIAL_DAYS_UNSURE = problem(
    "E646",
    'What the lamps of "{circuit}" do where special days begin or end is not sure, {count}.',
    why="The controller works out the state from the slots that act then. {dates}\nWhich slot "
    "acted last before depends on the controller's own sun times, or lies too far back.",
    fix=_OURS,
)
