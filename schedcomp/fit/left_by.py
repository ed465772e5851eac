"""The end of special days on units that then work out what their normal events would have left.

Such an end is harmless only if the last normal event before it, special days or not, has the
action the lamps should show; so an event of the other action needs one of the right action that
surely comes after it. An event that has not come yet in this period may have come in another year.
Where one surely came, the end may be what switches the lamps.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from schedcomp.clock import Zone
from schedcomp.fit.candidates import Candidate
from schedcomp.fit.firings import Bools, Ints
from schedcomp.fit.marked import named_dates
from schedcomp.fit.model import Draft, Firing
from schedcomp.fit.offers import Catalogue, Offer
from schedcomp.fit.resting import Author, Resting
from schedcomp.fit.solver import Row
from schedcomp.fit.special_days import midnight
from schedcomp.model import Action, Instant
from schedcomp.records import Record, replace

LONG_AGO = int(np.iinfo(np.int64).min)


class _Last(Record):
    """The last firing of an offer that could come before an instant; LONG_AGO: none known."""

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
    named = _named(offers, catalogue) if restings else []
    for resting in restings:
        for key, end in author.ends(resting):
            days = resting.domain.days[resting.domain.keys.index(key)]
            for day in days:
                at = midnight(clock, axis, day + 1)
                for channel in resting.domain.channels:
                    cells = catalogue.cells[channel]
                    if cells.origin <= at <= cells.end:
                        lasts = list(_lasts(named, channel, at))
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


class _Named(Record):
    """The firings of an offer on the dates that it names."""

    offer: int
    candidate: Candidate
    first: Ints
    last: Ints
    certain: Bools


def _named(offers: Sequence[Offer], catalogue: Catalogue) -> list[_Named]:
    found = []
    for number, offer in enumerate(offers):
        candidate = offer.candidate
        for group in catalogue.firings:
            if candidate.start not in group.starts:
                continue
            start = group.starts.index(candidate.start)
            every = np.arange(group.first.shape[1])
            named = named_dates(candidate, group, start, every, catalogue.ranges)
            any_of = named.any(axis=1)
            certain = (group.certain[start] & named.all(axis=1))[any_of]
            first, last = group.first[start][any_of], group.last[start][any_of]
            found.append(_Named(number, candidate, first, last, certain))
            break
    return found


def _lasts(named: Sequence[_Named], channel: int, at: Instant) -> Iterator[_Last]:
    for one in named:
        if channel not in one.candidate.channels:
            continue
        before = np.flatnonzero(one.first < at)
        if not before.size:
            yield _Last(one.offer, one.candidate.action, LONG_AGO, LONG_AGO, False)
            continue
        latest = int(before[np.argmax(one.last[before])])
        first, last = int(one.first[latest]), int(one.last[latest])
        yield _Last(one.offer, one.candidate.action, first, last, bool(one.certain[latest]))
