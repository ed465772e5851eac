"""The loop of a fleet run: few sites under way at a time, each outcome told as it comes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, wait
from itertools import islice

from schedcomp.diag import Diagnostic
from schedcomp.fleet.job import Order, SiteJob
from schedcomp.fleet.onesite import build_sites, fault_of
from schedcomp.fleet.outcome import Outcome
from schedcomp.messages import fleet as messages

MOST_IN_A_CHUNK = 16
"""Sites that are worked out in a row, where there are many."""

FEW = 4
"""Fewer sites are built here: starting processes would take longer."""

Jobs = Sequence[SiteJob]
MakeExecutor = Callable[[int], Executor]


def outcomes(
    order: Order, jobs: Jobs, make: MakeExecutor | None, workers: int
) -> Iterator[Outcome]:
    """Every site's outcome, in the order in which they are done.

    `make` starts a number of processes; None: all is done here. A process that ends before its
    time takes the others along: the sites that were under way are then tried one by one.
    """
    chunk = min(MOST_IN_A_CHUNK, 1 + len(jobs) // (8 * workers))
    if make is None or workers < 2 or len(jobs) < FEW:
        for some in _chunks(jobs, chunk):
            yield from build_sites(order, some)
        return
    waiting = iter(jobs)
    while True:
        executor = make(workers)
        lost: list[SiteJob] = []
        try:
            yield from on_executor(
                order,
                waiting,
                executor,
                pending=pending_of(workers),
                chunk=chunk,
                lost=lost,
            )
        except BaseException:
            executor.shutdown(wait=False, cancel_futures=True)
            raise
        executor.shutdown()
        if not lost:
            return
        yield from (_alone(order, job, make) for job in lost)


def pending_of(workers: int) -> int:
    """How many chunks are under way, so that no process waits for the next one."""
    return 2 * workers + 2


def on_executor(
    order: Order,
    jobs: Iterable[SiteJob],
    executor: Executor,
    *,
    pending: int,
    chunk: int = 1,
    lost: list[SiteJob] | None = None,
) -> Iterator[Outcome]:
    """The same on any executor of `concurrent.futures`, with at most `pending` chunks under way.

    When the executor breaks, the jobs under way are added to `lost` and no more are taken; without
    `lost` each becomes an outcome that says so.
    """
    under_way: dict[Future[tuple[Outcome, ...]], Jobs] = {}
    chunks = _chunks(jobs, chunk)
    is_broken = False
    try:
        while True:
            while not is_broken and len(under_way) < pending:
                some = next(chunks, None)
                if some is None:
                    break
                try:
                    under_way[executor.submit(build_sites, order, some)] = some
                except RuntimeError:  # broken, or shut down by its owner
                    is_broken = True
                    yield from _given_up(order, some, lost)
            if not under_way:
                break
            done, _ = wait(under_way, return_when=FIRST_COMPLETED)
            for future in done:
                some = under_way.pop(future)
                fault = future.exception()
                if fault is None:
                    yield from future.result()
                    continue
                is_broken = is_broken or isinstance(fault, BrokenExecutor)
                yield from _given_up(order, some, lost)
        if is_broken and lost is None:
            for some in chunks:
                yield from _given_up(order, some, None)
    finally:
        for future in under_way:
            future.cancel()


def _given_up(order: Order, some: Jobs, lost: list[SiteJob] | None) -> Iterator[Outcome]:
    if lost is None:
        yield from (fault_of(order, job, _ended()) for job in some)
    else:
        lost += some


def _alone(order: Order, job: SiteJob, make: MakeExecutor) -> Outcome:
    """A site that was under way when a process ended, in a process of its own."""
    executor = make(1)
    try:
        [outcome] = executor.submit(build_sites, order, (job,)).result()
    except Exception:
        return fault_of(order, job, _ended())
    finally:
        executor.shutdown()
    return outcome


def _ended() -> Diagnostic:
    return messages.PROCESS_ENDED.at(None)


def _chunks(jobs: Iterable[SiteJob], size: int) -> Iterator[Jobs]:
    every = iter(jobs)
    while some := tuple(islice(every, size)):
        yield some
