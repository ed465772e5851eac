"""Rules judged on short periods: a site, a rule, and the same with one single night added."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

from schedcomp import controllerfile
from schedcomp.diag import Source, render
from schedcomp.expand import expand
from schedcomp.model import Period
from schedcomp.ordinance.load import ordinance_from_source
from schedcomp.ordinance.model import Ordinance
from schedcomp.ordinance.rules import judge_rules, rules_of
from schedcomp.ordinance.verdict import ClauseVerdict, RuleReport
from schedcomp.records import Record, field
from schedcomp.site import Site
from schedcomp.world import World, read_world
from tests.sites import DENVER, Place, read, site_text

NO_ENVELOPE = 'photocell = "none"\noverride_minutes = 0'


class Scene(Record):
    """A site with circuit `Lot` and a rule file, from one date through another."""

    rule: str
    windows: tuple[str, ...] = ()
    hours: str = ""
    first: str = "2027-03-01"
    last: str = "2027-03-31"
    place: Place = DENVER
    calendar: tuple[str, ...] = ("every day: usual",)
    types: str = ""
    site: str = ""
    circuit: str = "load_kw = 2"
    more: str = ""
    controller: str = "sun-yearly-64"
    envelope: str = NO_ENVELOPE
    top: str = field(default='title = "A rule"\nsource = "law"')

    def text(self, single: str = "") -> str:
        """The site file; `single` is `lit = "..."` or `dark = "..."` of the lot."""
        nothing = not self.windows and self.calendar == ("every day: usual",)
        night = f'[[one_off]]\ncircuit = "Lot"\n{single}\n' if single else ""
        made = site_text(
            self.place,
            self.windows,
            calendar=("every day: dark",) if nothing else self.calendar,
            site=self.site,
            hours=self.hours,
            types=self.types,
            circuit=self.circuit,
            more=f"{self.more}\n{night}",
        )
        return made.replace(NO_ENVELOPE, self.envelope, 1)

    @property
    def period(self) -> Period:
        return Period(date.fromisoformat(self.first), date.fromisoformat(self.last))


def rule_of(text: str, top: str = 'title = "A rule"\nsource = "law"') -> Ordinance:
    """The rule of a file's text, which must have no problem."""
    whole = f"schedcomp_ordinance = 1\n{top}\n{text}"
    made, found = ordinance_from_source(Source("rule.toml", whole), "rule.toml")
    assert made is not None, render(found)
    return made


def site_and_world(scene: Scene) -> tuple[Site, World]:
    """The site of a scene without any single night, and its facts."""
    return _world(scene.text(), scene.period)


@lru_cache(maxsize=8)
def _world(text: str, period: Period) -> tuple[Site, World]:
    site, found = read(text)
    assert site is not None, render(found)
    world, found = read_world(site, period)
    assert world is not None, render(found)
    return site, world


def report(scene: Scene, single: str = "") -> RuleReport:
    """Every verdict on the exact year of a scene."""
    _, world = _world(scene.text(), scene.period)
    site, found = read(scene.text(single))
    assert site is not None, render(found)
    named = (rule_of(scene.rule, scene.top),) if scene.rule else ()
    rules, found = rules_of(named, site, world)
    assert rules is not None, render(found)
    controller, _ = controllerfile.load_controller(scene.controller)
    return judge_rules(rules, site, world, expand(site, world), controller, ())


def verdicts(scene: Scene, single: str = "") -> dict[str, ClauseVerdict]:
    """The verdict of each clause by its name."""
    return {verdict.clause: verdict for verdict in report(scene, single).year}


def requirement(clause: str, rule: str, *lines: str) -> str:
    """A `[[requirement]]` with further lines."""
    return "\n".join(["[[requirement]]", f'clause = "{clause}"', f'rule = "{rule}"', *lines, ""])
