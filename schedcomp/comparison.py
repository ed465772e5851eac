"""Two behaviours side by side: which nights differ, by how many minutes, and what it uses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from schedcomp.behaviour import Behaviour, Spans
from schedcomp.clock import Zone
from schedcomp.model import DAY, HOUR, ONE_DAY, Instant
from schedcomp.records import Record


class NightDifference(Record):
    """Seconds lit in the one and dark in the other from noon of `day` to the next noon."""

    day: date
    only_first_seconds: int
    only_second_seconds: int

    @property
    def seconds(self) -> int:
        return self.only_first_seconds + self.only_second_seconds


class ChannelComparison(Record, kw_only=True):
    """One channel; `nights` are those that differ. `load_kw` None: no energy is told.

    `lit_seconds` are those of the first and of the second.
    """

    channel: int
    circuit: str
    load_kw: float | None
    lit_seconds: tuple[int, int]
    nights: tuple[NightDifference, ...]

    @property
    def only_first_seconds(self) -> int:
        return sum(night.only_first_seconds for night in self.nights)

    @property
    def only_second_seconds(self) -> int:
        return sum(night.only_second_seconds for night in self.nights)

    @property
    def kwh(self) -> float | None:
        """How much more the second uses; negative where it uses less."""
        if self.load_kw is None:
            return None
        return self.load_kw * (self.lit_seconds[1] - self.lit_seconds[0]) / HOUR

    @property
    def worst(self) -> NightDifference | None:
        """The night with the longest difference, the first of several."""
        return max(self.nights, key=lambda n: (n.seconds, -n.day.toordinal()), default=None)


class Lamps(Record):
    """What a channel drives, as far as a file tells."""

    circuit: str
    load_kw: float | None


def compare_behaviours(
    first: Behaviour, second: Behaviour, lamps: Mapping[int, Lamps], zone: Zone
) -> tuple[ChannelComparison, ...]:
    """Every channel that either of them or a circuit has, in order."""
    channels = {c for c, _ in first.lit} | {c for c, _ in second.lit} | set(lamps)
    return tuple(
        _channel(
            channel,
            lamps.get(channel, Lamps("", None)),
            first.of_channel(channel),
            second.of_channel(channel),
            zone,
        )
        for channel in sorted(channels)
    )


def _channel(
    channel: int, lamps: Lamps, first: Spans, second: Spans, zone: Zone
) -> ChannelComparison:
    seconds: dict[date, list[int]] = {}
    for side, spans in enumerate((minus(first, second), minus(second, first))):
        for day, length in _by_night(spans, zone):
            seconds.setdefault(day, [0, 0])[side] += length
    return ChannelComparison(
        channel=channel,
        circuit=lamps.circuit,
        load_kw=lamps.load_kw,
        lit_seconds=(_length(first), _length(second)),
        nights=tuple(NightDifference(day, *seconds[day]) for day in sorted(seconds)),
    )


def minus(spans: Spans, others: Spans) -> Spans:
    """What of some stretches lies in none of the others; both sorted and apart."""
    left: list[tuple[Instant, Instant]] = []
    at = 0
    for start, end in spans:
        while at < len(others) and others[at][1] <= start:
            at += 1
        begin, n = start, at
        while n < len(others) and others[n][0] < end:
            if others[n][0] > begin:
                left.append((begin, others[n][0]))
            begin = max(begin, others[n][1])
            n += 1
        if begin < end:
            left.append((begin, end))
    return tuple(left)


def _by_night(spans: Sequence[tuple[Instant, Instant]], zone: Zone) -> Iterator[tuple[date, int]]:
    """The stretches cut at noon, with the date on whose noon each night begins."""
    for start, end in spans:
        begin = start
        while begin < end:
            day = zone.local_date(begin)
            noon = zone.first_pass(day, DAY // 2)
            if begin < noon:
                day, cut = day - ONE_DAY, noon
            else:
                cut = zone.first_pass(day + ONE_DAY, DAY // 2)
            yield day, min(cut, end) - begin
            begin = min(cut, end)


def _length(spans: Spans) -> int:
    return sum(end - start for start, end in spans)
