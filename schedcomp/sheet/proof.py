"""What was asked for, and what was found out about it: rule, promises, nights, assumptions."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from schedcomp.compiled import Compiled
from schedcomp.phrases.printer import print_dates_phrase
from schedcomp.report.lasting import good_until_words, missed_words
from schedcomp.report.shortfall import savings_words
from schedcomp.report.summary import does_not_fit, tolerance_words
from schedcomp.report.words import minutes_words
from schedcomp.sheet.blocks import (
    Block,
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
from schedcomp.sheet.lit import NEVER, night_lines
from schedcomp.sheet.making import Job
from schedcomp.sheet.months import dark_page_blocks
from schedcomp.sheet.owner import is_asked_in_full, wishes_of
from schedcomp.sheet.verdicts import verdict_blocks
from schedcomp.sheet.wording import Hand, date_runs
from schedcomp.site import Site
from schedcomp.words import counted, date_words, join_and

_MOST_TOLD = 3
CAUTIONS = (
    "Egress and emergency lighting is not to be on this schedule.",
    "Wiring, contactors and surge protection are for licensed electricians under local codes.",
    "The authority decides what a rule means. Compare what was entered with its current text.",
    "Walk the site on a dark evening after programming.",
)


def proof_page(job: Job) -> Page:
    """The whole page."""
    compiled = job.compiled
    return Page(
        key="proof",
        title="What was asked for, and what was found",
        blocks=(
            *_wishes(job),
            *_hours(job),
            Heading(text="The program"),
            Facts(rows=tuple(_program(compiled, job.hand))),
            *verdict_blocks(compiled, job.hand),
            *dark_page_blocks(job),
            *_special_days(job),
            Heading(text="Assumed"),
            Facts(rows=tuple((a.topic, a.text) for a in compiled.assumed)),
            Heading(text="People and papers"),
            Facts(rows=_people(compiled.site)),
            Heading(text="Cautions"),
            Items(items=CAUTIONS),
            *_egress(compiled.site),
        ),
    )


def _people(site: Site) -> tuple[tuple[str, str], ...]:
    people, paper = site.people, site.paper
    return (
        ("Owner", people.owner),
        ("Call", people.call),
        ("Installer", people.installer),
        ("Job", people.job),
        ("Papers kept at", paper.kept_at),
    )


def _wishes(job: Job) -> tuple[Block, ...]:
    """The wishes, where the owner's page has no room for them."""
    site = job.compiled.site
    if is_asked_in_full(site):
        return ()
    return (Heading(text="What was asked for"), Items(items=wishes_of(site, job.hand)))


def _hours(job: Job) -> tuple[Block, ...]:
    site, phrase = job.compiled.site, job.hand.phrase
    if site.hours is None:
        return ()
    rows = [
        (phrase(print_dates_phrase(line.dates)), phrase(line.text)) for line in site.hours.lines
    ]
    rows.append(("staff before opening", f"{site.hours.staff_before_minutes} min"))
    rows.append(("staff after closing", f"{site.hours.staff_after_minutes} min"))
    return (Heading(text="Opening hours"), Facts(rows=tuple(rows)))


def _program(compiled: Compiled, hand: Hand) -> Iterator[tuple[str, str]]:
    controller, program = compiled.controller, compiled.fitted.program
    yield "Kind of unit", f"{controller.name}, {counted(controller.event_slots, 'slot')}"
    if program is None:
        yield "Does not fit", does_not_fit(compiled)
        yield from _would_fit(compiled)
        return
    certificate = compiled.fitted.certificate
    if certificate is not None:
        needed = (
            f"{certificate.slots} needed, the fewest possible (proven)"
            if certificate.proven
            else f"{certificate.slots} found, at least {certificate.bound} needed"
        )
        yield "Slots", f"{needed}; {program.slots_used} with repeats"
    yield "Tolerance", tolerance_words(compiled)
    audit = compiled.audit
    if audit is not None:
        verdict = "agrees with the wishes in all" if audit.agrees else "DISAGREES in some of"
        yield "Test run", f"{verdict} {counted(len(audit.runs), 'run')} of the whole period"
        if audit.agrees:
            yield "Worst", "\n".join(_worst(compiled))
    if compiled.good_until is not None:
        yield "Good until", hand.phrase(good_until_words(compiled.good_until).text)
    missed = missed_words(compiled)
    if missed is not None:
        yield "If one is missed", hand.phrase(missed.text)


def _would_fit(compiled: Compiled) -> Iterator[tuple[str, str]]:
    """What was found out about more minutes and fewer lines."""
    shortfall = compiled.shortfall
    if shortfall is None:
        return
    has = f"{compiled.controller.event_slots} slots"
    minutes = shortfall.fits_at_minutes
    if minutes is None:
        yield "Would fit", f"at no tolerance up to {shortfall.most_minutes} min"
    else:
        yield "Would fit", f"within {minutes} min: {shortfall.slots_there} of {has}"
    if shortfall.useful:
        several = len(compiled.site.circuits) > 1
        yield "Would save slots", savings_words(shortfall, one_circuit=not several)


def _worst(compiled: Compiled) -> Iterator[str]:
    """How early and late each circuit goes on and off at most, over all runs."""
    circuits: dict[str, list[str]] = {}
    for found in compiled.deviations:
        ways = [
            f"{minutes_words(worst.seconds)} {side} on "
            f"{date_words(compiled.world.zone.local_date(worst.at))}"
            for side, worst in (("early", found.early), ("late", found.late))
            if worst.at is not None and worst.seconds
        ]
        told = f"{found.action.value} {' and '.join(ways) or 'never early or late'}"
        circuits.setdefault(told, []).append(found.circuit)
    count = len(compiled.site.circuits)
    for told, names in circuits.items():
        whose = "all circuits" if len(names) == count else join_and(names)
        yield told if count == 1 else f"{told}: {whose}"


def _special_days(job: Job) -> tuple[Block, ...]:
    """Every date that a line for single dates or holidays decides, with what it is."""
    compiled = job.compiled
    period, holidays = compiled.year.period, compiled.world.holidays
    special = set().union(*(c.special for c in compiled.year.circuits))
    named = {h.day for h in holidays.within(period)}
    days = sorted(d for d in special | named if d in period)
    if not days:
        return ()
    rows = []
    for first, last in date_runs(days):
        if first == last:
            rows.append(row(strong(date_words(first)), _names(job, first)))
        else:
            rows += [row(strong(date_words(d)), _names(job, d)) for d in days if first <= d <= last]
    left_out = holidays.left_out
    half = (len(rows) + 1) // 2 if len(rows) > 12 else len(rows)
    columns = (Column(title="Date", width=3), Column(title="What it is, and its night", width=6))
    if half == len(rows):
        table = Table(columns=columns, rows=tuple(rows), leads=bool(left_out))
    else:
        padded = [*rows[half:], *([row("", "")] * (2 * half - len(rows)))]
        both = tuple(a + b for a, b in zip(rows[:half], padded, strict=True))
        table = Table(columns=columns + columns, rows=both, style="dense", leads=bool(left_out))
    note = (
        (Text(text=f"Left out of the holiday list: {', '.join(left_out)}.", style="small"),)
        if left_out
        else ()
    )
    return (Heading(text="Special days"), table, *note)


def _names(job: Job, day: date) -> str:
    """The name of a special day and what the lamps do in its night."""
    compiled = job.compiled
    holidays = [h.label for h in compiled.world.holidays.on(day)]
    name = ", ".join(holidays) or _single_night(compiled.site, day) or "times of its own"
    zone = compiled.world.zone
    circuits = [c for c in compiled.year.circuits if day in c.special] or compiled.year.circuits
    nights = [", ".join(night_lines(c, zone, day, job.hand)) for c in circuits]
    if len(set(nights)) == 1 and len(circuits) == len(compiled.year.circuits):
        return f"{name}: {nights[0]}"
    if len(nights) > _MOST_TOLD:
        dark = nights.count(NEVER)
        if not dark:
            return f"{name}: every circuit lit"
        return f"{name}: {dark} of {counted(len(nights), 'circuit')} dark all night"
    told = [f"{c.circuit} {night}" for c, night in zip(circuits, nights, strict=True)]
    return f"{name}: {'; '.join(told)}"


def _single_night(site: Site, day: date) -> str:
    """Why the site file has lit or dark hours of their own on a date, "" where it has none."""
    found = [o for o in site.one_offs if o.stretch.start.day <= day <= o.stretch.end.day]
    return ", ".join(dict.fromkeys(o.because or "single night" for o in found))


def _egress(site: Site) -> tuple[Block, ...]:
    """A line to sign where nobody said where egress lighting is."""
    unknown = [c.name for c in site.circuits if c.egress in ("", "unknown")]
    if not unknown:
        return ()
    return (
        Heading(text="Egress and emergency lighting"),
        Text(
            text=f"Not stated for {', '.join(unknown)}. Before use someone who knows the building "
            "signs that no egress or emergency lighting is on this schedule:"
        ),
        Sign(labels=("No egress lighting on this schedule: name", "Date")),
    )
