"""Deliberate bugs are caught; `SCHEDCOMP_WORLDS` in the environment tries every one of them."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from tests.mutants import HERE, MUTANTS

IN_SHORT = ("rest forgets", "ranges are a day too long")
"""Words of the names of a few quick ones."""


def test_every_bug_can_be_planted() -> None:
    """Its right text stands in its module just once, and its tests are there."""
    assert len({mutant.name for mutant in MUTANTS}) == len(MUTANTS) >= 80
    for mutant in MUTANTS:
        compile(mutant.source(), mutant.module, "exec")
        assert all((HERE / test.partition("::")[0]).is_file() for test in mutant.tests)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="bugs are tried in forked processes")
def test_deliberate_bugs_are_caught() -> None:
    words = () if "SCHEDCOMP_WORLDS" in os.environ else IN_SHORT
    done = subprocess.run(
        [sys.executable, "-m", "tests.mutants", *words],
        cwd=HERE,
        env={k: v for k, v in os.environ.items() if not k.startswith("PYTEST_")},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.count("caught: ") == (len(words) or len(MUTANTS))
