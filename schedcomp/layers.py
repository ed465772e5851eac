"""Stretches of time with reasons at their ends: union, cutting, bridging and dropping.

Every function takes and returns spans that are sorted and apart (no two touch).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import islice
from operator import attrgetter, lt

from schedcomp.model import Instant
from schedcomp.year import DarkStretch, Span

_start, _end = attrgetter("start"), attrgetter("end")


def union(spans: Iterable[Span]) -> list[Span]:
    """Spans in any order, merged where they overlap or touch; outer ends keep their reasons."""
    spans = sorted(spans, key=_start)
    if _are_apart(spans):
        return spans
    merged: list[Span] = []
    for span in sorted(spans, key=lambda s: (s.start, -s.end)):
        if merged and span.start <= merged[-1].end:
            last = merged[-1]
            if span.end > last.end:
                merged[-1] = Span(last.start, span.end, last.start_reason, span.end_reason)
        else:
            merged.append(span)
    return merged


def cut(spans: Sequence[Span], dark: Sequence[DarkStretch]) -> list[Span]:
    """The spans without the dark stretches; a cut end takes the reason of the dark stretch."""
    if not dark:
        return [*spans]
    left: list[Span] = []
    first = 0
    for span in spans:
        while first < len(dark) and dark[first].end <= span.start:
            first += 1
        rest: Span | None = span
        for stretch in dark[first:]:
            if rest is None or stretch.start >= rest.end:
                break
            if stretch.start > rest.start:
                left.append(Span(rest.start, stretch.start, rest.start_reason, stretch.reason))
            rest = (
                Span(stretch.end, rest.end, stretch.end_reason, rest.end_reason)
                if stretch.end < rest.end
                else None
            )
        if rest is not None:
            left.append(rest)
    return left


def merge_dark(dark: Iterable[DarkStretch]) -> list[DarkStretch]:
    """Dark stretches in any order, merged where they overlap or touch."""
    dark = sorted(dark, key=_start)
    if _are_apart(dark):
        return dark
    merged: list[DarkStretch] = []
    for stretch in sorted(dark, key=lambda d: (d.start, -d.end)):
        if merged and stretch.start <= merged[-1].end:
            last = merged[-1]
            if stretch.end > last.end:
                merged[-1] = DarkStretch(last.start, stretch.end, last.reason, stretch.end_reason)
        else:
            merged.append(stretch)
    return merged


def lift(dark: Sequence[DarkStretch], lit: Span) -> list[DarkStretch]:
    """The dark stretches without what a one-off lights."""
    kept: list[DarkStretch] = []
    for stretch in dark:
        if stretch.end <= lit.start or stretch.start >= lit.end:
            kept.append(stretch)
            continue
        if stretch.start < lit.start:
            kept.append(DarkStretch(stretch.start, lit.start, stretch.reason, lit.start_reason))
        if stretch.end > lit.end:
            kept.append(DarkStretch(lit.end, stretch.end, lit.end_reason, stretch.end_reason))
    return kept


def bridge(
    spans: Sequence[Span], dark: Sequence[DarkStretch], shortest_off_seconds: int
) -> tuple[list[Span], list[tuple[Instant, Instant]], list[tuple[Instant, Instant]]]:
    """Short gaps bridged whole in time order; returns spans, bridged gaps, gaps that may not be."""
    if not shortest_off_seconds:
        return [*spans], [], []
    bridged: list[tuple[Instant, Instant]] = []
    short: list[tuple[Instant, Instant]] = []
    done: list[Span] = []
    for span in spans:
        gap = (done[-1].end, span.start) if done else None
        if gap and gap[1] - gap[0] < shortest_off_seconds:
            if any(d.start <= gap[1] and d.end >= gap[0] for d in dark):
                short.append(gap)
            else:
                bridged.append(gap)
                last = done.pop()
                span = Span(last.start, span.end, last.start_reason, span.end_reason)
        done.append(span)
    return done, bridged, short


def drop(
    spans: Sequence[Span], one_offs: Sequence[Span], shortest_on_seconds: int
) -> tuple[list[Span], list[tuple[Instant, Instant]]]:
    """Spans long enough or holding a one-off; returns the kept ones and the dropped ones."""
    if not shortest_on_seconds:
        return [*spans], []
    kept: list[Span] = []
    dropped: list[tuple[Instant, Instant]] = []
    for span in spans:
        wanted = any(o.start < span.end and o.end > span.start for o in one_offs)
        if span.end - span.start < shortest_on_seconds and not wanted:
            dropped.append((span.start, span.end))
        else:
            kept.append(span)
    return kept, dropped


def _are_apart(ordered: Sequence[Span] | Sequence[DarkStretch]) -> bool:
    """Whether each ends before the next one starts."""
    return all(map(lt, map(_end, ordered), map(_start, islice(ordered, 1, None))))
