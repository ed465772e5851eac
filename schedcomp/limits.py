"""How large and how many the things of a file may be."""

from __future__ import annotations

from schedcomp.records import Record

LARGEST = 10**9
LONGEST_TEXT = 300
"""Letters of a name or remark: as much as fits into a line of the sheet, wrapped a few times."""
LONGEST_PHRASE = 5_000
"""Letters of a phrase: every date of a year, one by one."""
MOST_LINES = 2_000
"""Entries of one list or part: a line for every date of several years."""
MOST_WINDOWS = 50
"""Stretches of one date: each is worked out for every date of the year."""


class Limits(Record):
    """Numbers allowed, both ends included unless `above`: then the low end is not."""

    low: float
    high: float
    above: bool = False

    def holds(self, number: float) -> bool:
        return self.low <= number <= self.high and not (self.above and number == self.low)

    @property
    def words(self) -> str:
        if self == ANY_NUMBER:
            return "any number of ordinary size"
        if self.high >= LARGEST:
            return f"more than {self.low:g}" if self.above else f"{self.low:g} or more"
        if self.above:
            return f"more than {self.low:g} and at most {self.high:g}"
        return f"from {self.low:g} to {self.high:g}"


ANY_NUMBER = Limits(-LARGEST, LARGEST)
