"""What is to be done in a fleet run, as small plain values that can go to another process."""

from __future__ import annotations

from datetime import date

from schedcomp.diag import Diagnostic
from schedcomp.fleet.columns import Path
from schedcomp.model import Period
from schedcomp.records import Record


class Override(Record):
    """A filled cell of a store list: what it sets, under which title, and where it stands in the
    row; `inner` is where `text` begins, None where it is written with double quotes in it.
    """

    path: Path
    title: str
    text: str
    start: int
    length: int
    inner: int | None


class SiteJob(Record, kw_only=True):
    """One site: its own file, or a template with the row of a store list.

    `number` counts from 0 in the order of the list. `folder` is the name of its folder, "" where
    the row names no site, and then `problems` say why. `listed` is the file of the store list, ""
    without one; `row` is the text of the row, after `lines_before` lines.
    """

    number: int
    site_id: str
    folder: str
    path: str
    listed: str = ""
    row: str = ""
    lines_before: int = 0
    overrides: tuple[Override, ...] = ()
    problems: tuple[Diagnostic, ...] = ()


class Order(Record, kw_only=True):
    """What holds for every site of a run. `out` is the folder of the run, `against` that of an
    earlier one, "" without. `full`: with table, check, calendar and sheets. `made_on` is printed on
    sheets.
    """

    period: Period
    out: str
    made_on: date
    against: str = ""
    controller: str | None = None
    full: bool = False
