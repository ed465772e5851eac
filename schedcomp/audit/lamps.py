"""What the lamps of a channel do when firings come one after the other."""

from __future__ import annotations

import numpy as np

from schedcomp.audit.unit import Firings


def changes(firings: Firings, lit: bool) -> Firings:
    """The firings that change the state of the lamps, which are lit or not at the start."""
    ordered = in_worst_order(firings, lit)
    before = np.append(lit, ordered.on)[: len(ordered.on)]
    return ordered.only(ordered.on != before)


def in_worst_order(firings: Firings, lit: bool) -> Firings:
    """Opposite actions at one instant come in an order nobody knows: take the one that flickers.

    The firings are in order of instant, OFF before ON.
    """
    instants, on = firings.starts, firings.on
    meets = np.flatnonzero((instants[1:] == instants[:-1]) & (on[1:] != on[:-1]))
    if not len(meets):
        return firings
    order = np.arange(len(instants))
    for i in meets:
        a = int(np.searchsorted(instants, instants[i], "left"))
        b = int(np.searchsorted(instants, instants[i], "right"))
        is_lit = bool(on[order[a - 1]]) if a else lit
        if not is_lit:
            order[a:b] = order[a:b][::-1]
    return Firings(
        instants[order],
        firings.ends[order],
        firings.certain[order],
        on[order],
        firings.slots[order],
    )
