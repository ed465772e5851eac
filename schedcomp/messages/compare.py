"""Wording about comparing programs and about hours lit (E794 to E797)."""

from __future__ import annotations

from schedcomp.messages.kind import caution, problem

NO_PLACE = problem(
    "E794",
    "Nothing says where {name} is used.",
    why="What lamps do depends on the place, its clock and the controller. A list of slots tells "
    "none of them, so one of the files must be a transfer file or a site file.",
    fix="compare with one, or name the site\n"
    "schedcomp compare {first} {second} --site north-lot.toml",
)

TWO_PLACES = caution(
    "E795",
    "{first} and {second} are of two places.",
    why="Their coordinates or time zones differ, so the sun and the clock do too. Each was taken "
    "at its own place.",
    fix="compare programs of one site",
)

UNTIL_BEFORE_SINCE = problem(
    "E796",
    "The second reading is not later than the first: since {since} until {until}.",
    why="The hours are those between two readings of a counter.",
    fix="write the earlier one first\n--since 2027-01-01 --until 2027-01-31",
)

ORDER_IS_LUCK = caution(
    "E797",
    "In {name} slots {first} and {second} act against each other on channel {channel}.",
    why="One switches on and the other off at the same time, on {count}, for the first time on "
    "{day}. Which comes last is luck, so the lamps may burn or stay dark until the next slot. The "
    "comparison shows one of the two.",
    fix="change one of the two slots in the unit, or build again\nschedcomp build north-lot.toml",
)
OF_THE_UNIT = "the unit itself"

HOURS_TOO_LONG = problem(
    "E713",
    "These dates are more than {most} days apart.",
    why="A unit's counter is read more often than that.",
    fix="name an earlier second date, for example\n--until {until}",
)
