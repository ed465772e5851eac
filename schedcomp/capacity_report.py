"""What was found out about slots: how many a tolerance takes, what is enough, what would save some.

Slots are those to compare with what a controller holds: of all channels together, or, where it
has slots for each channel, of the channel that needs most. Safety repeats are not counted.
"""

from __future__ import annotations

from datetime import date

from schedcomp.controller import SunStart
from schedcomp.diag import SourceRange
from schedcomp.model import Action
from schedcomp.records import Record


class OutOfReach(Record):
    """Switchings of a circuit that nothing a controller can store does; the first one in words."""

    circuit: str
    count: int
    action: Action
    phrase: str
    day: date


class CurvePoint(Record, kw_only=True):
    """What one tolerance takes, if slots were no limit, and whether the controller holds it.

    `slots` None: no program of any length, for what is `out_of_reach`. `bound` is proven, and
    `special_days` are used beside the slots. The worst figures are those of all test runs,
    `total_seconds` sums every switching of the exact run, early or late; they are None where there
    is no program or the test run disagrees.
    """

    tolerance_minutes: int
    slots: int | None
    bound: int | None
    fits: bool
    special_days: int = 0
    early_seconds: int | None = None
    late_seconds: int | None = None
    total_seconds: int | None = None
    out_of_reach: tuple[OutOfReach, ...] = ()

    @property
    def worst_seconds(self) -> int | None:
        """The worst switching, early or late."""
        if self.early_seconds is None or self.late_seconds is None:
            return None
        return max(self.early_seconds, self.late_seconds)


class Enough(Record, kw_only=True):
    """Whether a controller holds a program, and at what tolerance; else what is in the way.

    `missing_channel` is the number of a channel that is used and that it lacks; `lacking` is what
    clauses of the site's rules ask of a controller and this one does not have.
    """

    controller: str
    event_slots: int
    holds: bool
    tolerance_minutes: int
    slots: int | None = None
    special_days: int = 0
    per_channel: bool = False
    channels: int = 1
    missing_channel: int | None = None
    out_of_reach: tuple[OutOfReach, ...] = ()
    lacking: tuple[str, ...] = ()

    @property
    def enough(self) -> bool:
        return self.holds and not self.lacking


class Properties(Record, kw_only=True):
    """What a time switch can do, apart from how many slots it has.

    `weekdays`: "any set", "single days or all" or "all only".
    """

    sun_starts: tuple[SunStart, ...]
    weekdays: str
    dates: bool
    special_days: bool


class Without(Record, kw_only=True):
    """What a program takes without one property; `slots` None: none of any length is left.

    `dropped`: "special days", "levels", "sun", "dates", "weekday sets" or "weekdays". Properties
    that turned out not to be needed are left out too.
    """

    dropped: str
    slots: int | None
    needed: bool


class Specification(Record, kw_only=True):
    """The smallest set of properties that is enough, for whoever buys a time switch.

    `fewest_slots` and `fewest_special_days` are what a program takes with every property.
    `offset_minutes` is the largest offset from a sun time in the program found, 0 if none is used;
    `sun_error_minutes` is how far the unit's own sun times were taken to be off.
    """

    tolerance_minutes: int
    properties: Properties
    slots: int
    proven: bool
    special_days: int
    fewest_special_days: int
    channels: int
    offset_minutes: int
    sun_error_minutes: float
    fewest_slots: int
    tried: tuple[Without, ...]


class Saving(Record, kw_only=True):
    """What a program would take without one line or window of the site file.

    `kind`: "calendar line", "window" or "single night"; a window belongs to the `day_type`, and
    `circuits` are those it concerns. `slots` None: no program of any length, or not `tried`.
    `seconds_less` is how much less the lamps would be lit over the period.
    """

    kind: str
    text: str
    circuits: tuple[str, ...]
    day_type: str = ""
    at: SourceRange | None = None
    tried: bool = True
    slots: int | None = None
    seconds_less: int = 0


class Shortfall(Record, kw_only=True):
    """What would make a program fit that does not.

    `slots` is what it takes at `tolerance_minutes`, None where no length does. At
    `fits_at_minutes`, the smallest tolerance that fits, it takes `slots_there`; None: no tolerance
    up to `most_minutes` fits. `proven`: for certain nothing smaller does, or none at all. `savings`
    are sorted by what they save, untried ones last.
    """

    tolerance_minutes: int
    slots: int | None
    fits_at_minutes: int | None
    slots_there: int | None
    most_minutes: int
    savings: tuple[Saving, ...]
    proven: bool = True

    @property
    def useful(self) -> tuple[Saving, ...]:
        """The savings that save: fewer slots, or a program where there was none."""
        return tuple(
            s
            for s in self.savings
            if s.slots is not None and (self.slots is None or s.slots < self.slots)
        )
