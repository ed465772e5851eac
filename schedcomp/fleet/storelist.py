"""A store list: one row a site, as jobs. What is wrong with a row is that site's alone."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from schedcomp.diag import Diagnostic, Source, SourceRange
from schedcomp.fleet.cells import MOST_CELLS, Cell, Row, rows
from schedcomp.fleet.columns import SITE_ID, TEMPLATE, Column, read_columns
from schedcomp.fleet.job import Override, SiteJob
from schedcomp.messages import fleet as messages
from schedcomp.near import quoted
from schedcomp.records import replace
from schedcomp.textfile import read_bytes, source_from_bytes

LARGEST_BYTES = 20_000_000
MOST_ROWS = 100_000
EXAMPLE = "stores.csv"

_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}")
_DEVICE = re.compile(r"(?i)con|prn|aux|nul|com[0-9]|lpt[0-9]")
"""Names that one operating system keeps for itself."""

Jobs = tuple[SiteJob, ...]
Findings = tuple[Diagnostic, ...]


def read_store_list(path: Path, template: str | None) -> tuple[Jobs | None, Findings]:
    """A job for every row; `template` is for rows that name none. None: the list has no use."""
    data, found = read_bytes(path, LARGEST_BYTES + 1, EXAMPLE)
    if data is None:
        return None, found
    if len(data) > LARGEST_BYTES:
        return None, (_too_big(path, f"{LARGEST_BYTES // 1_000_000} MB"),)
    source, found = source_from_bytes(str(path), data, ".csv")
    if source is None:
        return None, found
    if source.text.count("\n") > MOST_ROWS:
        return None, (_too_big(path, f"{MOST_ROWS:,} lines"),)
    every = rows(source.text)
    header = next(every, None)
    if header is None or header.unclosed is not None:
        return None, (messages.NO_ROWS.at(None, name=source.name),)
    if len(header.cells) > MOST_CELLS:
        return None, (_too_big(path, f"{MOST_CELLS:,} columns"),)
    columns, found = read_columns(header.cells, source)
    if not any(column and column.path == (SITE_ID,) for column in columns):
        at = SourceRange(source, header.start, header.end - header.start)
        found = (messages.NO_ID_COLUMN.at(at, name=source.name), *found)
    if found:
        return None, found
    jobs = tuple(_once(_jobs(source, columns, every, template)))
    if not jobs:
        return None, (messages.NO_ROWS.at(None, name=source.name),)
    return jobs, ()


def _too_big(path: Path, most: str) -> Diagnostic:
    return messages.LIST_TOO_BIG.at(None, path=path, most=most)


def folder_name(site_id: str) -> str:
    """A short ASCII name of a folder for a site; names that differ stay different."""
    if _PLAIN.fullmatch(site_id) and not _DEVICE.fullmatch(site_id):
        return site_id
    plain = re.sub(r"[^A-Za-z0-9]+", "-", site_id).strip("-")[:30] or "site"
    return f"{plain}-{hashlib.sha256(site_id.encode()).hexdigest()[:8]}"


def _jobs(
    source: Source, columns: Sequence[Column | None], every: Iterator[Row], template: str | None
) -> Iterator[SiteJob]:
    folder = Path(source.name).parent
    for number, row in enumerate(every):
        # The row alone goes to the process that builds the site.
        text = source.text[row.start : row.end]
        part = Source(source.name, text, row.lines_before)
        cells = [_moved(cell, row.start) for cell in row.cells]
        named = {c.path: cell for c, cell in zip(columns, cells, strict=False) if c is not None}
        site_id = named[SITE_ID,].text if (SITE_ID,) in named else ""
        own = named.get((TEMPLATE,))
        path = str(folder / own.text) if own is not None and own.text else template or ""
        yield SiteJob(
            number=number,
            site_id=site_id,
            folder=folder_name(site_id) if site_id else "",
            path=path,
            listed=source.name,
            row=text,
            lines_before=row.lines_before,
            overrides=tuple(
                Override(c.path, c.title, cell.text, cell.start, cell.length, cell.inner)
                for c, cell in zip(columns, cells, strict=False)
                if c is not None and cell.text and c.path not in ((SITE_ID,), (TEMPLATE,))
            ),
            problems=tuple(_row_problems(row, cells, columns, part, site_id, path)),
        )


def _row_problems(
    row: Row,
    cells: Sequence[Cell],
    columns: Sequence[Column | None],
    part: Source,
    site_id: str,
    path: str,
) -> Iterator[Diagnostic]:
    whole = SourceRange(part, 0, len(part.text))
    if row.unclosed is not None:
        yield messages.OPEN_QUOTE.at(SourceRange(part, row.unclosed - row.start, 1))
        return
    extra = cells[len(columns) :]
    untitled = [c for k, c in zip(columns, cells, strict=False) if k is None and c.text]
    if len(cells) < len(columns) or len(cells) > MOST_CELLS or any(cell.text for cell in extra):
        yield messages.ROW_LENGTH.at(whole, has=len(cells), needs=len(columns))
        return
    for cell in untitled:
        yield messages.NO_TITLE.at(SourceRange(part, cell.start, cell.length))
    if not site_id:
        yield messages.NO_SITE_ID.at(whole)
    if not path:
        yield messages.NO_TEMPLATE.at(whole)


def _once(jobs: Iterator[SiteJob]) -> Iterator[SiteJob]:
    """The jobs, of which a later one with the name of an earlier one cannot be done."""
    seen: dict[str, SiteJob] = {}
    for job in jobs:
        key = job.folder.casefold()
        first = seen.setdefault(key, job) if key else job
        if first is job:
            yield job
            continue
        at = SourceRange(Source(job.listed, job.row, job.lines_before), 0, len(job.row))
        finding = messages.SITE_TWICE.at(at, found=quoted(job.site_id), line=first.lines_before + 1)
        yield replace(job, folder="", problems=(finding, *job.problems))


def _moved(cell: Cell, start: int) -> Cell:
    inner = None if cell.inner is None else cell.inner - start
    return Cell(cell.text, cell.start - start, cell.length, inner)
