"""The summary of a run as one HTML file: what to do first, what needs a look, every site."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from importlib.resources import files

from schedcomp.fleet.job import Order
from schedcomp.fleet.lists import BETWEEN, counts, first_problem, worklist
from schedcomp.fleet.outcome import READY, Outcome
from schedcomp.messages import fleet as messages
from schedcomp.records import Record
from schedcomp.report.words import amount_words
from schedcomp.sheet.html import html_template, our_own
from schedcomp.versions import versions
from schedcomp.words import counted, date_words


class Line(Record):
    """One row of a table: its cells, and whether it stands out."""

    cells: tuple[str, ...]
    is_strong: bool = False


class Listing(Record):
    """A table with its heading; `note` stands in place of one without rows."""

    heading: str
    titles: tuple[str, ...]
    lines: tuple[Line, ...]
    note: str


def summary_html(order: Order, outcomes: Sequence[Outcome]) -> bytes:
    """The whole file, UTF-8; every text in it is escaped, and there is no script."""
    period = f"{date_words(order.period.first)} through {date_words(order.period.last)}"
    text = html_template(_data("summary.html")).render(
        style=our_own(_data("summary.css")),
        period=period,
        made_with=f"schedcomp {versions().schedcomp}, time zones {versions().tzdata}",
        figures=_figures(outcomes),
        listings=(_work(order, outcomes), _to_look_at(outcomes), _all(outcomes)),
        safety=messages.SAFETY + messages.LICENSED,
    )
    return text.encode("utf-8", "replace")


def _figures(outcomes: Sequence[Outcome]) -> tuple[tuple[str, str], ...]:
    by_status = counts(outcomes)
    energy = [o.kwh for o in outcomes if o.kwh is not None]
    slots = sum(o.add + o.change + o.erase for o in worklist(outcomes))
    figures = [(f"{len(outcomes):,}", "sites"), (f"{by_status.pop(READY, 0):,}", READY)]
    figures += [(f"{count:,}", status) for status, count in by_status.items()]
    figures.append((f"{len(worklist(outcomes)):,}", "to drive to"))
    figures.append((f"{slots:,}", "slots to key"))
    if energy:
        figures.append((amount_words(sum(energy)), f"kWh in {counted(len(energy), 'site')}"))
    return tuple(figures)


def _work(order: Order, outcomes: Sequence[Outcome]) -> Listing:
    lines = tuple(
        Line(
            (
                *(_day(o.visit_by), o.site_id, o.name, BETWEEN.join(o.units) or "1 unit"),
                *(_slots(o), o.code, _day(o.good_until), o.reason),
            )
        )
        for o in worklist(outcomes)
    )
    nothing = "No program changed." if order.against else "There is no program to key."
    titles = ("visit by", "site", "name", "units", "slots to key", "code", "then good until", "why")
    return Listing("Where to drive, first what is due first", titles, lines, nothing)


def _to_look_at(outcomes: Sequence[Outcome]) -> Listing:
    lines = tuple(
        Line((o.site_id, o.name, o.status, _why(o)), o.status != READY)
        for o in outcomes
        if o.status != READY or o.people
    )
    titles = ("site", "name", "program", "what is wrong")
    return Listing("What needs a look", titles, lines, "Nothing: every site is ready.")


def _all(outcomes: Sequence[Outcome]) -> Listing:
    lines = tuple(
        Line(
            (
                *(o.site_id, o.name, o.status, o.code, _used(o), _day(o.good_until)),
                *(amount_words(o.hours) if o.hours else "", _number(o.kwh), o.rule),
            ),
            o.status != READY,
        )
        for o in outcomes
    )
    titles = (
        *("site", "name", "program", "code", "slots", "good until"),
        *("hours lit", "kWh", "rule"),
    )
    return Listing("Every site", titles, lines, "")


def _why(outcome: Outcome) -> str:
    return first_problem(outcome) or outcome.people


def _slots(outcome: Outcome) -> str:
    parts = ((outcome.add, "add"), (outcome.change, "change"), (outcome.erase, "delete"))
    return ", ".join(f"{word} {count}" for count, word in parts if count) or "none"


def _used(outcome: Outcome) -> str:
    if outcome.slots_used is None:
        return "" if outcome.slots_needed is None else f"needs {outcome.slots_needed}"
    return f"{outcome.slots_used} of {outcome.slots_of}"


def _number(value: float | None) -> str:
    return "" if value is None else amount_words(value)


def _day(text: str) -> str:
    return date_words(date.fromisoformat(text)) if text else ""


def _data(name: str) -> str:
    return files("schedcomp").joinpath("data", "fleet", name).read_text("utf-8")
