"""The sheet as HTML, PDF and drawings: whole, inert, and the same each time."""

from __future__ import annotations

import json
import re
from datetime import date
from html.parser import HTMLParser
from itertools import pairwise
from xml.etree import ElementTree as ET

import pypdfium2 as pdfium
import pytest

from schedcomp.compiled import Compiled
from schedcomp.model import HOUR, MINUTE, ONE_DAY
from schedcomp.records import replace
from schedcomp.sheet.blocks import Column, Items, Page, Table, Text, row
from schedcomp.sheet.facts import SheetFacts, picture_files, sheet_facts
from schedcomp.sheet.html import inert_json, sheet_html
from schedcomp.sheet.owner import owner_page
from schedcomp.sheet.pdf import sheet_pdf
from schedcomp.sheet.picture import HOUR_HEIGHT
from schedcomp.site import Paper, People, Unit
from tests import made_up
from tests.sheets import filled, job, making, plain_text, sheet

HOSTILE = '=cmd|\'!A0 <script>alert(1)</script> </style> "x" & $1+1$ #import *b* \u202egnp'
LETTERS = "株式会社 Ελληνικά Привет مرحبا नमस्ते กรุงเทพ"


def hostile() -> Compiled:
    """Every text that a site file brings, as bad as it can be."""
    compiled = made_up.WITH_SPECIAL_DAYS
    circuits = tuple(replace(c, egress=HOSTILE, lamps=HOSTILE) for c in compiled.site.circuits)
    units = tuple(replace(u, label=f"{u.label} {HOSTILE}") for u in compiled.site.units)
    site = replace(
        compiled.site,
        name=f"{LETTERS} {HOSTILE}",
        circuits=circuits,
        units=units,
        people=People(owner=HOSTILE, call=HOSTILE),
        paper=Paper(revision=HOSTILE, replaces=HOSTILE, kept_at=HOSTILE),
        currency=HOSTILE,
    )
    renamed = tuple(replace(a, text=HOSTILE) for a in compiled.assumed)
    return replace(compiled, site=site, assumed=renamed)


class Seen(HTMLParser):
    """Elements and attributes of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))


def seen(html: str) -> list[tuple[str, dict[str, str | None]]]:
    reader = Seen()
    reader.feed(html)
    return reader.elements


@pytest.fixture(scope="module")
def made() -> SheetFacts:
    return sheet(made_up.WITH_SPECIAL_DAYS)


@pytest.fixture(scope="module")
def bad() -> SheetFacts:
    return sheet(hostile())


def test_every_page_is_there_with_its_foot(made: SheetFacts) -> None:
    html = sheet_html(made).decode()
    pages = [
        a for tag, a in seen(html) if tag == "section" and "page" in (a["class"] or "").split()
    ]
    assert [a["id"] for a in pages] == [p.key for p in made.pages]
    text = plain_text(html)
    assert text.count("7F3A-92C1") >= len(made.pages)
    assert text.count("clock rules 2026.6") == len(made.pages) + 1  # the print's own foot


def test_nothing_is_fetched_and_nothing_runs_but_our_own(bad: SheetFacts) -> None:
    html = sheet_html(bad).decode()
    found = seen(html)
    for tag, attributes in found:
        assert tag not in ("link", "iframe", "img", "object", "embed", "base"), tag
        assert not any(name.startswith("on") for name in attributes), (tag, attributes)
        assert not {"src", "action"} & attributes.keys()
        if "href" in attributes:
            assert (attributes["href"] or "").startswith("#")
    assert sum(tag == "script" for tag, _ in found) == 2
    assert "http" not in re.sub(r"http://www\.w3\.org/2000/svg", "", html)
    assert "@import" not in html
    assert "url(http" not in html


def test_hostile_texts_stay_text(bad: SheetFacts) -> None:
    html = sheet_html(bad).decode()
    assert "<script>alert" not in html
    assert "\u202e" not in html
    assert "<script>alert(1)</script>" in unescaped(plain_text(html))


def unescaped(text: str) -> str:
    for written, letter in (("&lt;", "<"), ("&gt;", ">"), ("&#39;", "'"), ("&amp;", "&")):
        text = text.replace(written, letter)
    return text


def test_the_record_of_nights_is_read_back(made: SheetFacts) -> None:
    html = sheet_html(made).decode()
    found = re.search(r'<script type="application/json" id="nights">(.*?)</script>', html, re.S)
    assert found is not None
    book = json.loads(found[1])
    assert [n[0] for n in book["nights"]] == [f"2027-03-{d}" for d in range(11, 16)]
    night = book["nights"][1]
    assert night[1] == "Fri 12 Mar 2027, evening, to Sat 13 Mar, noon"
    rows = [(book["circuits"][c], what, shown) for c, what, shown, _ in night[3]]
    assert ("Lot poles", "on", "18:15") in rows
    assert ("Lot poles", "off", "23:00") in rows


def test_json_cannot_end_its_element() -> None:
    text = json.dumps("</script><!-- \u2028 &", ensure_ascii=False)
    made = inert_json(text)
    assert not re.search("[<>&\u2028]", made)
    assert json.loads(made) == json.loads(text)


def test_drawings_are_sound_and_carry_a_label(bad: SheetFacts) -> None:
    files = picture_files(bad)
    assert list(files) == ["year_1.svg", "year_2.svg"]
    for svg in files.values():
        root = ET.fromstring(svg)
        assert root.get("role") == "img"
        assert "2027-03-12 through 2027-03-15" in (root.get("aria-label") or "")
        kinds = {element.tag.split("}")[1] for element in root.iter()}
        assert kinds <= {"svg", "title", "rect", "path", "text", "g", "defs", "pattern"}
        lit = [e for e in root.iter() if e.get("class") == "lit" and e.tag.endswith("path")]
        assert len(lit) == 1


def test_all_lit_blocks_of_a_drawing_add_up(made: SheetFacts) -> None:
    """Heights of the one path, back in hours of the clock, without the repeated or skipped ones."""
    path = re.search(r'class="lit" d="([^"]+)"', made.pictures[0].svg)
    assert path is not None
    hours = sum(float(h) for h in re.findall(r"v([0-9.]+)h", path[1])) / HOUR_HEIGHT
    energy = made_up.WITH_SPECIAL_DAYS.energy[0]
    assert hours == pytest.approx(energy.hours, abs=0.05)


@pytest.mark.parametrize(("size", "points"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_pdf_on_either_paper(size: str, points: tuple[int, int]) -> None:
    compiled = hostile()
    paper = replace(compiled.site.paper, size=size)
    facts = sheet(replace(compiled, site=replace(compiled.site, paper=paper)))
    document = pdfium.PdfDocument(sheet_pdf(facts))
    pages = [document[n] for n in range(len(document))]
    assert {tuple(round(v) for v in p.get_size()) for p in pages} == {points}
    texts = [" ".join(p.get_textpage().get_text_bounded().split()) for p in pages]
    for number, text in enumerate(texts, start=1):
        assert f"{number} of {len(texts)}" in text
        assert "7F3A-92C1" in text
        assert "clock rules 2026.6" in text
    told = " ".join(texts).replace("\u200b", "").replace("\ufffe", "")
    for word in ("株式会社", "Ελληνικά", "Привет", "<script>alert(1)</script>", "#import *b*"):
        assert word in told, word
    document.close()


@pytest.mark.parametrize("size", ["a4", "letter"])
@pytest.mark.parametrize("lines", range(0, 48, 8))
def test_pages_are_numbered_and_filled_wherever_they_break(size: str, lines: int) -> None:
    """Later pages begin at other heights as the one before grows; none is half empty."""
    facts = sheet(made_up.WITH_SPECIAL_DAYS)
    grown = replace(
        facts.pages[2], blocks=(*facts.pages[2].blocks, Items(items=("a line",) * lines))
    )
    pages = (*facts.pages[:2], grown, *facts.pages[3:])
    document = pdfium.PdfDocument(sheet_pdf(replace(facts, pages=pages, paper_size=size)))
    told = [document[n].get_textpage().get_text_bounded() for n in range(len(document))]
    assert all(f"{n} of {len(told)}" in text for n, text in enumerate(told, start=1))
    assert min(filled(document)) > 0.5
    document.close()


def test_a_note_stays_with_its_table_wherever_a_page_ends() -> None:
    table = Table(columns=(Column(title="A"),), rows=(row("one"), row("two")), leads=True)
    pages = tuple(
        Page(
            key=f"p{n}", title="T", blocks=(Items(items=("a line",) * n), table, Text(text="note"))
        )
        for n in range(20, 60)
    )
    facts = replace(sheet(made_up.WITH_SPECIAL_DAYS), pages=pages)
    document = pdfium.PdfDocument(sheet_pdf(facts))
    for number in range(1, len(document)):
        text = document[number].get_textpage().get_text_bounded()
        assert text.splitlines()[1] != "note"
    document.close()


def test_long_names_of_units_stay_apart_above_their_boxes() -> None:
    compiled = made_up.WITH_SPECIAL_DAYS
    units = tuple(Unit(label=f"Switchboard {n}") for n in range(1, 6))
    facts = sheet(replace(compiled, site=replace(compiled.site, units=units)))
    keying = tuple(p for p in facts.pages if p.key == "keying")
    document = pdfium.PdfDocument(sheet_pdf(replace(facts, pages=keying)))
    text = document[0].get_textpage()
    found, places = text.search("Switchboard"), []
    while (place := found.get_next()) is not None:
        index, count = place
        boxes = [text.get_charbox(n) for n in range(index, index + count)]
        places.append((round(boxes[0][1]), boxes[0][0], boxes[-1][2]))
    document.close()
    heads = [p for p in places if sum(p[0] == other[0] for other in places) == len(units)]
    assert len(heads) >= 2 * len(units)
    for (row_of, _, right), (row_of_next, left, _) in pairwise(sorted(heads)):
        assert row_of != row_of_next or right < left


def of_many_circuits(count: int, size: str) -> Compiled:
    """Circuits of different times with two lit spans a night, and a name of 140 letters."""
    compiled = made_up.WITH_SPECIAL_DAYS
    year, circuit = compiled.year.circuits[0], compiled.site.circuits[0]
    channel = compiled.target.channels[0]
    names = [f"Lot poles along row {n} by the river" for n in range(1, count + 1)]
    spans = tuple(s for s in year.spans if s.end - s.start < 6 * HOUR)
    years = tuple(
        replace(
            year,
            circuit=name,
            channel=n,
            spans=tuple(
                part
                for s in spans
                for part in (
                    replace(s, start=s.start + n * MINUTE),
                    replace(s, start=s.end + HOUR, end=s.end + 2 * HOUR + n * MINUTE),
                )
            ),
        )
        for n, name in enumerate(names, 1)
    )
    site = replace(
        compiled.site,
        name=("Reading rooms and garden store lots, yards, docks and quays, " * 3)[:140],
        circuits=tuple(
            replace(circuit, name=name, channel=y.channel)
            for name, y in zip(names, years, strict=True)
        ),
        paper=Paper(size=size, replaces="2026-11-30, 7F3A-92C1", clock="12 hour"),
        people=People(call="the duty electrician, day and night"),
    )
    channels = tuple(replace(channel, channel=y.channel, circuit=y.circuit) for y in years)
    return replace(
        compiled,
        site=site,
        year=replace(compiled.year, circuits=years),
        target=replace(compiled.target, channels=channels),
        nights_without_light=tuple(date(2027, 1, 1) + n * 9 * ONE_DAY for n in range(20)),
    )


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_the_owner_has_one_page_of_eight_circuits_and_a_long_name(size: str) -> None:
    compiled = of_many_circuits(8, size)
    facts = sheet(made_up.WITH_SPECIAL_DAYS)
    alone = replace(
        facts, title=compiled.site.name, paper_size=size, pages=(owner_page(job(compiled)),)
    )
    document = pdfium.PdfDocument(sheet_pdf(alone))
    assert len(document) == 1
    told = document[0].get_textpage().get_text_bounded()
    document.close()
    for word in ("Lot poles along row 8", "12:00\u00a0midnight to 1:08", "Signature", "1 of 1"):
        assert word in told, word


def test_a_marked_sheet_is_marked_on_every_page() -> None:
    facts = sheet(made_up.NOT_FITTING)
    document = pdfium.PdfDocument(sheet_pdf(facts))
    for number in range(len(document)):
        assert "DOES NOT FIT" in document[number].get_textpage().get_text_bounded()
    document.close()
    html = sheet_html(facts).decode()
    assert html.count('<strong class="mark">DOES NOT FIT</strong>') == len(facts.pages) + 1


def test_the_same_bytes_each_time() -> None:
    first, again = (sheet_facts(made_up.WITH_SPECIAL_DAYS, making()) for _ in range(2))
    assert sheet_html(first) == sheet_html(again)
    assert sheet_pdf(first) == sheet_pdf(again)
    later = sheet_facts(made_up.WITH_SPECIAL_DAYS, making(made_on=date(2027, 3, 9)))
    assert sheet_html(later) != sheet_html(first)


def test_a_short_period_has_dates_below_the_drawing(made: SheetFacts) -> None:
    shown = re.findall(r">([^<]+)</text>", made.pictures[0].svg)
    assert [text for text in shown if text.endswith(" Mar")] == [f"{d} Mar" for d in range(11, 16)]
