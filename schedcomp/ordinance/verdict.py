"""What was found out about clauses: plain values."""

from __future__ import annotations

from datetime import date
from enum import Enum

from schedcomp.diag import SourceRange
from schedcomp.model import Instant
from schedcomp.ordinance.intervals import Interval
from schedcomp.records import Record


class Status(Enum):
    """How a clause stands over a period."""

    PASS = "pass"
    FAIL = "fail"
    NOT_CHECKABLE = "not checkable by a schedule"
    NOT_APPLYING = "does not apply"


class NightFailed(Record, kw_only=True):
    """A night on which a clause is not met: for how long, where it begins, and what decided.

    `seconds` are all of the night; the stretch is the longest, or the one judged by its length,
    and then `lacks` says what the seconds are: "too short" or "too long".
    """

    day: date
    seconds: int
    start: Instant
    end: Instant
    circuit: str = ""
    line: str = ""
    lacks: str = ""
    at: SourceRange | None = None


class Margin(Record, kw_only=True):
    """The night that comes closest to failing, with the seconds to spare and where."""

    seconds: int
    day: date
    instant: Instant


class Drifted(Record, kw_only=True):
    """Nights a unit would break whose clock is wrong by so many seconds; slow is positive."""

    seconds: int
    nights: int
    worst_seconds: int
    first: date


class Wants(Enum):
    """What a clause asks for, as far as telling what is wrong goes."""

    DARK = "dark"
    LIGHT = "light"
    FEW_NIGHTS = "few nights"
    ABILITY = "ability"


class ClauseVerdict(Record, kw_only=True):
    """One clause on one run of lamps.

    `nights` is how many nights were judged, `applying` on how many of them the clause asks for
    something. `costs` names what beside the schedule costs the pass. `drifted` tells what a slow
    or fast clock would break that a true one keeps. `grades` are (year, failed nights, words).
    """

    rule: str
    clause: str
    text: str
    sentence: str
    on: str
    status: Status
    circuits: tuple[str, ...]
    wants: Wants = Wants.DARK
    exempt: tuple[tuple[str, str], ...] = ()
    why: str = ""
    nights: int = 0
    applying: int = 0
    failed: tuple[NightFailed, ...] = ()
    margin: Margin | None = None
    costs: tuple[str, ...] = ()
    drifted: tuple[Drifted, ...] = ()
    grades: tuple[tuple[int, int, str], ...] = ()
    assumed: tuple[str, ...] = ()
    read: str = "text"
    at: SourceRange | None = None

    @property
    def met(self) -> bool:
        return self.status is not Status.FAIL

    @property
    def about_hours(self) -> bool:
        """Whether it asks for light or dark at hours, not for a unit or a count of nights."""
        return self.wants in (Wants.DARK, Wants.LIGHT)

    @property
    def failed_seconds(self) -> int:
        return sum(night.seconds for night in self.failed)

    @property
    def worst(self) -> NightFailed | None:
        """The longest failure, of equal ones the first."""
        return max(self.failed, key=lambda night: night.seconds, default=None)


class Conflict(Record, kw_only=True):
    """A dark clause and a lit one that ask for opposite things of one circuit."""

    dark: str
    lit: str
    circuit: str
    nights: int
    most_seconds: int
    first: date
    example: Interval
    dark_at: SourceRange | None = None
    lit_at: SourceRange | None = None


class PeopleFinding(Record, kw_only=True):
    """People may be left in the dark: nights, seconds, and the worst night.

    `kind`: "dark with people" or "off with closing". `against` are dark clauses that ask for
    just this.
    """

    kind: str
    circuit: str
    nights: int
    seconds: int
    first: date
    last: date
    worst: NightFailed
    against: tuple[str, ...] = ()


class RuleReport(Record, kw_only=True):
    """Everything about the rules of a site; `run` is empty where no program was run.

    `nights` counts the nights judged, `without_clause` those on which no clause asks anything.
    `ends` are clauses that hold only through a date, by name.
    """

    titles: tuple[str, ...]
    year: tuple[ClauseVerdict, ...]
    run: tuple[ClauseVerdict, ...]
    conflicts: tuple[Conflict, ...]
    people: tuple[PeopleFinding, ...]
    people_checked: bool
    nights: int
    without_clause: tuple[date, ...]
    accepted: tuple[tuple[str, str], ...] = ()
    unconfirmed: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    ends: tuple[tuple[str, date], ...] = ()

    @property
    def checked(self) -> bool:
        """Whether there was any rule to check."""
        return bool(self.titles)

    def failing(self) -> tuple[ClauseVerdict, ...]:
        """Clauses that are not met, on the exact year first, each once."""
        found: dict[tuple[str, str], ClauseVerdict] = {}
        for verdict in (*self.year, *self.run):
            if not verdict.met:
                found.setdefault((verdict.rule, verdict.clause), verdict)
        return tuple(found.values())

    def is_accepted(self, verdict: ClauseVerdict) -> str:
        """Why a clause is accepted although it is not met; "" if it is not."""
        return self.accepts(verdict.clause)

    def accepts(self, name: str) -> str:
        """Why a clause, or a promise by its text, is accepted; "" if it is not."""
        return next((b for c, b in self.accepted if c.casefold() == name.casefold()), "")

    @property
    def keeps_program_back(self) -> bool:
        return any(not self.is_accepted(verdict) for verdict in self.failing())


NO_RULES = RuleReport(
    titles=(),
    year=(),
    run=(),
    conflicts=(),
    people=(),
    people_checked=False,
    nights=0,
    without_clause=(),
)
"""Where nothing was checked."""
