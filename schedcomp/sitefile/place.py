"""Where on earth a site is: its coordinates, its time zone, and whether the two fit."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from datetime import date

from schedcomp import clock
from schedcomp.coordinates import LATITUDE, LONGITUDE, Axis, check_range, read_degrees
from schedcomp.diag import PhraseText, SourceRange
from schedcomp.messages import meaning
from schedcomp.near import near_words, quoted
from schedcomp.places import zones_at, zones_of_towns
from schedcomp.reading import Reader
from schedcomp.records import Record
from schedcomp.tomlnodes import Unreadable, Value, number_of

HIGHEST_LATITUDE = 85.0
NEAR_BORDER_KM = 50.0
MOST_HOURS_OFF = 3.0
COMPARED_YEAR = 2027

_OFFSET = re.compile(r"\s*(?:UTC|GMT|Z)?\s*[-+−–]?\s*[\d:.]*\s*", re.IGNORECASE)
_KM_PER_DEGREE = 111.2
_NOT_ONE_ZONE = frozenset(
    (
        "EST", "MST", "HST", "EST5EDT", "CST6CDT", "MST7MDT", "PST8PDT", "CET", "MET", "EET",
        "WET", "UTC", "UCT", "GMT", "GMT0", "GMT+0", "GMT-0", "ZULU", "UNIVERSAL",
        "GREENWICH", "FACTORY", "LOCALTIME", "POSIXRULES", "AST", "PST", "CST", "EDT", "CDT",
        "MDT", "PDT", "BST", "CEST", "EEST", "WEST", "IST", "JST", "KST", "AEST", "AEDT",
        "ACST", "AWST", "NZST", "NZDT", "AKST", "AKDT", "HDT", "SGT", "MSK",
    )
)  # fmt: skip


class Place(Record):
    """`at` is where the latitude stands; `zone_given`: the zone was not looked up."""

    latitude: float
    longitude: float
    zone: str
    zone_given: bool
    at: SourceRange | None


def read_place(reader: Reader) -> Place | None:
    """Latitude, longitude and zone of `[site]`, checked against each other."""
    why = "Sun times depend on where the site is."
    reader.missing("latitude", why)
    reader.missing("longitude", why)
    if _changed_places(reader):
        return None
    latitude = _coordinate(reader, LATITUDE)
    longitude = _coordinate(reader, LONGITUDE)
    if latitude is not None and abs(latitude) > HIGHEST_LATITUDE:
        reader.found.append(meaning.NEAR_POLE.at(reader.place("latitude"), found=f"{latitude:g}"))
        latitude = None
    zone = _zone_name(reader, latitude, longitude)
    if latitude is None or longitude is None:
        return None
    here = reader.place("latitude")
    if reader.given("timezone"):
        if zone is None:
            return None
        _check_fit(reader, latitude, longitude, zone)
        return Place(latitude, longitude, zone, True, here)
    found = _looked_up(reader, latitude, longitude)
    return None if found is None else Place(latitude, longitude, found, False, here)


def _changed_places(reader: Reader) -> bool:
    """Whether the latitude can only be a longitude, and the longitude may be a latitude."""
    entries = (reader.entry(LATITUDE.name), reader.entry(LONGITUDE.name))
    first, second = (None if entry is None else number_of(entry.value) for entry in entries)
    if first is None or second is None:
        return False
    if not (LATITUDE.limit < abs(first) <= LONGITUDE.limit and abs(second) <= HIGHEST_LATITUDE):
        return False
    reader.found.append(
        meaning.CHANGED_PLACES.at(
            reader.place("latitude"), latitude=f"{first:.10g}", longitude=f"{second:.10g}"
        )
    )
    return True


def _coordinate(reader: Reader, axis: Axis) -> float | None:
    entry = reader.entry(axis.name)
    if entry is None or isinstance(entry.value, Unreadable):
        return None
    node = entry.value
    if isinstance(node, Value) and isinstance(node.content, str):
        phrase = reader.phrase(axis.name)
        return None if phrase is None else reader.take(read_degrees(phrase, axis))
    number = number_of(node)
    if number is None or not math.isfinite(number):
        return reader.number(axis.name)
    written = PhraseText(node.at.text, node.at)
    if "_" in written.text:
        reader.found.append(
            meaning.COORDINATE_UNDERSCORE.at(
                node.at,
                found=quoted(written.text),
                typed=f"{axis.name} = {quoted(written.text.replace('_', ''))}",
            )
        )
        return None
    return reader.take(check_range(written, number, axis))


# Zone names


def _zone_name(reader: Reader, latitude: float | None, longitude: float | None) -> str | None:
    phrase = reader.phrase("timezone")
    if phrase is None:
        return None
    name = phrase.text.strip()
    if name in clock.zone_names() and not _is_fixed(name):
        return name
    here = _zones(latitude, longitude)
    hint = f"The zone at the coordinates of this file is {here[0]}." if here else ""
    if _is_fixed(name):
        typed = here[0] if here else "America/Denver"
        reader.found.append(
            meaning.FIXED_ZONE.at(
                phrase.at, found=quoted(name), hint=hint, typed=f'timezone = "{typed}"'
            )
        )
        return None
    near = _near_zones(name)
    if near:
        hint = (
            f"The nearest names are {', '.join(near)}."
            if len(near) > 1
            else (f"The nearest name is {near[0]}.")
        )
    typed = next((z for z in near if z in here), (*near, *here, "America/Denver")[0])
    reader.found.append(
        meaning.UNKNOWN_ZONE.at(
            phrase.at, found=quoted(name), hint=hint, typed=f'timezone = "{typed}"'
        )
    )
    return None


def _is_fixed(name: str) -> bool:
    """Whether a name is an abbreviation, an offset, or `Etc/...`."""
    if name.upper() in _NOT_ONE_ZONE or name.casefold().startswith("etc/"):
        return True
    return _OFFSET.fullmatch(name) is not None


def _near_zones(name: str) -> tuple[str, ...]:
    """Names within two letters, or with the same last part (`Denver`, `america/denver`)."""
    asked = name.casefold().replace(" ", "_")
    names = sorted(n for n in clock.zone_names() if not _is_fixed(n) and "/" in n)
    same = [n for n in names if asked in (n.casefold(), n.casefold().rsplit("/", 1)[-1])]
    return tuple(same[:4]) or near_words(asked, names)


def _zones(latitude: float | None, longitude: float | None) -> tuple[str, ...]:
    """Zones on land at a place, as far as tzdata knows them."""
    if latitude is None or longitude is None:
        return ()
    known = clock.zone_names()
    return tuple(z for z in zones_at(latitude, longitude) if not _is_fixed(z) and z in known)


def _looked_up(reader: Reader, latitude: float, longitude: float) -> str | None:
    here = _zones(latitude, longitude) or _zones_near(latitude, longitude)
    if here:
        return here[0]
    reader.found.append(
        meaning.NO_ZONE_HERE.at(
            reader.place("latitude"),
            latitude=north(latitude),
            longitude=east(longitude),
            typed=reader.example("timezone"),
        )
    )
    return None


# Fit


def _check_fit(reader: Reader, latitude: float, longitude: float, zone: str) -> None:
    if zone in zones_of_towns(latitude, longitude, NEAR_BORDER_KM):
        return  # the map of the zones, slow to load, is not needed
    here = _zones(latitude, longitude)
    if _same_clock(zone, here) or _same_clock(zone, _zones_near(latitude, longitude)):
        return
    there = here[0] if here else "of the open sea"
    for slip, new_latitude, new_longitude in _slips(latitude, longitude):
        if _same_clock(zone, _zones(new_latitude, new_longitude)):
            reader.found.append(
                meaning.WRONG_COORDINATES.at(
                    reader.place("longitude" if new_latitude == latitude else "latitude"),
                    zone=zone,
                    slip=slip,
                    there=there,
                    latitude=north(latitude),
                    longitude=east(longitude),
                    new_latitude=f"{new_latitude:.10g}",
                    new_longitude=f"{new_longitude:.10g}",
                )
            )
            return
    typed = f'timezone = "{here[0]}"' if here else reader.example("latitude")
    hours_off = _hours_off(longitude, zone)
    if abs(hours_off) > MOST_HOURS_OFF:
        noon = round((12 + hours_off) * 60) % (24 * 60)
        reader.found.append(
            meaning.ZONE_FAR_OFF.at(
                reader.place("timezone"),
                zone=zone,
                noon=f"{noon // 60:02d}:{noon % 60:02d}",
                typed=typed,
                there=there,
                latitude=north(latitude),
                longitude=east(longitude),
            )
        )
        return
    reader.found.append(
        meaning.ZONE_DIFFERS.at(reader.place("timezone"), zone=zone, there=there, typed=typed)
    )


def _slips(latitude: float, longitude: float) -> Iterable[tuple[str, float, float]]:
    """Usual slips of the pen with the coordinates that would be right."""
    yield "the sign of the longitude is wrong", latitude, -longitude
    yield "the sign of the latitude is wrong", -latitude, longitude
    yield "both signs are wrong", -latitude, -longitude
    if abs(longitude) <= HIGHEST_LATITUDE:
        swapped = "latitude and longitude changed places"
        yield swapped, longitude, latitude
        yield f"{swapped}, and a sign is wrong", longitude, -latitude
        yield f"{swapped}, and a sign is wrong", -longitude, latitude
        yield f"{swapped}, and the signs are wrong", -longitude, -latitude


def _zones_near(latitude: float, longitude: float) -> tuple[str, ...]:
    """Zones within about 50 km: a border may lie between a site and its town."""
    found: dict[str, None] = {}
    for share in (0.5, 1.0):
        north_by = NEAR_BORDER_KM * share / _KM_PER_DEGREE
        east_by = north_by / max(0.08, math.cos(math.radians(latitude)))
        for eighth in range(8):
            angle = eighth * math.pi / 4
            beside = (longitude + east_by * math.sin(angle) + 180) % 360 - 180
            above = max(-90.0, min(90.0, latitude + north_by * math.cos(angle)))
            found |= dict.fromkeys(_zones(above, beside))
    return tuple(found)


def _same_clock(zone: str, others: tuple[str, ...]) -> bool:
    """Whether one of some zones has the same clock changes as `zone` in 2027."""
    return zone in others or any(_changes(zone) == _changes(other) for other in others)


def _changes(zone: str) -> tuple[tuple[int, ...], tuple[int, ...]]:
    of_year = _year_of(zone)
    return of_year.starts, of_year.offsets


def _year_of(zone: str) -> clock.Zone:
    return clock.zone(zone, date(COMPARED_YEAR, 1, 1), date(COMPARED_YEAR, 12, 31))


def _hours_off(longitude: float, zone: str) -> float:
    """Hours by which the clock at mean solar noon is past 12:00, from -12 to 12."""
    standard_hours = min(_year_of(zone).offsets) / 3600
    return (standard_hours - longitude / 15 + 12) % 24 - 12


def north(degrees: float) -> str:
    """`40.5853 N`."""
    return f"{abs(degrees):.6g} {'S' if degrees < 0 else 'N'}"


def east(degrees: float) -> str:
    """`105.0844 W`."""
    return f"{abs(degrees):.7g} {'W' if degrees < 0 else 'E'}"
