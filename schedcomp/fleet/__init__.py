"""Many sites at once: a folder of site files, or a template and a store list.

    fleet, findings = schedcomp.fleet.run("stores.csv", period=period, out="fleet-2027")

`executor` may be any of `concurrent.futures`, also that of a cluster.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from schedcomp.fleet.whole import Fleet, Progress, run

__all__ = ["Fleet", "Progress", "run"]


def __getattr__(name: str) -> Any:
    """The public names, loaded when asked for: a process of a pool sets its threads first."""
    if name not in __all__:
        raise AttributeError(f"schedcomp.fleet has no {name}")
    return getattr(import_module("schedcomp.fleet.whole"), name)
