"""The year in a picture and by month: hours, kWh and cost, against lamps lit from dusk to dawn."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date

from schedcomp.energy import ESTIMATED, Energy
from schedcomp.model import HOUR, ONE_DAY
from schedcomp.records import Record
from schedcomp.report.light import dusk_and_dawn_words
from schedcomp.report.words import amount_words
from schedcomp.sheet.blocks import Block, Cell, Column, Heading, Page, Picture, Table, Text, row
from schedcomp.sheet.blocks import strong as bold
from schedcomp.sheet.lit import dark_nights, night_lines
from schedcomp.sheet.making import Job
from schedcomp.sheet.nearness import nearness_words, program_hours
from schedcomp.sheet.picture import HOUR_HEIGHT, LOW_HOUR_HEIGHT, YearPicture, year_pictures
from schedcomp.sheet.suntimes import dusk_to_dawn
from schedcomp.sheet.wording import MONTHS, long_date, runs_words, some_of
from schedcomp.site import Circuit
from schedcomp.told_time import clock_change_words
from schedcomp.words import counted

BASELINE = "lit from dusk to dawn every night"
_MOST_RUNS = 60
_HIGH_PICTURES = 2
"""Two high drawings fit on a page; of more circuits three low ones."""
Month = tuple[int, int]


def year_page(job: Job, pictures: Sequence[YearPicture]) -> Page:
    """All drawings of the year, with the light they stand for."""
    compiled = job.compiled
    site, world = compiled.site, compiled.world
    light = dusk_and_dawn_words(site, world.sun, compiled.year.period, "is")
    changes = [
        clock_change_words(world.zone, c)
        for c in world.zone.changes()
        if compiled.year.start <= c.instant < compiled.year.end
    ]
    clock = job.hand.phrase("; ".join(changes)) if changes else "no change in this period"
    drawn: list[Block] = []
    for number, picture in enumerate(pictures, 1):
        drawn += [
            Text(text=picture.circuit, style="title"),
            Picture(
                svg=picture.nameless,
                label=f"Year picture of {picture.circuit}",
                name=picture_name(number),
                nights=picture.circuit,
            ),
        ]
    intro = (
        "Every column is one night, from noon at the top to noon at the bottom. "
        f"{light[0].upper()}{light[1:]}. Clock: {clock}."
    )
    return Page(
        key="year",
        title="The year in a picture",
        blocks=(Text(text=intro, style="lead"), *drawn),
    )


def picture_name(number: int) -> str:
    """The file of a drawing; drawings count from 1."""
    return f"year_{number}.svg"


def drawings(job: Job) -> tuple[YearPicture, ...]:
    """The drawings of all circuits, in their order."""
    compiled = job.compiled
    circuits = compiled.year.circuits
    hour_height = HOUR_HEIGHT if len(circuits) <= _HIGH_PICTURES else LOW_HOUR_HEIGHT
    return tuple(
        picture
        for number, circuit in enumerate(circuits, 1)
        for picture in year_pictures(
            compiled.site,
            compiled.world,
            compiled.year,
            circuit,
            job.hand,
            f"c{number}",
            hour_height,
        )
    )


def months_page(job: Job) -> Page:
    """Month table, use and cost of every circuit, and its nights without light."""
    compiled = job.compiled
    baseline = baseline_hours(job)
    blocks: list[Block] = [
        Text(
            text="Times are those of the night that begins on the 15th of the month. "
            f"{nearness_words(compiled)} The bar shows "
            f"the hours lit; the line across it what lamps {BASELINE} would take. The counter is "
            "what the hour counter of a unit gains from 1 January, or from the first day of this "
            "paper, to the month's end.",
            style="lead",
        )
    ]
    for circuit, use in zip(compiled.site.circuits, compiled.energy, strict=True):
        blocks += [
            Heading(text=circuit.name),
            _month_table(job, circuit, use, baseline),
            _comparison(job, circuit, use, baseline),
        ]
    return Page(key="months", title="Month by month", blocks=tuple(blocks))


def dark_page_blocks(job: Job) -> tuple[Block, ...]:
    """Nights without light by circuit, and those on which all of them are dark."""
    compiled = job.compiled
    found = [
        (circuit.circuit, dark_nights(compiled.year, circuit, compiled.world.zone))
        for circuit in compiled.year.circuits
    ]
    if len(found) > 1:
        found.append(("All circuits", compiled.nights_without_light))
    texts = []
    for name, nights in found:
        runs = some_of(runs_words(nights), _MOST_RUNS, "stretches")
        told = f"{counted(len(nights), 'night')}, {'; '.join(runs)}" if nights else "none"
        texts.append(Text(text=f"{name}: {told}."))
    return (
        Heading(text="Nights without light"),
        Text(text="Dark all night, by the date of the evening.", style="lead"),
        *texts,
    )


def baseline_hours(job: Job) -> Mapping[Month, float]:
    """Hours from dusk to dawn by local month of the period."""
    compiled = job.compiled
    year, zone = compiled.year, compiled.world.zone
    hours: dict[Month, float] = defaultdict(float)
    for day in year.period.dates(before=1):
        night = dusk_to_dawn(compiled.site, compiled.world.sun, day)
        if night is None:
            continue
        midnight = zone.first_pass(day + ONE_DAY, 0)
        for start, end, of in (
            (night[0], min(night[1], midnight), day),
            (max(night[0], midnight), night[1], day + ONE_DAY),
        ):
            begin, stop = max(start, year.start), min(end, year.end)
            if begin < stop:
                hours[of.year, of.month] += (stop - begin) / HOUR
    return hours


class _Line(Record):
    """One month of one circuit; `counter` are hours since 1 January or the period's start."""

    month: Month
    hours: float
    counter: float
    baseline: float


def _lines(use: Energy, baseline: Mapping[Month, float]) -> list[_Line]:
    lines: list[_Line] = []
    counter = 0.0
    for month, hours in use.hours_by_month:
        counter = hours if month[1] == 1 else counter + hours
        lines.append(_Line(month, hours, counter, baseline.get(month, 0.0)))
    return lines


def _month_table(job: Job, circuit: Circuit, use: Energy, baseline: Mapping[Month, float]) -> Table:
    lines = _lines(use, baseline)
    most = max([1.0, *(max(line.hours, line.baseline) for line in lines)])
    has_kwh, has_cost = circuit.load_kw is not None, use.cost is not None
    columns = [
        Column(title="Month", width=2.6),
        Column(title="Lit in the night of the 15th", width=6.8 if job.hand.twelve else 5.2),
        Column(title="Hours", align="right", width=1.5),
        Column(title="Bar: hours; line: dusk to dawn", width=2.8 if job.hand.twelve else 4.2),
        *([Column(title="kWh", align="right", width=1.7)] if has_kwh else []),
        *(
            [Column(title=job.compiled.site.currency or "Cost", align="right", width=2.1)]
            if has_cost
            else []
        ),
        Column(title="Counter h", align="right", width=1.9),
    ]
    load, price = circuit.load_kw or 0.0, job.compiled.site.price_per_kwh or 0.0
    several = len({line.month[0] for line in lines}) > 1
    rows = []
    for line in lines:
        year = f" {line.month[0]}" if several else ""
        rows.append(
            row(
                f"{MONTHS[line.month[1] - 1]}{year}",
                _night_of(job, circuit, line.month),
                f"{line.hours:,.0f}",
                Cell(share=line.hours / most, mark=line.baseline / most),
                *([amount_words(line.hours * load)] if has_kwh else []),
                *([f"{line.hours * load * price:,.2f}"] if has_cost else []),
                f"{line.counter:,.0f}",
            )
        )
    rows.append(
        row(
            bold("All"),
            "",
            bold(f"{use.hours:,.0f}"),
            "",
            *([bold(amount_words(use.kwh or 0.0))] if has_kwh else []),
            *([bold(f"{use.cost:,.2f}")] if use.cost is not None else []),
            "",
        )
    )
    return Table(columns=tuple(columns), rows=tuple(rows), style="dense", leads=True)


def _night_of(job: Job, circuit: Circuit, month: Month) -> str:
    period = job.compiled.year.period
    day = min(max(date(month[0], month[1], 15), period.first), period.last)
    of_year = job.compiled.year.circuit(circuit.name)
    return ", ".join(night_lines(of_year, job.compiled.world.zone, day, job.hand))


def _comparison(job: Job, circuit: Circuit, use: Energy, baseline: Mapping[Month, float]) -> Text:
    total = sum(baseline.values())
    saved = total - use.hours
    period = job.compiled.year.period
    text = (
        f"From {long_date(period.first)} through {long_date(period.last)}: "
        f"{use.hours:,.0f} h lit, {counted(use.switchings, 'start')}. "
    )
    burnt = None if use.estimated else program_hours(job.compiled, circuit)
    if burnt is not None and round(burnt) != round(use.hours):
        text += f"With the times of the program {burnt:,.0f} h. "
    text += f"Lamps {BASELINE} would burn {total:,.0f} h"
    if circuit.load_kw is not None and saved > 0:
        text += f", {saved * circuit.load_kw:,.0f} kWh more"
    about = f" {ESTIMATED}" if use.estimated else ""
    return Text(text=f"{text}.{about}", style="small")
