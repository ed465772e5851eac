"""The phrase of a rule: `dark from the later of 23:00 and close + 1 h until 06:00`."""

from __future__ import annotations

import re
from collections.abc import Callable

from schedcomp.diag import PhraseText
from schedcomp.messages import ordinance as messages
from schedcomp.messages.wanted import Wanted
from schedcomp.model import MINUTE
from schedcomp.ordinance.model import (
    Ability,
    Capability,
    Condition,
    Dark,
    ExceptionCap,
    Form,
    LeastDark,
    Level,
    Lit,
    LitNights,
    LitOnly,
    Measure,
    MiddleDark,
    MostLit,
    NeverAllOff,
    NotBefore,
    NotCheckable,
    Per,
    Share,
    Stretch,
    SunUp,
    Times,
    While,
)
from schedcomp.phrases.durations import duration
from schedcomp.phrases.moments import moment
from schedcomp.phrases.tokens import Cursor, Findings, TokenKind, read_whole
from schedcomp.phrases.tree import SunMoment, SunWord
from schedcomp.records import replace

SUNSET_TO_SUNRISE = Stretch(SunMoment(SunWord.SUNSET), SunMoment(SunWord.SUNRISE))
_FIRST_WORDS = ("dark", "lit", "not", "at", "reduced", "never", "level", "controller")
_MEASURES = {"kw": Measure.POWER, "lumens": Measure.LUMENS, "lamps": Measure.LAMPS}


def parse_rule(phrase: PhraseText) -> tuple[Form | None, Findings]:
    """What a clause asks for."""
    return read_whole(phrase, _rule, messages.RULE)


def _rule(cursor: Cursor) -> Form:
    """rule = dark | lit | not | at most | reduced | never | level | controller"""
    if cursor.check_word("off", "on"):
        raise cursor.instead(messages.DARK_INSTEAD)
    word = cursor.token.text
    if not cursor.take_word(*_FIRST_WORDS):
        raise cursor.missing(messages.RULE, _FIRST_WORDS)
    read: dict[str, Callable[[Cursor], Form]] = {
        "dark": _dark,
        "lit": _lit,
        "not": _not,
        "at": _at_most,
        "reduced": _reduced,
        "never": _never,
        "level": _level,
        "controller": _controller,
    }
    return read[word](cursor)


def _dark(cursor: Cursor) -> Form:
    """dark = "all day" | "at least" ... | "within" ... | times"""
    if cursor.take_word("all"):
        cursor.expect_word("day", messages.ALL_DAY)
        return Dark(Times())
    if cursor.take_word("at"):
        return _least(cursor)
    if cursor.take_word("within"):
        return _middle(cursor)
    if not cursor.check_word("from", "while"):
        raise cursor.missing(messages.DARK_REST, ("all", "at", "within", "from", "while"))
    return Dark(_times(cursor))


def _least(cursor: Cursor) -> LeastDark:
    """least = "at least" duration "each night" ["between" A "and" B] ["or" stretch "if ..."]"""
    cursor.expect_word("least", messages.EACH_NIGHT)
    seconds = duration(cursor)
    cursor.expect_word("each", messages.EACH_NIGHT)
    cursor.expect_word("night", messages.EACH_NIGHT)
    shorter = None
    bounds = _bounds(cursor, messages.EACH_NIGHT)
    cursor.take_sign(",")
    if cursor.take_word("or"):
        shorter = _stretch(cursor)
        for word in ("if", "that", "is", "shorter"):
            cursor.expect_word(word, messages.SHORTER)
    return LeastDark(seconds, bounds, shorter)


def _middle(cursor: Cursor) -> MiddleDark:
    """middle = "within" duration "of the middle of the night for at least" duration"""
    reach = duration(cursor)
    for word in ("of", "the", "middle", "of", "the", "night", "for", "at", "least"):
        cursor.expect_word(word, messages.MIDDLE)
    return MiddleDark(reach, duration(cursor))


def _lit(cursor: Cursor) -> Form:
    """lit = ["only"] ["on these dates"] times
    | "at most" duration "each night" ["between" A "and" B]
    | "on at most" NUMBER "nights" per [times]
    """
    if cursor.take_word("at"):
        return _most_lit(cursor)
    if cursor.check_word("on"):
        return _lit_nights(cursor)
    if not cursor.take_word("only"):
        if not cursor.check_word("from", "while"):
            raise cursor.missing(messages.LIT_REST, ("only", "from", "while", "at", "on"))
        return Lit(_times(cursor))
    these_dates = cursor.take_word("on")
    if these_dates:
        for word in ("these", "dates"):
            cursor.expect_word(word, messages.THESE_DATES)
    if not cursor.check_word("from", "while") and not these_dates:
        raise cursor.missing(messages.LIT_REST, ("from", "while", "on"))
    return LitOnly(_times(cursor), these_dates)


def _most_lit(cursor: Cursor) -> MostLit:
    cursor.expect_word("most", messages.LIT_EACH_NIGHT)
    seconds = duration(cursor)
    cursor.expect_word("each", messages.LIT_EACH_NIGHT)
    cursor.expect_word("night", messages.LIT_EACH_NIGHT)
    return MostLit(seconds, _bounds(cursor, messages.LIT_EACH_NIGHT))


def _bounds(cursor: Cursor, wanted: Wanted) -> Stretch | None:
    """bounds = ["between" A "and" B]"""
    if not cursor.take_word("between"):
        return None
    start = moment(cursor, is_end=False)
    cursor.expect_word("and", wanted)
    return Stretch(start, moment(cursor, is_end=True))


def _lit_nights(cursor: Cursor) -> LitNights:
    for word in ("on", "at", "most"):
        cursor.expect_word(word, messages.LIT_NIGHTS)
    most = _count(cursor, messages.LIT_NIGHTS)
    cursor.expect_word("nights", messages.LIT_NIGHTS)
    return LitNights(most, _per(cursor, messages.LIT_NIGHTS), _times(cursor))


def _count(cursor: Cursor, wanted: Wanted) -> int:
    text = cursor.token.text
    if not cursor.check_number() or not text.isdecimal() or len(text) > 3:
        raise cursor.missing(wanted)
    cursor.take()
    return int(text)


def _per(cursor: Cursor, wanted: Wanted) -> Per:
    """per = "a" ("year" | "month" | "week") | "in a row" """
    for per in Per:
        words = per.value.split()
        if [cursor.ahead(n).text for n in range(len(words))] == words:
            for word in words:
                cursor.expect_word(word, wanted)
            return per
    raise cursor.missing(wanted, ("a", "in"))


def _not(cursor: Cursor) -> Form:
    """not = "on before" moment | "checkable:" REASON"""
    if cursor.take_word("on"):
        cursor.expect_word("before", messages.NOT_WHAT)
        return NotBefore(moment(cursor, is_end=False))
    if not cursor.take_word("checkable"):
        raise cursor.missing(messages.NOT_WHAT, ("on", "checkable"))
    return NotCheckable(_rest(cursor))


def _rest(cursor: Cursor) -> str:
    """Everything after a colon, as written."""
    cursor.expect_colon(messages.RULE_COLON)
    start = cursor.token
    if start.kind is TokenKind.END:
        raise cursor.missing(messages.REASON)
    cursor.take_rest()
    return cursor.written(start.start, cursor.last.end)


def _at_most(cursor: Cursor) -> Form:
    """at most = "at" ("most" | "least") NUMBER "%" share
    | "at most" NUMBER "exception" ("days" | "nights") per
    """
    if cursor.take_word("least"):
        return replace(_share(cursor, _percent(cursor)), at_least=True)
    cursor.expect_word("most", messages.PERCENT)
    if cursor.check_number() and cursor.ahead(1).text == "exception":
        most = _count(cursor, messages.COUNT)
        cursor.take()
        if not cursor.take_word("days", "nights"):
            raise cursor.missing(messages.A_YEAR, ("days", "nights"))
        return ExceptionCap(most, _per(cursor, messages.A_YEAR))
    return _share(cursor, _percent(cursor))


def _reduced(cursor: Cursor) -> Share:
    """reduced = "reduced by" NUMBER "%" share"""
    cursor.expect_word("by", messages.PERCENT)
    return _share(cursor, 100 - _percent(cursor))


def _percent(cursor: Cursor) -> float:
    text = cursor.token.text
    is_number = cursor.check_number() and re.fullmatch(r"[0-9]{1,3}(\.[0-9]{1,3})?", text)
    if not is_number or float(text) > 100 or cursor.ahead(1).text != "%":
        raise cursor.missing(messages.PERCENT)
    cursor.take()
    cursor.take()
    return float(text)


def _share(cursor: Cursor, percent: float) -> Share:
    """share = ["of" ("kW" | "lumens" | "lamps")] times"""
    measure = Measure.POWER
    if cursor.take_word("of"):
        word = cursor.token.text
        if not cursor.take_word(*_MEASURES):
            raise cursor.missing(messages.MEASURE, tuple(_MEASURES))
        measure = _MEASURES[word]
    return Share(percent, measure, _times(cursor))


def _never(cursor: Cursor) -> NeverAllOff:
    """never = "never all off" [times]; left out, from sunset until sunrise"""
    cursor.expect_word("all", messages.ALL_OFF)
    cursor.expect_word("off", messages.ALL_OFF)
    times = _times(cursor)
    return NeverAllOff(times if times != Times() else Times((SUNSET_TO_SUNRISE,)))


def _level(cursor: Cursor) -> Level:
    """level = "level at" ("most" | "least") WORDS times"""
    cursor.expect_word("at", messages.LEVEL)
    at_least = cursor.check_word("least")
    if not cursor.take_word("most", "least"):
        raise cursor.missing(messages.LEVEL, ("most", "least"))
    first = cursor.token
    while cursor.token.kind is not TokenKind.END and not cursor.check_word("from", "while"):
        cursor.take()
    words = cursor.written(first.start, cursor.last.end) if cursor.token is not first else ""
    if not words or cursor.token.kind is TokenKind.END:
        raise cursor.missing(messages.LEVEL)
    return Level(at_least, words, _times(cursor))


# Times


def _times(cursor: Cursor) -> Times:
    """times = [stretch {"and" stretch}] ["while" condition {"and" condition}]"""
    stretches = []
    if cursor.check_word("from"):
        stretches.append(_stretch(cursor))
        while cursor.check_word("and") and cursor.ahead(1).text == "from":
            cursor.take()
            stretches.append(_stretch(cursor))
    whiles: list[Condition] = []
    if cursor.take_word("while"):
        whiles.append(_condition(cursor))
        while cursor.take_word("and"):
            whiles.append(_condition(cursor))
    return Times(tuple(stretches), tuple(whiles))


def _stretch(cursor: Cursor) -> Stretch:
    """stretch = "from" moment ["until" moment]"""
    cursor.expect_word("from", messages.DARK_REST)
    start = moment(cursor, is_end=False)
    end = moment(cursor, is_end=True) if cursor.take_word("until") else None
    return Stretch(start, end)


def _condition(cursor: Cursor) -> Condition:
    """condition = "open" | "closed" | "dark" | "people are there" | ... | "the sun is up" grace"""
    for state in While:
        words = state.value.split()
        if [cursor.ahead(n).text for n in range(len(words))] == words:
            for word in words:
                cursor.expect_word(word, messages.CONDITION)
            return state
    cursor.take_word("the")
    for word in ("sun", "is", "up"):
        cursor.expect_word(word, messages.CONDITION)
    return _graces(cursor)


def _graces(cursor: Cursor) -> SunUp:
    """graces = ["with" duration "grace" ["after sunrise" | "before sunset"] {"and" ...}]"""
    after = before = 0
    more = cursor.take_word("with")
    while more:
        minutes = duration(cursor) // MINUTE
        cursor.take_word("grace")
        if cursor.take_word("after"):
            cursor.expect_word("sunrise", messages.CONDITION)
            after = minutes
        elif cursor.take_word("before"):
            cursor.expect_word("sunset", messages.CONDITION)
            before = minutes
        else:
            after = before = minutes
        more = cursor.check_word("and") and cursor.check_number(1) and cursor.take_word("and")
    return SunUp(after, before)


# Controllers


def _controller(cursor: Cursor) -> Capability:
    """controller = "controller:" one of the forms of `Ability`"""
    cursor.expect_colon(messages.RULE_COLON)
    start = cursor.token
    rest = " ".join(cursor.plain[start.start :].casefold().split())
    for ability in Ability:
        pattern = re.escape(ability.value.casefold()).replace(
            re.escape("{number}"), r"(?P<number>[0-9]{1,4}(?:\.[0-9]+)?)"
        )
        match = re.fullmatch(pattern, rest)
        if match:
            cursor.take_rest()
            number = match.groupdict().get("number")
            return Capability(ability, None if number is None else float(number))
    raise cursor.missing(messages.ABILITY)
