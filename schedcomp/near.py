"""Near words for slips of the pen, and text of a file made fit to be quoted in a message."""

from __future__ import annotations

import re
from collections.abc import Iterable

NEAR = 2
SHOWN_NEAR = 4
QUOTED = 40


def distance(first: str, second: str) -> int:
    """Letters to add, drop, change or swap (neighbours) between two words, at most `NEAR` + 1.

    The optimal string alignment distance.
    """
    if abs(len(first) - len(second)) > NEAR:
        return NEAR + 1
    before: list[int] = []
    row = list(range(len(second) + 1))
    for i, a in enumerate(first, 1):
        earlier, before, row = before, row, [i]
        for j, b in enumerate(second, 1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (a != b))
            if earlier and j > 1 and a == second[j - 2] and first[i - 2] == b:
                cost = min(cost, earlier[j - 2] + 1)
            row.append(cost)
        if min(row) > NEAR:
            return NEAR + 1
    return min(row[-1], NEAR + 1)


def near_words(word: str, known: Iterable[str]) -> tuple[str, ...]:
    """Up to four known words within two letters of `word`, the nearest first; capitals count not.

    Of words as short as three letters only one letter may differ.
    """
    asked = word.casefold().strip()
    allowed = 1 if len(asked) <= 3 else NEAR
    ranked = sorted((distance(asked, k.casefold()), place, k) for place, k in enumerate(known))
    return tuple(k for far, _, k in ranked if far <= allowed)[:SHOWN_NEAR]


def begin_alike(one: str, other: str) -> bool:
    """Whether both begin with the same number or word, as `12h` and `12 hour` do."""
    first, second = (re.match(r"[0-9]+|[a-z]+", text) for text in (one, other))
    return first is not None and second is not None and first[0] == second[0]


def quoted(text: str, most: int = QUOTED) -> str:
    """`text` as one short printable line: control characters as ?, cut in the middle if long."""
    if len(text) > 20 * most:
        text = text[: 10 * most] + text[-10 * most :]
    line = "".join(c if c.isprintable() else "?" for c in " ".join(text.split()))
    if len(line) <= most:
        return line
    half = (most - 5) // 2
    return f"{line[:half]} ... {line[-half:]}"
