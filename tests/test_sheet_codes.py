"""Codes to scan: a site file survives them, and nothing else passes for one."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedcomp.answers import recover
from schedcomp.answers.answer import BAD_FILES, CLEAN, USAGE
from schedcomp.sheet.qr import MOST_PARTS, qr_svg, recovered, site_texts

SAMPLES = sorted((Path(__file__).parents[1] / "sample_sites").glob("*.toml"))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_comes_back_from_its_codes(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    codes = site_texts(text)
    assert codes
    assert recovered(codes[::-1]).text == text


@given(st.text(alphabet=st.characters(codec="utf-8"), max_size=3000))
def test_any_text_comes_back(text: str) -> None:
    codes = site_texts(text)
    assert recovered(codes).text == text
    assert all(code.isalnum() and code.isascii() and code.upper() == code for code in codes)


@given(st.lists(st.text(max_size=40), max_size=4))
def test_nothing_else_is_taken_for_a_code(texts: list[str]) -> None:
    assert recovered(texts).text is None


def long_text() -> str:
    return "".join(f"{n * 7919 % 1000003:x} " for n in range(900))


def test_spaces_case_and_order_do_not_matter() -> None:
    codes = site_texts(long_text())
    assert len(codes) > 1
    scanned = [f" {code[:30].lower()}\n{code[30:]} " for code in reversed(codes)]
    assert recovered(scanned).text == long_text()


def test_missing_parts_and_wrong_letters_are_told() -> None:
    first, *rest = site_texts(long_text())
    answer = recover.recover(rest, None)
    assert answer.exit_code == USAGE
    assert "number 1 is missing" in answer.findings[0].title
    wrong = first[:40] + ("B" if first[40] == "A" else "A") + first[41:]
    damaged = recover.recover([wrong, *rest], None)
    assert (damaged.exit_code, damaged.findings[0].code) == (USAGE, "E742")
    other = recover.recover([first, "what is this"], None)
    assert (other.exit_code, other.findings[0].code) == (USAGE, "E740")
    assert "Text 2" in other.findings[0].title


def test_a_file_that_is_there_is_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    assert recover.recover(list(site_texts("a = 1\n")), str(path)).exit_code == CLEAN
    assert path.read_text(encoding="utf-8") == "a = 1\n"
    again = recover.recover(list(site_texts("b = 2\n")), str(path))
    assert again.exit_code == BAD_FILES
    assert path.read_text(encoding="utf-8") == "a = 1\n"


def test_a_file_that_is_too_long_has_no_codes() -> None:
    text = "".join(f"{n * 2654435761 % 4294967296:08x}" for n in range(4000))
    assert site_texts(text) == ()
    assert len(site_texts(text[:3000])) <= MOST_PARTS


def test_a_code_is_a_plain_drawing() -> None:
    drawn = qr_svg("7F3A-92C1")
    assert drawn.startswith("<svg")
    assert 'fill="#fff"' in drawn
    assert "<script" not in drawn
