"""Everything one compilation found out; what every output is made from."""

from __future__ import annotations

from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING

from schedcomp.audit_report import AuditReport, Mishaps
from schedcomp.controller import Controller
from schedcomp.deviation import Deviation, deviations
from schedcomp.energy import Energy
from schedcomp.frames import events_frame, special_days_frame, year_frame
from schedcomp.ordinance.verdict import NO_RULES, RuleReport
from schedcomp.program import Fitted
from schedcomp.promises import PromiseVerdict
from schedcomp.records import Record
from schedcomp.site import Assumption, Site
from schedcomp.target import Target
from schedcomp.world import World
from schedcomp.year import Year

if TYPE_CHECKING:
    import pandas as pd

    from schedcomp.capacity_report import Shortfall
    from schedcomp.later import GoodUntil


class Compiled(Record, kw_only=True, dict=True):
    """`audit` is None when there is no program. `nights_without_light` are dates of the period on
    whose evening and following morning no circuit is lit.

    `mishaps` is what a missed event or a power cut would do to the program, `mishaps_before` what
    it would do without the safety repeats; `good_until` is how long the program, left alone, does
    what the wishes say; `shortfall` is what would make a program fit that does not. Each is None
    where it was not looked for. `rules` is what was found out about the clauses of the site's
    rules and about people, with what was accepted.
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
    mishaps: Mishaps | None = None
    mishaps_before: Mishaps | None = None
    good_until: GoodUntil | None = None
    shortfall: Shortfall | None = None
    rules: RuleReport = NO_RULES

    @cached_property
    def deviations(self) -> tuple[Deviation, ...]:
        """What the test runs do against the exact year, at their worst; none without a program."""
        return () if self.audit is None else deviations(self.year, self.target, self.audit)

    @property
    def may_write_program(self) -> bool:
        """Whether events.csv, special_days.csv and transfer.json may be written."""
        return (
            self.fitted.program is not None
            and self.audit is not None
            and self.audit.agrees
            and all(p.kept or self.rules.accepts(p.text) for p in self.promises)
            and not self.rules.keeps_program_back
        )

    def to_frame(self) -> pd.DataFrame:
        """The exact year as a pandas frame, one row a switching, as in table.csv."""
        return year_frame(self.year, self.world.zone)

    def events_to_frame(self) -> pd.DataFrame:
        """The program as a pandas frame, one row a slot, as in events.csv."""
        return events_frame(self.fitted.program, self.site.circuits)

    def special_days_to_frame(self) -> pd.DataFrame:
        """The special days as a pandas frame, one row a slot, as in special_days.csv."""
        return special_days_frame(self.fitted.program, self.site.circuits)
