"""The shape of the package: one direction of imports, frozen types, small pieces, few doors."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import schedcomp

PACKAGE = Path(schedcomp.__file__).parent
MODULES = sorted(p for p in PACKAGE.rglob("*.py") if p.name != "__init__.py")

DOORS = {
    "pandas": {"frames.py", "compiled.py"},
    "typer": {"cli.py", "cli_fleet.py", "cli_output.py", "cli_stick.py"},
    "skyfield": {"sun_source.py"},
    "highspy": {"fit/solver.py"},
    "holidays": {"country_holidays.py"},
    "tzfpy": {"places.py"},
    "tomli": {"tomlfile.py", "tomlscan.py"},
    "icalendar": {"output/calendar_file.py"},
    "jinja2": {"sheet/html.py"},
    "markupsafe": {"sheet/html.py"},
    "typst": {"sheet/pdf.py"},
    "segno": {"sheet/qr.py"},
    "msgspec": {"records.py"},
    "dateutil": {"recurrence.py", "date_rules.py"},
}
"""Each library and the only modules that may import it."""

LONGEST_MODULE = 450
LONGEST_FUNCTION = 60


def relative(path: Path) -> str:
    return path.relative_to(PACKAGE).as_posix()


def imports_of(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def own_imports(path: Path) -> set[str]:
    known = {module_name(p) for p in PACKAGE.rglob("*.py")}
    return {name for name in imports_of(path) if name in known and name != "schedcomp"}


def module_name(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def test_imports_make_no_circle() -> None:
    graph = {module_name(p): own_imports(p) - {module_name(p)} for p in PACKAGE.rglob("*.py")}
    while graph:
        free = {name for name, needs in graph.items() if not needs & graph.keys()}
        assert free, f"these import each other in a circle: {sorted(graph)}"
        graph = {name: needs for name, needs in graph.items() if name not in free}


@pytest.mark.parametrize("library", sorted(DOORS))
def test_each_library_has_its_door(library: str) -> None:
    through = {
        relative(p) for p in MODULES if any(name.split(".")[0] == library for name in imports_of(p))
    }
    assert through <= DOORS[library]


def test_the_test_run_shares_no_code_with_the_fit() -> None:
    for path in (PACKAGE / "audit").glob("*.py"):
        mine = own_imports(path)
        assert not any(name.startswith("schedcomp.fit") for name in mine), path
    for path in (PACKAGE / "fit").glob("*.py"):
        assert not any(name.startswith("schedcomp.audit") for name in own_imports(path)), path


def test_wording_stands_only_in_messages() -> None:
    for path in MODULES:
        if relative(path).startswith("messages/"):
            continue
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                assert node.func.id not in {"problem", "caution", "note", "Diagnostic"}, path


@pytest.mark.parametrize("path", MODULES, ids=relative)
def test_small_pieces_and_frozen_types(path: Path) -> None:
    text = path.read_text("utf-8")
    assert text.count("\n") <= LONGEST_MODULE
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            assert node.end_lineno is not None
            assert node.end_lineno - node.lineno < LONGEST_FUNCTION, node.name
        if isinstance(node, ast.ClassDef):
            for decorator in node.decorator_list:
                words = ast.unparse(decorator)
                if words.split("(")[0] == "dataclass":
                    assert node.name.startswith("_"), f"{node.name} is no Record"


def test_every_module_imports_quietly() -> None:
    """In any order, as no circle binds them; the first to warn or to print stops the line."""
    lines = "\n".join(f"import {module_name(path)}" for path in MODULES)
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", lines],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_no_group_is_repeated_possessively() -> None:
    """`(...)*+` takes what does not fit in Python before 3.11.5, and `20:00:` is no time."""
    found = {
        f"{relative(path)}: {node.value}"
        for path in MODULES
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
        if re.search(r"\)[*+?]\+|\(\?>", node.value)
    }
    assert not found
