"""Whole sites made at random: whatever is asked of whatever unit, the test run agrees or no
program is written, and no run ends in a fault.
"""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date

import pytest

from schedcomp.controller import Controller
from schedcomp.controllerfile import load_controller
from schedcomp.diag import Source
from schedcomp.model import Period
from schedcomp.pipeline import compile as compile_site
from schedcomp.places import zones_at
from schedcomp.sitefile import site_from_source
from tests.tiny_worlds import how_many

PLACES = (
    (40.6, -105.1), (51.5, -0.1), (-33.9, 151.2), (63.8, 20.3), (69.6, 18.9), (1.3, 103.8),
    (-31.5, 159.1), (61.2, -149.9), (35.2, -111.6), (-45.9, 170.5), (30.0, 31.2), (-33.4, -70.6),
)  # fmt: skip
DATES = (
    "every day", "mon-fri", "sat, sun", "fri", "dec 24", "nov 20 to jan 6", "jun 1 to aug 31",
    "first mon of sep", "easter - 2 days", "holidays", "2027-07-04", "wed in apr 1 to sep 30",
    "every day except holidays", "day before holidays",
)  # fmt: skip
USUAL = (
    "on from dusk until 23:00", "on from dusk until dawn", "on from 05:00 until dawn",
    "on from dusk until the later of close and 22:00", "on from arrive until dawn",
)  # fmt: skip
EVERY = frozenset(range(7))
WEEKDAY_SETS = (
    None, None, (EVERY, *(frozenset({d}) for d in range(7))),
    (EVERY, frozenset(range(5)), frozenset({5, 6})),
)  # fmt: skip

SITE = """schedcomp = 1
[site]
name = "x"
latitude = {latitude:.4f}
longitude = {longitude:.4f}
timezone = "{zone}"
holidays = {{ country = "US", only = ["Christmas Day", "Labor Day"], observed = false }}
dusk = "{dusk}"
dawn = "{dawn}"
favour = "{favour}"
tolerance = "{tolerance} min"
[hours]
mon-fri = "08:00-20:00"
sat = "10:00-01:00"
sun = "closed"
holidays = "closed"
staff_before = "40 min"
staff_after = "30 min"
[day_types]
{types}
"""
CIRCUIT = """[[circuit]]
name = "c{number}"
channel = {number}
calendar = ["every day: t0", {lines}]
shortest_on = "{on} min"
shortest_off = "{off} min"
{dark}
"""


class World:
    """Everything drawn from one seed."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)

    def clock(self) -> str:
        return f"{self.chance.randrange(24):02d}:{self.chance.choice([0, 15, 30, 45, 7]):02d}"

    def plain(self) -> str:
        sun = self.chance.choice(["dusk", "dawn", "sunset", "sunrise"])
        hours = self.chance.choice(["open", "close", "arrive", "leave"])
        shift = self.chance.choice(["", "", " + 20 min", " - 30 min", " + 1 h"])
        other = self.chance.choice(["", f" or {self.clock()}"])
        return self.chance.choice([self.clock(), sun + shift, hours + shift + other])

    def moment(self) -> str:
        if self.chance.random() < 0.75:
            return self.plain()
        which = self.chance.choice(["earlier", "later"])
        return f"the {which} of {self.plain()} and {self.plain()}"

    def window(self) -> str:
        if self.chance.random() < 0.5:
            return self.chance.choice(USUAL)
        return f"on from {self.moment()} until {self.moment()}"

    def place(self) -> tuple[float, float, str]:
        while True:
            place = self.chance.choice(PLACES)
            if self.chance.random() < 0.5:
                place = (self.chance.uniform(-66, 78), self.chance.uniform(-180, 180))
            zones = zones_at(*place)
            if zones and not zones[0].startswith("Etc/"):
                return (*place, zones[0])

    def circuit(self, number: int, types: int) -> str:
        choose = self.chance.choice
        names = ["dark", *(f"t{i}" for i in range(types))]
        lines = [
            f'"{choose(DATES)}{choose(["", " evenings", " mornings"])}: {choose(names)}"'
            for _ in range(self.chance.randint(0, 3))
        ]
        dark = f'keep_dark = ["{choose(DATES)}: from {self.clock()} until {self.clock()}"]'
        return CIRCUIT.format(
            number=number,
            lines=", ".join(lines),
            on=choose([0, 10]),
            off=choose([0, 15]),
            dark=dark if self.chance.random() < 0.3 else "",
        )

    def site(self) -> str:
        choose = self.chance.choice
        latitude, longitude, zone = self.place()
        types = self.chance.randint(1, 3)
        windows = [[self.window() for _ in range(self.chance.randint(1, 2))] for _ in range(types)]
        text = SITE.format(
            latitude=latitude,
            longitude=longitude,
            zone=zone,
            dusk=choose(["sunset + 15 min", "sun 6 deg below horizon", "20 lux"]),
            dawn=choose(["sunrise - 15 min", "sun 6 deg below horizon", "20 lux"]),
            favour=choose(["light", "dark", "even"]),
            tolerance=choose([0, 3, 5, 8, 10, 15]),
            types="\n".join(
                f"t{i} = [{', '.join(f'{chr(34)}{w}{chr(34)}' for w in several)}]"
                for i, several in enumerate(windows)
            ),
        )
        return text + "".join(self.circuit(n, types) for n in range(1, choose([2, 3])))

    def unit(self) -> Controller:
        choose = self.chance.choice
        base, _ = load_controller(
            choose(["sun-yearly-64", "clock-yearly-96", "sun-weekly-48"]), ".", None
        )
        assert base is not None
        return replace(
            base,
            event_slots=choose([base.event_slots, 400]),
            step_minutes=choose([1, 1, 5]),
            weekday_sets=choose(WEEKDAY_SETS),
            date_ranges=choose([base.date_ranges, base.date_ranges, "yearly no wrap", "with year"]),
            clock=choose(["local", "local", "standard"]),
            skipped_time=choose(["at the jump", "lost"]),
            repeated_time=choose(["once", "twice"]),
            sun_date=choose([None, "fires on", "event on", "evening"]),
            sun_error_minutes=choose([0, 1, 2, 5]),
            sun_error_degrees=choose([0, 0.1]),
            no_sun_event=choose([None, "does not fire"]),
            location_entry=choose(["0.01 degree", "whole degree"]),
        )

    def period(self) -> Period:
        year = self.chance.choice([2024, 2027, 2028, 2031])
        if self.chance.random() < 0.7:
            return Period(date(year, 1, 1), date(year, 12, 31))
        return Period(date(year, 3, 5), date(year + 1, 4, 20))


@pytest.mark.parametrize("seed", range(how_many(128)))
def test_the_test_run_agrees_with_every_program(seed: int) -> None:
    world = World(seed)
    text, unit, period = world.site(), world.unit(), world.period()
    site, findings = site_from_source(Source("site.toml", text))
    assert site is not None, findings
    result, findings = compile_site(site, period, unit)
    assert result is not None, findings
    if result.fitted.program is None:
        assert result.audit is None
        return
    assert result.audit is not None
    assert result.audit.agrees, (result.audit.overlaps, result.audit.interval_differences)
    certificate = result.fitted.certificate
    assert certificate is not None
    assert certificate.bound <= certificate.slots <= unit.event_slots
