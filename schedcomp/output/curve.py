"""The picture of slots against minutes: an SVG for screen and paper, readable in black and white.

Two plots, one above the other, with the same scale of slots: against the worst switching, and
against all switchings together. Only plain shapes and text: no script, no style sheet, nothing
fetched. Between two programs the line keeps the larger count, which is never too small.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from html import escape
from math import ceil

from schedcomp.capacity_report import CurvePoint
from schedcomp.model import HOUR, MINUTE
from schedcomp.records import Record

WIDTH = 760
_LEFT, _RIGHT, _PLOT_HEIGHT, _BETWEEN = 84, 130, 230, 84
_INSET = 12
"""Left free inside a plot at the right end and, for programs that keep every time, at the left."""
_LETTER_WIDTH, _LETTER_HEIGHT = 6.7, 13
_TITLE_LINE, _TITLE_TOP, _GAP = 20, 26, 26
_LEGEND_LEFT, _LEGEND_LINE = 16, 20
_TITLE_LETTERS, _MARGIN_LETTERS = 66, 17
_BROAD = "mwMW@%"
_FONT = 'font-family="DejaVu Sans, Verdana, Arial, sans-serif"'
_TICKS_UP, _TICKS_ACROSS = 6, 10
_MOST_TIMES = 6
"""The scale ends at this many times the slots of the controller; what is far beyond is an arrow."""
_MOST_FREE_TIMES = 20
"""Where the controller holds more than so many times what is needed, its line is left out."""
_HOURS_FROM = 10 * HOUR
"""Totals from here on are drawn in hours."""


class CurvePicture(Record, kw_only=True):
    """What is drawn; `points` in order of their tolerance, at least one.

    The program of the `wished_minutes` is ringed; `wished_words` say what they are.
    """

    site: str
    period: str
    controller: str
    slots: int
    per_channel: bool
    wished_minutes: int
    wished_words: str
    points: tuple[CurvePoint, ...]


class _Spot(Record):
    """What is drawn for one or more tolerances; no `slots`: no program of any length."""

    across: float
    slots: int | None
    fits: bool
    wished: bool


class _Plot(Record):
    """A plotting area in pixels, its scales, and what stands in it."""

    top: int
    slots: int
    across: int
    name: str
    spots: tuple[_Spot, ...]

    @property
    def bottom(self) -> int:
        return self.top + _PLOT_HEIGHT

    @property
    def right(self) -> int:
        return WIDTH - _RIGHT

    def x(self, across: float) -> float:
        width = self.right - _LEFT - 2 * _INSET
        return round(_LEFT + _INSET + width * across / self.across, 1)

    def y(self, slots: float) -> float:
        """Counts beyond the scale stand on its upper end."""
        part = min(slots, self.slots) / self.slots
        return round(self.bottom - _PLOT_HEIGHT * part, 1)


def curve_svg(picture: CurvePicture) -> bytes:
    """The whole file, UTF-8."""
    title = [
        *folded(f"Slots against minutes: {picture.site}", _TITLE_LETTERS),
        *folded(picture.period, _TITLE_LETTERS),
    ]
    plots = _plots(picture, _TITLE_TOP + len(title) * _TITLE_LINE + _GAP)
    legend = _legend(picture, plots)
    legend_top = plots[-1].bottom + _BETWEEN
    height = legend_top + len(legend) * _LEGEND_LINE
    shapes = [*_title(title)]
    for plot in plots:
        shapes += [*_grid(plot), *_limit(picture, plot), *_line(plot), *_marks(plot)]
    for number, (kind, words) in enumerate(legend):
        y = legend_top + number * _LEGEND_LINE
        shapes += [_mark(_LEGEND_LEFT + 8, y - 4, kind), _label(_LEGEND_LEFT + 24, y, words)]
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{height}" '
        f'viewBox="0 0 {WIDTH} {height}" role="img" {_FONT} font-size="12" fill="#000">'
    )
    named = f"<title>{_text(' '.join(title))}</title>"
    ground = f'<rect width="{WIDTH}" height="{height}" fill="#fff"/>'
    return "\n".join([head, named, ground, *shapes, "</svg>", ""]).encode()


# The plots


def _plots(picture: CurvePicture, top: int) -> tuple[_Plot, _Plot]:
    """Against the worst switching, and below it against all of them."""
    slots = _slots_scale(picture)
    known = [p for p in picture.points if p.slots is not None and p.worst_seconds is not None]
    totals = [point.total_seconds or 0 for point in known]
    unit, name = (HOUR, "hours") if max(totals, default=0) >= _HOURS_FROM else (MINUTE, "minutes")
    worst = [(point, (point.worst_seconds or 0) / MINUTE) for point in known]
    worst += [(point, point.tolerance_minutes) for point in picture.points if point.slots is None]
    together = [(point, seconds / unit) for point, seconds in zip(known, totals, strict=True)]
    first = _plot(
        picture, top, slots, "worst switching of all test runs: minutes early or late", worst
    )
    second = _plot(
        picture,
        first.bottom + _BETWEEN,
        slots,
        f"all switchings of the period added up: {name} early or late",
        together,
    )
    return first, second


def _plot(
    picture: CurvePicture,
    top: int,
    slots: int,
    name: str,
    placed: Sequence[tuple[CurvePoint, float]],
) -> _Plot:
    """A plot of these points, each with its place; what makes the same program is one spot."""
    wished: dict[tuple[float, int | None, bool], bool] = {}
    for point, across in placed:
        key = across, point.slots, point.fits
        wished[key] = wished.get(key, False) or point.tolerance_minutes == picture.wished_minutes
    every = sorted((_Spot(*key, is_wished) for key, is_wished in wished.items()), key=_in_order)
    spots = tuple(_worth_drawing(every))
    most = ceil(max((spot.across for spot in spots), default=1))
    step = _tick_step(max(most, 1), _TICKS_ACROSS)
    return _Plot(
        top=top,
        slots=slots,
        across=step * max(1, -(-most // step)),
        name=name,
        spots=spots,
    )


def _in_order(spot: _Spot) -> tuple[float, int]:
    return spot.across, spot.slots or 0


def _worth_drawing(spots: Iterable[_Spot]) -> Iterator[_Spot]:
    """Without programs that are no shorter than one that comes as near, but for the wished one."""
    fewest = None
    for spot in spots:
        shorter = spot.slots is None or fewest is None or spot.slots < fewest
        if spot.slots is not None and shorter:
            fewest = spot.slots
        if shorter or spot.wished:
            yield spot


def _slots_scale(picture: CurvePicture) -> int:
    """The upper end of the scale of slots."""
    counts = [point.slots for point in picture.points if point.slots is not None]
    most, least = max(counts, default=0), min(counts, default=0)
    shown = _MOST_TIMES * max(picture.slots, least)
    end = most if most <= shown + shown // 3 else shown
    if not counts or picture.slots <= _MOST_FREE_TIMES * end:
        end = max(end, picture.slots)
    step = _tick_step(end, _TICKS_UP)
    return step * (end // step + 1)


def _tick_step(end: int, most: int) -> int:
    """The smallest of 1, 2, 5, 10, 20, 50 ... that makes so few ticks."""
    for power in range(9):
        for factor in (1, 2, 5):
            if end <= factor * 10**power * most:
                return int(factor * 10**power)
    raise ValueError(f"no scale up to {end}")


# What is drawn


def folded(text: str, letters: int) -> list[str]:
    """The text in lines that take the room of so many common letters; a longer word is broken.

    Characters that cannot be shown, and would spoil the file, are left out.
    """
    lines = [""]
    for word in "".join(c for c in text if c.isprintable()).split():
        if lines[-1] and _letters(f"{lines[-1]} {word}") <= letters:
            lines[-1] += f" {word}"
        else:
            lines += list(_broken(word, letters))
    return [line for line in lines if line]


def _broken(word: str, letters: int) -> Iterator[str]:
    part = ""
    for letter in word:
        if part and _letters(part + letter) > letters:
            yield part
            part = ""
        part += letter
    yield part


def _letters(text: str) -> float:
    """The room of a text in common letters, rather too much than too little."""
    return sum(_room(letter) for letter in text)


def _room(letter: str) -> float:
    if unicodedata.east_asian_width(letter) in "WF":
        return 2
    if letter in _BROAD:
        return 1.7
    return 1.3 if letter.isupper() else 1


def _title(lines: Sequence[str]) -> Iterator[str]:
    for number, line in enumerate(lines):
        weight = "bold" if number < len(lines) - 1 else "normal"
        y = _TITLE_TOP + number * _TITLE_LINE
        yield f'<text x="16" y="{y}" font-size="14" font-weight="{weight}">{_text(line)}</text>'


def _grid(plot: _Plot) -> Iterator[str]:
    """Both axes with their ticks and names."""
    for slots in range(0, plot.slots + 1, _tick_step(plot.slots, _TICKS_UP)):
        y = plot.y(slots)
        yield _stroke(_LEFT, y, plot.right, y, "#000" if not slots else "#ccc")
        yield _label(_LEFT - 8, y + 4, f"{slots:,}", "end")
    for across in range(0, plot.across + 1, _tick_step(plot.across, _TICKS_ACROSS)):
        x = plot.x(across)
        yield _stroke(x, plot.bottom, x, plot.bottom + 5, "#000")
        yield _label(x, plot.bottom + 19, f"{across:,}", "middle")
    yield _stroke(_LEFT, plot.top, _LEFT, plot.bottom, "#000")
    middle = (plot.top + plot.bottom) / 2
    yield _label((_LEFT + plot.right) / 2, plot.bottom + 40, plot.name, "middle")
    turned = f'transform="rotate(-90 24 {middle})"'
    yield _label(24, middle, "slots a program takes", "middle", turned)


def _limit(picture: CurvePicture, plot: _Plot) -> Iterator[str]:
    """The dashed line of the controller's own slots, named in the right margin."""
    y = plot.y(picture.slots)
    if picture.slots <= plot.slots:
        yield _stroke(_LEFT, y, plot.right, y, "#000", 'stroke-width="1.5" stroke-dasharray="8 5"')
    each = " per channel" if picture.per_channel else ""
    beyond = " (beyond the scale)" if picture.slots > plot.slots else ""
    words = f"{picture.controller} holds {picture.slots:,}{each}{beyond}"
    lines = folded(words, _MARGIN_LETTERS)
    first = max(plot.top + 4, min(y + 4, plot.bottom - 15 * (len(lines) - 1)))
    for number, line in enumerate(lines):
        yield _label(plot.right + 8, first + 15 * number, line)


def _line(plot: _Plot) -> Iterator[str]:
    """The step line, which falls where fewer slots are enough."""
    path, lowest = "", 0.0
    for spot in plot.spots:
        if spot.slots is not None:
            x, y = plot.x(spot.across), plot.y(spot.slots)
            lowest = max(lowest, y)
            path += f" H {x} V {lowest}" if path else f"M {x} {y}"
    if path:
        yield f'<path d="{path}" fill="none" stroke="#000" stroke-width="2"/>'


def _marks(plot: _Plot) -> Iterator[str]:
    """A mark for each spot, and its count where it has room."""
    if not plot.spots:
        middle = (_LEFT + plot.right) / 2, (plot.top + plot.bottom) / 2
        yield _label(*middle, _NO_PROGRAM, "middle")
    for spot in plot.spots:
        x, y = plot.x(spot.across), plot.y(spot.slots or 0)
        yield _mark(x, y, _kind(spot, plot))
        if spot.wished and spot.slots is not None:
            yield _mark(x, y, _WISHED)
    taken: list[tuple[float, float, float]] = []
    for spot in _to_label(plot.spots):
        count = f"{spot.slots:,}"
        left, y = plot.x(spot.across) + 8, plot.y(spot.slots or 0) - 7
        width = _LETTER_WIDTH * len(count)
        if left + width > plot.right:
            left -= 16 + width
        place = left, y, left + width
        if not any(_overlap(place, other) for other in taken):
            taken.append(place)
            yield _label(left, y, count, "start", _HALO)


def _to_label(spots: Sequence[_Spot]) -> list[_Spot]:
    """One spot of each count: first the one wished for and the nearest that fits."""
    counted = {spot.slots: spot for spot in reversed(spots) if spot.slots is not None}
    in_order = list(reversed(counted.values()))
    nearest = next((spot for spot in in_order if spot.fits), None)
    return sorted(in_order, key=lambda spot: (not spot.wished, spot is not nearest))


def _overlap(one: tuple[float, float, float], other: tuple[float, float, float]) -> bool:
    """Whether two labels, as (left, base line, right), would stand on each other."""
    apart = abs(one[1] - other[1]) >= _LETTER_HEIGHT
    return not apart and one[0] < other[2] and other[0] < one[2]


_HALO = 'stroke="#fff" stroke-width="3" paint-order="stroke"'
_FITS = "fits the controller"
_TOO_MANY = "does not fit the controller"
_BEYOND = "takes more slots than the scale shows"
_NO_PROGRAM = "no program of any length"
_WISHED = "ringed"
_KINDS = (_FITS, _TOO_MANY, _BEYOND, _NO_PROGRAM)
_FILLED = {_FITS: "#000", _TOO_MANY: "#fff", _WISHED: "none"}


def _kind(spot: _Spot, plot: _Plot) -> str:
    if spot.slots is None:
        return _NO_PROGRAM
    if spot.slots > plot.slots:
        return _BEYOND
    return _FITS if spot.fits else _TOO_MANY


def _mark(x: float, y: float, kind: str) -> str:
    if kind == _NO_PROGRAM:
        path = f"M {x - 4} {y - 4} L {x + 4} {y + 4} M {x - 4} {y + 4} L {x + 4} {y - 4}"
        return f'<path d="{path}" fill="none" stroke="#000" stroke-width="2"/>'
    if kind == _BEYOND:
        path = f"M {x - 6} {y + 4} L {x + 6} {y + 4} L {x} {y - 7} Z"
        return f'<path d="{path}" fill="#fff" stroke="#000" stroke-width="1.5"/>'
    radius = 8.5 if kind == _WISHED else 4.5
    drawn = f'fill="{_FILLED[kind]}" stroke="#000" stroke-width="1.5"'
    return f'<circle cx="{x}" cy="{y}" r="{radius}" {drawn}/>'


def _legend(picture: CurvePicture, plots: Sequence[_Plot]) -> list[tuple[str, str]]:
    """The kinds of marks that are there, with what they mean."""
    spots = [(spot, plot) for plot in plots for spot in plot.spots]
    shown = {_kind(spot, plot) for spot, plot in spots}
    words = {kind: kind for kind in _KINDS}
    words[_NO_PROGRAM] = f"{_NO_PROGRAM} comes so near"
    found = [(kind, words[kind]) for kind in _KINDS if kind in shown]
    if any(spot.wished and spot.slots is not None for spot, _ in spots):
        found.append((_WISHED, picture.wished_words))
    return found


def _stroke(x: float, y: float, to_x: float, to_y: float, colour: str, more: str = "") -> str:
    place = f'x1="{x}" y1="{y}" x2="{to_x}" y2="{to_y}"'
    return f'<line {place} stroke="{colour}" {more}/>'.replace(" />", "/>")


def _label(x: float, y: float, text: str, anchor: str = "start", more: str = "") -> str:
    place = f'x="{round(x, 1)}" y="{round(y, 1)}" text-anchor="{anchor}"'
    return f"<text {place} {more}>{_text(text)}</text>".replace(" >", ">", 1)


def _text(text: str) -> str:
    return escape(text, quote=False)
