"""Whole sites at random by the thousand, each against the laws of tests/site_laws.py.

    python -m tests.bench.many_sites sites.jsonl --sites 10000

Sites come in batches, each from a seed of its own; a batch that stands in the file is not run
again, so a run that was stopped goes on where it was. Every site is held against the exact year,
every tenth one also against all other laws. The figures of the whole file are printed at the end.
"""

from __future__ import annotations

import argparse
import json
import signal
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, given, seed, settings

from tests import site_laws
from tests.whole_sites import WholeSite, whole_sites

BATCH = 100
EVERY = 10
"""One site in so many is held against the laws of two sites."""
LONGEST_DAYS = (14, 28, 7, 28, 60)
"""Of each batch in turn."""
MOST_SECONDS = 60
"""Of processor time for one site; then it is left and counted as slow."""

Record = dict[str, Any]


class TooSlow(BaseException):
    """Raised from outside, so that nothing takes it for a mistake of its own."""


@contextmanager
def time_limit(seconds: int) -> Iterator[None]:
    def stop(_number: int, _frame: object) -> None:
        raise TooSlow

    before = signal.signal(signal.SIGVTALRM, stop)
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


def looked_at(made: WholeSite, records: list[Record], most_seconds: int) -> None:
    text = repr(made)
    digest = sha256(text.encode()).hexdigest()[:16]
    related = int(digest, 16) % EVERY == 0
    record: Record = {"site": digest, "days": len(made.period.dates()), "related": related}
    begun = time.process_time()
    try:
        with time_limit(most_seconds):
            ran = site_laws.run(made)
            record["outcome"] = ran.outcome
            if isinstance(ran, site_laws.Ran):
                site_laws.check(ran)
                record["slots"] = ran.fitted.slots_needed
                record["switchings"] = sum(len(c.switchings) for c in ran.target.channels)
                if related:
                    site_laws.check_relations(made, ran)
    except TooSlow:
        record |= {"outcome": "slow", "text": text}
    except Exception:
        record |= {"outcome": "failed", "text": text, "error": traceback.format_exc()}
    record["seconds"] = round(time.process_time() - begun, 3)
    records.append(record)


def batch(number: int, longest_days: int, size: int, most_seconds: int) -> list[Record]:
    records: list[Record] = []

    @seed(number)
    @settings(
        max_examples=size,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(whole_sites(longest_days))
    def each(made: WholeSite) -> None:
        looked_at(made, records, most_seconds)

    each()
    return records


def figures(records: list[Record]) -> str:
    """Of distinct sites; slow and failed ones by their digests."""
    distinct = {record["site"]: record for record in records}.values()
    lines = [f"{len(distinct)} different sites, {sum(r['related'] for r in distinct)} of them"]
    lines[0] += " also against another like them"
    for outcome, count in Counter(r["outcome"] for r in distinct).most_common():
        lines.append(f"{count:6d} {outcome}")
    seconds = sorted(r["seconds"] for r in distinct)
    days = sorted(r["days"] for r in distinct)
    middle = len(seconds) // 2
    lines.append(
        f"{sum(seconds):.0f} s, {seconds[middle]:.3f} s in the middle, {seconds[-1]:.1f} s at most;"
        f" {days[middle]} days in the middle, {days[-1]} at most"
    )
    built = [r for r in distinct if r["outcome"] == "built"]
    lines.append(
        f"{sum(r['slots'] for r in built)} slots for {sum(r['switchings'] for r in built)} "
        f"switchings; the longest program takes {max(r['slots'] for r in built)}"
    )
    bad = [r["site"] for r in distinct if r["outcome"] in ("slow", "failed")]
    return "\n".join([*lines, *bad])


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("file", type=Path)
    options.add_argument("--sites", type=int, default=10_000)
    options.add_argument("--days", type=int, help="longest period of all batches; 365: whole years")
    options.add_argument("--seconds", type=int, default=MOST_SECONDS)
    options.add_argument("--first", type=int, default=0, help="number of the first batch")
    given_options = options.parse_args()
    file: Path = given_options.file
    size = min(BATCH, given_options.sites)
    done = [json.loads(line) for line in file.read_text().splitlines()] if file.exists() else []
    known = {record["batch"] for record in done}
    last = given_options.first + -(-given_options.sites // size)
    for number in range(given_options.first, last):
        days = given_options.days or LONGEST_DAYS[number % len(LONGEST_DAYS)]
        name = f"{number} of {days} days"
        if name in known:
            continue
        records = [{"batch": name, **r} for r in batch(number, days, size, given_options.seconds)]
        with file.open("a") as stream:
            stream.writelines(json.dumps(record) + "\n" for record in records)
        done += records
    print(figures(done))


if __name__ == "__main__":
    main()
