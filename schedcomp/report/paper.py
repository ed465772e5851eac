"""Half a page on one minute, for an answer to a complaint: what was asked, by which line, and
which clauses hold then. It says what a schedule can say, and no more.
"""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp.clock import Zone
from schedcomp.model import Instant
from schedcomp.ordinance.asks import WANTS_DARK, StateForm
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.conflicts import wants_lit
from schedcomp.ordinance.intervals import near
from schedcomp.ordinance.model import NeverAllOff
from schedcomp.ordinance.rules import Rules
from schedcomp.ordinance.sentences import clause_words
from schedcomp.report.why import Asked, why_text
from schedcomp.report.words import wrapped
from schedcomp.site import Site
from schedcomp.told_time import exact_moment_words

NOT_SHOWN = (
    "This paper tells what the schedule asks for. It does not show what the lamps did: a wall "
    "override, a photocell, a power cut or work on the panel may have changed that. Only a look "
    "at the unit and at the lamps can tell."
)


def paper_text(site: Site, rules: Rules, zone: Zone, asked: tuple[Asked, ...], place: str) -> str:
    """The half page, at most 80 columns wide."""
    instant = asked[0].instant
    shown = exact_moment_words(zone, instant)
    parts = [
        "\n".join(
            [
                wrapped(f"Outdoor lighting of {site.name}"),
                wrapped(place),
                wrapped(f"What was asked of the lamps on {shown} ({zone.name})"),
            ]
        ),
        why_text(zone, asked).rstrip(),
        "\n".join(_clauses(rules, instant)),
        wrapped(NOT_SHOWN),
        "\n".join(_lines(site)),
    ]
    return "\n\n".join(parts) + "\n"


def clauses_at(rules: Rules, instant: Instant) -> Iterator[tuple[Clause, bool]]:
    """Every clause on states of lamps, and whether it holds at an instant."""
    for clause, duty in zip(rules.clauses, rules.duties, strict=True):
        if isinstance(clause.form, StateForm):
            yield clause, bool(near(duty.intervals, instant, instant + 1))


def _clauses(rules: Rules, instant: Instant) -> Iterator[str]:
    if not rules.clauses:
        yield "No rule was checked."
        return
    for clause, holds in clauses_at(rules, instant):
        wants = "dark" if isinstance(clause.form, WANTS_DARK) else "a limit"
        wants = "light" if wants_lit(clause) or isinstance(clause.form, NeverAllOff) else wants
        names = ", ".join(circuit.name for circuit in clause.circuits)
        state = f"asks for {wants} at this minute" if holds else "asks for nothing at this minute"
        requirement = clause.requirement
        text = f'"{requirement.text}"; ' if requirement.text else ""
        yield wrapped(
            f"Clause {requirement.clause} {state} ({names}): {text}entered as "
            f"`{clause_words(requirement)}`.",
            "",
            "  ",
        )
    for ordinance in rules.ordinances:
        confirmed = ordinance.confirmed_by or "nobody yet"
        yield wrapped(f"{ordinance.title}, confirmed by: {confirmed}.")


def _lines(site: Site) -> Iterator[str]:
    yield f"Owner: {site.people.owner or '______________________________'}"
    yield f"To call: {site.people.call or '______________________________'}"
    yield "Seen on site by: ______________________________   on: ______________"
