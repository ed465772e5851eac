"""Slots: what does not fit, and what a controller cannot be asked for."""

from __future__ import annotations

from schedcomp.messages.kind import caution, note, problem

NEEDS_MORE_SLOTS = problem(
    "E631",
    "This period needs {needed} slots{each}; {controller} has {slots}.",
    why="That is with lamps up to {tolerance} min {direction} than asked. events.csv and "
    "transfer.json were not written.",
    fix="give dates the same times, or allow more minutes; this tells what each tolerance takes\n"
    "{command}",
    page="""A controller stores a limited number of events. schedcomp looks for the shortest program
that keeps every switching within the tolerance, and proves that no shorter one exists. Here even
the shortest is too long for this unit. Three things help: a larger tolerance_limit, fewer
different times (give more dates the same day type), or a controller with more slots.""",
)

OUT_OF_REACH = problem(
    "E632",
    "{controller} cannot do {switchings} of {circuit} within {tolerance} min.",
    why="First: {action} at {phrase} on {first}. No event this controller can store comes close "
    "enough on that date without switching the lamps wrongly on another.",
    fix="{fix}",
    page="""Each switching needs some stored event that fires close enough on its date and does
nothing wrong on every other date it fires. A controller without date ranges can not follow the
sun by the clock; a controller with sun times can not come closer to the sun than its own error.
Use a controller that knows sunrise and sunset, or one with date ranges, or allow more minutes.""",
)

NEVER_SWITCHED_ON = caution(
    "E644",
    "{circuit}: lit from end to end, so no slot switches its lamps on.",
    why="The test run takes them as lit at the start. A unit that starts dark, as one does that is "
    "new or was without power, leaves them dark.",
    fix="leave this circuit off the controller, or {way_out}",
)

NO_SUCH_CHANNEL = problem(
    "E640",
    "{circuit} is on channel {channel}, and {controller} has {channels}.",
    why="No event this unit can store would switch its lamps.",
    fix="{fix}",
)
FREE_CHANNEL = "use a channel that is free, or a controller with more channels\nchannel = {channel}"
MORE_CHANNELS = (
    "use a controller with more channels, as `schedcomp fit` lists them, for example\n"
    'controller = "{controller}"'
)
NO_SO_MANY_CHANNELS = (
    "share the circuits out between units with a site file each, or describe a unit with "
    "{channels} channels; this shows one\nschedcomp controllers sun-yearly-64"
)

FEWER_SLOTS = note(
    "E639",
    "{used} slots keep the lamps within {tolerance} min; within {wider} min {needed} would do.",
    why="Without a tolerance in the site file the smallest one that fits is taken, which may fill "
    "the unit with many close times.",
    fix='for a shorter program to key in, under [site]\ntolerance = "{wider} min"',
)

SWITCHING_DROPPED = note(
    "E635",
    "{circuit}: {count} left dark, too short to be switched safely.",
    why="{dates}; they would be lit for {longest} at most. {cause}",
    fix="nothing, if that is wanted; else end the window later",
)

GAP_LENGTHENED = note(
    "E636",
    "{circuit}: {count} made longer, too short to be switched safely.",
    why="{dates}; the lamps go off up to {longest} before the time asked.",
    fix='nothing, if that is wanted; else bridge short gaps\nshortest_off = "15 min"',
)

MOVED_TO_STEP = caution(
    "E637",
    "{circuit}: {count} moved to the {step}-minute step of {controller}.",
    why="{dates}; the first is {phrase}. An OFF moves earlier, an ON later, so that dark hours are "
    "kept.",
    fix="write times on the step",
)

ENDS_OVERRIDE = note(
    "E647",
    "{circuit}: a safety repeat would end a wall override {after} min after the OFF.",
    why="{controller} ends an override at the next event, and a repeat ({slots}) is one. Whoever "
    "asks for {override} of light gets less.",
    fix="nothing, if that is wanted; else leave the spare slots empty, under [site]\n"
    'spare = "none"',
    page="""Slots that are left over hold repeats: each off a second time some minutes later, and an
off in the middle of the day, so that a missed event leaves the lamps wrong for minutes and not for
hours. On a unit whose wall override lasts until the next event, such a repeat also ends an
override pressed just after the lamps went off. Either the override may be short, or the spare
slots stay empty, or a controller is used whose override lasts for minutes of its own.""",
)
