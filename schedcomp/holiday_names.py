"""When two names mean the same holiday, and which names are close to a mistyped one."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import lru_cache

CLOSE = 2
"""Letters by which a name may differ and still be offered."""

MOST_OFFERED = 4

_OTHER_NAMES = (
    ("New Year's Day", "New Year", "New Years", "Jan 1", "1 January"),
    (
        "Martin Luther King Jr. Day",
        "Martin Luther King Day",
        "Birthday of Martin Luther King, Jr.",
        "Dr. Martin Luther King Jr. Day",
        "MLK Day",
        "MLK Jr. Day",
    ),
    (
        "Washington's Birthday",
        "George Washington's Birthday",
        "Presidents' Day",
        "President's Day",
    ),
    ("Independence Day", "Fourth of July", "4th of July", "July 4th", "July 4", "July Fourth"),
    ("Juneteenth National Independence Day", "Juneteenth"),
    ("Memorial Day", "Decoration Day"),
    ("Labor Day", "Labour Day"),
    ("Veterans Day", "Veteran's Day", "Armistice Day"),
    ("Columbus Day", "Indigenous Peoples' Day"),
    ("Thanksgiving Day", "Thanksgiving", "Turkey Day"),
    ("Day After Thanksgiving", "Friday After Thanksgiving", "Black Friday"),
    ("Christmas Day", "Christmas", "Xmas", "25 December", "Dec 25"),
    ("Christmas Eve", "Xmas Eve"),
    ("Boxing Day", "Saint Stephen's Day"),
    ("Easter Saturday", "Holy Saturday"),
    ("Easter Sunday", "Easter"),
    ("Whit Monday", "Pentecost Monday"),
    ("May Day", "Early May Bank Holiday"),
    ("Late Summer Bank Holiday", "August Bank Holiday", "Summer Bank Holiday"),
    ("King's Birthday", "Queen's Birthday", "Sovereign's Birthday"),
    ("Canada Day", "Dominion Day"),
)


@lru_cache(maxsize=4096)
def plain_key(name: str) -> str:
    """A name without case, accents, apostrophes, punctuation and a trailing "day"."""
    spread = unicodedata.normalize("NFKD", name.casefold().replace("ß", "ss"))
    letters = "".join(c for c in spread if not unicodedata.combining(c) and c not in "'’‘ʼ`´")
    words = "".join(c if c.isalnum() else " " for c in letters).split()
    words = ["saint" if word == "st" else word for word in words]
    if len(words) > 1 and words[-1] == "day":
        words.pop()
    return " ".join(words)


@lru_cache(maxsize=4096)
def common_key(name: str) -> str:
    """As `plain_key`, with other common names of a holiday brought to one."""
    key = plain_key(name)
    for group in _OTHER_NAMES:
        if any(plain_key(other) == key for other in group):
            return plain_key(group[0])
    return key


def near_names(name: str, names: Iterable[str]) -> tuple[str, ...]:
    """At most four of `names` that differ in at most two letters or hold the name in them."""
    key = plain_key(name)
    close = []
    for other in names:
        other_key = plain_key(other)
        letters = _letters_apart(key, other_key)
        if letters <= CLOSE:
            close.append((letters, other))
        elif len(key) > CLOSE and f" {key} " in f" {other_key} ":
            close.append((CLOSE + 1, other))
    return tuple(other for _, other in sorted(close)[:MOST_OFFERED])


def _letters_apart(first: str, second: str) -> int:
    """Letters to insert, delete or replace; more than `CLOSE` is only said to be more."""
    if abs(len(first) - len(second)) > CLOSE:
        return CLOSE + 1
    row = list(range(len(second) + 1))
    for i, a in enumerate(first, 1):
        previous, row[0] = row[0], i
        for j, b in enumerate(second, 1):
            previous, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, previous + (a != b))
    return row[-1]
