"""What came out for one site, as it goes from process to process and into `site.json`."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

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
STATES = (READY, NOT_FITTING, BROKEN, NOT_MET, DISAGREES, UNREADABLE, FAULT)
_LARGEST = 1e12
"""More than any figure of a site."""
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
    if set(record) != kept or record["status"] not in STATES:
        return None
    if not all(_fits(Outcome.__annotations__[name], value) for name, value in record.items()):
        return None
    if not all(_is_day(record[name]) for name in ("good_until", "visit_by")):
        return None
    values: dict[str, object] = {name: _value(name, value) for name, value in record.items()}
    return Outcome(number=number, built=False, **values)  # type: ignore[arg-type]


def _fits(wanted: str, value: object) -> bool:
    """Whether a value of JSON is what a field asks for, whose type is written so."""
    if isinstance(value, list):
        if wanted == "tuple[str, ...]":
            return all(isinstance(one, str) for one in value)
        return "Mapping" in wanted and all(
            isinstance(one, dict) and "title" in one for one in value
        )
    if isinstance(value, int | float) and not isinstance(value, bool):
        kinds = ("float",) if isinstance(value, float) else ("float", "int")
        return abs(value) <= _LARGEST and any(kind in wanted for kind in kinds)
    plain: dict[str, type] = {"str": str, "bool": bool, "None": type(None)}
    return any(isinstance(value, plain[word]) for word in wanted.split(" | ") if word in plain)


def _is_day(value: object) -> bool:
    try:
        return value == "" or bool(date.fromisoformat(str(value)))
    except ValueError:
        return False


def _value(name: str, value: object) -> object:
    """JSON knows neither tuples nor that 124 hours are 124.0."""
    if isinstance(value, list):
        return tuple(value)
    return float(value) if name in ("hours", "kwh") and isinstance(value, int) else value
