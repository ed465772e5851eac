"""What a controller file says (E601 to E629)."""

from __future__ import annotations

from schedcomp.messages.kind import problem

NO_SUCH_CONTROLLER = problem(
    "E601",
    "There is no built-in controller named {found}, and no file of that name.",
    why="{near}Built in are: {known}. The folder looked in is {folder}.",
    fix='write one of those names, or the path of a controller file\ncontroller = "{example}"',
)

UNCLEAR_START = problem(
    "E602",
    "{found} is not something an event can start at.",
    why="{near}Known are {known}, and dawn or dusk with the depth of the sun below the horizon.",
    fix="write, for example\nstarts_at = [{example}]",
)

START_TWICE = problem(
    "E603",
    "starts_at names {found} twice.",
    why="Each way to start an event stands there once.",
    fix="delete one of the two, for example\nstarts_at = [{typed}]",
)

NO_START = problem(
    "E604",
    "starts_at names nothing at which an event can start.",
    why="A controller switches at clock times, at sun times, or both.",
    fix='write, for example\nstarts_at = ["clock", "sunrise", "sunset"]',
)

UNCLEAR_WEEKDAYS = problem(
    "E605",
    "{found} is not a set of weekdays.",
    why="A set names weekdays by their first three letters, such as mon-fri, or all.",
    fix='write, for example\nweekdays = ["mon-fri", "sat, sun", "all"]',
)

STEP_NOT_IN_HOUR = problem(
    "E606",
    "{key} = {found} does not divide an hour.",
    why="A controller keeps times on a grid that is the same in each hour: every 1, 2, 3, 4, 5, 6, "
    "10, 12, 15, 20, 30 or 60 minutes.",
    fix="write, for example\n{key} = {example}",
)

CLOCK_CONTRADICTS = problem(
    "E607",
    'clock = "{clock}" and summer_time = "{summer_time}" contradict each other.',
    why='"standard" is a clock that never follows summer time; "local" is one that does.',
    fix='write\nsummer_time = "{right}"',
)

PLAN_EVENTS_MISSING = problem(
    "E608",
    'events_from = "plan_events" needs the number of events that a plan can hold.',
    why="The plans of special days then have slots of their own.",
    fix="add to `exceptions`, for example\nplan_events = 8",
)

SPARE_EXCEPTION_KEY = problem(
    "E609",
    "{key} has no meaning with {other}.",
    why="{why}",
    fix="leave {key} out",
)

OFFSET_STEP_TOO_LONG = problem(
    "E610",
    "offset_step_minutes = {step} is longer than offset_limit_minutes = {limit}.",
    why="No offset but 0 could be keyed in.",
    fix="write\noffset_limit_minutes = {step}",
)
