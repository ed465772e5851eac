"""What lamps do over some dates: by a program in a unit, or by the wishes of a site file."""

from __future__ import annotations

from schedcomp.audit.channels import Channel, channels_for
from schedcomp.audit.intervals import overlaps
from schedcomp.audit.lamps import changes
from schedcomp.audit.unit import SunRun
from schedcomp.audit_report import Overlap
from schedcomp.clock import zone
from schedcomp.controller import Controller
from schedcomp.model import ONE_DAY, Instant, Period
from schedcomp.program import Program
from schedcomp.records import Record
from schedcomp.replay import looked_back
from schedcomp.sun import site_sun
from schedcomp.target import Target
from schedcomp.unit_place import SUN_MARGIN_DAYS
from schedcomp.unit_sun import unit_sun
from schedcomp.year import Year

Spans = tuple[tuple[Instant, Instant], ...]


class Location(Record):
    """Where a unit is, and the zone of its clock."""

    latitude_degrees: float
    longitude_degrees: float
    zone_name: str


class Behaviour(Record):
    """Lit stretches by channel, cut at the first and last midnight of the period.

    `overlaps` are slots that act against each other in an order that only luck decides: the lit
    stretches show one of the possible orders.
    """

    lit: tuple[tuple[int, Spans], ...]
    overlaps: tuple[Overlap, ...] = ()

    def of_channel(self, channel: int) -> Spans:
        """Dark throughout where nothing is known of a channel."""
        return dict(self.lit).get(channel, ())


def behaviour_of_program(
    program: Program, controller: Controller, location: Location, period: Period
) -> Behaviour:
    """As the test run's unit does it with exact sun times, begun dark long before.

    Raises KeyError for a sun word the controller does not know.
    """
    first = looked_back(period.first)
    here = zone(location.zone_name, first, period.last)
    start, end = here.first_pass(period.first, 0), here.first_pass(period.last + ONE_DAY, 0)
    days = Period(first, period.last).wider(SUN_MARGIN_DAYS)
    place = location.latitude_degrees, location.longitude_degrees
    sun = site_sun(*place, here, days.first, days.last)
    whole = Target(start=here.first_pass(first, 0), end=end, channels=())
    times = unit_sun(controller, sun, (), days)
    played = channels_for(program, controller, whole, times, location.zone_name)
    met = [o for c in played for o in overlaps(c.possible(), c.number) if start <= o.start < end]
    return Behaviour(tuple((c.number, _lit(c, start, end)) for c in played), tuple(met))


def _lit(channel: Channel, start: Instant, end: Instant) -> Spans:
    quiet, _ = channel.in_run(SunRun.EXACT)
    lamps = changes(quiet, lit=False)
    instants = [*lamps.starts.tolist(), end]
    spans = [
        (instant, instants[n + 1])
        for n, (instant, on) in enumerate(zip(instants, lamps.on.tolist(), strict=False))
        if on
    ]
    return _cut(spans, start, end)


def behaviour_of_year(year: Year) -> Behaviour:
    """As the wishes have it, to the second."""
    return Behaviour(
        tuple(
            (c.channel, _cut([(s.start, s.end) for s in c.spans], year.start, year.end))
            for c in year.circuits
        )
    )


def _cut(spans: list[tuple[Instant, Instant]], start: Instant, end: Instant) -> Spans:
    cut = ((max(begin, start), min(stop, end)) for begin, stop in spans)
    return tuple((begin, stop) for begin, stop in cut if begin < stop)
