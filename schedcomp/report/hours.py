"""What `hours` tells: hours lit by circuit and month, for people and as records."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from schedcomp.hours_lit import HoursLit
from schedcomp.model import HOUR
from schedcomp.report.words import amount_words, wrapped
from schedcomp.words import counted

NOTE = (
    "These are the hours of the wishes. A program may be some minutes a night off, as far as its "
    "tolerance goes. A photocell in series makes a counter show less, a hand switch or an "
    "override more."
)


def hours_text(found: Sequence[HoursLit], since: str, until: str) -> str:
    lines = [wrapped(f"Lit from {since} until {until}"), ""]
    for one in found:
        lines += _lines(one)
        lines.append("")
    return "\n".join([*lines, wrapped(NOTE)]) + "\n"


def _lines(one: HoursLit) -> Iterator[str]:
    switched = counted(one.switchings, "switching on", "switchings on")
    total = f"{one.seconds / HOUR:,.1f} h, {switched}"
    if one.load_kw is not None:
        total += f", {amount_words(one.load_kw * one.seconds / HOUR)} kWh"
    yield wrapped(f"{one.circuit} (channel {one.channel}): {total}")
    if len(one.seconds_by_month) > 1:
        for (year, month), seconds in one.seconds_by_month:
            yield f"  {year}-{month:02d}  {seconds / HOUR:8.1f} h"


def hours_records(found: Iterable[HoursLit]) -> list[dict[str, object]]:
    """The same as `hours_text`, hours to three decimals."""
    return [
        {
            "circuit": one.circuit,
            "channel": one.channel,
            "hours": round(one.seconds / HOUR, 3),
            "kwh": None if one.load_kw is None else round(one.load_kw * one.seconds / HOUR, 3),
            "switchings": one.switchings,
            "by_month": [
                {"month": f"{year}-{month:02d}", "hours": round(seconds / HOUR, 3)}
                for (year, month), seconds in one.seconds_by_month
            ],
        }
        for one in found
    ]
