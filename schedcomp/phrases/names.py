"""Names of weekdays, months and ordinals as people write them."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Mapping
from types import MappingProxyType

from schedcomp.model import MONTHS, WEEKDAYS

WEEKDAY_NAMES = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
WEEKDAY_WORDS = (*WEEKDAYS, *WEEKDAY_NAMES)
MONTH_NAMES = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip

WEEKDAY_NUMBERS: Mapping[str, int] = MappingProxyType(
    {name: number for number, name in enumerate(WEEKDAYS)}
    | {name: number for number, name in enumerate(WEEKDAY_NAMES)}
    | {name + "s": number for number, name in enumerate(WEEKDAY_NAMES)}
    | {"tues": 1, "weds": 2, "thur": 3, "thurs": 3}
)
"""Monday is 0; names in lower case."""

MONTH_NUMBERS: Mapping[str, int] = MappingProxyType(
    {name: number for number, name in enumerate(MONTHS, 1)}
    | {name: number for number, name in enumerate(MONTH_NAMES, 1)}
    | {"sept": 9}
)

ORDINALS: Mapping[str, int] = MappingProxyType(
    {"first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "last": -1}
)

_LEAP_YEAR = 2028


def longest_month(month: int) -> int:
    """Days of a month in the years in which it is longest; February has 29."""
    return monthrange(_LEAP_YEAR, month)[1]
