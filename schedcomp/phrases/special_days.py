"""Dates that a list or a rule decides: holidays by name, Easter, recurrence rules."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from schedcomp.messages import calendar as calendar_messages
from schedcomp.messages import wanted, writing_dates
from schedcomp.phrases.numeric_dates import full_date
from schedcomp.phrases.tokens import Cursor, Refused, TokenKind
from schedcomp.phrases.tree import Easter, HolidayNamed, Recurrence

NAME_ENDS = ("except", "evenings", "mornings", "noon", "midnight")
_QUOTES = ("'", '"')
_OBSERVED = re.compile(r" |\( ?observed ?\)", re.IGNORECASE)
_NAME_PIECE = re.compile(rf"{_OBSERVED.pattern}|[^( ]+|.", re.IGNORECASE)
_FURTHEST_FROM_EASTER_DAYS = 200
_AROUND_EASTER: Mapping[str, str] = MappingProxyType(
    {
        "friday": "easter - 2 days",
        "saturday": "easter - 1 day",
        "sunday": "easter",
        "monday": "easter + 1 day",
    }
)

# Parts of a rule joined by ;, which may have blanks around it; a comma or colon that ends the
# last part belongs to the phrase.
_RULE = re.compile(r"[^\s;:]++(?:\s*+;\s*+[^\s;:]++)*")
_LONGEST_RULE = 500


# Holidays


def holiday(cursor: Cursor) -> HolidayNamed:
    """holiday = "holiday" NAME ["(observed)"]

    NAME is in quotes, or ends before a comma, a colon, a clock time, `except`, `evenings` or
    `mornings`.
    """
    first = cursor.take()
    if cursor.check_sign(*_QUOTES):
        name, observed = _quoted_name(cursor), _observed(cursor)
    else:
        name, observed = _bare_name(cursor), False
    bare = _without_observed(name)
    if not bare:
        raise cursor.refused(writing_dates.HOLIDAY_WITHOUT_NAME, first)
    return HolidayNamed(bare, observed or bare != name, cursor.range_from(first))


def _bare_name(cursor: Cursor) -> str:
    start = cursor.token.start
    end = start
    while not _ends_name(cursor):
        if cursor.check_sign('"'):
            raise cursor.refused_next(writing_dates.QUOTES)
        end = cursor.take().end
    return _name(cursor, start, end)


def _ends_name(cursor: Cursor) -> bool:
    token = cursor.token
    if token.kind is TokenKind.NUMBER:
        return ":" in token.text or cursor.ahead(1).text in ("am", "pm")
    return (
        token.kind is TokenKind.END or cursor.check_sign(",", ":") or cursor.check_word(*NAME_ENDS)
    )


def _quoted_name(cursor: Cursor) -> str:
    """A name in quotes; an apostrophe before a letter does not end it."""
    quote = cursor.take()
    closing = re.compile(r"'(?![^\W\d_])" if quote.text == "'" else '"')
    match = closing.search(cursor.plain, quote.end)
    if match is None:
        raise cursor.refused(writing_dates.QUOTES, quote)
    cursor.skip_to(match.end())
    return _name(cursor, quote.end, match.start())


def _observed(cursor: Cursor) -> bool:
    """observed = "(" "observed" ")" """
    if not cursor.check_sign("("):
        return False
    if cursor.ahead(1).text != "observed" or cursor.ahead(2).text != ")":
        raise cursor.missing(wanted.OBSERVED)
    for _ in range(3):
        cursor.take()
    return True


def _name(cursor: Cursor, start: int, end: int) -> str:
    return " ".join(cursor.plain[start:end].split())


def _without_observed(name: str) -> str:
    """The name without every "(observed)" at its end."""
    pieces = _NAME_PIECE.findall(name)
    while pieces and _OBSERVED.fullmatch(pieces[-1]):
        pieces.pop()
    return "".join(pieces)


# Easter


def easter(cursor: Cursor) -> Easter:
    """easter = "easter" [("+" | "-") NUMBER ("day" | "days")]"""
    first = cursor.take()
    if cursor.check_word(*_AROUND_EASTER):
        typed = _AROUND_EASTER[cursor.take().text]
        words = f"Easter {cursor.last.text.title()}"
        raise cursor.refused(writing_dates.OTHER_DATE_FORM, first, words=words, typed=typed)
    if not cursor.check_sign("+", "-"):
        return Easter()
    sign = -1 if cursor.take().text == "-" else 1
    count = cursor.token
    if not cursor.check_number():
        raise cursor.missing(wanted.DAYS)
    cursor.take()
    if not cursor.take_word("day", "days"):
        raise cursor.missing(wanted.DAYS_WORD, ("day", "days"))
    whole = count.text.isdecimal() and len(count.text) <= 3
    if not whole or int(count.text) > _FURTHEST_FROM_EASTER_DAYS:
        raise cursor.refused(writing_dates.TOO_FAR, count, most=_FURTHEST_FROM_EASTER_DAYS)
    return Easter(sign * int(count.text))


# Recurrence rules


def recurrence(cursor: Cursor) -> Recurrence:
    """recurrence = "rrule" RULE ["starting" full date]

    RULE is an RRULE value of RFC 5545 (3.3.10) that names whole dates.
    """
    first = cursor.take()
    rule = _rule_text(cursor)
    starting = full_date(cursor) if cursor.take_word("starting") else None
    found = Recurrence(rule, starting, cursor.range_from(first))
    trouble = _rule_trouble(found)
    if trouble is not None:
        raise trouble
    return found


def _rule_text(cursor: Cursor) -> str:
    """The rule in capitals without blanks; the cursor stands after it."""
    start = cursor.token
    match = _RULE.match(cursor.plain, start.start)
    if match is None:
        raise cursor.missing(wanted.RULE)
    text = match[0].rstrip(",")
    if "=" not in text:
        raise cursor.missing(wanted.RULE)
    whole = cursor.skip_to(start.start + len(text))
    if not whole or len(text) > _LONGEST_RULE:
        raise cursor.refused(writing_dates.RULE_FORM, start, most=_LONGEST_RULE)
    return "".join(text.upper().split())


def _rule_trouble(found: Recurrence) -> Refused | None:
    from schedcomp.recurrence import Frequency, read_rule, start_needed_by

    rule, findings = read_rule(found.rule, found.at)
    if rule is None:
        return Refused(findings[0])
    if found.starting is not None:
        return None
    needs = start_needed_by(rule)
    days_named = rule.weekdays or rule.month_days or rule.year_days or rule.week_numbers
    if needs is None and rule.frequency is not Frequency.DAILY and not days_named:
        needs = f"FREQ={rule.frequency.value}"
    if needs is None:
        return None
    return Refused(calendar_messages.RULE_NEEDS_START.at(found.at, part=needs, rule=found.rule))
