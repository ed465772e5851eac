"""Wording of the questions before a site file is written (E798 and E799)."""

from __future__ import annotations

from schedcomp.messages.kind import problem

NOT_AN_ANSWER = problem(
    "E798",
    "{found} is not an answer to `{key}`.",
    why="{what}",
    fix="write it like this\n--answer '{key}={example}'",
)

STOPPED = problem(
    "E799",
    "The questions ended at {number}, {key}. Nothing was written.",
    why="{what}",
    fix="answer all of them, or give answers as options and let the rest be usual\n"
    "schedcomp new --answer 'name=Corner lot' --answer 'place=40.59 N, 105.08 W' "
    "--answer 'circuits=Poles' --usual",
)
INPUT_ENDED = "The input ended before this question was answered."
REFUSED = "It was not wished that files are replaced."
NOT_WRITTEN = "The file could not be written: {words}."
NO_USUAL = "There is no usual answer to it."


# Why an answer cannot be

NEEDED = "An answer is needed here."
ONE_LINE = "It must fit on one line, without signs that cannot be printed."
NO_QUESTION = "There is no such question. {near}The questions are: {known}."
NOT_KEY_VALUE = "Write the name of the question, an equals sign and the answer."
NO_TOWN = (
    "No town of this name is known here. Write the coordinates with their directions, such as "
    "40.59 N, 105.08 W."
)
SEVERAL_TOWNS = "There are several towns of this name: {towns}. Write one of these."
TOO_FAR_NORTH = "Beyond 85 degrees north or south there is no program to be made."
NO_ZONE = "This is no time zone of the list, which has names such as {example}."
TWICE = "{found} stands there twice."
CHOICES = "Write one of these: {choices}."
MINUTES = "Write whole minutes, from 0 to {most}."
COUNT = "Write a whole number from 1 to {most}."
TOO_FEW_CHANNELS = "It needs at least {least}, one for each circuit."
NO_HOURS = "This goes by the opening hours, and none were given in {number}."
DARK_FORM = "Write two times with until between them, such as 23:00 until 05:00, or none."
NO_COUNTRY = (
    "No holidays are known for this country.{meant} Write two letters such as {example}, or none."
)
NO_CONTROLLER = "No built-in kind has this name. They are: {known}. For any other write own."
