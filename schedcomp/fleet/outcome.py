"""What came out for one site, as it goes from process to process and into `site.json`."""

from __future__ import annotations

from collections.abc import Mapping

from schedcomp.records import Record, asdict, field_names

READY, NOT_FITTING, BROKEN, NOT_MET, DISAGREES, UNREADABLE, FAULT = (
    "ready",
    "does not fit",
    "promise broken",
    "rule not met",
    "test run disagrees",
    "problem in the files",
    "mistake of schedcomp",
)
UNBUILT = (UNREADABLE, FAULT)
"""Without an exact year and a verdict; tried again in every run."""


class Outcome(Record, kw_only=True):
    """One site of a run. Dates are ISO texts, "" where there is none.

    `slots_needed` None: no program of any length. `good_until` is the last right date of the
    program, `then` what goes wrong after it. `add`, `change` and `erase` are slots to key, "" as
    `visit_by` where nobody has to drive there; `reason` says why. `told` are the problems as text,
    `findings` problems and cautions as records. `built`: now, and not in an earlier run.
    """

    number: int
    site_id: str
    folder: str
    name: str = ""
    status: str
    code: str = ""
    slots_needed: int | None = None
    slots_used: int | None = None
    slots_of: int | None = None
    proven: bool = False
    tolerance_minutes: int | None = None
    good_until: str = ""
    then: str = ""
    dark_nights: int = 0
    hours: float = 0.0
    kwh: float | None = None
    rule: str = ""
    people: str = ""
    cautions: int = 0
    units: tuple[str, ...] = ()
    add: int = 0
    change: int = 0
    erase: int = 0
    visit_by: str = ""
    reason: str = ""
    told: str = ""
    findings: tuple[Mapping[str, object], ...] = ()
    built: bool = True


def as_record(outcome: Outcome) -> dict[str, object]:
    """What is kept of an outcome: everything but its place in one run."""
    record = asdict(outcome)
    for name in ("number", "built"):
        del record[name]
    return record


def from_record(record: Mapping[str, object], number: int) -> Outcome | None:
    """An outcome that was kept, None if the record is no such one."""
    kept = set(field_names(Outcome)) - {"number", "built"}
    if set(record) != kept:
        return None
    values: dict[str, object] = {name: _value(name, value) for name, value in record.items()}
    return Outcome(number=number, built=False, **values)  # type: ignore[arg-type]


def _value(name: str, value: object) -> object:
    """JSON knows neither tuples nor that 124 hours are 124.0."""
    if isinstance(value, list):
        return tuple(value)
    return float(value) if name in ("hours", "kwh") and isinstance(value, int) else value
