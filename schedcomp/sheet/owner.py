"""Page 1, for the owner: when the lights are on, which nights are dark, and what to do."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date
from itertools import groupby

from schedcomp.compiled import Compiled
from schedcomp.energy import ESTIMATED
from schedcomp.model import MINUTE, Period
from schedcomp.phrases.printer import (
    print_dates_phrase,
    print_keep_dark,
    print_stretch,
    print_window,
)
from schedcomp.report.words import amount_words
from schedcomp.sheet.blocks import (
    BLANK,
    Beside,
    Block,
    Box,
    Column,
    Facts,
    Heading,
    Items,
    Page,
    Sign,
    Table,
    Text,
    row,
    strong,
)
from schedcomp.sheet.lit import lit_at_noon, night_lines
from schedcomp.sheet.making import Job
from schedcomp.sheet.nearness import nearness_words
from schedcomp.sheet.wording import Hand, long_date, runs_words, some_of
from schedcomp.site import Circuit, Site
from schedcomp.words import counted, date_words

SAFETY = (
    "These circuits switch on by themselves at any time. OFF at the clock is not isolation. "
    "Lock out at the breaker and test before work. Control voltage may come from another source."
)
_MOST_RUNS = 14
_MOST_WISHES = 7
_MOST_LARGE = 4


def owner_page(job: Job) -> Page:
    """The whole page."""
    site = job.compiled.site
    return Page(
        key="owner",
        title=site.name,
        style="owner",
        blocks=(
            Box(
                title="Before any work", blocks=(Text(text=SAFETY), breakers(site)), style="caution"
            ),
            Heading(text="When the lights are on"),
            _times(job),
            Text(text=_accuracy(job), style="small"),
            Heading(text="Nights without any of these lights"),
            Text(text=_dark_nights(job.compiled)),
            Heading(text="If something is wrong"),
            _what_to_do(job),
            Facts(rows=tuple(_facts(job)), style="large"),
            Heading(text="What this paper does not show"),
            Text(text=_not_shown(job.compiled), style="small"),
            Heading(text="What was asked for"),
            *_asked_for(site, job.hand),
            Sign(labels=("This is what I asked for: name", "Signature", "Date")),
        ),
    )


def _not_shown(compiled: Compiled) -> str:
    held = (
        "Whether a unit really holds these times: only a signed test page, its slots read back or "
        "its own printout shows that (see “The units”). "
    )
    return (
        "How bright it is, lamps that have failed, clouds, fog and hills, switches on the wall, "
        f"and light from others. {held if compiled.may_write_program else ''}What a local rule "
        "means: that is for the authority to say. Walk the site on a dark evening."
    )


def breakers(site: Site) -> Block:
    """Where each circuit and its control are locked out, with lines to fill in; many in halves."""
    circuits = site.circuits
    if len(circuits) <= _MOST_LARGE:
        return breakers_table(circuits, 4)
    half = (len(circuits) + 1) // 2
    halves = (circuits[:half], circuits[half:])
    return Beside(columns=tuple((breakers_table(some, 6),) for some in halves), widths=(1, 1))


def breakers_table(circuits: Sequence[Circuit], width: float) -> Table:
    """Where some circuits and their control are locked out; `width` of the names beside 4 and 4."""
    columns = (
        Column(title="Circuit", width=width),
        Column(title="Lamps locked out at", width=4),
        Column(title="Control locked out at", width=4),
    )
    rows = tuple(
        row(strong(c.name), c.panel.fed_from or BLANK, c.panel.control_fed_from or BLANK)
        for c in circuits
    )
    return Table(columns=columns, rows=rows, style="dense")


def _times(job: Job) -> Table:
    compiled = job.compiled
    days = _three_days(job)
    columns = [Column(title="", width=3 if len(compiled.year.circuits) <= _MOST_LARGE else 5)]
    columns += [Column(title=title, width=4) for title, _ in days]
    alike: dict[tuple[str, ...], list[str]] = {}
    for circuit in compiled.year.circuits:
        nights = (night_lines(circuit, compiled.world.zone, day, job.hand) for _, day in days)
        alike.setdefault(tuple("\n".join(lines) for lines in nights), []).append(circuit.circuit)
    rows = tuple(row(strong(", ".join(names)), *texts) for texts, names in alike.items())
    return Table(
        columns=tuple(columns),
        rows=rows,
        style=_size(len(compiled.year.circuits), twelve=job.hand.twelve),
    )


def _size(circuits: int, *, twelve: bool) -> str:
    """Large as far as a page holds it: 12-hour times are longer and stay on one line."""
    if circuits > _MOST_LARGE:
        return "dense"
    return "" if twelve else "large"


def _three_days(job: Job) -> list[tuple[str, date]]:
    """The first day of this paper, and the longest and shortest night near it."""
    period = job.compiled.year.period
    now = job.first_day
    asked = job.making.commission or job.making.made_on
    days = [(f"Now, {date_words(now)}" if now == asked else date_words(now), now)]
    for month in (6, 12):
        years = [now.year, *period.years]
        near = (date(y, month, 21) for y in years)
        found = next((d for d in near if d in period), None)
        if found is not None and found != now:
            days.append((date_words(found), found))
    return days


def _accuracy(job: Job) -> str:
    text = "Each night begins in the evening of the date and ends the next day at noon."
    return f"{text} {nearness_words(job.compiled)}".rstrip()


def _dark_nights(compiled: Compiled) -> str:
    nights = compiled.nights_without_light
    period = compiled.year.period
    if not nights:
        return f"None from {date_words(period.first)} through {date_words(period.last)}."
    shown = some_of(runs_words(nights), _MOST_RUNS, "stretches, under “Nights without light”")
    return f"{counted(len(nights), 'night')}: {'; '.join(shown)}."


def _what_to_do(job: Job) -> Beside:
    call = job.compiled.site.people.call or "the number below"
    reserve = job.compiled.controller.reserve_hours
    kept = "" if reserve is None else f" (it keeps time for {reserve:g} h without power)"
    where = ": see “Set these first”" if job.compiled.may_write_program else ""
    first = f"{_to_auto(job.compiled.site)}Does the unit show the right date and time?"
    meant = "Meant to be lit then (next page)? Else: " if _lit_at_noon(job.compiled) else ""
    columns = (
        (
            "Lights on at noon",
            (f"{meant}{first}", f"If not, have them set{where}.", f"Still on: call {call}."),
        ),
        (
            "No light in the evening",
            (
                first,
                "A dark night (above)? A tripped breaker? Reset it once only.",
                f"Still dark: call {call}.",
            ),
        ),
        (
            "After a power cut",
            (
                f"{first[:-1]}{kept}?",
                "If not, have them set. The program stays stored.",
                f"Look again after dusk. Not as above: call {call}.",
            ),
        ),
    )
    return Beside(
        columns=tuple(
            (Text(text=title, style="strong"), Items(items=steps, numbered=True))
            for title, steps in columns
        ),
        widths=(1, 1, 1),
    )


def _lit_at_noon(compiled: Compiled) -> bool:
    """Whether lamps are to be on at noon on some date, as in polar night."""
    year, zone = compiled.year, compiled.world.zone
    return any(lit_at_noon(circuit, zone, year.period.dates()) for circuit in year.circuits)


def _to_auto(site: Site) -> str:
    """The first thing to do, unless every circuit is said to have no selector."""
    without = all(circuit.panel.selector.casefold() == "none" for circuit in site.circuits)
    return "" if without else "Selector to AUTO. "


def _facts(job: Job) -> Iterator[tuple[str, str]]:
    site = job.compiled.site
    yield "Call", site.people.call
    yield "GOOD UNTIL", good_until_text(job)
    yield "Costs", cost_text(job.compiled)
    replaced = replaces_text(site, job.hand)
    if replaced:
        yield "Replaces", replaced


def replaces_text(site: Site, hand: Hand) -> str:
    """`sheet of Mon 30 Nov 2026, 7F3A-92C1`, "" where nothing is said."""
    return f"sheet of {hand.phrase(site.paper.replaces)}" if site.paper.replaces else ""


def good_until_text(job: Job) -> str:
    """The last right date and what happens then, for people."""
    compiled = job.compiled
    if not compiled.may_write_program:
        return "there is no program to key in: see the note on this page"
    good = compiled.good_until
    if good is None:
        return f"{long_date(compiled.year.period.last)}: nothing later was looked at"
    if good.wrong is None:
        return f"no error found through {long_date(good.looked_through)}"
    return f"{long_date(good.last)}. Have it renewed before then."


def cost_text(compiled: Compiled) -> str:
    """Use and cost of the whole period."""
    known = [use.kwh for use in compiled.energy if use.kwh is not None]
    if not known:
        return "not known: the power of the lamps is not given"
    costs = [use.cost for use in compiled.energy if use.cost is not None]
    text = f"{amount_words(sum(known))} kWh"
    if costs:
        text += f", {sum(costs):,.2f} {compiled.site.currency}".rstrip()
    text += f" {_period_words(compiled.year.period)}"
    left_out = len(compiled.energy) - len(known)
    if left_out:
        text += f", without {counted(left_out, 'circuit')} of unknown power"
    estimated = any(use.estimated for use in compiled.energy)
    return f"{text}. {ESTIMATED}" if estimated else text


def _period_words(period: Period) -> str:
    """`in 2027`, or from when through when."""
    if (period.first, period.last) == (
        date(period.first.year, 1, 1),
        date(period.first.year, 12, 31),
    ):
        return f"in {period.first.year}"
    return f"from {date_words(period.first)} through {date_words(period.last)}"


def _asked_for(site: Site, hand: Hand) -> tuple[Block, ...]:
    if is_asked_in_full(site):
        return (Items(items=wishes_of(site, hand)),)
    return (Text(text="Listed in full under “What was asked for” further on."),)


def is_asked_in_full(site: Site) -> bool:
    """Whether all wishes find room on this page."""
    return len(wishes_of(site, Hand())) <= _MOST_WISHES


def wishes_of(site: Site, hand: Hand) -> tuple[str, ...]:
    """Every wish as a sentence; the last one of a circuit that names a date decides it."""
    wishes = [wish for circuit in site.circuits for wish in _wishes(site, circuit)]
    return (*map(hand.phrase, wishes), *_meanings(site, " ".join(wishes)))


def _meanings(site: Site, wishes: str) -> Iterator[str]:
    """What words for people stand for, where wishes go by them."""
    hours = site.hours
    if hours is None:
        return
    told = [
        f"“{word}” is {minutes} min {side}"
        for word, minutes, side in (
            ("arrive", hours.staff_before_minutes, "before opening"),
            ("leave", hours.staff_after_minutes, "after closing"),
        )
        if re.search(rf"\b{word}\b", wishes)
    ]
    if told:
        yield "; ".join(told)


def _windows(site: Site, name: str) -> str:
    day_type = site.day_type(name)
    windows = () if day_type is None else day_type.windows
    return "; ".join(print_window(window) for window in windows) or "dark"


def _wishes(site: Site, circuit: Circuit) -> Iterator[str]:
    several = len(site.circuits) > 1
    before = f"{circuit.name}, " if several else ""
    for what, lines in groupby(circuit.calendar, lambda line: _windows(site, line.day_type)):
        dates = "; ".join(print_dates_phrase(line.dates) for line in lines)
        yield f"{before}{dates}: {what}"
    for kept in circuit.keep_dark:
        yield f"{before}always dark: {print_keep_dark(kept)}"
    for one_off in site.one_offs_of(circuit):
        state = "lit" if one_off.lit else "dark"
        why = f" ({one_off.because})" if one_off.because else ""
        yield f"{before}{state} {print_stretch(one_off.stretch)}{why}"
    for seconds, what in (
        (circuit.shortest_on_seconds, "light"),
        (circuit.shortest_off_seconds, "dark"),
    ):
        if seconds:
            yield f"{before}{what} for less than {seconds // MINUTE} min is left out"
