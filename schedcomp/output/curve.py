"""The picture of slots against minutes: an SVG for screen and paper, readable in black and white.

Only plain shapes and text: no script, no style sheet, nothing fetched. Between two tolerances that
were worked out the line keeps the larger count, which is never too small.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from html import escape
from itertools import pairwise

from schedcomp.capacity_report import CurvePoint
from schedcomp.records import Record

WIDTH = 760
_LEFT, _RIGHT, _BELOW, _PLOT_HEIGHT = 84, 130, 84, 310
_LEGEND_LEFT = 16
_LETTER_WIDTH, _LETTER_HEIGHT = 6.7, 13
_SPARE = 0.04
"""Part of the width left free at the right, for the last count."""
_TITLE_LINE, _TITLE_TOP, _GAP = 20, 26, 26
_TITLE_LETTERS, _MARGIN_LETTERS = 66, 17
_BROAD = "mwMW@%"
_FONT = 'font-family="DejaVu Sans, Verdana, Arial, sans-serif"'
_TICKS = 6
_MOST_TIMES = 6
"""The scale ends at this many times the slots of the controller; what is beyond is an arrow."""


class CurvePicture(Record, kw_only=True):
    """What is drawn; `points` in order of their tolerance, at least one."""

    site: str
    period: str
    controller: str
    slots: int
    per_channel: bool
    points: tuple[CurvePoint, ...]


class _Plot(Record):
    """The plotting area in pixels, and the scales."""

    top: int
    minutes: int
    slots: int

    @property
    def bottom(self) -> int:
        return self.top + _PLOT_HEIGHT

    @property
    def height(self) -> int:
        """Of the whole picture."""
        return self.bottom + _BELOW

    @property
    def right(self) -> int:
        return WIDTH - _RIGHT

    def x(self, minutes: float) -> float:
        width = (self.right - _LEFT) * (1 - _SPARE)
        return round(_LEFT + width * minutes / max(self.minutes, 1), 1)

    def y(self, slots: float) -> float:
        """Counts beyond the scale stand on its upper end."""
        part = min(slots, self.slots) / self.slots
        return round(self.bottom - (self.bottom - self.top) * part, 1)


def curve_svg(picture: CurvePicture) -> bytes:
    """The whole file, UTF-8."""
    title = [
        *folded(f"Slots against minutes: {picture.site}", _TITLE_LETTERS),
        *folded(picture.period, _TITLE_LETTERS),
    ]
    plot = _plot(picture, _TITLE_TOP + len(title) * _TITLE_LINE + _GAP)
    shapes = [
        *_title(title),
        *_grid(plot),
        *_limit(picture, plot),
        *_line(picture.points, plot),
        *_marks(picture.points, plot),
        *_legend(picture.points, plot),
    ]
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{plot.height}" '
        f'viewBox="0 0 {WIDTH} {plot.height}" role="img" {_FONT} font-size="12" fill="#000">'
    )
    named = f"<title>{_text(' '.join(title))}</title>"
    ground = f'<rect width="{WIDTH}" height="{plot.height}" fill="#fff"/>'
    return "\n".join([head, named, ground, *shapes, "</svg>", ""]).encode()


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


def _plot(picture: CurvePicture, top: int) -> _Plot:
    counts = [point.slots for point in picture.points if point.slots is not None]
    most, least = max(counts, default=0), min(counts, default=0)
    end = min(most, _MOST_TIMES * max(picture.slots, least))
    if not counts or picture.slots <= _MOST_TIMES * end:
        end = max(end, picture.slots)
    step = _tick_step(end)
    return _Plot(
        top=top,
        minutes=picture.points[-1].tolerance_minutes,
        slots=step * (end // step + 1),
    )


def _tick_step(end: int) -> int:
    """The smallest of 1, 2, 5, 10, 20, 50 ... that makes few ticks."""
    for power in range(9):
        for factor in (1, 2, 5):
            if end <= factor * 10**power * _TICKS:
                return int(factor * 10**power)
    raise ValueError(f"no scale for {end} slots")


def _title(lines: Sequence[str]) -> Iterator[str]:
    for number, line in enumerate(lines):
        weight = "bold" if number < len(lines) - 1 else "normal"
        y = _TITLE_TOP + number * _TITLE_LINE
        yield f'<text x="16" y="{y}" font-size="14" font-weight="{weight}">{_text(line)}</text>'


def _grid(plot: _Plot) -> Iterator[str]:
    """Both axes with their ticks and names."""
    step = _tick_step(plot.slots)
    for slots in range(0, plot.slots + 1, step):
        y = plot.y(slots)
        yield _stroke(_LEFT, y, plot.right, y, "#000" if not slots else "#ccc")
        yield _label(_LEFT - 8, y + 4, f"{slots:,}", "end")
    for minutes in _minute_ticks(plot.minutes):
        x = plot.x(minutes)
        yield _stroke(x, plot.bottom, x, plot.bottom + 5, "#000")
        yield _label(x, plot.bottom + 19, str(minutes), "middle")
    yield _stroke(_LEFT, plot.top, _LEFT, plot.bottom, "#000")
    middle = (_LEFT + plot.right) / 2
    yield _label(middle, plot.bottom + 40, "tolerance in minutes", "middle")
    turned = f'transform="rotate(-90 24 {(plot.top + plot.bottom) / 2})"'
    yield _label(24, (plot.top + plot.bottom) / 2, "slots a program takes", "middle", turned)


def _minute_ticks(most: int) -> range:
    step = next(step for step in (1, 2, 5, 10, 20) if most <= 12 * step or step == 20)
    return range(0, most + 1, step)


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
        yield _label(plot.right + 8, first + 15 * number, line, "start")


def _line(points: Sequence[CurvePoint], plot: _Plot) -> Iterator[str]:
    """The step line, from the first tolerance that has a program at all."""
    known = [point for point in points if point.slots is not None]
    if not known:
        return
    first = known[0]
    path = f"M {plot.x(first.tolerance_minutes)} {plot.y(first.slots or 0)}"
    for _, after in pairwise(known):
        path += f" H {plot.x(after.tolerance_minutes)} V {plot.y(after.slots or 0)}"
    yield f'<path d="{path}" fill="none" stroke="#000" stroke-width="2"/>'


def _marks(points: Sequence[CurvePoint], plot: _Plot) -> Iterator[str]:
    """A mark for each tolerance, and the count where it is another than before and has room."""
    before: int | None = None
    taken: list[tuple[float, float, float]] = []
    for point in points:
        x, y = plot.x(point.tolerance_minutes), plot.y(point.slots or 0)
        yield _mark(x, y, _kind(point, plot))
        if point.slots is not None and point.slots != before:
            count = f"{point.slots:,}"
            place = (x + 6, y - 6, x + 6 + _LETTER_WIDTH * len(count))
            if not any(_overlap(place, other) for other in taken):
                taken.append(place)
                yield _label(place[0], place[1], count, "start", _HALO)
        before = point.slots


def _overlap(one: tuple[float, float, float], other: tuple[float, float, float]) -> bool:
    """Whether two labels, as (left, base line, right), would stand on each other."""
    apart = abs(one[1] - other[1]) >= _LETTER_HEIGHT
    return not apart and one[0] < other[2] and other[0] < one[2]


_HALO = 'stroke="#fff" stroke-width="3" paint-order="stroke"'
_NO_PROGRAM = "no program of any length"
_FITS = "fits the controller"
_TOO_MANY = "does not fit it"
_BEYOND = "more than the scale shows"
_KINDS = (_FITS, _TOO_MANY, _BEYOND, _NO_PROGRAM)


def _kind(point: CurvePoint, plot: _Plot) -> str:
    if point.slots is None:
        return _NO_PROGRAM
    if point.slots > plot.slots:
        return _BEYOND
    return _FITS if point.fits else _TOO_MANY


def _mark(x: float, y: float, kind: str) -> str:
    if kind == _NO_PROGRAM:
        path = f"M {x - 4} {y - 4} L {x + 4} {y + 4} M {x - 4} {y + 4} L {x + 4} {y - 4}"
        return f'<path d="{path}" fill="none" stroke="#000" stroke-width="2"/>'
    if kind == _BEYOND:
        path = f"M {x - 6} {y + 4} L {x + 6} {y + 4} L {x} {y - 7} Z"
        return f'<path d="{path}" fill="#fff" stroke="#000" stroke-width="1.5"/>'
    fill = "#000" if kind == _FITS else "#fff"
    return f'<circle cx="{x}" cy="{y}" r="4.5" fill="{fill}" stroke="#000" stroke-width="1.5"/>'


def _legend(points: Sequence[CurvePoint], plot: _Plot) -> Iterator[str]:
    x, y = float(_LEGEND_LEFT), plot.height - 16
    shown = {_kind(point, plot) for point in points}
    for kind in _KINDS:
        if kind in shown:
            yield _mark(x + 6, y - 4, kind)
            yield _label(x + 18, y, kind, "start")
            x += 18 + _LETTER_WIDTH * len(kind) + 16


def _stroke(x: float, y: float, to_x: float, to_y: float, colour: str, more: str = "") -> str:
    place = f'x1="{x}" y1="{y}" x2="{to_x}" y2="{to_y}"'
    return f'<line {place} stroke="{colour}" {more}/>'.replace(" />", "/>")


def _label(x: float, y: float, text: str, anchor: str, more: str = "") -> str:
    place = f'x="{round(x, 1)}" y="{round(y, 1)}" text-anchor="{anchor}"'
    return f"<text {place} {more}>{_text(text)}</text>".replace(" >", ">", 1)


def _text(text: str) -> str:
    return escape(text, quote=False)
