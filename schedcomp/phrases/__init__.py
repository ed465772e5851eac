"""Phrases of a site file: text to tree and back.

Every `parse_*` takes a `PhraseText` and returns (tree, ()) or (None, (the one finding,)).
"""

from schedcomp.phrases.dates import parse_dates
from schedcomp.phrases.definitions import parse_sun_definition
from schedcomp.phrases.durations import parse_duration
from schedcomp.phrases.lines import (
    parse_calendar_line,
    parse_keep_dark,
    parse_promise,
    parse_stretch,
)
from schedcomp.phrases.moments import parse_moment, parse_window
from schedcomp.phrases.opening import parse_hours

__all__ = [
    "parse_calendar_line",
    "parse_dates",
    "parse_duration",
    "parse_hours",
    "parse_keep_dark",
    "parse_moment",
    "parse_promise",
    "parse_stretch",
    "parse_sun_definition",
    "parse_window",
]
