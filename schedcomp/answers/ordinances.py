"""The answer to `ordinances`: the built-in rules, or one read back clause by clause."""

from __future__ import annotations

from datetime import date

from schedcomp import asked, sitefile
from schedcomp.answers.answer import BAD_FILES, CLEAN, Answer, Findings
from schedcomp.answers.here import local_date, utc_date
from schedcomp.diag import Source
from schedcomp.model import Instant
from schedcomp.ordinance.asks import duty_of
from schedcomp.ordinance.clauses import bind
from schedcomp.ordinance.load import builtin_ordinances, load_ordinance
from schedcomp.ordinance.model import Ordinance, Requirement
from schedcomp.records import replace
from schedcomp.report.ordinances import (
    Told,
    as_written,
    is_open,
    list_text,
    open_ended,
    ordinance_record,
    ordinance_text,
    told,
)
from schedcomp.site import Site
from schedcomp.world import read_world

SHOWN_DATES = ((3, 20), (6, 21), (9, 22), (12, 21))
"""Around the equinoxes and solstices, month and day."""

PLACE = """\
schedcomp = 1
[site]
name = "an invented shop at 40 N, open 08:00-20:00, closed on Sundays; US holidays"
latitude = 40.0
longitude = -105.0
timezone = "America/Denver"
holidays = { country = "US", observed = false }
[hours]
mon-sat = "08:00-20:00"
sun = "closed"
[day_types]
usual = ["on from dusk until close"]
[[circuit]]
name = "Lamps"
channel = 1
load_kw = 1
lumens = 100000
photocell = "none"
override_minutes = 0
calendar = ["every day: usual"]
"""


def ordinances(name: str | None, site_path: str | None, now: Instant) -> Answer:
    """List the built-in rules, or show one; times are those of a site, or of an invented shop."""
    if name is None:
        return _list()
    ordinance, found = load_ordinance(name)
    if ordinance is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    if site_path is None:
        site, _ = sitefile.site_from_source(Source("an invented shop", PLACE))
        today = utc_date(now)
    else:
        site, more = sitefile.load_site(site_path)
        found = (*found, *more)
        today = utc_date(now) if site is None else local_date(site, now)
    if site is None:
        return Answer(exit_code=BAD_FILES, findings=found)
    clauses, more = _clauses(ordinance, site, today)
    if clauses is None:
        return Answer(exit_code=BAD_FILES, findings=(*found, *more))
    return Answer(
        exit_code=CLEAN,
        text=ordinance_text(ordinance, clauses, site.name),
        record=ordinance_record(ordinance, clauses),
        findings=found,
    )


def _list() -> Answer:
    loaded = [load_ordinance(name) for name in builtin_ordinances()]
    made = tuple(ordinance for ordinance, _ in loaded if ordinance is not None)
    return Answer(
        exit_code=CLEAN,
        text=list_text(made),
        record={
            "ordinances": [
                {"name": o.name, "title": o.title, "text_version": o.text_version} for o in made
            ]
        },
    )


def _clauses(
    ordinance: Ordinance, site: Site, today: date
) -> tuple[tuple[Told, ...] | None, Findings]:
    """Every clause in the order of the file; those with an open end cannot be shown as hours."""
    period = asked.default_period(today)
    days = tuple(date(period.first.year, month, day) for month, day in SHOWN_DATES)
    world, found = read_world(site, period)
    if world is None:
        return None, found
    settled = tuple(_for_any_circuit(r) for r in ordinance.requirements if not is_open(r))
    clauses, found = bind((replace(ordinance, requirements=settled),), site, world)
    if clauses is None:
        return None, found
    shown = {c.requirement.clause: told(c, duty_of(c), days) for c in clauses}
    return tuple(
        as_written(shown[r.clause], r) if r.clause in shown else open_ended(r)
        for r in ordinance.requirements
    ), ()


def _for_any_circuit(requirement: Requirement) -> Requirement:
    """The clause for any circuit: hours are shown, whatever the circuits are called."""
    return replace(requirement, circuits=None, exempt=(), above_kw=None)
