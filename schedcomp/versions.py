"""Versions of everything that can change a result."""

from __future__ import annotations

from functools import lru_cache
from importlib.metadata import version

from schedcomp._version import VERSION
from schedcomp.clock import tzdata_version
from schedcomp.records import Record
from schedcomp.sun import ephemeris_version


class Versions(Record, kw_only=True):
    """`tzdata` holds the clock changes, `holidays` the holiday dates, `ephemeris` the Sun."""

    schedcomp: str
    tzdata: str
    holidays: str
    ephemeris: str


@lru_cache(maxsize=1)
def versions() -> Versions:
    """As installed; nothing of the packages is imported for it."""
    return Versions(
        schedcomp=VERSION,
        tzdata=tzdata_version(),
        holidays=version("holidays"),
        ephemeris=ephemeris_version(),
    )
