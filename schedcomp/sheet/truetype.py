"""A TrueType font with only some of its letters: outlines, widths and the letters' numbers.

As the OpenType specification has these tables. What joins or places letters is left out, so this is
for writing that needs none: Chinese, Japanese, Korean.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise

_KEPT_AS_IT_IS = ("OS/2", "name")
_WORDS, _SCALE, _MORE, _SCALE_XY, _TWO_BY_TWO = 0x1, 0x8, 0x20, 0x40, 0x80
_CHECKSUM_OF_FILE = 0xB1B0AFBA


def with_letters(font: bytes, letters: Iterable[int]) -> bytes:
    """The font for some code points; those that it lacks are left out."""
    tables = _tables(font)
    numbers = _glyph_numbers(tables["cmap"])
    wanted = {letter: numbers[letter] for letter in sorted(letters) if letter in numbers}
    outlines = _outlines(tables)
    order = _with_parts(outlines, [0, *wanted.values()])
    places = {glyph: place for place, glyph in enumerate(order)}
    made = {name: tables[name] for name in _KEPT_AS_IT_IS if name in tables}
    made["glyf"], made["loca"] = _glyphs(outlines, order, places)
    made["hmtx"] = b"".join(_width(tables, glyph) for glyph in order)
    made["cmap"] = _letter_table({letter: places[glyph] for letter, glyph in wanted.items()})
    made["maxp"] = tables["maxp"][:4] + struct.pack(">H", len(order)) + tables["maxp"][6:]
    made["hhea"] = tables["hhea"][:34] + struct.pack(">H", len(order))
    made["head"] = tables["head"][:8] + bytes(4) + tables["head"][12:50] + struct.pack(">hh", 1, 0)
    made["post"] = struct.pack(">l", 0x30000) + tables["post"][4:32]
    return _file(made)


def _tables(font: bytes) -> dict[str, bytes]:
    (count,) = struct.unpack_from(">H", font, 4)
    found = {}
    for number in range(count):
        name, _, start, length = struct.unpack_from(">4sLLL", font, 12 + 16 * number)
        found[name.decode("latin-1")] = font[start : start + length]
    return found


def _glyph_numbers(cmap: bytes) -> dict[int, int]:
    """The glyph of each code point, from the subtables of formats 4 and 12."""
    found: dict[int, int] = {}
    (count,) = struct.unpack_from(">H", cmap, 2)
    for number in range(count):
        (start,) = struct.unpack_from(">L", cmap, 8 + 8 * number)
        (kind,) = struct.unpack_from(">H", cmap, start)
        if kind == 12:
            (groups,) = struct.unpack_from(">L", cmap, start + 12)
            for group in range(groups):
                first, last, glyph = struct.unpack_from(">LLL", cmap, start + 16 + 12 * group)
                found |= {first + n: glyph + n for n in range(last - first + 1)}
        elif kind == 4:
            found |= dict(_segments(cmap, start))
    return {letter: glyph for letter, glyph in found.items() if glyph}


def _segments(cmap: bytes, start: int) -> Iterator[tuple[int, int]]:
    doubled = struct.unpack_from(">H", cmap, start + 6)[0]
    for place in range(start + 14, start + 14 + doubled, 2):
        (last,) = struct.unpack_from(">H", cmap, place)
        first, delta, offset = (
            struct.unpack_from(">H", cmap, place + 2 + doubled * n)[0] for n in (1, 2, 3)
        )
        for letter in range(first, min(last, 0xFFFE) + 1):
            glyph = letter
            if offset:
                at = place + 2 + doubled * 3 + offset + 2 * (letter - first)
                (glyph,) = struct.unpack_from(">H", cmap, at)
            yield letter, (glyph + delta) % 0x10000 if glyph else 0


def _outlines(tables: Mapping[str, bytes]) -> list[bytes]:
    (is_long,) = struct.unpack_from(">h", tables["head"], 50)
    loca = tables["loca"]
    size = 4 if is_long else 2
    starts = [
        n if is_long else 2 * n
        for (n,) in struct.iter_unpack(">L" if is_long else ">H", loca[: len(loca) // size * size])
    ]
    return [tables["glyf"][a:b] for a, b in pairwise(starts)]


def _parts(outline: bytes) -> Iterator[int]:
    """Where in an outline the numbers of the glyphs stand that it is put together from."""
    if len(outline) < 10 or struct.unpack_from(">h", outline)[0] >= 0:
        return
    place, flags = 10, _MORE
    while flags & _MORE:
        (flags,) = struct.unpack_from(">H", outline, place)
        yield place + 2
        place += 8 if flags & _WORDS else 6
        place += 2 if flags & _SCALE else 4 if flags & _SCALE_XY else 8 * bool(flags & _TWO_BY_TWO)


def _with_parts(outlines: list[bytes], glyphs: Iterable[int]) -> list[int]:
    """Each glyph once, and behind them those that they are put together from."""
    order = list(dict.fromkeys(glyphs))
    for glyph in order:  # grows on the way
        for place in _parts(outlines[glyph]):
            (part,) = struct.unpack_from(">H", outlines[glyph], place)
            if part not in order:
                order.append(part)
    return order


def _glyphs(
    outlines: list[bytes], order: list[int], places: Mapping[int, int]
) -> tuple[bytes, bytes]:
    made, starts = bytearray(), [0]
    for glyph in order:
        outline = bytearray(outlines[glyph])
        for place in _parts(outlines[glyph]):
            (part,) = struct.unpack_from(">H", outline, place)
            struct.pack_into(">H", outline, place, places[part])
        made += outline + bytes(-len(outline) % 4)
        starts.append(len(made))
    return bytes(made), struct.pack(f">{len(starts)}L", *starts)


def _width(tables: Mapping[str, bytes], glyph: int) -> bytes:
    """Width and left side of a glyph; the last width is that of all further ones."""
    (count,) = struct.unpack_from(">H", tables["hhea"], 34)
    hmtx = tables["hmtx"]
    if glyph < count:
        return hmtx[4 * glyph : 4 * glyph + 4]
    side = 4 * count + 2 * (glyph - count)
    return hmtx[4 * count - 4 : 4 * count - 2] + hmtx[side : side + 2]


def _letter_table(places: Mapping[int, int]) -> bytes:
    groups = b"".join(struct.pack(">LLL", c, c, place) for c, place in sorted(places.items()))
    head = struct.pack(">HHLLL", 12, 0, 16 + len(groups), 0, len(places))
    return struct.pack(">HHHHL", 0, 1, 3, 10, 12) + head + groups


def _sum(data: bytes) -> int:
    padded = data + bytes(-len(data) % 4)
    total: int = sum(struct.unpack(f">{len(padded) // 4}L", padded))
    return total & 0xFFFFFFFF


def _file(tables: Mapping[str, bytes]) -> bytes:
    count = len(tables)
    power = count.bit_length() - 1
    head = struct.pack(">LHHHH", 0x10000, count, 16 << power, power, 16 * (count - (1 << power)))
    start, rows, body = 12 + 16 * count, b"", b""
    for name, data in sorted(tables.items()):
        rows += struct.pack(">4sLLL", name.encode(), _sum(data), start + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    made = bytearray(head + rows + body)
    at = made.index(b"head", 12, start)
    (of_head,) = struct.unpack_from(">L", made, at + 8)
    struct.pack_into(">L", made, of_head + 8, (_CHECKSUM_OF_FILE - _sum(bytes(made))) & 0xFFFFFFFF)
    return bytes(made)
