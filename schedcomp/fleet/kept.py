"""What a run keeps of a site beside its files, so that a later run can leave it as it is."""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from pathlib import Path

from schedcomp.fleet.job import Order, SiteJob
from schedcomp.fleet.outcome import UNBUILT, Outcome, as_record, from_record
from schedcomp.output.canonical import Json, canonical, sha256_of
from schedcomp.output.transfer import as_json
from schedcomp.plainfile import read_plain
from schedcomp.textfile import Seen
from schedcomp.versions import versions

RECORD = "site.json"
SITES = "sites"
FORMAT_KEY = "schedcomp_fleet_site"
FORMAT = 1
_LARGEST_BYTES = 100_000_000
"""More than any file that a site is made from or comes to."""


def site_folder(run: str, folder: str) -> Path:
    return Path(run) / SITES / folder


def kept_record(
    job: SiteJob, order: Order, outcome: Outcome, seen: Seen, files: Mapping[str, bytes]
) -> bytes:
    """`site.json`: the outcome, and checksums of all that it came from and that was written."""
    inputs = {os.path.abspath(path): _sum(data) for path, data in seen.items()}
    return canonical(
        {
            FORMAT_KEY: FORMAT,
            "key": _key(job, order),
            "inputs": _plain(inputs),
            "files": {name: _sum(data) for name, data in files.items()},
            "outcome": _plain(as_record(outcome)),
        }
    )


def unchanged(job: SiteJob, order: Order) -> Outcome | None:
    """The outcome of an earlier run whose input, versions and files are as they were."""
    folder = site_folder(order.out, job.folder)
    record = read_record(folder)
    if record is None or record.get("key") != _key(job, order):
        return None
    outcome = outcome_of(record, job.number)
    if outcome is None or outcome.status in UNBUILT:
        return None
    inputs, files = record.get("inputs"), record.get("files")
    if not isinstance(inputs, Mapping) or not isinstance(files, Mapping):
        return None
    places = [(Path(path), known) for path, known in inputs.items()]
    places += [(folder / name, known) for name, known in files.items()]
    return outcome if all(_sum(_bytes(path)) == known for path, known in places) else None


def read_record(folder: Path) -> Mapping[str, Json] | None:
    """`site.json` of a folder, None where there is none or it is damaged."""
    data = _bytes(folder / RECORD)
    if data is None:
        return None
    try:
        record = json.loads(data)
    except (ValueError, RecursionError):
        return None
    if not isinstance(record, dict) or record.get(FORMAT_KEY) != FORMAT:
        return None
    return record


def outcome_of(record: Mapping[str, Json], number: int = 0) -> Outcome | None:
    outcome = record.get("outcome")
    return from_record(outcome, number) if isinstance(outcome, Mapping) else None


def _key(job: SiteJob, order: Order) -> str:
    """Everything but files that decides what comes out."""
    return sha256_of(
        _plain(
            {
                "versions": as_json(versions()),
                "period": [order.period.first.isoformat(), order.period.last.isoformat()],
                "against": os.path.abspath(order.against) if order.against else "",
                "controller": order.controller,
                "full": order.full,
                "site": [job.site_id, os.path.abspath(job.path), os.path.abspath(job.listed)],
                "cells": [[*o.path, o.text] for o in job.overrides],
            }
        )
    )


def _sum(data: bytes | None) -> str | None:
    return None if data is None else hashlib.sha256(data).hexdigest()


def _bytes(path: Path) -> bytes | None:
    try:
        return read_plain(path, _LARGEST_BYTES)
    except (OSError, ValueError):
        return None


def _plain(value: object) -> Json:
    """Tuples as lists; half a character, as a file's name may have it, as ?."""
    plain: Json = json.loads(json.dumps(value, ensure_ascii=False).encode("utf-8", "replace"))
    return plain
