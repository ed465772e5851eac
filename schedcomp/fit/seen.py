"""What the firings of a group do on one channel: never allowed, conditional, or of use."""

from __future__ import annotations

import numpy as np

from schedcomp.fit.cells import Profile
from schedcomp.fit.firings import Bools, Ints
from schedcomp.records import Record


class Seen(Record):
    """What the firings of a group do on one channel; its rows are numbered from `base` on.

    `escapes` [starts x occasions] marks firings all of whose dates may become special days.
    """

    profile: Profile
    asked: Ints
    base: int
    channel: int
    escapes: Bools

    def never(self, starts: Ints) -> Bools:
        """Firings of some starts that nothing makes harmless."""
        forbidden: Bools = self.profile.never[starts] & ~self.escapes[starts]
        return forbidden

    def conditional(self, starts: Ints) -> Bools:
        """Firings of some starts harmless only with certain borders or on a special day."""
        escaping = self.profile.never[starts] & self.escapes[starts]
        found: Bools = self.profile.depends[starts] | escaping
        return found


def seen_plainly(profile: Profile, asked: Ints) -> Seen:
    """A single channel without special days."""
    return Seen(profile, asked, 0, 0, np.zeros(profile.never.shape, dtype=np.bool_))
