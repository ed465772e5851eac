"""Compiles wishes for outdoor lights into a proven time-switch program.

Start at `schedcomp.pipeline.compile`, which is the list of stages. From Python:

    site, findings = schedcomp.load_site("site.toml")
    controller, findings = schedcomp.load_controller(site.controller, site.folder)
    compiled, findings = schedcomp.compile(site, period, controller)
    compiled.to_frame()
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from schedcomp import _version

if TYPE_CHECKING:
    from schedcomp.controllerfile import load_controller
    from schedcomp.model import Period
    from schedcomp.pipeline import compile  # noqa: A004  # the one word for it
    from schedcomp.sitefile import load_site

__version__ = _version.VERSION

__all__ = ["Period", "__version__", "compile", "load_controller", "load_site"]

_HOMES = {
    "Period": "schedcomp.model",
    "compile": "schedcomp.pipeline",
    "load_controller": "schedcomp.controllerfile",
    "load_site": "schedcomp.sitefile",
}


def __getattr__(name: str) -> Any:
    """The public names, loaded when asked for: `import schedcomp` alone loads no engine."""
    if name not in _HOMES:
        raise AttributeError(f"schedcomp has no {name}")
    return getattr(import_module(_HOMES[name]), name)
