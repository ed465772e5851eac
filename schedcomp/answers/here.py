"""What every answer about a site tells first, and the date at the site."""

from __future__ import annotations

from datetime import UTC, date, datetime

from schedcomp.model import ONE_DAY, Instant
from schedcomp.report.light import sunset_today_words
from schedcomp.report.words import wrapped
from schedcomp.site import Site
from schedcomp.site_clock import site_clock
from schedcomp.world import World


def first_line(site: Site, world: World, now: Instant) -> str:
    """The site and where on earth it is."""
    return wrapped(f"{site.name}: {where_words(site, world, local_date(site, now))}")


def where_words(site: Site, world: World, today: date) -> str:
    """`4 km south of TOWN, REGION; sunset today 16:33`."""
    return f"{world.whereabouts.text}; {sunset_today_words(site, today)}"


def site_record(site: Site, world: World) -> dict[str, object]:
    """The same as a plain record; nothing in it depends on today."""
    return {
        "site": {
            "name": site.name,
            "latitude_degrees": site.latitude_degrees,
            "longitude_degrees": site.longitude_degrees,
            "timezone": site.timezone,
            "whereabouts": world.whereabouts.text,
        }
    }


def utc_date(now: Instant) -> date:
    return datetime.fromtimestamp(now, UTC).date()


def local_date(site: Site, now: Instant) -> date:
    """The date on the site's own clock."""
    utc = utc_date(now)
    return site_clock(site, utc - ONE_DAY, utc + ONE_DAY).local_date(now)
