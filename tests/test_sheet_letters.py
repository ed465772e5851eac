"""Fonts inside the HTML: which come in, and that a font cut down keeps its letters.

Table layouts and the checksum 0xB1B0AFBA of a whole file: OpenType specification 1.9, `head`.
"""

from __future__ import annotations

import base64
import re
import struct
from importlib.resources import files

import pytest

from schedcomp.sheet.letters import font_faces
from schedcomp.sheet.truetype import _glyph_numbers, _outlines, _tables, _width, with_letters

FONTS = files("schedcomp").joinpath("data", "fonts")


@pytest.mark.parametrize(
    ("text", "ranges"),
    [
        ("Plain – “quotes” √ é", []),
        ("Ελληνικά Привет", []),
        ("مرحبا", ["U+600-6FF"]),
        ("שלום नमस्ते", ["U+590-5FF", "U+900-97F"]),
        ("북쪽", ["U+1100-11FF"]),
        ("北側駐車場の照明", ["U+2E80-312F"]),
    ],
)
def test_fonts_come_in_for_letters_that_a_device_may_lack(text: str, ranges: list[str]) -> None:
    faces = font_faces(text)
    assert re.findall(r"unicode-range: ([^,;]+)", faces) == ranges
    assert "http" not in faces


def test_a_large_font_comes_with_the_letters_of_the_text_alone() -> None:
    [data] = re.findall(r"base64,([A-Za-z0-9+/=]+)", font_faces("北側 北"))
    made = base64.b64decode(data)
    assert len(made) < 20_000
    assert set(_glyph_numbers(_tables(made)["cmap"])) == {ord("北"), ord("側")}


@pytest.mark.parametrize(
    ("name", "letters"),
    [
        ("DroidSansFallbackFull.ttf", "北側駐車場の照明"),
        ("NanumGothic.ttf", "북쪽 주차장"),
        ("NotoSans-Regular.ttf", "Åéñ"),  # put together from a letter and an accent
    ],
)
def test_letters_keep_outline_and_width(name: str, letters: str) -> None:
    font = FONTS.joinpath(name).read_bytes()
    made = with_letters(font, map(ord, letters))
    words = sum(struct.unpack(f">{len(made) // 4}L", made)) & 0xFFFFFFFF
    assert words == 0xB1B0AFBA
    old, new = _tables(font), _tables(made)
    numbers, places = _glyph_numbers(old["cmap"]), _glyph_numbers(new["cmap"])
    before, after = _outlines(old), _outlines(new)
    assert set(places) == {ord(letter) for letter in letters}
    assert len(after) == struct.unpack_from(">H", new["maxp"], 4)[0]
    for letter, place in places.items():
        outline, kept = before[numbers[letter]], after[place]
        assert kept[:10] == outline[:10]
        assert len(kept) - len(outline) in range(4)
        if outline and struct.unpack_from(">h", outline)[0] >= 0:
            assert kept.startswith(outline)
        assert _width(new, place) == _width(old, numbers[letter])


def test_the_same_letters_give_the_same_bytes() -> None:
    font = FONTS.joinpath("NanumGothic.ttf").read_bytes()
    assert with_letters(font, map(ord, "쪽북")) == with_letters(font, map(ord, "북쪽"))
