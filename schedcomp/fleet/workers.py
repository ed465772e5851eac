"""Processes of our own for a fleet run, warm before the first site comes.

Nothing of the engine is imported here, so that a process is set before it comes.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from concurrent.futures import Executor, ProcessPoolExecutor
from datetime import date

from schedcomp.process import settle_for_speed


def cores() -> int:
    """How many this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def pool(workers: int, first: date, last: date) -> Executor:
    """Fresh processes on every system, which know the Sun of the period already."""
    return ProcessPoolExecutor(
        workers,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_warm,
        initargs=(first, last),
    )


def _warm(first: date, last: date) -> None:
    # A keyboard's interrupt goes to every process; the one that started these says what happens.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    settle_for_speed()
    from schedcomp.fleet.onesite import warm

    warm(first, last)


def _end_with_parent() -> None:
    """Without this, a process whose parent was killed would wait for work for ever."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)
