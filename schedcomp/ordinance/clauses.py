"""A clause bound to a site: its circuits, its nights, and when it asks for what."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from schedcomp.clock import Zone, standard
from schedcomp.days import date_problems
from schedcomp.diag import Diagnostic
from schedcomp.hours import OpeningHours, opening_hours
from schedcomp.messages import rules as messages
from schedcomp.model import ONE_DAY
from schedcomp.moments import Clockwork
from schedcomp.near import quoted
from schedcomp.ordinance.duty import Facts, Named, first_noon, passes_test
from schedcomp.ordinance.model import (
    Between,
    Dating,
    Form,
    Ordinance,
    Requirement,
    Season,
    TimeBase,
)
from schedcomp.ordinance.nights import Nights, dates_in, nights_of
from schedcomp.ordinance.open_ends import closed_at, has_open_end
from schedcomp.phrases.tree import Dates, DatesPhrase
from schedcomp.records import Record, replace
from schedcomp.site import Circuit, Site
from schedcomp.words import join_and
from schedcomp.world import World

REACH = 4
"""Dates looked at beyond the period on both sides; a stretch may reach into the next night."""


class Clause(Record):
    """A requirement at a site. `nights` are the nights judged, `facts` reach further."""

    ordinance: Ordinance
    requirement: Requirement
    form: Form
    circuits: tuple[Circuit, ...]
    exempt: tuple[tuple[Circuit, str], ...]
    facts: Facts
    nights: Nights
    named: Named
    excepted: tuple[tuple[date, int | None], ...]

    @property
    def label(self) -> str:
        return self.requirement.clause


def bind(
    ordinances: tuple[Ordinance, ...], site: Site, world: World
) -> tuple[tuple[Clause, ...] | None, tuple[Diagnostic, ...]]:
    """Every clause of every rule; None while one of them cannot be meant for this site."""
    found = [*_circuit_facts_missing(ordinances, site)]
    for ordinance in ordinances:
        for requirement in ordinance.requirements:
            found += _problems(requirement, site, world)
    if found:
        return None, tuple(found)
    days = tuple(world.period.dates(before=REACH, after=REACH))
    made = _Maker(site, world, {}, {}, {}, days, frozenset(days))
    return tuple(made.clause(o, r) for o in ordinances for r in o.requirements), ()


# Problems


def _circuit_facts_missing(ordinances: tuple[Ordinance, ...], site: Site) -> Iterator[Diagnostic]:
    """Photocell and override have no usual value where a rule counts on them."""
    if not ordinances:
        return
    for circuit in site.circuits:
        missing = [] if circuit.photocell is not None else ['photocell = "none"']
        missing += [] if circuit.override_minutes is not None else ["override_minutes = 0"]
        if missing:
            yield messages.CIRCUIT_FACTS_MISSING.at(
                circuit.at,
                circuit=quoted(circuit.name),
                keys=join_and([line.split()[0] for line in missing]),
                typed="\n".join(missing),
            )


def _problems(requirement: Requirement, site: Site, world: World) -> Iterator[Diagnostic]:
    clause = quoted(requirement.clause)
    names = [circuit.name for circuit in site.circuits]
    asked = [*(requirement.circuits or ()), *(name for name, _ in requirement.exempt)]
    for name in asked:
        if name not in names:
            yield messages.NO_SUCH_CIRCUIT.at(
                requirement.at,
                clause=clause,
                name=quoted(name),
                known=join_and(names),
                one=names[0],
            )
    if has_open_end(requirement.form) and requirement.until is None:
        yield messages.OPEN_END.at(requirement.at, clause=clause, rule=quoted(requirement.rule, 60))
    for season in (requirement.season, *(e.season for e in requirement.except_nights)):
        for dates in _dates_of_season(season):
            phrase = DatesPhrase(dates, None, season.at)
            yield from date_problems(phrase, world.holidays, world.zone.name)


def _dates_of_season(season: Season) -> list[Dates]:
    found: list[Dates] = []
    for part in (*season.parts, *season.removed):
        found += [part.first, part.last] if isinstance(part, Between) else [part]
    return found


# Making


class _Maker(Record):
    site: Site
    world: World
    known: dict[object, Facts]
    nights: dict[Dating, tuple[Nights, Nights]]
    seasons: dict[str, frozenset[date]]
    days: tuple[date, ...]
    every: frozenset[date]

    def clause(self, ordinance: Ordinance, requirement: Requirement) -> Clause:
        by = requirement.by
        key = (requirement.time, ordinance.dusk, ordinance.dawn, requirement.use)
        if key not in self.known:
            self.known[key] = self._facts(ordinance, requirement)
        facts = self.known[key]
        wide, nights = self._nights(by)
        form = requirement.form
        if requirement.until is not None:
            form = closed_at(form, requirement.until)
        circuits, exempt = self._circuits(requirement)
        return Clause(
            ordinance=ordinance,
            requirement=requirement,
            form=form,
            circuits=circuits,
            exempt=exempt,
            facts=facts,
            nights=nights,
            named=self._named(requirement, facts, wide),
            excepted=self._excepted(requirement, nights),
        )

    def _nights(self, by: Dating) -> tuple[Nights, Nights]:
        """The nights judged with one more on both sides, and the nights judged."""
        if by not in self.nights:
            period, zone = self.world.period, self.world.zone
            self.nights[by] = (
                nights_of(period, zone, by, beyond=1),
                nights_of(period, zone, by),
            )
        return self.nights[by]

    def _facts(self, ordinance: Ordinance, requirement: Requirement) -> Facts:
        world, site = self.world, self.site
        days = self.days
        hours = self._hours(requirement, days)
        clock = Clockwork(
            _zone(world.zone, requirement.time),
            world.sun,
            hours,
            ordinance.dusk or site.dusk,
            ordinance.dawn or site.dawn,
            strict=True,
        )
        return Facts(clock, days, first_noon(replace(clock, zone=world.zone), days))

    def _hours(self, requirement: Requirement, days: tuple[date, ...]) -> OpeningHours | None:
        if requirement.use is None:
            return self.world.hours
        return opening_hours(requirement.use, self.world.zone, days, self.world.holidays)

    def _circuits(
        self, requirement: Requirement
    ) -> tuple[tuple[Circuit, ...], tuple[tuple[Circuit, str], ...]]:
        """The circuits a clause is for, and those left out with the reason."""
        because = dict(requirement.exempt)
        chosen = []
        exempt = []
        for circuit in self.site.circuits:
            named = requirement.circuits is None or circuit.name in requirement.circuits
            served = requirement.serves is None or circuit.serves in requirement.serves
            if not (named and served):
                continue
            least = requirement.above_kw
            if circuit.name in because:
                exempt.append((circuit, because[circuit.name]))
            elif least is not None and circuit.load_kw is not None and circuit.load_kw <= least:
                exempt.append((circuit, f"not above {least:g} kW"))
            else:
                chosen.append(circuit)
        return tuple(chosen), tuple(exempt)

    def _named(self, requirement: Requirement, facts: Facts, wide: Nights) -> Named:
        days = facts.days
        named = self._dates(requirement.season, days)
        if requirement.valid is not None:
            named = frozenset(day for day in named if day in requirement.valid)
        tested = self.every
        if requirement.when is not None:
            test = requirement.when
            tested = frozenset(day for day in days[:-1] if passes_test(test, day, facts))
        return Named(wide, named, tested, requirement.by)

    def _dates(self, season: Season, days: tuple[date, ...]) -> frozenset[date]:
        """Seasons are the same for many clauses."""
        if season.text not in self.seasons:
            self.seasons[season.text] = dates_in(season, days, self.world.holidays)
        return self.seasons[season.text]

    def _excepted(
        self, requirement: Requirement, nights: Nights
    ) -> tuple[tuple[date, int | None], ...]:
        """Declared nights; with an instant from which the clause holds after all."""
        zone = self.world.zone
        found: dict[date, int | None] = {}
        for declared in requirement.except_nights:
            for day in dates_in(declared.season, nights.days, self.world.holidays):
                until = None
                if declared.until is not None:
                    minutes = declared.until.minutes
                    late = requirement.by is Dating.EVENING and minutes < 12 * 60
                    until = zone.first_pass(day + ONE_DAY if late else day, minutes * 60)
                found[day] = until
        return tuple(sorted(found.items(), key=lambda item: item[0]))


def _zone(legal: Zone, base: TimeBase) -> Zone:
    if base is TimeBase.LEGAL:
        return legal
    if base is TimeBase.STANDARD:
        return standard(legal)
    return Zone("UTC", legal.starts[:1], (0,), legal.asked)
