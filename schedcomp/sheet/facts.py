"""From a compilation to the pages of its sheet, with every value and all wording ready."""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp.compiled import Compiled
from schedcomp.output.files import PICTURES
from schedcomp.records import Record
from schedcomp.sheet.blocks import Page, clean
from schedcomp.sheet.commissioning import display_page, test_page
from schedcomp.sheet.keying import keying_page
from schedcomp.sheet.label import label_page, site_file_pages
from schedcomp.sheet.later import changes_page, visits_page
from schedcomp.sheet.making import Job, Making
from schedcomp.sheet.months import drawings, months_page, picture_name, year_page
from schedcomp.sheet.nights import nights_json
from schedcomp.sheet.owner import owner_page
from schedcomp.sheet.panel import settings_page
from schedcomp.sheet.picture import YearPicture
from schedcomp.sheet.proof import proof_page
from schedcomp.sheet.schedule import schedule_page
from schedcomp.words import date_words

DOES_NOT_FIT = "DOES NOT FIT"
NOT_MET = "NOT MET"
DISAGREES = "TEST RUN DISAGREES"
A4, LETTER = "a4", "letter"


class SheetFacts(Record, kw_only=True):
    """Everything a sheet shows.

    `place` says where on earth the site is. `mark` stands on every page, "" where all is well.
    `foot` is (name, value) for every page; `nights` is the record behind the pictures, as JSON.
    """

    title: str
    place: str
    mark: str
    mark_words: str
    paper_size: str
    foot: tuple[tuple[str, str], ...]
    pages: tuple[Page, ...]
    pictures: tuple[YearPicture, ...]
    nights: str


def sheet_facts(compiled: Compiled, making: Making) -> SheetFacts:
    """All pages of a sheet, in order."""
    job = Job(compiled=compiled, making=making)
    pictures = drawings(job)
    mark, words = _mark(compiled)
    return SheetFacts(
        title=clean(compiled.site.name),
        place=clean(compiled.world.whereabouts.text),
        mark=mark,
        mark_words=words,
        paper_size=paper_size(compiled),
        foot=tuple(_foot(job)),
        pages=tuple(_pages(job, pictures)),
        pictures=pictures,
        nights=nights_json(job),
    )


def picture_files(facts: SheetFacts) -> dict[str, bytes]:
    """The drawings as files by name."""
    return {
        picture_name(number): picture.svg.encode()
        for number, picture in enumerate(facts.pictures[:PICTURES], 1)
    }


def _pages(job: Job, pictures: tuple[YearPicture, ...]) -> Iterator[Page]:
    compiled = job.compiled
    yield owner_page(job)
    yield year_page(job, pictures)
    yield months_page(job)
    yield proof_page(job)
    yield from site_file_pages(job)
    program = compiled.fitted.program
    if program is not None and compiled.may_write_program:
        yield settings_page(job)
        yield schedule_page(job)
        yield keying_page(job, program)
        yield display_page(job)
        yield test_page(job, program)
        yield visits_page(job)
    else:
        yield schedule_page(job)
        yield changes_page()
    if job.making.program_code:
        yield label_page(job)


def _mark(compiled: Compiled) -> tuple[str, str]:
    """What has to stand on every page, and why."""
    if compiled.fitted.program is None:
        return DOES_NOT_FIT, "No program of this controller does what was asked for."
    if compiled.audit is None or not compiled.audit.agrees:
        return DISAGREES, "The program does not do what was asked for and must not be keyed in."
    if compiled.may_write_program:
        return "", ""
    rules = compiled.rules
    failing = [v for v in rules.failing() if not rules.is_accepted(v)]
    broken = [p for p in compiled.promises if not p.kept and not rules.accepts(p.text)]
    words = [f"Clause {v.clause} of {v.rule} is not met." for v in failing]
    words += [f"A promise is broken: {p.text} ({p.circuit})." for p in broken[:1]]
    return NOT_MET, " ".join(words)


def paper_size(compiled: Compiled) -> str:
    """As the site says; else Letter in America, where it is usual, and A4 elsewhere."""
    given = compiled.site.paper.size
    if given:
        return given
    zone = compiled.site.timezone
    return LETTER if zone.startswith(("America/", "Pacific/Honolulu")) else A4


def _foot(job: Job) -> Iterator[tuple[str, str]]:
    making, paper = job.making, job.compiled.site.paper
    versions = making.versions
    yield "File", making.site_file
    yield "Revision", paper.revision or "-"
    yield "Made", date_words(making.made_on)
    yield "Program code", making.program_code or "none"
    yield (
        "Versions",
        f"schedcomp {versions.schedcomp}, clock rules {versions.tzdata}, "
        f"holidays {versions.holidays}, Sun {versions.ephemeris.partition(' excerpt')[0]}",
    )
