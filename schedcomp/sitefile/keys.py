"""Every key of a site file, by part, with an example value as one would write it."""

from __future__ import annotations

from types import MappingProxyType

from schedcomp.filekind import SITE_KEY
from schedcomp.reading import Examples

FORMAT_KEY = SITE_KEY

TOP: Examples = MappingProxyType(
    {
        FORMAT_KEY: "1",
        "site": "",
        "hours": "",
        "day_types": "",
        "circuit": "",
        "one_off": "",
        "unit": "",
        "people": "",
        "paper": "",
    }
)

SEVERAL = ("circuit", "one_off", "unit")

SITE: Examples = MappingProxyType(
    {
        "name": '"North lot"',
        "latitude": "40.5853",
        "longitude": "-105.0844",
        "timezone": '"America/Denver"',
        "holidays": '{ country = "US", observed = false }',
        "dusk": '"sunset + 15 min"',
        "dawn": '"sunrise - 15 min"',
        "controller": '"sun-yearly-64"',
        "ordinance": '"dark_hours.toml"',
        "price_per_kwh": "0.14",
        "currency": '"USD"',
        "tolerance": '"3 min"',
        "tolerance_limit": '"10 min"',
        "favour": '"light"',
        "spare": '"safety"',
    }
)

HOLIDAYS: Examples = MappingProxyType(
    {
        "country": '"US"',
        "subdivision": '"CO"',
        "only": '["Thanksgiving", "Christmas Day"]',
        "except": '["Columbus Day"]',
        "add": '{ "Store birthday" = "2027-09-03" }',
        "observed": "false",
    }
)

STAFF_KEYS = ("staff_before", "staff_after")
HOURS: Examples = MappingProxyType(
    {
        "mon-fri": '"07:00-20:00"',
        "staff_before": '"40 min"',
        "staff_after": '"45 min"',
    }
)

DAY_TYPES: Examples = MappingProxyType({"usual": '["on from dusk until 23:00"]'})

PANEL_TEXTS = (
    "coil_supply",
    "fed_from",
    "control_fed_from",
    "lamp_kind",
    "surge_protector",
    "selector",
    "output",
    "contactor",
    "photocell_fails",
)

CIRCUIT: Examples = MappingProxyType(
    {
        "name": '"Lot poles"',
        "channel": "1",
        "lamps": '"40 x 160 W"',
        "load_kw": "6.4",
        "lumens": "720000",
        "serves": '"people"',
        "egress": '"none on this circuit"',
        "photocell": '"none"',
        "photocell_level": '"20 lux"',
        "override_minutes": "0",
        "shortest_on": '"10 min"',
        "shortest_off": '"15 min"',
        "tolerance": '"3 min"',
        "keep_dark": '["every day: from 00:30 until 04:15"]',
        "calendar": '["every day: usual"]',
        "promise": '["every day 23:50: dark"]',
        "volts": "277",
        "phases": "1",
        "contactor_poles": "2",
        "contactor_rating_amperes": "30",
        "coil_supply": '"120 V, panel E, breaker 5"',
        "fed_from": '"panel E, breaker 1"',
        "control_fed_from": '"panel E, breaker 5"',
        "lamp_kind": '"LED"',
        "power_factor": "0.95",
        "surge_protector": '"in each pole"',
        "selector": '"hand-off-auto"',
        "output": '"relay 1"',
        "contactor": '"latched"',
        "photocell_fails": '"closed"',
    }
)

ONE_OFF: Examples = MappingProxyType(
    {
        "circuit": '"Lot poles"',
        "lit": '"2027-06-18 21:00 until 2027-06-19 00:30"',
        "dark": '"2027-06-18 21:00 until 2027-06-19 00:30"',
        "because": '"summer sale"',
    }
)

UNIT: Examples = MappingProxyType(
    {
        "label": '"Panel A"',
        "where": '"dock, north wall"',
        "serial": '"0042"',
        "wiring": '"output 1 drives channel 1"',
        "unit_location": '"40.59 N, 105.08 W"',
        "confirmed": '"keyed-back list, 2027-03-12, 7F3A-92C1"',
    }
)

PEOPLE: Examples = MappingProxyType(
    {
        "owner": '"the owner"',
        "call": '"555-0100"',
        "installer": '"the installer"',
        "job": '"27-114"',
    }
)

PAPER: Examples = MappingProxyType(
    {
        "revision": '"B"',
        "replaces": '"2026-11-30, 7F3A-92C1"',
        "kept_at": '"in the door of panel A"',
        "clock": '"12 hour"',
        "size": '"letter"',
    }
)

EVERY_PART: MappingProxyType[str, Examples] = MappingProxyType(
    {
        "[site]": SITE,
        "holidays of [site]": HOLIDAYS,
        "[hours]": MappingProxyType({key: HOURS[key] for key in STAFF_KEYS}),
        "[[circuit]]": CIRCUIT,
        "[[one_off]]": ONE_OFF,
        "[[unit]]": UNIT,
        "[people]": PEOPLE,
        "[paper]": PAPER,
    }
)
"""For a key that stands in another part than its own."""

SERVES = ("people", "sign", "facade", "decoration")
PHOTOCELL = ("none", "series", "parallel", "in each lamp head")
FAVOUR = ("light", "dark", "even")
SPARE = ("safety", "none")
CONFIRMED_BY = ("keyed-back list", "signed test page", "read-back")
PAPER_SIZE = ("a4", "letter")
