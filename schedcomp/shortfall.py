"""What would make a program fit that does not, and the notes that say so."""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp.capacity import Wishes, most_minutes_of, smallest_tolerance
from schedcomp.capacity_report import Shortfall
from schedcomp.compiled import Compiled
from schedcomp.controller import Controller
from schedcomp.diag import Diagnostic
from schedcomp.findings import DIRECTIONS, fit_command
from schedcomp.messages import capacity as messages
from schedcomp.ordinance.load import load_ordinances
from schedcomp.ordinance.rules import rules_of, with_duties
from schedcomp.records import replace
from schedcomp.report.shortfall import savings_words, untried_words
from schedcomp.savings import savings_of
from schedcomp.site import Site
from schedcomp.words import counted, join_and


def with_shortfall(compiled: Compiled) -> tuple[Compiled, tuple[Diagnostic, ...]]:
    """A compilation without a program, with what would make one fit, and the notes on it."""
    wishes, controller, fitted = _wishes(compiled), compiled.controller, compiled.fitted
    shortfall = shortfall_of(wishes, controller, fitted.tolerance_minutes, fitted.slots_needed)
    notes = shortfall_findings(wishes, controller, shortfall)
    return replace(compiled, shortfall=shortfall), notes


def _wishes(compiled: Compiled) -> Wishes:
    """The wishes with all that the rules of the site ask; a compilation may have given some up."""
    site, world = compiled.site, compiled.world
    ordinances, _ = load_ordinances(site)
    rules, _ = rules_of(ordinances or (), site, world)
    if rules is None:
        raise ValueError("a compilation has rules that are bound to its site")
    return Wishes(site, world, rules, with_duties(compiled.year, rules))


def shortfall_of(
    wishes: Wishes, controller: Controller, tolerance_minutes: int, slots: int | None
) -> Shortfall:
    """What would make a program fit that takes so many slots at the tolerance allowed."""
    most = most_minutes_of(wishes, controller)
    wider = smallest_tolerance(wishes, controller, most)
    return Shortfall(
        tolerance_minutes=tolerance_minutes,
        slots=slots,
        fits_at_minutes=wider.tolerance_minutes,
        slots_there=wider.slots_needed,
        most_minutes=most,
        savings=savings_of(wishes, controller, wishes.tolerance_minutes),
        proven=wider.proven,
    )


def shortfall_findings(
    wishes: Wishes, controller: Controller, shortfall: Shortfall
) -> tuple[Diagnostic, ...]:
    """The notes that follow the message that a program does not fit."""
    return (
        *_tolerance(wishes, controller, shortfall),
        *_savings(wishes.site, shortfall),
    )


def _tolerance(
    wishes: Wishes, controller: Controller, shortfall: Shortfall
) -> Iterator[Diagnostic]:
    site, period = wishes.site, wishes.year.period
    if shortfall.fits_at_minutes is None:
        yield messages.NONE_FITS.at(
            site.controller_at,
            most=shortfall.most_minutes,
            makes="makes" if shortfall.proven else "was found that makes",
            controller=controller.name,
            why=_why_none(site),
            command=fit_command(site, controller, period),
        )
        return
    smallest = messages.SMALLEST if shortfall.proven else messages.SMALLEST_FOUND
    each = " of a channel" if controller.slots_are == "per channel" else ""
    yield messages.WIDER_FITS.at(
        site.controller_at,
        minutes=shortfall.fits_at_minutes,
        smallest=_keeping_own(site) + smallest,
        controller=controller.name,
        taken=counted(shortfall.slots_there or 0, "slot"),
        slots=f"{controller.event_slots:,}{each}",
        direction=DIRECTIONS[site.fit.favour],
        key="tolerance_limit" if site.fit.tolerance_minutes is None else "tolerance",
    )


def _why_none(site: Site) -> str:
    """Why more minutes do not help: they move only what follows the sun by the site's tolerance."""
    text = "More minutes help only switchings that follow the sun; clock times stay exact. "
    text += _keeping_own(site)
    if site.ordinances:
        text += "Where the wishes just meet a rule of the site, they have no minutes to spare."
    return text.rstrip()


def _keeping_own(site: Site) -> str:
    own = [circuit.name for circuit in site.circuits if circuit.tolerance_minutes is not None]
    return f"A tolerance of its own keeps {join_and(own)} as it is. " if own else ""


def _savings(site: Site, shortfall: Shortfall) -> Iterator[Diagnostic]:
    if shortfall.useful:
        yield messages.WOULD_SAVE.at(
            site.controller_at,
            savings=savings_words(shortfall, one_circuit=len(site.circuits) == 1),
        )
        return
    tried = sum(saving.tried for saving in shortfall.savings)
    untried = untried_words(shortfall)
    yield messages.NONE_SAVES.at(
        site.controller_at,
        tried=counted(tried, "line or window", "lines and windows"),
        untried=f" {untried}" if untried else "",
    )
