"""Rules read back: the list of built-in ones, and every clause as a sentence and as strips."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from schedcomp.model import HOUR, MINUTE
from schedcomp.ordinance.asks import WANTS_DARK, Duty, StateForm
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.conflicts import wants_lit
from schedcomp.ordinance.intervals import Intervals, near
from schedcomp.ordinance.model import NeverAllOff, Ordinance, Requirement
from schedcomp.ordinance.open_ends import has_open_end
from schedcomp.ordinance.sentences import assumed_words, clause_words
from schedcomp.records import Record, replace
from schedcomp.report.words import wrapped
from schedcomp.words import date_words, join_and

CELL = 30 * MINUTE
_CELLS = 48
_RULER = "12    15    18    21    00    03    06    09    "
_LEGEND = "# must be dark, + must be lit, % a limit, . free; each sign is 30 minutes"


class Strip(Record):
    """One night of a clause, noon to noon, a sign for every half hour."""

    day: date
    signs: str


class Told(Record):
    """A clause in words, with its strips and what was taken for it."""

    requirement: Requirement
    sentence: str
    strips: tuple[Strip, ...]
    assumed: tuple[str, ...]


def strips_of(clause: Clause, duty: Duty, days: tuple[date, ...]) -> tuple[Strip, ...]:
    """The nights of some dates; a sign stands where the clause holds at any time of it."""
    if not isinstance(clause.form, StateForm):
        return ()
    sign = _sign(clause)
    zone = clause.facts.clock.zone
    made = []
    for day in days:
        noon = zone.first_pass(day, 12 * HOUR)
        signs = "".join(
            sign if _holds(duty.intervals, noon + i * CELL) else "." for i in range(_CELLS)
        )
        made.append(Strip(day, signs))
    return tuple(made)


def _sign(clause: Clause) -> str:
    form = clause.form
    if wants_lit(clause) or isinstance(form, NeverAllOff):
        return "+"
    return "#" if isinstance(clause.form, WANTS_DARK) else "%"


def _holds(intervals: Intervals, start: int) -> bool:
    return bool(near(intervals, start, start + CELL))


def told(clause: Clause, duty: Duty, days: tuple[date, ...]) -> Told:
    """A clause of a site read back."""
    return Told(
        clause.requirement,
        clause_words(clause.requirement),
        strips_of(clause, duty, days),
        assumed_words(clause),
    )


def as_written(one: Told, requirement: Requirement) -> Told:
    """The same hours with the circuits that the clause is for."""
    return replace(one, requirement=requirement, sentence=clause_words(requirement))


def open_ended(requirement: Requirement) -> Told:
    """A clause that waits for an end to be chosen."""
    return Told(
        requirement,
        clause_words(requirement),
        (),
        ('its end is open: choose one, for example until = "sunrise"',),
    )


def is_open(requirement: Requirement) -> bool:
    return has_open_end(requirement.form) and requirement.until is None


def ordinance_text(ordinance: Ordinance, clauses: tuple[Told, ...], place: str) -> str:
    """A rule in full, at most 80 columns wide."""
    blocks = ["\n".join(_head(ordinance, place))]
    if any(one.strips for one in clauses):
        blocks[0] += f"\n{wrapped(_LEGEND)}"
    blocks += ["\n".join(_clause(one)) for one in clauses]
    return "\n\n".join(blocks) + "\n"


def _head(ordinance: Ordinance, place: str) -> Iterator[str]:
    yield wrapped(ordinance.title)
    for label, text in (
        ("Authority: ", ordinance.authority),
        ("Text: ", ordinance.text_version),
        ("Read on: ", ordinance.read_on),
        ("Entered by: ", ordinance.entered_by),
        ("Confirmed by: ", ordinance.confirmed_by or "nobody: confirm the current local text"),
        ("Note: ", ordinance.note),
        ("Shown for: ", place),
    ):
        if text:
            yield wrapped(text, label)


def _clause(one: Told) -> Iterator[str]:
    requirement = one.requirement
    yield wrapped(f"{one.sentence}.", f"{requirement.clause}: ", "  ")
    if requirement.text:
        yield wrapped(f"In the text: {requirement.text}", "  ", "    ")
    if requirement.serves:
        yield wrapped(f"for circuits that serve {', '.join(requirement.serves)}", "  ", "    ")
    if requirement.circuits:
        yield wrapped(f"for {join_and(requirement.circuits)}", "  ", "    ")
    for circuit, because in requirement.exempt:
        yield wrapped(f"not for {circuit}: {because}", "  ", "    ")
    for text in one.assumed:
        yield wrapped(text, "  ", "    ")
    if one.strips:
        yield f"  {'':12}{_RULER}".rstrip()
        for strip in one.strips:
            yield f"  {date_words(strip.day, year=False):12}{strip.signs}"


def list_text(ordinances: tuple[Ordinance, ...]) -> str:
    """The built-in rules, one paragraph each."""
    head = wrapped(
        "Rules to start from. Each is a paraphrase: confirm the current local text with the "
        "authority before relying on it."
    )
    lines = [wrapped(f"{o.title} ({o.text_version})", f"{o.name}: ", "    ") for o in ordinances]
    return "\n".join([head, "", *lines]) + "\n"


def ordinance_record(ordinance: Ordinance, clauses: tuple[Told, ...]) -> dict[str, object]:
    """The same as a plain record for JSON."""
    return {
        "name": ordinance.name,
        "title": ordinance.title,
        "note": ordinance.note,
        "source": ordinance.source,
        "authority": ordinance.authority,
        "text_version": ordinance.text_version,
        "read_on": ordinance.read_on,
        "entered_by": ordinance.entered_by,
        "confirmed_by": ordinance.confirmed_by,
        "clauses": [
            {
                "clause": one.requirement.clause,
                "text": one.requirement.text,
                "rule": one.requirement.rule,
                "reads": one.sentence,
                "read": one.requirement.read,
                "circuits": one.requirement.circuits,
                "exempt": [{"circuit": c, "because": b} for c, b in one.requirement.exempt],
                "assumed": list(one.assumed),
                "nights": {s.day.isoformat(): s.signs for s in one.strips},
            }
            for one in clauses
        ],
    }
