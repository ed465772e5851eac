"""The label for the door of every unit, and the code that holds the site file.

The label shows no times and no dark dates: anyone may read it.
"""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp.sheet.blocks import Beside, Block, Box, Facts, Page, Picture, Text
from schedcomp.sheet.making import Job
from schedcomp.sheet.owner import SAFETY, breakers_table
from schedcomp.sheet.qr import qr_svg, site_texts
from schedcomp.sheet.wording import long_date
from schedcomp.site import Unit

_CODES_A_ROW = 3
_TO_CUT = (
    "Cut out along the dashed line, one for the door of each unit; a second one of the same unit "
    "is a spare. Anyone may read it: it shows no times and no dark dates. Print this page on one "
    "side of the paper only."
)


def label_page(job: Job) -> Page:
    """A label for each unit, to be cut out."""
    units = job.compiled.site.units or (Unit(label=""),)
    return Page(
        key="label",
        title="Door label",
        style="label",
        blocks=(Text(text=_TO_CUT, style="lead"), *(_label(job, unit) for unit in units)),
    )


def _label(job: Job, unit: Unit) -> Box:
    code = job.making.program_code
    site = job.compiled.site
    facts = Facts(
        rows=(
            ("Unit", unit.label),
            ("Program code", code or "none: not to be keyed in"),
            ("GOOD UNTIL", _good_until(job)),
            ("Call", site.people.call),
            *((("Papers kept at", site.paper.kept_at),) if site.paper.kept_at else ()),
        ),
        style="large",
    )
    left: list[Block] = [facts]
    if code:
        square: tuple[Block, ...] = (
            Picture(svg=qr_svg(code), label=f"Program code {code}", width=1.0),
        )
    else:
        square = ()
    return Box(
        title=site.name,
        blocks=(
            Text(text=SAFETY, style="strong"),
            breakers_table(site.circuits, 4),
            Beside(columns=(tuple(left), square), widths=(5, 1)),
        ),
        style="caution",
    )


def _good_until(job: Job) -> str:
    good = job.compiled.good_until
    if not job.making.program_code:
        return "-"
    if good is None:
        return long_date(job.compiled.year.period.last)
    return long_date(good.last if good.wrong is not None else good.looked_through)


def site_file_pages(job: Job) -> Iterator[Page]:
    """The whole site file as codes; nothing where it does not fit into them."""
    texts = site_texts(job.making.site_text)
    if not texts:
        return
    parts = tuple(
        Picture(svg=qr_svg(text), label=f"Site file, part {n} of {len(texts)}", width=1.0)
        for n, text in enumerate(texts, 1)
    )
    rows = [parts[n : n + _CODES_A_ROW] for n in range(0, len(parts), _CODES_A_ROW)]
    blocks: list[Block] = [
        Text(
            text=f"All of {job.making.site_file} is in the codes below, so that this paper is "
            "enough to make the program again. Scan each and give the texts to: "
            "schedcomp recover TEXT TEXT ...",
            style="lead",
        )
    ]
    for pair in rows:
        columns: list[tuple[Block, ...]] = [
            (Text(text=picture.label, style="strong"), picture) for picture in pair
        ]
        columns += [()] * (_CODES_A_ROW - len(columns))
        blocks.append(Beside(columns=tuple(columns), widths=(1,) * _CODES_A_ROW))
    yield Page(key="file", title="The file behind this paper", blocks=tuple(blocks))
