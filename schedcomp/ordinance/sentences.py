"""A clause read back as a sentence, and what was taken for it without being told."""

from __future__ import annotations

from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.duty import members, only_closing
from schedcomp.ordinance.model import (
    Capability,
    Dating,
    ExceptionCap,
    ExceptNights,
    Form,
    LeastDark,
    MostLit,
    NotBefore,
    NotCheckable,
    Requirement,
    Stretch,
    TimeBase,
    While,
)
from schedcomp.ordinance.open_ends import has_open_end, times_of
from schedcomp.phrases.printer import print_moment, print_sun_definition
from schedcomp.phrases.tree import HoursMoment, Moment, Pair, SunMoment, SunWord
from schedcomp.words import counted, join_and

_OF_PLACE = (While.OPEN, While.CLOSED, While.PEOPLE, While.NOBODY)


def sentence(clause: Clause) -> str:
    """`dark from 23:00 until 06:00, every day, for Lot poles`."""
    return f"{clause_words(clause.requirement)}, for {circuits_words(clause)}"


def clause_words(requirement: Requirement) -> str:
    """The rule with its dates and conditions, without circuits."""
    parts = [requirement.rule]
    if requirement.until is not None:
        parts[0] += f" until {print_moment(requirement.until)}"
    dates = requirement.season.text
    if requirement.by is Dating.CALENDAR:
        dates += ", by calendar date"
    if not isinstance(requirement.form, Capability | NotCheckable | ExceptionCap):
        parts.append(dates)
    if requirement.when is not None:
        parts.append(f"if {requirement.when.text}")
    if requirement.time is not TimeBase.LEGAL:
        parts.append(f"{requirement.time.value} time all year")
    parts += [_excepted_words(declared) for declared in requirement.except_nights]
    if requirement.use is not None:
        lines = ", ".join(line.text for line in requirement.use.lines)
        parts.append(f"with the hours of use {lines}")
    if requirement.above_kw is not None:
        parts.append(f"for circuits above {requirement.above_kw:g} kW")
    if requirement.nights_allowed:
        parts.append(f"{counted(requirement.nights_allowed, 'night')} a year may fail")
    if requirement.valid is not None:
        parts.append(f"valid {requirement.valid.first} to {requirement.valid.last}")
    return ", ".join(parts)


def _excepted_words(declared: ExceptNights) -> str:
    until = "" if declared.until is None else f" until {print_moment(declared.until)}"
    return f"not on {declared.season.text}{until} ({declared.because})"


def circuits_words(clause: Clause) -> str:
    names = [circuit.name for circuit in clause.circuits]
    return join_and(names) if names else "no circuit"


def assumed_words(clause: Clause) -> tuple[str, ...]:
    """What was taken for this clause: a chosen end, closed days, dusk, where it applies."""
    requirement, facts = clause.requirement, clause.facts
    found = []
    if requirement.until is not None:
        found.append(f"the text leaves its end open: {print_moment(requirement.until)} was chosen")
    if facts.hours is not None and any(only_closing(s.start) for s in _stretches(clause.form)):
        found.append(
            "on closed days the hours run from the previous closing to the end that belongs to "
            "the next opening"
        )
    elif any(_has_hours(m) for s in _stretches(clause.form) for m in _ends(s)):
        left = "no [hours] are given" if facts.hours is None else "on closed days"
        found.append(f"{left}: the clock time alone counts")
    for word, meaning in ((SunWord.DUSK, facts.clock.dusk), (SunWord.DAWN, facts.clock.dawn)):
        if _mentions(clause.form, word):
            found.append(f"{word.value} is {print_sun_definition(meaning)}, level horizon")
    if requirement.because:
        found.append(f"it applies here: {requirement.because}")
    if requirement.read == "from memory":
        found.append("the clause was entered from memory")
    elif requirement.read == "summary":
        found.append("only a summary of the text was read")
    return tuple(found)


def needs_hours(clause: Clause) -> bool:
    """Whether the clause says nothing without opening hours."""
    form = clause.form
    if clause.requirement.when is not None:
        return True
    times = times_of(form)
    if times is not None and any(condition in _OF_PLACE for condition in times.whiles):
        return True
    if isinstance(form, NotBefore):
        return _only_hours(form.moment)
    stretches = _stretches(form)
    return bool(stretches) and all(
        _only_hours(s.start) or (s.end is not None and _only_hours(s.end)) for s in stretches
    )


def _only_hours(moment: Moment) -> bool:
    return all(isinstance(m, HoursMoment) and m.fallback is None for m in members(moment))


def _stretches(form: Form) -> tuple[Stretch, ...]:
    if isinstance(form, LeastDark):
        return tuple(s for s in (form.bounds, form.or_shorter) if s is not None)
    if isinstance(form, MostLit):
        return () if form.bounds is None else (form.bounds,)
    times = times_of(form)
    return () if times is None else times.stretches


def _ends(stretch: Stretch) -> tuple[Moment, ...]:
    return (stretch.start,) if stretch.end is None else (stretch.start, stretch.end)


def _has_hours(moment: Moment) -> bool:
    return isinstance(moment, Pair) and any(isinstance(m, HoursMoment) for m in members(moment))


def _mentions(form: Form, word: SunWord) -> bool:
    times = times_of(form)
    if times is not None and While.DARK in times.whiles:
        return True
    moments = [m for s in _stretches(form) for m in _ends(s)]
    if isinstance(form, NotBefore):
        moments.append(form.moment)
    return any(
        isinstance(member, SunMoment) and member.word is word
        for moment in moments
        for member in members(moment)
    )


__all__ = [
    "assumed_words",
    "circuits_words",
    "clause_words",
    "has_open_end",
    "needs_hours",
    "sentence",
]
