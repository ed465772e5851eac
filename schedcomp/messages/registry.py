"""All kinds of findings by code, collected from every module of this package."""

from __future__ import annotations

import pkgutil
from importlib import import_module

from schedcomp.messages import __path__ as _folder
from schedcomp.messages.kind import Kind


def kinds_by_module() -> dict[str, tuple[Kind, ...]]:
    """The kinds that each module of `schedcomp.messages` makes, by module name."""
    found = {}
    for module in pkgutil.iter_modules(_folder):
        names = vars(import_module(f"schedcomp.messages.{module.name}"))
        found[module.name] = tuple(value for value in names.values() if isinstance(value, Kind))
    return found


def every_kind() -> tuple[Kind, ...]:
    """Every kind in order of its code; RuntimeError if two kinds share a code."""
    by_code: dict[str, Kind] = {}
    for kinds in kinds_by_module().values():
        for kind in kinds:
            if by_code.setdefault(kind.code, kind) is not kind:
                raise RuntimeError(f"two messages have the code {kind.code}")
    return tuple(by_code[code] for code in sorted(by_code))
