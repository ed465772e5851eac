"""The lists of a whole run: summary.csv, summary.json and worklist.csv."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence

from schedcomp.fleet.job import Order
from schedcomp.fleet.outcome import READY, Outcome, as_record
from schedcomp.output.csvfile import Cell, csv_bytes
from schedcomp.output.transfer import as_json
from schedcomp.versions import versions

FORMAT_KEY = "schedcomp_fleet"
FORMAT = 1
BETWEEN = "; "

WORK_COLUMNS = (
    *("visit_by", "site_id", "site", "units"),
    *("slots_to_add", "slots_to_change", "slots_to_delete"),
    *("program_code", "good_until", "reason"),
)
SUMMARY_COLUMNS = (
    *("site_id", "site", "status", "program_code", "slots_needed", "proven", "slots_used"),
    *("slots_of", "tolerance_min", "good_until", "nights_without_light", "hours_lit", "kwh"),
    *("rule", "people", "cautions", "units", "visit_by", "problem"),
)


def worklist(outcomes: Sequence[Outcome]) -> list[Outcome]:
    """The sites to drive to, those first that are due first."""
    due = [outcome for outcome in outcomes if outcome.visit_by]
    return sorted(due, key=lambda outcome: (outcome.visit_by, outcome.number))


def worklist_csv(outcomes: Sequence[Outcome]) -> bytes:
    """The sites to drive to, a row each in the order of `worklist`, as CSV."""
    return csv_bytes(
        WORK_COLUMNS,
        (
            (
                *(o.visit_by, o.site_id, o.name, BETWEEN.join(o.units)),
                *(o.add, o.change, o.erase, o.code, o.good_until, o.reason),
            )
            for o in worklist(outcomes)
        ),
    )


def summary_csv(outcomes: Sequence[Outcome]) -> bytes:
    """A row for every site, in the order of the list."""
    return csv_bytes(SUMMARY_COLUMNS, map(_summary_row, outcomes))


def summary_record(order: Order, outcomes: Sequence[Outcome]) -> dict[str, object]:
    """The same as one plain record, with the first problems of each site."""
    return {
        FORMAT_KEY: FORMAT,
        "versions": as_json(versions()),
        "period": {
            "first": order.period.first.isoformat(),
            "last": order.period.last.isoformat(),
        },
        "sites": len(outcomes),
        "by_status": counts(outcomes),
        "worklist": [outcome.site_id for outcome in worklist(outcomes)],
        "each": [_plain(outcome) for outcome in outcomes],
    }


def summary_json(order: Order, outcomes: Sequence[Outcome]) -> bytes:
    text = json.dumps(summary_record(order, outcomes), indent=1, ensure_ascii=False)
    return f"{text}\n".encode("utf-8", "replace")


def counts(outcomes: Sequence[Outcome]) -> dict[str, int]:
    """Sites by status, those that are ready first, then the most frequent."""
    found = Counter(outcome.status for outcome in outcomes)
    ordered = sorted(found.items(), key=lambda item: (item[0] != READY, -item[1], item[0]))
    return dict(ordered)


def first_problem(outcome: Outcome) -> str:
    """The title of the first problem of a site, "" without one."""
    titles = [str(f["title"]) for f in outcome.findings if f.get("severity") != "caution"]
    return titles[0].encode("utf-8", "replace").decode() if titles else ""


def _plain(outcome: Outcome) -> dict[str, object]:
    record = as_record(outcome)
    del record["told"]
    return record


def _summary_row(outcome: Outcome) -> tuple[Cell, ...]:
    o = outcome
    return (
        *(o.site_id, o.name, o.status, o.code, _number(o.slots_needed)),
        *("yes" if o.proven else "", _number(o.slots_used), _number(o.slots_of)),
        *(_number(o.tolerance_minutes), o.good_until, o.dark_nights, o.hours, _number(o.kwh)),
        *(o.rule, o.people, o.cautions, BETWEEN.join(o.units), o.visit_by, first_problem(o)),
    )


def _number(value: float | None) -> Cell:
    return "" if value is None else value
