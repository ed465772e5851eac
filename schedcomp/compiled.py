"""Everything one compilation found out; what every output is made from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from schedcomp.audit_report import AuditReport
from schedcomp.controller import Controller
from schedcomp.energy import Energy
from schedcomp.frames import events_frame, year_frame
from schedcomp.program import Fitted
from schedcomp.promises import PromiseVerdict
from schedcomp.site import Assumption, Site
from schedcomp.target import Target
from schedcomp.world import World
from schedcomp.year import Year

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True, kw_only=True)
class Compiled:
    """`audit` is None when there is no program. `nights_without_light` are dates of the period on
    whose evening and following morning no circuit is lit.
    """

    site: Site
    controller: Controller
    world: World
    year: Year
    target: Target
    fitted: Fitted
    audit: AuditReport | None
    promises: tuple[PromiseVerdict, ...]
    energy: tuple[Energy, ...]
    assumed: tuple[Assumption, ...]
    nights_without_light: tuple[date, ...]

    @property
    def may_write_program(self) -> bool:
        """Whether events.csv and transfer.json may be written."""
        return (
            self.fitted.program is not None
            and self.audit is not None
            and self.audit.agrees
            and all(p.kept for p in self.promises)
        )

    def to_frame(self) -> pd.DataFrame:
        """The exact year as a pandas frame, one row a switching, as in table.csv."""
        return year_frame(self.year, self.world.zone)

    def events_to_frame(self) -> pd.DataFrame:
        """The program as a pandas frame, one row a slot, as in events.csv."""
        return events_frame(self.fitted.program, self.site.circuits)
