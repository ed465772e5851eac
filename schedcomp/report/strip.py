"""A night as one line of text: from noon to noon, half an hour a sign, midnight in the middle."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from schedcomp.clock import Zone
from schedcomp.model import HOUR, MINUTE, ONE_DAY
from schedcomp.year import CircuitYear

LIT, DARK, MIDNIGHT = "#", ".", "|"
_CELL = 30 * MINUTE
_MEANING = f"  ({LIT} lit)"


def strip(circuits: Sequence[CircuitYear], zone: Zone, day: date) -> str:
    """`noon ..........########|####.......... noon  (# lit)`: lit where any circuit is.

    A sign stands for the half hour of the clock that it begins; it is lit if its middle is.
    """
    signs = [
        LIT if _is_lit(circuits, zone, day, place * _CELL + _CELL // 2) else DARK
        for place in range(24 * HOUR // _CELL)
    ]
    half = len(signs) // 2
    evening, morning = "".join(signs[:half]), "".join(signs[half:])
    return f"noon {evening}{MIDNIGHT}{morning} noon{_MEANING}"


def _is_lit(circuits: Sequence[CircuitYear], zone: Zone, day: date, seconds: int) -> bool:
    reading = 12 * HOUR + seconds
    on, left = (day, reading) if reading < 24 * HOUR else (day + ONE_DAY, reading - 24 * HOUR)
    instant = zone.first_pass(on, left)
    return any(circuit.is_lit(instant) for circuit in circuits)
