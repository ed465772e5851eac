"""What a slot is for, in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from schedcomp.model import Action
from schedcomp.target import TargetSwitching


def purpose_of(action: Action, served: Sequence[TargetSwitching]) -> str:
    """`on at dusk (sunset + 15 min)`: the moments this slot serves, the commonest first."""
    counts = Counter(s.reason.phrase for s in served)
    phrases = [phrase for phrase, _ in sorted(counts.items(), key=lambda p: (-p[1], p[0]))]
    named = "; ".join(phrases[:2])
    more = f"; and {len(phrases) - 2} more" if len(phrases) > 2 else ""
    return f"{action.value} at {named}{more}"
