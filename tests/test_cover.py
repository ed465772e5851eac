"""The exact cover against trying every choice of columns."""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import combinations

from schedcomp.fit.cover import minimum_cover


def fewest(rows: int, columns: Sequence[int]) -> tuple[int, ...]:
    """The first of the smallest choices that cover all rows, by trying."""
    for count in range(len(columns) + 1):
        for chosen in combinations(range(len(columns)), count):
            covered = 0
            for column in chosen:
                covered |= columns[column]
            if rows & ~covered == 0:
                return chosen
    raise AssertionError("some row is in no column")


def test_covers_are_as_small_as_any() -> None:
    chance = random.Random(7)
    for number in range(150):
        width = chance.randint(6, 9)
        columns = [chance.randrange(1, 1 << width) for _ in range(chance.randint(1, 9))]
        if number % 2:
            # Columns of equal size are the hard ones.
            columns = [sum(1 << row for row in chance.sample(range(width), 3)) for _ in columns]
        rows = 0
        for column in columns:
            rows |= column
        found = minimum_cover(rows, columns)
        covered = 0
        for column in found.chosen:
            covered |= columns[column]
        assert rows & ~covered == 0
        assert len(found.chosen) == found.bound == len(fewest(rows, columns))
