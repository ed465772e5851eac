"""The picture of the year: days across, 24 hours down from noon to noon, midnight in the middle.

Plain shapes and text that read in black and white: no script, no style sheet, nothing fetched.
The classes only let a screen turn it dark.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from html import escape
from itertools import pairwise

from schedcomp.clock import Zone, day_number
from schedcomp.controller import SUNRISE_LEVEL_DEGREES
from schedcomp.model import DAY, HOUR, ONE_DAY, Half, Instant, NoEvent, Period
from schedcomp.records import Record
from schedcomp.sheet.blocks import clean
from schedcomp.sheet.suntimes import defined_time
from schedcomp.sheet.wording import Hand
from schedcomp.site import Site
from schedcomp.sun import SiteSun
from schedcomp.world import World
from schedcomp.year import CircuitYear, Year

WIDTH = 760
LEFT, RIGHT, TOP = 72, 8, 60
HOUR_HEIGHT, LOW_HOUR_HEIGHT = 11.0, 7.5
NAME_HEIGHT = 24
_LEGEND_ROW = 20
_LONGEST_DAYS = 400
"""A longer period is drawn as one picture for each calendar year."""
_FONT = "'Noto Sans','DejaVu Sans',Verdana,Arial,sans-serif"
_JUMP_HOURS = 0.5
"""A curve that jumps further from one day to the next is broken there: the clock changed."""


class YearPicture(Record):
    """One drawing of one circuit; `columns` are the evening dates from left to right.

    `svg` has the circuit's name in it, `nameless` is for where the name stands above.
    """

    circuit: str
    period: Period
    svg: str
    nameless: str
    columns: tuple[date, ...]


class _Plot(Record):
    """The scales. A column is the night of an evening date, from its noon to the next."""

    columns: tuple[date, ...]
    zone: Zone
    hour_height: float

    @property
    def day_width(self) -> float:
        return (WIDTH - LEFT - RIGHT) / len(self.columns)

    @property
    def bottom(self) -> float:
        return TOP + 24 * self.hour_height

    def x(self, day: date) -> float:
        return LEFT + (day - self.columns[0]).days * self.day_width

    def y(self, hours: float) -> float:
        """Hours on the clock since noon of the column's date."""
        return TOP + hours * self.hour_height

    def hours(self, day: date, instant: Instant, offset: int) -> float:
        """What a clock with this offset shows, in hours since noon of a date."""
        return (instant + offset - day_number(day) * DAY) / HOUR - 12


def year_pictures(
    site: Site,
    world: World,
    year: Year,
    circuit: CircuitYear,
    hand: Hand,
    key: str,
    hour_height: float = HOUR_HEIGHT,
) -> tuple[YearPicture, ...]:
    """One picture, or one for each calendar year of a long period; `key` tells them apart."""
    return tuple(
        _picture(site, world, part, circuit, hand, f"{key}-{part.first.year}", hour_height)
        for part in _parts(year.period)
    )


def _parts(period: Period) -> list[Period]:
    if (period.last - period.first).days < _LONGEST_DAYS:
        return [period]
    return [
        Period(max(period.first, date(y, 1, 1)), min(period.last, date(y, 12, 31)))
        for y in period.years
    ]


def _picture(
    site: Site,
    world: World,
    period: Period,
    circuit: CircuitYear,
    hand: Hand,
    key: str,
    hour_height: float,
) -> YearPicture:
    columns = tuple(period.dates(before=1))
    plot = _Plot(columns, world.zone, hour_height)
    marks = _special_marks(plot, circuit, world)
    changes = list(_clock_lines(plot))
    shown = {"kept": bool(circuit.dark), "special": bool(marks), "changes": bool(changes)}
    legend = list(_legend(plot, key, **shown))
    height = round(plot.bottom + 30 + _LEGEND_ROW * len(legend) + 4)
    label = f"{clean(circuit.circuit)}: when it is lit, {period.first} through {period.last}"
    shapes = [
        f'<rect class="ground" width="{WIDTH}" height="{height}" fill="#fff"/>',
        _hatch(key),
        _lit_path(plot, _inside(circuit, world.zone, period)),
        _dark_path(plot, circuit, key),
        *_grid(plot, hand),
        *_curves(plot, site, world.sun),
        *changes,
        marks,
        f'<rect class="rule" x="{LEFT}" y="{TOP}" width="{WIDTH - LEFT - RIGHT}" '
        f'height="{24 * plot.hour_height:g}" fill="none" stroke="#000" stroke-width="1.2"/>',
        *(line for lines in legend for line in lines),
    ]
    name = (
        f'<text x="{LEFT}" y="16" font-size="15" font-weight="700">'
        f"{_text(clean(circuit.circuit))}</text>"
    )

    def whole(top: int, *more: str) -> str:
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 {top} {WIDTH} {height - top}" '
            f'width="{WIDTH}" height="{height - top}" role="img" aria-label="{_text(label)}" '
            f'font-family="{_FONT}" font-size="12" fill="#000" class="year" '
            f'data-first="{columns[0]}" data-columns="{len(columns)}" data-left="{LEFT}" '
            f'data-right="{WIDTH - RIGHT}" data-top="{TOP}" data-bottom="{_n(plot.bottom)}">'
        )
        title = f"<title>{_text(label)}</title>"
        return "\n".join([head, title, *filter(None, shapes), *more, "</svg>", ""])

    return YearPicture(
        circuit=circuit.circuit,
        period=period,
        svg=whole(0, name),
        nameless=whole(NAME_HEIGHT),
        columns=columns,
    )


def _text(text: str) -> str:
    return escape(text, quote=True)


def _hatch(key: str) -> str:
    return (
        f'<defs><pattern id="hatch-{key}" width="5" height="5" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><path class="ink-line" d="M0 0V5" stroke="#000" '
        'stroke-width="1.1"/></pattern></defs>'
    )


def _inside(circuit: CircuitYear, zone: Zone, period: Period) -> list[tuple[Instant, Instant]]:
    """Lit spans, cut at the picture's first and last midnight."""
    begin = zone.first_pass(period.first, 0)
    end = zone.first_pass(period.last + ONE_DAY, 0)
    cut = ((max(s.start, begin), min(s.end, end)) for s in circuit.spans)
    return [(a, b) for a, b in cut if a < b]


def _stretches(
    plot: _Plot, spans: Iterable[tuple[Instant, Instant]]
) -> Iterator[tuple[date, float, float]]:
    """Spans by column as hours on the clock, cut at noons and at clock changes."""
    zone, first = plot.zone, plot.columns[0]
    changes = [c.instant for c in zone.changes()]
    for start, end in spans:
        day = zone.local_date(start) - ONE_DAY
        next_noon = zone.first_pass(day, 12 * HOUR)
        while next_noon < end:
            noon, next_noon = next_noon, zone.first_pass(day + ONE_DAY, 12 * HOUR)
            begin, stop = max(start, noon), min(end, next_noon)
            if begin < stop and first <= day <= plot.columns[-1]:
                cuts = [begin, *(c for c in changes if begin < c < stop), stop]
                for a, b in pairwise(cuts):
                    offset = zone.offset(a)
                    yield day, plot.hours(day, a, offset), plot.hours(day, b, offset)
            day += ONE_DAY


def _blocks_path(plot: _Plot, spans: Iterable[tuple[Instant, Instant]]) -> str:
    """All blocks as one path; each reaches a little into the next column, so no seam shows."""
    width = plot.day_width + 0.15
    parts = []
    for day, begin, end in _stretches(plot, spans):
        x = min(plot.x(day), WIDTH - RIGHT - width)
        top, tall = plot.y(begin), (end - begin) * plot.hour_height
        parts.append(f"M{_n(x)} {_n(top)}h{_n(width)}v{_n(tall)}h-{_n(width)}z")
    return "".join(parts)


def _lit_path(plot: _Plot, spans: Sequence[tuple[Instant, Instant]]) -> str:
    path = _blocks_path(plot, spans)
    return path and f'<path class="lit" d="{path}" fill="#f0b429"/>'


def _dark_path(plot: _Plot, circuit: CircuitYear, key: str) -> str:
    path = _blocks_path(plot, [(s.start, s.end) for s in circuit.dark])
    return path and f'<path class="kept" d="{path}" fill="url(#hatch-{key})" fill-opacity="0.75"/>'


def _grid(plot: _Plot, hand: Hand) -> Iterator[str]:
    """Hours at the left, months at the bottom."""
    for hours in range(0, 25, 3):
        y = plot.y(hours)
        midnight = hours == 12
        weight = "1.2" if midnight else "0.5"
        yield (
            f'<path class="rule" d="M{LEFT} {_n(y)}H{WIDTH - RIGHT}" stroke="#000" '
            f'stroke-width="{weight}" stroke-opacity="{"0.9" if midnight else "0.35"}"/>'
        )
        shown = _hour_label((hours + 12) % 24, hand)
        bold = ' font-weight="700"' if midnight else ""
        yield f'<text x="{LEFT - 6}" y="{_n(y + 4)}" text-anchor="end"{bold}>{shown}</text>'
    for day, name in _date_ticks(plot):
        x = plot.x(day)
        yield (
            f'<path class="rule" d="M{_n(x)} {TOP}V{_n(plot.bottom + 5)}" stroke="#000" '
            'stroke-width="0.5" stroke-opacity="0.35"/>'
        )
        if name:
            yield f'<text x="{_n(x + 5)}" y="{_n(plot.bottom + 16)}">{name}</text>'


def _date_ticks(plot: _Plot) -> Iterator[tuple[date, str]]:
    """Firsts of months with their names where there is room; in a short period some dates."""
    columns = plot.columns
    if len(columns) > _SHORT_PERIOD:
        for first in (d for d in columns if d.day == 1):
            has_room = first + 12 * ONE_DAY <= columns[-1]
            yield first, _SHORT_MONTHS[first.month - 1] if has_room else ""
        return
    for day in columns[:: -(-len(columns) // _MOST_TICKS)]:
        has_room = day == columns[0] or plot.x(day) < WIDTH - RIGHT - 50
        yield day, f"{day.day} {_SHORT_MONTHS[day.month - 1]}" if has_room else ""


_SHORT_PERIOD, _MOST_TICKS = 62, 9
_SHORT_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def _hour_label(hour: int, hand: Hand) -> str:
    if hour in (0, 12):
        return "noon" if hour else "midnight"
    if hand.twelve:
        return f"{(hour + 11) % 12 + 1} {'PM' if hour > 12 else 'AM'}"
    return f"{hour:02d}:00"


def _curves(plot: _Plot, site: Site, sun: SiteSun) -> Iterator[str]:
    """Sunset and sunrise as a thick line, dusk and dawn as a dashed one."""
    sets: list[list[float | None]] = [[], [], [], []]
    for day in plot.columns:
        morning = day + ONE_DAY
        instants: tuple[Instant | NoEvent, ...] = (
            sun.crossing(day, Half.EVENING, SUNRISE_LEVEL_DEGREES),
            sun.crossing(morning, Half.MORNING, SUNRISE_LEVEL_DEGREES),
            defined_time(sun, day, Half.EVENING, site.dusk),
            defined_time(sun, morning, Half.MORNING, site.dawn),
        )
        for curve, instant in zip(sets, instants, strict=True):
            curve.append(_curve_hours(plot, day, instant))
    for index, curve in enumerate(sets):
        path = _curve_path(plot, curve)
        style = 'stroke-width="1.9"' if index < 2 else 'stroke-width="1.1" stroke-dasharray="5 3"'
        if path:
            yield f'<path class="ink-line" d="{path}" fill="none" stroke="#000" {style}/>'


def _curve_hours(plot: _Plot, day: date, instant: Instant | NoEvent) -> float | None:
    if isinstance(instant, NoEvent):
        return None
    hours = plot.hours(day, instant, plot.zone.offset(instant))
    return hours if 0 <= hours <= 24 else None


def _curve_path(plot: _Plot, curve: Sequence[float | None]) -> str:
    parts = []
    last: float | None = None
    for day, hours in zip(plot.columns, curve, strict=True):
        if hours is not None:
            joined = last is not None and abs(hours - last) < _JUMP_HOURS
            x = plot.x(day) + plot.day_width / 2
            parts.append(f"{'L' if joined else 'M'}{_n(x)} {_n(plot.y(hours))}")
        last = hours
    return "".join(parts)


def _clock_lines(plot: _Plot) -> Iterator[str]:
    """A dotted line at each clock change, with what the clock does."""
    for change in plot.zone.changes():
        day = plot.zone.local_date(change.instant - 12 * HOUR)
        if not plot.columns[0] <= day <= plot.columns[-1]:
            continue
        x = plot.x(day) + plot.day_width
        hours = abs(change.skipped) / HOUR
        way = "forward" if change.skipped > 0 else "back"
        anchor = "end" if x > WIDTH - 90 else "start" if x < LEFT + 60 else "middle"
        yield (
            f'<path class="ink-line" d="M{_n(x)} {TOP - 6}V{_n(plot.bottom)}" stroke="#000" '
            'stroke-width="1.4" stroke-dasharray="1.5 3"/>'
            f'<text x="{_n(x)}" y="{TOP - 17}" text-anchor="{anchor}" font-size="11">'
            f"clock {way} {hours:g} h</text>"
        )


def _special_marks(plot: _Plot, circuit: CircuitYear, world: World) -> str:
    """A small triangle above each date that a line for single dates or holidays decides."""
    named = world.holidays.dates | circuit.special
    days = [day for day in plot.columns[1:] if day in named]
    parts = [f"M{_n(plot.x(d) + plot.day_width / 2)} {TOP - 2}l-4 -9h8z" for d in days]
    return "".join(parts) and f'<path class="ink" d="{"".join(parts)}" fill="#000"/>'


def _legend(
    plot: _Plot, key: str, *, kept: bool, special: bool, changes: bool
) -> Iterator[list[str]]:
    """Entries in rows of three, of what is shown."""
    entries = [
        ('<rect class="lit" x="0" y="-11" width="26" height="13" fill="#f0b429"/>', "lamps lit"),
        (
            '<path class="ink-line" d="M0 -4H26" stroke="#000" stroke-width="1.9"/>',
            "sunset, sunrise",
        ),
        (
            '<path class="ink-line" d="M0 -4H26" stroke="#000" stroke-width="1.1" '
            'stroke-dasharray="5 3"/>',
            "dusk, dawn as defined",
        ),
    ]
    if special:
        entries.append(('<path class="ink" d="M13 1l-4 -9h8z" fill="#000"/>', "special day"))
    if changes:
        line = (
            '<path class="ink-line" d="M13 -12V2" stroke="#000" stroke-width="1.4" '
            'stroke-dasharray="1.5 3"/>'
        )
        entries.append((line, "clock change"))
    if kept:
        swatch = (
            f'<rect class="kept" x="0" y="-11" width="26" height="13" fill="url(#hatch-{key})" '
            'fill-opacity="0.75"/><rect class="rule" x="0" y="-11" width="26" height="13" '
            'fill="none" stroke="#000" stroke-width="0.5"/>'
        )
        entries.insert(1, (swatch, "always kept dark"))
    step = (WIDTH - LEFT - RIGHT) / 3
    for start in range(0, len(entries), 3):
        y = plot.bottom + 40 + start // 3 * _LEGEND_ROW
        yield [
            f'<g transform="translate({_n(LEFT + place * step)} {_n(y)})">{shape}'
            f'<text x="34" y="0">{_text(name)}</text></g>'
            for place, (shape, name) in enumerate(entries[start : start + 3])
        ]


def _n(value: float) -> str:
    """A coordinate with one or two decimals, as short as it can be."""
    return f"{value:.2f}".rstrip("0").rstrip(".") if value else "0"
