"""The units of a site at their place: the clock they keep and the sun times they work out."""

from __future__ import annotations

from schedcomp.clock import Zone, standard, zone
from schedcomp.controller import Controller
from schedcomp.site import Site
from schedcomp.sun import site_sun
from schedcomp.unit_sun import UnitSun, keyed_location, unit_sun
from schedcomp.world import World

SUN_MARGIN_DAYS = 3
"""Sun times are known on so many dates beyond the period on both sides."""


def unit_clock(controller: Controller, world: World) -> Zone:
    """The controller's own clock: the zone's, or one that never changes in the period's years."""
    if controller.clock != "standard":
        return world.zone
    return standard(zone(world.zone.name, world.period.first, world.period.last))


def unit_sun_of(site: Site, controller: Controller, world: World) -> UnitSun:
    """Sun times of the units of a site, as their keyed locations make them."""
    days = world.period.wider(SUN_MARGIN_DAYS)
    here = (site.latitude_degrees, site.longitude_degrees)
    rounded = keyed_location(*here, controller.location_entry)
    keyed = {unit.location_degrees or rounded for unit in site.units} or {rounded}
    places = tuple(
        site_sun(*place, world.zone, days.first, days.last) for place in sorted(keyed - {here})
    )
    return unit_sun(controller, world.sun, places, days)
