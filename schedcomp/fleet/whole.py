"""A whole fleet run: the sites, the loop, the lists at the end."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from datetime import date
from functools import partial
from pathlib import Path

from schedcomp.diag import Diagnostic, has_problem
from schedcomp.fleet.job import Order, SiteJob
from schedcomp.fleet.kept import SITES
from schedcomp.fleet.lists import summary_csv, summary_json, worklist_csv
from schedcomp.fleet.outcome import READY, UNBUILT, Outcome
from schedcomp.fleet.page import summary_html
from schedcomp.fleet.running import on_executor, outcomes
from schedcomp.fleet.sitefolder import read_folder
from schedcomp.fleet.storelist import read_store_list
from schedcomp.fleet.workers import cores, pool
from schedcomp.messages import fleet as messages
from schedcomp.messages import writing_files as writing
from schedcomp.model import Period
from schedcomp.output.disk import is_plain_file
from schedcomp.output.files import write_set
from schedcomp.output.lock import NAME, locked
from schedcomp.records import Record, replace

MOST_TOLD = 10
"""Sites whose problems are told in full; all are in their folders."""

PROBLEMS_KEPT = 3
PENDING = 32

Findings = tuple[Diagnostic, ...]


class Progress(Record):
    """How far a run is: sites done, in all, and of those done the ones that are not ready."""

    done: int
    total: int
    not_ready: int


Tell = Callable[[Progress], None]


class Fleet(Record, kw_only=True):
    """What a run came to: its outcomes in the order of the list.

    Problems are told in full for the first `MOST_TOLD` sites that have some. `gone` are sites of
    the earlier run that are not in this one.
    """

    order: Order
    outcomes: tuple[Outcome, ...]
    names: tuple[str, ...]
    gone: int = 0

    @property
    def built(self) -> int:
        return sum(o.built and o.status not in UNBUILT for o in self.outcomes)

    @property
    def left(self) -> int:
        """Sites that were built in an earlier run and left as they were."""
        return sum(not outcome.built for outcome in self.outcomes)


def run(
    sites: Path | str,
    *,
    period: Period,
    out: Path | str,
    template: str | None = None,
    against: Path | str | None = None,
    controller: str | None = None,
    full: bool = False,
    executor: Executor | None = None,
    pending: int = PENDING,
    workers: int | None = None,
    made_on: date | None = None,
    tell: Tell | None = None,
) -> tuple[Fleet | None, Findings]:
    """Build every site of a folder or a store list into `out`, and write the lists.

    `template`: a site file for the rows that name none. `against`: the folder of an earlier run,
    whose programs the units hold. `full` writes everything that a build of one site writes.
    `executor`: any of `concurrent.futures`, to which at most `pending` sites are given at a time
    and which must see the same files; left out, `workers` processes here, one for every core.
    `tell` hears of every site done. None comes back where nothing could be begun.
    """
    jobs, found = _jobs(Path(sites), template)
    if jobs is None:
        return None, found
    order = Order(
        period=period,
        out=str(out),
        made_on=made_on or period.first,
        against="" if against is None else str(against),
        controller=controller,
        full=full,
    )
    found = _refusal(order)
    if found:
        return None, found
    if executor is not None:
        order, jobs = _absolute(order, jobs)
        coming = partial(on_executor, order, jobs, executor, pending=pending)
    else:
        make = partial(_pool, period)
        coming = partial(outcomes, order, jobs, make, workers or cores())
    return _locked_run(order, jobs, coming, tell)


def _jobs(sites: Path, template: str | None) -> tuple[tuple[SiteJob, ...] | None, Findings]:
    if sites.suffix.casefold() == ".toml" and os.path.isfile(sites):
        return None, (messages.ONE_SITE_FILE.at(None, path=sites),)
    if not os.path.isdir(sites):
        return read_store_list(sites, template)
    if template is not None:
        return None, (messages.TEMPLATE_ALONE.at(None),)
    return read_folder(sites)


def _refusal(order: Order) -> Findings:
    if not order.against:
        return ()
    if os.path.realpath(order.against) == os.path.realpath(order.out):
        return (messages.SAME_RUN.at(None, suggestion=_typed(_other(order.out))),)
    if not os.path.isdir(Path(order.against) / SITES):
        example = _typed(f"fleet-{order.period.first.year - 1}")
        return (messages.NOT_A_RUN.at(None, folder=order.against, sites=SITES, example=example),)
    return ()


def _absolute(order: Order, jobs: Sequence[SiteJob]) -> tuple[Order, tuple[SiteJob, ...]]:
    """With whole paths, for processes that started in another folder."""
    whole = replace(
        order,
        out=os.path.abspath(order.out),
        against=os.path.abspath(order.against) if order.against else "",
    )
    return whole, tuple(
        replace(
            job,
            path=os.path.abspath(job.path) if job.path else "",
            listed=os.path.abspath(job.listed) if job.listed else "",
        )
        for job in jobs
    )


def _pool(period: Period, workers: int) -> Executor:
    return pool(workers, period.first, period.last)


def _locked_run(
    order: Order,
    jobs: Sequence[SiteJob],
    coming: Callable[[], Iterator[Outcome]],
    tell: Tell | None,
) -> tuple[Fleet | None, Findings]:
    """The run, unless another one is at work in its folder."""
    out = Path(order.out)
    refused = _prepared(out)
    if refused:
        return None, refused
    with locked(out) as is_ours:
        if not is_ours:
            suggestion = _typed(_other(order.out))
            return None, (messages.BUSY.at(None, folder=out, suggestion=suggestion),)
        done = _gathered(coming(), len(jobs), tell)
        files = {
            "summary.csv": summary_csv(done),
            "summary.json": summary_json(order, done),
            "summary.html": summary_html(order, done),
            "worklist.csv": worklist_csv(done),
        }
        refused = write_set(out, files)
    if has_problem(refused):
        return None, refused
    return Fleet(order=order, outcomes=done, names=tuple(files), gone=_gone(order, jobs)), refused


def _gathered(coming: Iterator[Outcome], total: int, tell: Tell | None) -> tuple[Outcome, ...]:
    """All outcomes in the order of the list, each without what only its own folder keeps."""
    done: list[Outcome] = []
    not_ready = told = 0
    for outcome in coming:
        in_full = bool(outcome.told) and told < MOST_TOLD
        told += in_full
        done.append(_slim(outcome, in_full))
        not_ready += outcome.status != READY
        if tell is not None:
            tell(Progress(len(done), total, not_ready))
    return tuple(sorted(done, key=lambda outcome: outcome.number))


def _slim(outcome: Outcome, in_full: bool) -> Outcome:
    grave = [f for f in outcome.findings if f.get("severity") != "caution"]
    return replace(
        outcome,
        told=outcome.told if in_full else "",
        findings=tuple(grave[:PROBLEMS_KEPT]),
    )


def _gone(order: Order, jobs: Sequence[SiteJob]) -> int:
    """How many sites of the earlier run are not in this one."""
    if not order.against:
        return 0
    here = {job.folder for job in jobs}
    return sum(folder.name not in here for folder in (Path(order.against) / SITES).iterdir())


def _prepared(out: Path) -> Findings:
    """Make the folders; whatever keeps from writing into them is a finding now."""
    try:
        os.makedirs(out / SITES, exist_ok=True)
    except OSError:
        return write_set(out / SITES, {})
    taken = out / NAME
    suggestion = _typed(_other(str(out)))
    if os.path.lexists(taken) and not is_plain_file(taken):
        return (writing.NAME_TAKEN.at(None, name=NAME, folder=out, suggestion=suggestion),)
    if os.access(out, os.W_OK) and (os.access(taken, os.W_OK) or not os.path.exists(taken)):
        return ()
    return (writing.NOT_WRITABLE.at(None, folder=out, suggestion=suggestion),)


def _other(folder: str) -> str:
    return f"{Path(folder).name or 'fleet'}-new"


def _typed(path: str) -> str:
    return f'"{path}"' if " " in path else path
