"""The clock at a site."""

from __future__ import annotations

from datetime import date

from schedcomp.clock import Zone, zone
from schedcomp.records import replace
from schedcomp.site import TWELVE, Site


def site_clock(site: Site, first: date, last: date) -> Zone:
    """The clock in the years of `first` to `last`, telling times as the site asks for it."""
    return replace(zone(site.timezone, first, last), twelve=site.paper.clock == TWELVE)
