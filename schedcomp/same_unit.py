"""Whether an old program is one of this site: its place, its controller and its wiring."""

from __future__ import annotations

import math
from collections.abc import Iterator

from schedcomp.controller import Controller
from schedcomp.diag import Diagnostic
from schedcomp.messages import renewing as messages
from schedcomp.records import field_names
from schedcomp.site import Site
from schedcomp.transfer import Transfer
from schedcomp.words import join_and

SAME_PLACE_KM = 1.0
"""Coordinates may have been rounded to 0.01 degrees and typed more exactly since."""

_KM_PER_DEGREE = 111.2

_OF_SLOTS = (
    *("event_slots", "slots_are", "slot_holds", "channels", "step_minutes", "starts_clock"),
    *("offsets", "offset_step_minutes", "weekday_sets", "weekday_set_costs", "date_ranges"),
    *("exceptions", "clock", "event_covers"),
)
"""The properties of a controller that say what its slots hold."""


def same_unit_findings(
    site: Site, controller: Controller, old: Transfer, name: str, typed: str
) -> tuple[Diagnostic, ...]:
    """What keeps an old program from being renewed for a site; `name` is its file, `typed` the
    command that makes a new program instead.
    """
    return (
        *_other_site(site, old, name, typed),
        *_other_controller(site, controller, old, name, typed),
        *_other_wiring(site, old, name, typed),
    )


def renamed(site: Site, old: Transfer) -> tuple[tuple[int, str, str], ...]:
    """Channels whose circuit has another name than in the old program: (channel, old, new)."""
    names = {c.channel: c.name for c in old.circuits}
    return tuple(
        (c.channel, names[c.channel], c.name)
        for c in site.circuits
        if c.channel in names and names[c.channel] != c.name
    )


def _other_site(site: Site, old: Transfer, name: str, typed: str) -> Iterator[Diagnostic]:
    distance = _distance_km(site, old)
    what = ""
    if distance > SAME_PLACE_KM:
        what = messages.ELSEWHERE.format(distance=f"{distance:,.0f} km")
    elif old.zone_name != site.timezone:
        what = messages.OTHER_ZONE.format(old=old.zone_name, new=site.timezone)
    if what:
        yield messages.OTHER_SITE.at(
            site.location_at, name=name, old=old.site_name, what=what, site=site.name, typed=typed
        )


def _distance_km(site: Site, old: Transfer) -> float:
    """Over so short a way the Earth is flat."""
    north = site.latitude_degrees - old.latitude_degrees
    east = (site.longitude_degrees - old.longitude_degrees + 180) % 360 - 180
    narrowed = math.cos(math.radians(site.latitude_degrees))
    return math.hypot(north, east * narrowed) * _KM_PER_DEGREE


def _other_controller(
    site: Site, controller: Controller, old: Transfer, name: str, typed: str
) -> Iterator[Diagnostic]:
    held = old.controller
    words = [s.word for s in held.sun_starts], [s.word for s in controller.sun_starts]
    changed = [name for name in field_names(Controller) if name in _OF_SLOTS]
    changed = [key for key in changed if getattr(held, key) != getattr(controller, key)]
    if words[0] != words[1]:
        changed.append("starts_at")
    what = ""
    if held.name != controller.name:
        what = messages.OTHER_NAME
    elif changed:
        what = messages.OTHER_PROPERTIES.format(properties=join_and(changed))
    if what:
        yield messages.OTHER_CONTROLLER.at(
            site.controller_at,
            name=name,
            old=held.name,
            new=controller.name,
            what=what,
            typed=typed,
        )


def _other_wiring(site: Site, old: Transfer, name: str, typed: str) -> Iterator[Diagnostic]:
    channels = {c.name: c.channel for c in old.circuits}
    for circuit in site.circuits:
        before = channels.get(circuit.name)
        if before is not None and before != circuit.channel:
            yield messages.OTHER_WIRING.at(
                circuit.at,
                circuit=circuit.name,
                old=before,
                new=circuit.channel,
                name=name,
                typed=typed,
            )
