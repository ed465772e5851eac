"""The end of special days on units that then work out what their normal events would have left.

Such an end is harmless only if the last normal event before it, special days or not, has the
action the lamps should show; so an event of the other action needs one of the right action that
surely comes after it. Where one surely came, the end may be what switches the lamps.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from schedcomp.clock import Zone
from schedcomp.fit.candidates import Candidate
from schedcomp.fit.model import Draft, Firing
from schedcomp.fit.offers import Catalogue, Offer, named_dates
from schedcomp.fit.resting import Author, Resting
from schedcomp.fit.solver import Row
from schedcomp.fit.special_days import midnight
from schedcomp.model import Action, Instant


@dataclass(frozen=True, slots=True)
class _Last:
    """The last firing of an offer that could come before an instant."""

    offer: int
    action: Action
    first: Instant
    last: Instant
    certain: bool


def recalculated_ends(
    author: Author,
    draft: Draft,
    restings: Sequence[Resting],
    offers: Sequence[Offer],
    catalogue: Catalogue,
    clock: Zone,
) -> None:
    """Rows that keep the end of every entry harmless, and let it do the switching it may do."""
    axis = catalogue.ranges.axis
    for resting in restings:
        for key, end in author.ends(resting):
            days = resting.domain.days[resting.domain.keys.index(key)]
            for day in days:
                at = midnight(clock, axis, day + 1)
                for channel in resting.domain.channels:
                    cells = catalogue.cells[channel]
                    if cells.origin <= at <= cells.end:
                        lasts = list(_lasts(offers, channel, catalogue, at))
                        _ask(draft, end, lasts, Firing(channel, at, at, True, (day,)))


def _ask(draft: Draft, end: int, lasts: Sequence[_Last], firing: Firing) -> None:
    """The end is as one or the other action, and surely so if an event of it surely came."""
    ways = []
    for action in Action:
        acts, surely = draft.variable(), draft.variable()
        ways.append((acts, -1.0))
        draft.add_firing(acts, replace(firing, certain=False), action)
        good = [
            one for one in lasts if one.action is action and one.certain and one.last < firing.first
        ]
        for bad in lasts:
            if bad.action is not action:
                after = tuple((g.offer, -1.0) for g in good if g.first > bad.last)
                draft.rows.append(Row(((acts, 1.0), (bad.offer, 1.0), *after), upper=1.0))
        draft.implies(surely, acts)
        draft.implies(surely, end)
        came = tuple((g.offer, -1.0) for g in good)
        draft.rows.append(Row(((surely, 1.0), *came), upper=0.0))
        draft.add_firing(surely, firing, action)
    draft.rows.append(Row(((end, 1.0), *ways), upper=0.0))


def _lasts(
    offers: Sequence[Offer], channel: int, catalogue: Catalogue, at: Instant
) -> Iterator[_Last]:
    for number, offer in enumerate(offers):
        if channel in offer.candidate.channels:
            found = _last_before(offer.candidate, catalogue, at)
            if found is not None:
                first, last, certain = found
                yield _Last(number, offer.candidate.action, first, last, certain)


def _last_before(
    candidate: Candidate, catalogue: Catalogue, at: Instant
) -> tuple[Instant, Instant, bool] | None:
    for group in catalogue.firings:
        if candidate.start in group.starts:
            number = group.starts.index(candidate.start)
            named = named_dates(
                candidate, group, number, np.arange(group.first.shape[1]), catalogue.ranges
            )
            before = np.flatnonzero(named.any(axis=1) & (group.first[number] < at))
            if not before.size:
                return None
            latest = int(before[np.argmax(group.last[number, before])])
            certain = bool(group.certain[number, latest] and named[latest].all())
            return int(group.first[number, latest]), int(group.last[number, latest]), certain
    return None
