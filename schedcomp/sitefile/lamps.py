"""`40 x 160 W` and `12 x 400 W + 4 x 70 W` as connected power."""

from __future__ import annotations

import re

from schedcomp.diag import Diagnostic, PhraseText
from schedcomp.messages import meaning
from schedcomp.near import quoted

_LAMPS = re.compile(
    r"\s*(?:(?P<count>\d{1,6})\s*[x×*]\s*)?(?P<power>\d{1,6}(?:\.\d{1,6})?)\s*(?P<unit>k?W)\s*",
    re.IGNORECASE,
)


_SLIPS = (
    (re.compile(r"(?<=\d),(?=\d{3}\b)"), ""),
    (re.compile(r"(?<=\d),(?=\d)"), "."),
    (re.compile(r"(?i)\bkilowatts?\b"), "kW"),
    (re.compile(r"(?i)(?<![a-z])watts?\b"), "W"),
    (re.compile(r"(?i)\s*(?:[,;&]|\band\b)\s*"), " + "),
    (re.compile(r"(?i)\s*(?:@|\b(?:at|of|times|lamps?(?: of| at)?)\b)\s*"), " x "),
)
"""What people write instead, and what belongs there."""


def parse_lamps(phrase: PhraseText) -> tuple[float | None, tuple[Diagnostic, ...]]:
    """Connected power in kW; more than 0."""
    power_kw = _power_kw(phrase.text)
    return power_kw, (() if power_kw else (_unclear(phrase),))


def _power_kw(text: str) -> float | None:
    """None where the text cannot be read, or for no power at all."""
    watts = 0.0
    for part in text.split("+"):
        match = _LAMPS.fullmatch(part)
        if match is None:
            return None
        scale = 1000 if match["unit"].casefold() == "kw" else 1
        watts += int(match["count"] or 1) * float(match["power"]) * scale
    return round(watts / 1000, 6) or None


def lamp_count(text: str) -> int | None:
    """How many lamps `40 x 160 W + 2 x 70 W` are; None where it cannot be read."""
    matches = [_LAMPS.fullmatch(part) for part in text.split("+")]
    counts = [int(match["count"] or 1) for match in matches if match is not None]
    return sum(counts) if len(counts) == len(matches) else None


def _unclear(phrase: PhraseText) -> Diagnostic:
    lamps = phrase.text
    for slip, right in _SLIPS:
        lamps = slip.sub(right, lamps)
    fix = meaning.LAMPS_AS.format(lamps=lamps) if _power_kw(lamps) else meaning.LAMPS_EXAMPLE
    return meaning.UNCLEAR_LAMPS.at(phrase.at, found=quoted(phrase.text), fix=fix)
