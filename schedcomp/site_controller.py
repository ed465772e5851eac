"""The controller of a site: the one that a command names, else the one of its file."""

from __future__ import annotations

from schedcomp.controller import Controller
from schedcomp.controllerfile import load_controller
from schedcomp.diag import Diagnostic
from schedcomp.messages.commands import CONTROLLER_NOT_NAMED
from schedcomp.records import replace
from schedcomp.site import Site


def with_controller(site: Site, named: str | None) -> Site:
    """With the controller that a command names; then no finding about it points into the site
    file.
    """
    return site if named is None else replace(site, controller=named, controller_at=None)


def controller_of(
    site: Site, named: str | None = None
) -> tuple[Controller | None, tuple[Diagnostic, ...]]:
    """A file that is `named` starts at the current folder, one of the site file beside that."""
    if named is not None:
        return load_controller(named, ".", None)
    if not site.controller:
        return None, (CONTROLLER_NOT_NAMED.at(site.controller_at),)
    return load_controller(site.controller, site.folder, site.controller_at)
