"""Fonts inside the HTML for letters that the reader's device may not have.

Latin, Greek and Cyrillic are on every device. Fonts whose letters join or change places go in
whole, the large ones of Chinese, Japanese and Korean with the letters that stand on the sheet.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterator
from importlib.resources import files

from schedcomp.records import Record
from schedcomp.sheet.truetype import with_letters

FAMILY = "sheet letters"


class _Script(Record):
    """Blocks of Unicode and the font that has them."""

    font: str
    blocks: tuple[tuple[int, int], ...]
    is_large: bool = False

    def has(self, letter: int) -> bool:
        return any(first <= letter <= last for first, last in self.blocks)


_SCRIPTS = (
    _Script("NotoSansArmenian-Regular.ttf", ((0x530, 0x58F),)),
    _Script("NotoSansHebrew-Regular.ttf", ((0x590, 0x5FF), (0xFB1D, 0xFB4F))),
    _Script(
        "NotoSansArabic-Regular.ttf",
        ((0x600, 0x6FF), (0x750, 0x77F), (0xFB50, 0xFDFF), (0xFE70, 0xFEFF)),
    ),
    _Script("NotoSansDevanagari-Regular.ttf", ((0x900, 0x97F),)),
    _Script("NotoSansBengali-Regular.ttf", ((0x980, 0x9FF),)),
    _Script("NotoSansTamil-Regular.ttf", ((0xB80, 0xBFF),)),
    _Script("NotoSansThai-Regular.ttf", ((0xE00, 0xE7F),)),
    _Script("NotoSansGeorgian-Regular.ttf", ((0x10A0, 0x10FF), (0x1C90, 0x1CBF))),
    _Script("NanumGothic.ttf", ((0x1100, 0x11FF), (0x3130, 0x318F), (0xAC00, 0xD7AF)), True),
    _Script(
        "DroidSansFallbackFull.ttf",
        ((0x2E80, 0x312F), (0x3190, 0x9FFF), (0xF900, 0xFAFF), (0xFF00, 0xFFEF)),
        True,
    ),
)


def font_faces(text: str) -> str:
    """The rules of a style sheet that bring the fonts for some text; "" for Latin alone."""
    letters = {ord(letter) for letter in text if letter > "\u0530"}
    return "".join(_face(script, letters) for script in _SCRIPTS if any(map(script.has, letters)))


def _face(script: _Script, letters: set[int]) -> str:
    font = files("schedcomp").joinpath("data", "fonts", script.font).read_bytes()
    if script.is_large:
        font = with_letters(font, filter(script.has, letters))
    ranges = ", ".join(_ranges(script))
    return (
        f'@font-face {{ font-family: "{FAMILY}"; unicode-range: {ranges}; '
        f'src: url("data:font/ttf;base64,{b64encode(font).decode()}"); }}\n'
    )


def _ranges(script: _Script) -> Iterator[str]:
    for first, last in script.blocks:
        yield f"U+{first:X}-{last:X}"
