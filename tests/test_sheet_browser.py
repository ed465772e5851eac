"""The sheet in a real browser: choosing nights, phone width, dark mode, and without scripts."""

from __future__ import annotations

import json
import shutil
import subprocess
from base64 import b64decode
from pathlib import Path
from typing import Any

import pytest
from pypdfium2 import PdfDocument

from schedcomp.sheet.html import sheet_html
from tests import made_up
from tests.sheets import filled, sheet

FOLDER = Path(__file__).parent / "browser"
PROGRAMS = ("chromium", "chromium-browser")


def missing() -> str:
    """What a browser test needs and is not here, "" if nothing."""
    if not any(shutil.which(name) for name in PROGRAMS):
        return "no Chromium on this machine: install the package chromium"
    if not shutil.which("node"):
        return "no Node.js on this machine: install the package nodejs"
    if not (FOLDER / "node_modules" / "playwright-core").is_dir():
        return "playwright-core is not installed: npm install --prefix tests/browser"
    return ""


@pytest.fixture(scope="module")
def looked(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    if missing():
        pytest.skip(missing())
    path = tmp_path_factory.mktemp("sheet") / "sheet.html"
    path.write_bytes(sheet_html(sheet(made_up.WITH_SPECIAL_DAYS)))
    browser = next(filter(None, map(shutil.which, PROGRAMS)))
    done = subprocess.run(
        ["node", str(FOLDER / "look.mjs"), browser, str(path)],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    record: dict[str, Any] = json.loads(done.stdout)
    return record


def test_no_fault_and_nothing_fetched(looked: dict[str, Any]) -> None:
    assert looked["faults"] == []
    assert looked["fetched"] == []


def test_a_date_is_read_with_times_and_reasons(looked: dict[str, Any]) -> None:
    told = looked["desk"]["picked"]
    assert told.startswith("Sat 13 Mar 2027, evening, to Sun 14 Mar, noon")
    assert "18:16" in told
    assert "dusk (sunset + 15 min), because “every day: usual”" in told
    assert "clock change: Sun 14 Mar 2027 02:00 goes forward to 03:00" in told


def test_keys_and_buttons_choose_nights(looked: dict[str, Any]) -> None:
    desk = looked["desk"]
    assert desk["button"].startswith("Sun 14 Mar 2027")
    assert desk["left"].startswith("Sat 13 Mar 2027")
    assert desk["end"].startswith("Mon 15 Mar 2027")


def test_pointing_at_a_picture_reads_that_night(looked: dict[str, Any]) -> None:
    """Five columns from 11 to 15 March: the middle of the drawing is the third."""
    assert looked["desk"]["hovered"].startswith("Sat 13 Mar 2027")
    assert looked["desk"]["cursors"] == 2


@pytest.mark.parametrize("width", ["desk", "phone"])
def test_the_page_is_no_wider_than_the_screen(looked: dict[str, Any], width: str) -> None:
    needed, there = looked[width]["wide"]
    assert needed <= there


def test_the_panel_hides_nothing_that_is_jumped_to(looked: dict[str, Any]) -> None:
    """The title stands below it, with the head of its page and little more between them."""
    assert 0 < looked["phone"]["clear"] < 150


def test_dark_mode(looked: dict[str, Any]) -> None:
    assert looked["desk"]["paper"] == "rgb(255, 255, 255)"
    assert looked["night"] == {"paper": "rgb(20, 20, 20)", "ground": "rgb(20, 20, 20)"}


def test_without_scripts_all_is_there_but_the_choosing(looked: dict[str, Any]) -> None:
    plain = looked["plain"]
    assert not plain["panel"]
    assert "scripts, which are off" in plain["note"]
    assert plain["pictures"] == 2
    for words in ("When the lights are on", "18:15 to 23:00", "Key these in", "Door label"):
        assert words in plain["words"]


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_printed_pages_are_numbered_and_none_is_half_empty(
    looked: dict[str, Any], size: str
) -> None:
    """The last one ends where it ends: only the PDF fills it."""
    document = PdfDocument(b64decode(looked["paper"][size]))
    texts = [document[n].get_textpage().get_text_bounded() for n in range(len(document))]
    parts = filled(document)
    document.close()
    assert all(f"Page {n} of {len(texts)}" in text for n, text in enumerate(texts, 1))
    assert min(parts[:-1]) > 0.5, parts


def test_in_print_each_page_has_its_foot_and_nothing_of_the_screen(looked: dict[str, Any]) -> None:
    assert looked["print"] == {"screen": False, "foot": True}
