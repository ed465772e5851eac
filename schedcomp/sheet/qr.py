"""Codes to scan: the program code, and the site file itself.

The site file is compressed and written in letters and figures that any keyboard has, in parts
that a telephone reads at print size: `SC1A2` is part 1 of 2 of format A.
"""

from __future__ import annotations

import io
import zlib
from base64 import b32decode, b32encode
from binascii import Error as NotThatAlphabet
from collections.abc import Sequence

from schedcomp.records import Record

_MARK = "SC"
_FORMAT = "A"
_LETTERS = 1100
"""Letters of one code: about 110 squares a side, so that one is half a millimetre on paper."""
_MASK_OF_LONG_TEXTS = 3
"""Packed text looks random under every mask, and trying all of them takes most of the time."""
MOST_PARTS = 9
_MOST_BYTES = 4_000_000
"""Nothing that was scanned is unpacked further than this."""


def qr_svg(text: str) -> str:
    """A code with its quiet zone, black on white, as a drawing."""
    import segno

    out = io.BytesIO()
    mask = _MASK_OF_LONG_TEXTS if len(text) > _LETTERS // 4 else None
    segno.make(text, error="m", micro=False, boost_error=False, mask=mask).save(
        out, kind="svg", xmldecl=False, svgclass="code", lineclass=None, light="#fff", border=4,
        omitsize=True, unit=None, nl=False,
    )  # fmt: skip
    return out.getvalue().decode("ascii")


def site_texts(site_text: str) -> tuple[str, ...]:
    """The site file as texts for codes; () if it would take more than `MOST_PARTS`."""
    packed = b32encode(zlib.compress(site_text.encode(), 9)).decode("ascii").rstrip("=")
    count = max(1, -(-len(packed) // _LETTERS))
    if count > MOST_PARTS:
        return ()
    size = -(-len(packed) // count)
    return tuple(
        f"{_MARK}{number}{_FORMAT}{count}{packed[(number - 1) * size : number * size]}"
        for number in range(1, count + 1)
    )


class Recovered(Record):
    """`text` None: it could not be read back, because of `missing` parts or for a wrong letter.

    `place` is the place, from 1, of the first text that is no part.
    """

    text: str | None
    missing: tuple[int, ...] = ()
    place: int = 0


def recovered(texts: Sequence[str]) -> Recovered:
    """The site file from the texts of its codes, in any order; spaces and case do not matter."""
    parts: dict[int, str] = {}
    counts = set()
    for place, given in enumerate(texts, 1):
        text = "".join(given.split()).upper()
        head = text[: len(_MARK) + 3]
        if not _is_head(head):
            return Recovered(None, place=place)
        parts[int(head[2])] = text[len(head) :]
        counts.add(int(head[4]))
    if len(counts) != 1:
        return Recovered(None, place=len(texts))
    missing = tuple(n for n in range(1, counts.pop() + 1) if n not in parts)
    if missing:
        return Recovered(None, missing=missing)
    return Recovered(_unpacked("".join(parts[n] for n in sorted(parts))))


def _is_head(head: str) -> bool:
    return (
        len(head) == len(_MARK) + 3
        and head.startswith(_MARK)
        and head[2] in "123456789"
        and head[3] == _FORMAT
        and head[4] in "123456789"
        and head[2] <= head[4]
    )


def _unpacked(packed: str) -> str | None:
    try:
        data = b32decode(packed + "=" * (-len(packed) % 8))
        reader = zlib.decompressobj()
        text = reader.decompress(data, _MOST_BYTES)
        return text.decode() if reader.eof else None
    except (NotThatAlphabet, ValueError, zlib.error):
        return None
