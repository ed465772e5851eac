"""What a sheet needs beside the compilation, and what all of its parts share."""

from __future__ import annotations

from datetime import date

from schedcomp.clock import Zone, standard
from schedcomp.compiled import Compiled
from schedcomp.records import Record
from schedcomp.sheet.wording import Hand
from schedcomp.site import TWELVE
from schedcomp.site_clock import site_clock
from schedcomp.versions import Versions


class Making(Record, kw_only=True):
    """`made_on` is the date on the paper, `commission` that of putting into service, if named.

    `site_file` is the plain name of the site file and `site_text` all of it. `program_code` is
    "" where no program may be keyed.
    """

    made_on: date
    commission: date | None
    site_file: str
    site_text: str
    versions: Versions
    program_code: str


class Job(Record, kw_only=True):
    """A compilation with what its sheet needs."""

    compiled: Compiled
    making: Making

    @property
    def hand(self) -> Hand:
        return Hand(self.compiled.site.paper.clock == TWELVE)

    def unit_zone(self, first: date, last: date) -> Zone:
        """The clock that a unit of this site keeps on some dates, in the period or not."""
        here = site_clock(self.compiled.site, first, last)
        return standard(here) if self.compiled.controller.clock == "standard" else here

    @property
    def first_day(self) -> date:
        """The date of putting into service, else of making; the nearest date of the period."""
        period = self.compiled.year.period
        wanted = self.making.commission or self.making.made_on
        return min(max(wanted, period.first), period.last)
