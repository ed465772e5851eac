"""Whether an answer can be: each check gives a plain sentence, "" for a good answer."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date

from schedcomp import controllerfile
from schedcomp.clock import zone_names
from schedcomp.coordinates import read_pair
from schedcomp.country_choice import country_of, meant_country
from schedcomp.country_holidays import code_of_country, country_facts
from schedcomp.diag import Diagnostic, PhraseText, Severity, Source, SourceRange
from schedcomp.holiday_list import holiday_list
from schedcomp.messages import interview as messages
from schedcomp.messages.calendar import CODE_MEANT
from schedcomp.model import Period
from schedcomp.near import near_words
from schedcomp.phrases import parse_dates, parse_hours, parse_keep_dark, parse_moment
from schedcomp.places import towns_named, zones_at
from schedcomp.site import HolidayChoice
from schedcomp.sitefile import site_from_source
from schedcomp.sitefile.lamps import parse_lamps
from schedcomp.words import join_and, join_or

Answers = Mapping[str, str]
Check = Callable[[str, Answers], str]

NONE = "none"
HOURS_KEYS = ("mon-fri", "sat", "sun")
FARTHEST_DEGREES = 85
MOST_MINUTES = 24 * 60
SHOWN_TOWNS = 6
_HOURS_WORDS = re.compile(r"\b(open|close|arrive|leave)\b")
_PLACE_FILE = """\
schedcomp = 1
[site]
name = "answer"
latitude = {latitude!r}
longitude = {longitude!r}
timezone = "{zone}"
[[circuit]]
name = "answer"
channel = 1
calendar = ["every day: dark"]
"""
_SAMPLE_PERIOD = Period(date(2027, 1, 1), date(2027, 12, 31))


def phrase_of(text: str) -> PhraseText:
    return PhraseText(text, SourceRange(Source("answer", text), 0, len(text)))


def split(text: str) -> tuple[str, ...]:
    """The parts between semicolons, without blanks."""
    return tuple(part.strip() for part in text.split(";") if part.strip())


def _sentence(found: tuple[Diagnostic, ...]) -> str:
    """The first problem among findings, as it would be told of a file."""
    for finding in found:
        if finding.severity is Severity.PROBLEM:
            return " ".join(f"{finding.title} {finding.why}".split())
    return ""


# Texts


def text(answer: str, _: Answers) -> str:
    return "" if answer.isprintable() else messages.ONE_LINE


def text_needed(answer: str, answers: Answers) -> str:
    return text(answer, answers) if answer.strip() else messages.NEEDED


def names(answer: str, answers: Answers) -> str:
    """One name or several, none of them twice."""
    parts = split(answer)
    if not parts:
        return messages.NEEDED
    twice = next((p for n, p in enumerate(parts) if p in parts[:n]), None)
    return text(answer, answers) if twice is None else messages.TWICE.format(found=twice)


def choice(*options: str) -> Check:
    def check(answer: str, _: Answers) -> str:
        return "" if answer in options else messages.CHOICES.format(choices=join_or(list(options)))

    return check


def count(most: int) -> Check:
    def check(answer: str, _: Answers) -> str:
        good = re.fullmatch(r"[0-9]{1,4}", answer) and 1 <= int(answer) <= most
        return "" if good else messages.COUNT.format(most=most)

    return check


def minutes(answer: str, _: Answers) -> str:
    good = re.fullmatch(r"[0-9]{1,4}", answer) and int(answer) <= MOST_MINUTES
    return "" if good else messages.MINUTES.format(most=MOST_MINUTES)


def channels(answer: str, answers: Answers) -> str:
    told = count(99)(answer, answers)
    least = len(split(answers.get("circuits", "")))
    return told or (messages.TOO_FEW_CHANNELS.format(least=least) if int(answer) < least else "")


# The place


def coordinates(answer: str) -> tuple[float, float] | None:
    """Degrees north and east of coordinates or of a town; None where the answer is neither."""
    if re.search(r"[0-9]", answer):
        degrees, _ = read_pair(phrase_of(answer))
        return degrees
    towns = towns_named(answer)
    if len(towns) != 1:
        return None
    return towns[0].latitude_degrees, towns[0].longitude_degrees


def place(answer: str, _: Answers) -> str:
    """Coordinates, or a town that is known. Every check tells what is wrong, "" if nothing."""
    if re.search(r"[0-9]", answer):
        degrees, found = read_pair(phrase_of(answer))
        if degrees is None:
            return _sentence(found)
        return messages.TOO_FAR_NORTH if abs(degrees[0]) > FARTHEST_DEGREES else ""
    towns = towns_named(answer)
    if not towns:
        return messages.NO_TOWN
    if len(towns) == 1:
        return ""
    shown = [f"{town.name}, {town.region}" for town in towns[:SHOWN_TOWNS]]
    return messages.SEVERAL_TOWNS.format(towns="; ".join(dict.fromkeys(shown)))


def usual_zone(answer: str) -> str | None:
    """The zone in use at a place; None in the open sea and where it is not known."""
    degrees = coordinates(answer)
    found = () if degrees is None else zones_at(*degrees)
    return next((name for name in found if not name.startswith("Etc/")), None)


def zone(answer: str, answers: Answers) -> str:
    """A time zone of tzdata that can belong to the place."""
    if answer in zone_names() and "/" in answer:
        return _misfit(answer, answers)
    example = next(iter(near_words(answer, sorted(zone_names()))), None)
    return messages.NO_ZONE.format(
        example=example or usual_zone(answers.get("place", "")) or "America/Denver"
    )


def _misfit(zone_name: str, answers: Answers) -> str:
    """Why a zone and a place cannot belong together, as it would be told of a site file."""
    degrees = coordinates(answers.get("place", ""))
    if degrees is None:
        return ""
    text = _PLACE_FILE.format(latitude=degrees[0], longitude=degrees[1], zone=zone_name)
    return _sentence(site_from_source(Source("answer", text))[1])


# Circuits, hours, light


def lamps(answer: str, _: Answers) -> str:
    return "" if answer == NONE else _sentence(parse_lamps(phrase_of(answer))[1])


def hours(answer: str, _: Answers) -> str:
    return "" if answer == NONE else _sentence(parse_hours(phrase_of(answer))[1])


def _needs_hours(answer: str, answers: Answers) -> str:
    known = any(answers.get(key, NONE) not in ("", NONE, "closed") for key in HOURS_KEYS)
    if _HOURS_WORDS.search(answer) and not known:
        return messages.NO_HOURS.format(number="4.1")
    return ""


def evening_end(answer: str, answers: Answers) -> str:
    told = _sentence(parse_moment(phrase_of(answer), is_end=True)[1])
    return told or _needs_hours(answer, answers)


def morning_start(answer: str, answers: Answers) -> str:
    if answer == NONE:
        return ""
    told = _sentence(parse_moment(phrase_of(answer), is_end=False)[1])
    return told or _needs_hours(answer, answers)


def dark_times(answer: str, answers: Answers) -> str:
    """`none`, or two times with until between them."""
    if answer == NONE:
        return ""
    if "until" not in answer.split():
        return messages.DARK_FORM
    line, found = parse_keep_dark(phrase_of(f"every day: from {answer}"))
    return _sentence(found) if line is None else _needs_hours(answer, answers)


# Closed days


def country_code(answer: str) -> str | None:
    """The two letters of a country that has holidays here, also by its name."""
    code = answer.strip().upper()
    if country_facts(code) is not None:
        return code
    return code_of_country(answer.strip())


def country(answer: str, answers: Answers) -> str:
    """`none`, or a country with a holiday list; else the one that may be meant is told."""
    if answer == NONE or country_code(answer) is not None:
        return ""
    name, code = meant_country(answer)
    told = "" if code is None else f" {CODE_MEANT.format(name=name, code=code)}"
    example = code or country_of(answers.get("zone", ""))
    return messages.NO_COUNTRY.format(meant=told, example=example)


def holidays(answer: str, answers: Answers) -> str:
    """`all`, or names of the country's list with semicolons between them."""
    if answer == "all":
        return ""
    only = tuple((name, None) for name in split(answer))
    if not only:
        return messages.NEEDED
    wanted = HolidayChoice(
        country=country_code(answers.get("country", "")), only=only, observed=False
    )
    years = (_SAMPLE_PERIOD.first.year,)
    return _sentence(holiday_list(wanted, years, _SAMPLE_PERIOD)[1])


def dates(answer: str, _: Answers) -> str:
    if answer == NONE:
        return ""
    return _sentence(parse_dates(phrase_of(answer), halves_allowed=False)[1])


# The controller


def controller(answer: str, answers: Answers) -> str:
    """`own`, or a built-in controller with a channel for each circuit."""
    known = controllerfile.builtin_controllers()
    if answer == "own":
        return ""
    if answer not in known:
        near = near_words(answer, known)
        return messages.NO_CONTROLLER.format(known=join_and(list(near or known)))
    found, _ = controllerfile.load_controller(answer)
    least = len(split(answers.get("circuits", "")))
    if found is not None and found.channels < least:
        return messages.TOO_FEW_CHANNELS.format(least=least)
    return ""
