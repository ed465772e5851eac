"""Latitude and longitude as people write them."""

from __future__ import annotations

import re

from schedcomp.diag import Diagnostic, PhraseText
from schedcomp.messages import meaning
from schedcomp.near import quoted
from schedcomp.records import Record


class Axis(Record):
    """Latitude or longitude: the letters of its positive and negative side, and its range."""

    name: str
    positive: str
    negative: str
    limit: int
    decimal: str
    sexagesimal: str

    @property
    def letters(self) -> str:
        return f"{self.positive} or {self.negative}"


LATITUDE = Axis("latitude", "N", "S", 90, "40.5853 N", "40 35 07 N")
LONGITUDE = Axis("longitude", "E", "W", 180, "105.0844 W", "105 05 04 W")

_MINUS = str.maketrans("−–—‐‑", "-----")
_WORD_LETTERS = re.compile(r"\b(north|south|east|west)\b", re.IGNORECASE)
_FORM = re.compile(
    r"""(?P<front>[NSEW])?\s*
        (?P<sign>[+-])?\s*
        (?P<degrees>\d{1,3}(?:\.\d+)?)\s*(?:°|º|deg(?:rees?)?)?\s*
        (?:(?P<minutes>\d{1,2}(?:\.\d+)?)\s*(?:'|′|’|min)?\s*
           (?:(?P<seconds>\d{1,2}(?:\.\d+)?)\s*(?:"|″|”|''|′′|’’|sec)?\s*)?)?
        (?P<back>[NSEW])?""",
    re.VERBOSE | re.IGNORECASE,
)
_COMMA = re.compile(r"(?<=\d),(?=\d)")
LONGEST = 60

Degrees = tuple[float | None, tuple[Diagnostic, ...]]


def read_degrees(phrase: PhraseText, axis: Axis) -> Degrees:
    """Degrees of a coordinate written as text, north and east positive.

    `40.5853`, `40.5853 N`, `40 35 07 N`, `40° 35' 07.5" N`, `N 40 35.1`; also with a Unicode
    minus. A decimal comma is refused with the reading it would have.
    """
    text = _WORD_LETTERS.sub(lambda m: m[0][0], phrase.text.translate(_MINUS)).strip()
    match = _FORM.fullmatch(text) if len(text) <= LONGEST else None
    if match is None:
        return None, (_unclear(phrase, text, axis),)
    letters = [found.upper() for found in (match["front"], match["back"]) if found]
    finding = _contradiction(phrase, match, letters, axis)
    if finding is not None:
        return None, (finding,)
    size = sum(
        float(match[part] or 0) / share
        for part, share in (("degrees", 1), ("minutes", 60), ("seconds", 3600))
    )
    negative = size and (match["sign"] == "-" or axis.negative in letters)
    return check_range(phrase, -size if negative else size, axis)


def check_range(phrase: PhraseText, degrees: float, axis: Axis) -> Degrees:
    """Whether the degrees exist on this axis; latitudes beyond 85 are told apart by the caller."""
    if abs(degrees) <= axis.limit:
        return degrees, ()
    swapped = axis is LATITUDE and abs(degrees) <= LONGITUDE.limit
    return None, (
        meaning.NOT_A_COORDINATE.at(
            phrase.at,
            found=quoted(phrase.text),
            axis=axis.name,
            low=-axis.limit,
            high=axis.limit,
            hint="Perhaps latitude and longitude changed places." if swapped else "",
            typed=f"{axis.name} = {axis.decimal.split()[0]}",
        ),
    )


def read_pair(phrase: PhraseText) -> tuple[tuple[float, float] | None, tuple[Diagnostic, ...]]:
    """(latitude, longitude) from one text: `40.59 N, 105.08 W`."""
    parts = re.split(r"\s*[,;]\s*", phrase.text)
    if len(parts) != 2:
        return None, (meaning.BAD_PAIR.at(phrase.at, found=quoted(phrase.text)),)
    start = phrase.text.index(parts[1], len(parts[0]))
    latitude, first = read_degrees(_part(phrase, 0, parts[0]), LATITUDE)
    longitude, second = read_degrees(_part(phrase, start, parts[1]), LONGITUDE)
    if latitude is None or longitude is None:
        return None, first + second
    return (latitude, longitude), ()


def _part(phrase: PhraseText, start: int, text: str) -> PhraseText:
    return PhraseText(text, phrase.range(start, len(text)))


def _unclear(phrase: PhraseText, text: str, axis: Axis) -> Diagnostic:
    found = quoted(phrase.text)
    pointed = _COMMA.sub(".", text)
    if pointed != text and len(text) <= LONGEST and _FORM.fullmatch(pointed):
        return meaning.COORDINATE_COMMA.at(
            phrase.at, found=found, reading=pointed, typed=f'{axis.name} = "{pointed}"'
        )
    bare = text.replace("_", "")
    if bare != text and len(text) <= LONGEST and _FORM.fullmatch(bare):
        return meaning.COORDINATE_UNDERSCORE.at(
            phrase.at, found=found, typed=f'{axis.name} = "{bare}"'
        )
    return meaning.UNCLEAR_COORDINATE.at(
        phrase.at,
        found=found,
        axis=axis.name,
        letters=axis.letters,
        decimal=f'{axis.name} = "{axis.decimal}"',
        sexagesimal=f'{axis.name} = "{axis.sexagesimal}"',
    )


def _contradiction(
    phrase: PhraseText, match: re.Match[str], letters: list[str], axis: Axis
) -> Diagnostic | None:
    found = quoted(phrase.text)
    if len(letters) == 2:
        return _unclear(phrase, "", axis)
    for letter in letters:
        if letter not in (axis.positive, axis.negative):
            return meaning.WRONG_LETTER.at(
                phrase.at,
                found=found,
                letter=letter,
                axis=axis.name,
                letters=axis.letters,
                typed=f'{axis.name} = "{axis.decimal}"',
            )
        if match["sign"]:
            plain = re.sub(r"[+-]\s*", "", match[0])
            return meaning.SIGN_AND_LETTER.at(
                phrase.at, found=found, letter=letter, typed=f'{axis.name} = "{plain}"'
            )
    for part in ("minutes", "seconds"):
        if match[part] and float(match[part]) >= 60:
            return meaning.TOO_MANY_MINUTES.at(
                phrase.at, found=found, part=part, typed=f'{axis.name} = "{axis.decimal}"'
            )
    pieces = [match[p] for p in ("degrees", "minutes", "seconds") if match[p]]
    if any("." in piece for piece in pieces[:-1]):
        return _unclear(phrase, "", axis)
    return None
