"""A cold build and `--help` beside the imports they cannot do without, best of several rounds.

Run: python tests/bench/bench_start.py
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 5
SAMPLE = Path(__file__).parents[2] / "sample_sites" / "garden_store_lot.toml"


def seconds(arguments: list[str]) -> float:
    """The fastest of several runs in a new process."""
    best = float("inf")
    for _ in range(ROUNDS):
        begin = time.perf_counter()
        subprocess.run([sys.executable, *arguments], capture_output=True, check=True)
        best = min(best, time.perf_counter() - begin)
    return best


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        build = ["-m", "schedcomp", "build", str(SAMPLE), "--year", "2027", "--out", folder]
        pairs = (
            ("build", build, ["-c", "import numpy, skyfield.api"]),
            ("--help", ["-m", "schedcomp", "--help"], ["-c", "import typer"]),
        )
        for name, ours, imports in pairs:
            mine, floor = seconds(ours), seconds(imports)
            told = " ".join(imports)
            print(f"{name:7} {mine:.2f} s; python {told}: {floor:.2f} s; {mine / floor:.1f} times")


if __name__ == "__main__":
    main()
