"""The first keys of site, controller and rule files, which tell them apart."""

from __future__ import annotations

from schedcomp.diag import Diagnostic
from schedcomp.messages.kind import Kind
from schedcomp.tomlnodes import Table

SITE_KEY = "schedcomp"
CONTROLLER_KEY = "schedcomp_controller"
ORDINANCE_KEY = "schedcomp_ordinance"


def other_kind(root: Table, key: str, other: str, expected: Kind) -> Diagnostic | None:
    """What to say of a file that has the format key `other` in place of `key`."""
    keys = {entry.key: entry.key_at for entry in root.entries}
    if key in keys or other not in keys:
        return None
    return expected.at(keys[other], key=other, name=keys[other].source.name)
