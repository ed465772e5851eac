"""What would make a program fit, for check.json and the record of `fit`."""

from __future__ import annotations

from typing import TYPE_CHECKING

from schedcomp.output.canonical import Json

if TYPE_CHECKING:
    from schedcomp.capacity_report import Saving, Shortfall


def shortfall_json(shortfall: Shortfall | None) -> Json:
    """The smallest slot count and tolerance, and what each line would save; None: it fits.

    `slots` None: no program of any length at that tolerance. `fits_at_minutes` None: no tolerance
    up to `most_minutes`; `fits_at_proven`: for certain nothing smaller does, or none at all.
    """
    if shortfall is None:
        return None
    return {
        "tolerance_minutes": shortfall.tolerance_minutes,
        "slots": shortfall.slots,
        "fits_at_minutes": shortfall.fits_at_minutes,
        "fits_at_proven": shortfall.proven,
        "slots_there": shortfall.slots_there,
        "most_minutes": shortfall.most_minutes,
        "without": [_saving(saving) for saving in shortfall.savings],
    }


def _saving(saving: Saving) -> Json:
    return {
        "kind": saving.kind,
        "text": saving.text,
        "line": None if saving.at is None else saving.at.line,
        "day_type": saving.day_type or None,
        "circuits": saving.circuits,
        "tried": saving.tried,
        "slots": saving.slots,
        "seconds_less": saving.seconds_less,
    }
