"""What dusk and dawn mean at a site: `sunset + 15 min`, `sun 6 deg below horizon`, `20 lux`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from schedcomp.diag import PhraseText
from schedcomp.messages import wanted, writing
from schedcomp.model import Half
from schedcomp.phrases.clocks import CLOCK_WORDS
from schedcomp.phrases.durations import duration_first, offset
from schedcomp.phrases.moments import offset_first
from schedcomp.phrases.tokens import Cursor, Findings, Refused, Token, read_whole
from schedcomp.phrases.tree import SunDefinition, SunLevel, SunWord

TWILIGHT_DEGREES: Mapping[str, float] = MappingProxyType(
    {"civil": -6.0, "nautical": -12.0, "astronomical": -18.0}
)
LOWEST_DEGREES = 18
HIGHEST_DEGREES = 30
LEAST_LUX = 0.001
MOST_LUX = 40_000

_NUMBER = re.compile(r"[0-9]{1,6}(?:\.[0-9]{1,4})?")
_DEGREES = ("deg", "degree", "degrees")
_SUN = {Half.EVENING: SunWord.SUNSET, Half.MORNING: SunWord.SUNRISE}
_DEFINED = {Half.EVENING: SunWord.DUSK, Half.MORNING: SunWord.DAWN}


def parse_sun_definition(phrase: PhraseText, half: Half) -> tuple[SunDefinition | None, Findings]:
    """The meaning of dusk (`Half.EVENING`) or dawn (`Half.MORNING`)."""
    meaning = _meaning(half)
    return read_whole(phrase, lambda cursor: _definition(cursor, half), meaning)


def _definition(cursor: Cursor, half: Half) -> SunDefinition:
    """definition = ("sunset" | "sunrise" | twilight | level | light) offset"""
    first = cursor.token
    base = _base(cursor, half)
    shift = offset(cursor)
    return SunDefinition(base, shift, cursor.range_from(first))


def _base(cursor: Cursor, half: Half) -> SunWord | SunLevel:
    if cursor.check_word(*(word.value for word in SunWord)):
        return _sun_word(cursor, half)
    if cursor.check_word(*TWILIGHT_DEGREES):
        return _twilight(cursor, half)
    if cursor.check_word("sun"):
        return _level(cursor)
    if cursor.check_number() and cursor.ahead(1).text == "lux":
        return _light(cursor)
    if duration_first(cursor) and _counts_from_sun(cursor):
        raise offset_first(cursor)
    other = duration_first(cursor) or cursor.ahead(1).text in (*_DEGREES, "°")
    if not other and (cursor.check_number() or cursor.check_word(*CLOCK_WORDS)):
        cursor.take()
        raise cursor.refused(writing.NOT_A_DEFINITION, cursor.last, **_own_words(half))
    words = (_SUN[half].value, *TWILIGHT_DEGREES)
    raise cursor.missing(_meaning(half), words)


def _counts_from_sun(cursor: Cursor) -> bool:
    """Whether the length that comes next is followed by `before` or `after`."""
    return any(cursor.ahead(count).text in ("before", "after") for count in (2, 4))


def _sun_word(cursor: Cursor, half: Half) -> SunWord:
    token = cursor.take()
    word = SunWord(token.text)
    if word in (SunWord.DAWN, SunWord.DUSK) or (word.half is half and word is not _SUN[half]):
        raise cursor.refused(writing.NOT_A_DEFINITION, token, **_own_words(half))
    if word is not _SUN[half]:
        raise _wrong_side(cursor, token, half, _SUN[half].value)
    return word


def _twilight(cursor: Cursor, half: Half) -> SunLevel:
    """twilight = ("civil" | "nautical" | "astronomical") ("dusk" | "dawn")"""
    first = cursor.take()
    own = _DEFINED[half].value
    if not cursor.take_word("dusk", "dawn"):
        raise cursor.missing(wanted.twilight(first.text, own), (own,))
    if cursor.last.text != own:
        raise _wrong_side(cursor, first, half, f"{first.text} {own}")
    return SunLevel(TWILIGHT_DEGREES[first.text])


def _wrong_side(cursor: Cursor, first: Token, half: Half, written: str) -> Refused:
    return cursor.refused(
        writing.WRONG_SIDE,
        first,
        word=_DEFINED[half].value,
        side="evening" if half is Half.EVENING else "morning",
        other="morning" if half is Half.EVENING else "evening",
        written=written,
    )


def _level(cursor: Cursor) -> SunLevel:
    """level = "sun" NUMBER ("deg" | "degrees") ("below" | "above") ["the"] "horizon" """
    cursor.take()
    first = cursor.token
    if cursor.take_sign("-", "+"):
        if cursor.check_number():
            cursor.take()
        raise _outside(cursor, first)
    degrees = _number(cursor)
    if degrees is None:
        raise _outside(cursor, first)
    if not (cursor.take_word(*_DEGREES) or cursor.take_sign("°")):
        raise cursor.missing(wanted.DEGREES_WORD, _DEGREES)
    below = cursor.check_word("below")
    if not cursor.take_word("below", "above"):
        raise cursor.missing(wanted.BELOW_OR_ABOVE, ("below", "above"))
    cursor.take_word("the")
    cursor.expect_word("horizon", wanted.HORIZON)
    if degrees > (LOWEST_DEGREES if below else HIGHEST_DEGREES):
        raise _outside(cursor, first)
    return SunLevel(-degrees if below and degrees else degrees)


def _light(cursor: Cursor) -> SunLevel:
    """light = NUMBER "lux" """
    from schedcomp.illuminance import altitude_degrees

    first = cursor.token
    lux = _number(cursor) or 0.0
    cursor.take()
    level = altitude_degrees(lux) if LEAST_LUX <= lux <= MOST_LUX else None
    if level is None:
        raise cursor.refused(writing.LUX_OUTSIDE, first, least=LEAST_LUX, most=f"{MOST_LUX:,}")
    return SunLevel(level, lux)


def _number(cursor: Cursor) -> float | None:
    """A plain number with at most four decimals; None where other digits are written."""
    if not cursor.check_number():
        raise cursor.missing(wanted.DEGREES)
    token = cursor.take()
    return float(token.text) if _NUMBER.fullmatch(token.text) else None


def _outside(cursor: Cursor, first: Token) -> Refused:
    return cursor.refused(writing.LEVEL_OUTSIDE, first, below=LOWEST_DEGREES, above=HIGHEST_DEGREES)


def _meaning(half: Half) -> wanted.Wanted:
    return wanted.DUSK if half is Half.EVENING else wanted.DAWN


def _own_words(half: Half) -> dict[str, str]:
    sign = "+" if half is Half.EVENING else "-"
    return {"word": _DEFINED[half].value, "sun": _SUN[half].value, "sign": sign}
