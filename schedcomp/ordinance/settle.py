"""What a site brings to its rules, and rules to a site: promises and accepted clauses."""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp.diag import Diagnostic
from schedcomp.messages import rules as messages
from schedcomp.near import near_words, quoted
from schedcomp.ordinance.model import Accepted, Ordinance
from schedcomp.phrases.printer import print_promise
from schedcomp.phrases.tree import PromiseLine
from schedcomp.records import replace
from schedcomp.site import Site
from schedcomp.words import join_and


def with_promises(site: Site, ordinances: tuple[Ordinance, ...]) -> Site:
    """The site with the promises of its rules added to those of every circuit."""
    added = tuple(line for ordinance in ordinances for line in ordinance.promises)
    if not added:
        return site
    circuits = tuple(replace(c, promises=(*c.promises, *added)) for c in site.circuits)
    return replace(site, circuits=circuits)


def promise_text(line: PromiseLine) -> str:
    """The line as written."""
    return print_promise(line) if line.at is None else line.at.text


def accepted_problems(
    accepted: tuple[Accepted, ...], site: Site, ordinances: tuple[Ordinance, ...]
) -> Iterator[Diagnostic]:
    """Accepted names that are neither a clause nor a promise, and those accepted twice."""
    yield from _accepted_twice(accepted)
    known = _names(site, ordinances)
    for one in accepted:
        if one.clause.casefold() not in [name.casefold() for name in known]:
            near = near_words(one.clause, known)
            typed = quoted((*near, *known, "4.2(b)")[0])
            yield messages.UNKNOWN_ACCEPTED.at(
                one.at,
                name=quoted(one.clause),
                known=join_and([f'"{quoted(name)}"' for name in known]) if known else "none",
                typed=typed if one.at else f'--accept "{typed}" --because "{one.because}"',
            )


def _accepted_twice(accepted: tuple[Accepted, ...]) -> Iterator[Diagnostic]:
    reasons: dict[str, list[str]] = {}
    for one in accepted:
        reasons.setdefault(one.clause.casefold(), []).append(one.because)
    for one in accepted:
        given = reasons.pop(one.clause.casefold(), [])
        if len(given) > 1:
            name, because = quoted(one.clause), ", ".join(dict.fromkeys(given))
            fix = messages.ONCE_TYPED if one.at is None else messages.ONCE_IN_CELLS
            yield messages.ACCEPTED_TWICE.at(
                one.at, name=name, fix=fix.format(name=name, because=because)
            )


def still_accepted(
    accepted: tuple[tuple[str, str], ...], site: Site, ordinances: tuple[Ordinance, ...]
) -> tuple[Accepted, ...]:
    """What was accepted earlier, by name and reason, without what no longer is there."""
    known = {name.casefold() for name in _names(site, ordinances)}
    return tuple(
        Accepted(clause=clause, because=because)
        for clause, because in accepted
        if clause.casefold() in known
    )


def _names(site: Site, ordinances: tuple[Ordinance, ...]) -> list[str]:
    clauses = [r.clause for o in ordinances for r in o.requirements]
    promises = [promise_text(line) for circuit in site.circuits for line in circuit.promises]
    return list(dict.fromkeys([*clauses, *promises]))
