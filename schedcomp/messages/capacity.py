"""Slots against minutes: what would make a program fit, and what `fit` is asked (E650 to E669)."""

from __future__ import annotations

from schedcomp.messages.kind import caution, note, problem

SMALLEST = "Of all tolerances in whole minutes this is the smallest that fits."
SMALLEST_FOUND = (
    "It is the smallest in whole minutes for which a program was found; whether a minute less "
    "would do was too much to work out."
)

WIDER_FITS = note(
    "E650",
    "Within {minutes} min a program fits {controller}: {taken} of {slots}.",
    why="Lamps are then up to {minutes} min {direction} than asked. {smallest}",
    fix='allow it, if lamps may be that far off, under [site]\n{key} = "{minutes} min"',
)

NONE_FITS = note(
    "E651",
    "No tolerance up to {most} min {makes} a program fit {controller}.",
    why="{why}",
    fix="use a controller that is enough; this lists which are, and what to specify\n{command}",
)

WOULD_SAVE = note(
    "E652",
    "Leaving out one of these lines would save slots.",
    why="{savings}",
    fix="leave one out, if the lamps may do without it, or give its dates the times of another day "
    "type",
    page="""Each calendar line, each window of a day type and each single night was left out by
itself, and the program worked out anew. A line takes slots when its dates or times differ from
those of the others. Two lines may each seem to save little and save much together, where one
without the other still needs the dates of both. Beside the slots stands how much less the lamps
would be lit over the period; "more" where the line keeps lamps dark.""",
)

NONE_SAVES = note(
    "E653",
    "No single line of the site file takes the slots.",
    why="{tried} left out, one at a time: a program took no fewer slots.{untried}",
)

NOT_ENOUGH = problem(
    "E654",
    "{controller} is not enough for these wishes.",
    why="{why}",
    fix="{fix}",
)
USE_THIS = 'use one that is enough, for example under [site]\ncontroller = "{controller}"'
NONE_BUILT_IN = (
    "no built-in controller is enough either: ask for less, or describe a unit with more in a "
    "controller file"
)

BAD_MINUTES = problem(
    "E660",
    "{found} is not a tolerance in minutes.",
    why="Slots are counted for tolerances in whole minutes, from 1 to {most} min.",
    fix="write\n--to {example}",
)

NOT_NAMED_SVG = problem(
    "E661",
    "{found} is not the name of an SVG picture.",
    why="The picture is drawn as SVG, which every browser shows and prints.",
    fix="end the name in .svg\n--picture {example}",
)

NO_PICTURE = caution(
    "E663",
    "No picture was drawn: {controller} lacks a channel that is used.",
    why="The picture shows how many slots of this controller each tolerance takes; it would do for "
    "none.",
    fix="give the circuit a channel that the controller has\nchannel = {channel}\n"
    "or name a controller that is enough",
)

PICTURE_NOT_WRITTEN = problem(
    "E662",
    "The picture could not be written to {path}.",
    why="The computer says: {words}. An older picture of that name is as it was.",
    fix="name a file in a folder of your own\n--picture {example}",
)
