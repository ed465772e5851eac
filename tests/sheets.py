"""Sheets made by hand, for tests: the facts around a compilation."""

from __future__ import annotations

import re
from datetime import date

from pypdfium2 import PdfDocument

from schedcomp.compiled import Compiled
from schedcomp.sheet.blocks import Beside, Block, Box, Cell, Facts, Heading, Items, Table, Text
from schedcomp.sheet.facts import SheetFacts, sheet_facts
from schedcomp.sheet.making import Job, Making
from tests.made_up import VERSIONS

CODE = "7F3A-92C1"
COMMISSION = date(2027, 3, 12)


def making(
    made_on: date = date(2027, 3, 1),
    commission: date | None = COMMISSION,
    code: str = CODE,
    text: str = "schedcomp = 1\n",
) -> Making:
    return Making(
        made_on=made_on,
        commission=commission,
        site_file="lot.toml",
        site_text=text,
        versions=VERSIONS,
        program_code=code,
    )


def job(compiled: Compiled) -> Job:
    return Job(compiled=compiled, making=making(code=CODE if compiled.may_write_program else ""))


def sheet(compiled: Compiled) -> SheetFacts:
    return sheet_facts(compiled, job(compiled).making)


def texts(blocks: tuple[Block, ...]) -> list[str]:
    """Every text of some blocks in order, those of table cells joined by ` | ` row by row."""
    found: list[str] = []
    for block in blocks:
        match block:
            case Heading() | Text():
                found.append(block.text)
            case Items():
                found += block.items
            case Facts():
                found += [f"{name} | {value}" for name, value in block.rows]
            case Table():
                found.append(" | ".join(column.title for column in block.columns))
                found += [" | ".join(shown(cell) for cell in cells) for cells in block.rows]
            case Box():
                found += [block.title, *texts(block.blocks)]
            case Beside():
                found += [text for column in block.columns for text in texts(column)]
    return found


def shown(cell: Cell) -> str:
    return {"tick": "[ ]", "blank": "____"}.get(cell.style, cell.text.replace("\n", " / "))


def page(facts: SheetFacts, key: str) -> str:
    """All texts of one page, a line each."""
    [found] = [p for p in facts.pages if p.key == key]
    return "\n".join([found.title, *texts(found.blocks)])


def filled(document: PdfDocument) -> list[float]:
    """How far down each page something stands between its head and its foot, as a part of 1."""
    parts = []
    for number in range(len(document)):
        shown = document[number].render(scale=0.5, grayscale=True).to_numpy()
        height = len(shown)
        body = shown[int(0.075 * height) : int(0.9 * height)]
        dark = (body < 200).any(axis=1).nonzero()[0]
        parts.append((dark[-1] + 1) / len(body) if len(dark) else 0.0)
    return parts


def plain_text(html: str) -> str:
    """What a reader sees of some HTML, roughly: no elements, spaces squeezed."""
    body = re.sub(r"(?s)<(style|script)\b.*?</\1>", " ", html)
    return " ".join(re.sub(r"<[^>]*>", " ", body).split())
