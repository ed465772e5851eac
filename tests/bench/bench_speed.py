"""Every stage of a build in one run, as multiples of the imports no build can do without.

Run: python tests/bench/bench_speed.py; it takes a few minutes. All figures are seconds of processor
time, the best of several rounds, beside `python -c "import numpy, skyfield.api"` measured in the
same run; then how each stage grows with sites, years and circuits.
First bench_sun.py compares the sun times with other libraries.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from schedcomp.answers.build import build_files, unit_files
from schedcomp.answers.check import CheckRequest, check
from schedcomp.audit import find_mishaps, run_program
from schedcomp.controllerfile import load_controller
from schedcomp.diag import Source
from schedcomp.expand import expand
from schedcomp.later import good_until
from schedcomp.model import Period
from schedcomp.output.check import check_document
from schedcomp.pipeline import compile as compile_site
from schedcomp.pipeline import plan
from schedcomp.records import Record
from schedcomp.sitefile import site_from_source
from schedcomp.unit_place import unit_sun_of
from schedcomp.versions import versions
from schedcomp.world import read_world

ROUNDS = 5
SAMPLES = Path(__file__).parents[2] / "sample_sites"
NOW = 1_798_761_600
COMPILED = tempfile.TemporaryDirectory()
SITE = """schedcomp = 1
[site]
name = "Lot"
latitude = {latitude}
longitude = -104.99
timezone = "America/Denver"
dusk = "sunset + 15 min"
dawn = "sunrise - 15 min"
tolerance = "10 min"
controller = "sun-yearly-64"
[day_types]
usual = ["on from dusk until 23:00"]
"""
CIRCUIT = """[[circuit]]
name = "Lot {number}"
channel = {number}
load_kw = 2.0
egress = "none on this circuit"
photocell = "none"
override_minutes = 0
calendar = ["every day: usual"]
"""


def best_of(work: Callable[[], Any], rounds: int = ROUNDS) -> float:
    """Processor seconds of the quickest of some rounds."""
    seconds = []
    for _ in range(rounds):
        begin = time.process_time()
        work()
        seconds.append(time.process_time() - begin)
    return min(seconds)


def of_process(arguments: list[str], rounds: int = ROUNDS) -> float:
    """Processor seconds of a new process at its quickest; from the second on it is compiled."""
    settings = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    settings["PYTHONPYCACHEPREFIX"] = COMPILED.name
    seconds = []
    for _ in range(rounds):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        command = [sys.executable, *arguments]
        subprocess.run(command, env=settings, capture_output=True, check=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        seconds.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(seconds)


def site_text(latitude: float = 39.74, circuits: int = 1) -> str:
    parts = [CIRCUIT.format(number=number + 1) for number in range(circuits)]
    return SITE.format(latitude=latitude) + "".join(parts)


class Stages(Record):
    """Processor seconds of the stages in a warm process."""

    seconds: dict[str, float]

    @classmethod
    def of(cls, text: str, years: int = 1, rounds: int = ROUNDS) -> Stages:
        period = Period(date(2027, 1, 1), date(2026 + years, 12, 31))
        site, found = site_from_source(Source("bench", text))
        assert site is not None, found
        controller, found = load_controller("sun-yearly-64", ".", None)
        assert controller is not None, found
        world, found = read_world(site, period)
        assert world is not None, found
        year, unit = expand(site, world), unit_sun_of(site, controller, world)
        fitted, target = plan(site, controller, world, year, unit)
        program = fitted.program
        assert program is not None
        compiled, found = compile_site(site, period, controller)
        assert compiled is not None, found
        work: dict[str, Callable[[], Any]] = {
            "reading": lambda: site_from_source(Source("bench", text)),
            "world": lambda: read_world(site, period),
            "expand": lambda: expand(site, world),
            "unit sun": lambda: unit_sun_of(site, controller, world),
            "fit": lambda: plan(site, controller, world, year, unit),
            "audit": lambda: run_program(program, controller, target, unit, site.timezone),
            "mishaps": lambda: find_mishaps(program, controller, target, unit, site.timezone),
            "later years": lambda: good_until(site, controller, program, world, year, 0),
            "files of a build": lambda: build_files(compiled, check_document(compiled, versions())),
            "files of a fleet": lambda: unit_files(compiled),
            "whole": lambda: compile_site(site, period, controller),
        }
        return cls({name: best_of(one, rounds) for name, one in work.items()})


def starts(floor: float) -> None:
    typer = of_process(["-c", "import typer"])
    help_seconds = of_process(["-m", "schedcomp", "--help"])
    print(f"--help {help_seconds:27.3f} s  {help_seconds / typer:5.2f} of typer, target 2")
    without_pdf = "import sys; sys.modules['typst'] = None; from schedcomp.cli import main; main()"
    for sample in sorted(SAMPLES.glob("*.toml")):
        with tempfile.TemporaryDirectory() as folder:
            build = ["build", str(sample), "--year", "2027", "--out", folder]
            seconds = of_process(["-c", without_pdf, *build], 2)
        print(f"cold build {sample.stem:22} {seconds:.3f} s  {seconds / floor:5.2f}, target 3")


def growth() -> None:
    """Times of more than one against one; `whole` of several sites is one after the other."""
    one = Stages.of(site_text(), rounds=3).seconds
    columns = {
        "2 years": Stages.of(site_text(), years=2, rounds=2).seconds,
        "4 years": Stages.of(site_text(), years=4, rounds=2).seconds,
        "2 circuits": Stages.of(site_text(circuits=2), rounds=2).seconds,
        "4 circuits": Stages.of(site_text(circuits=4), rounds=2).seconds,
    }
    print(f"{'':18}{'ms':>9}" + "".join(f"{name:>12}" for name in columns))
    for stage, seconds in one.items():
        more = "".join(f"{column[stage] / seconds:12.2f}" for column in columns.values())
        print(f"{stage:18}{seconds * 1e3:9.2f}{more}")


def sites(count: int) -> float:
    """Seconds a site of so many, from the text to the program with its test run and the files
    that a fleet writes.
    """
    controller, found = load_controller("sun-yearly-64", ".", None)
    assert controller is not None, found
    period = Period(date(2027, 1, 1), date(2027, 12, 31))
    begin = time.process_time()
    for number in range(count):
        site, found = site_from_source(Source("bench", site_text(40 + number / 100)))
        assert site is not None, found
        compiled, found = compile_site(site, period, controller)
        assert compiled is not None, found
        unit_files(compiled)
    return (time.process_time() - begin) / count


def main() -> None:
    subprocess.run([sys.executable, Path(__file__).with_name("bench_sun.py")], check=True)
    floor = of_process(["-c", "import numpy, skyfield.api"])
    print()
    print(f"numpy and skyfield.api {floor:.3f} s: the measure of all ratios")
    starts(floor)
    print("\nOne circuit on a sun controller, one year, warm; and how much more others take")
    growth()
    request = CheckRequest(site=str(SAMPLES / "with_rule" / "prairie_clinic.toml"), year="2027")
    seconds = best_of(lambda: check(request, NOW), 2)
    print(f"\ncheck of a site with a rule {seconds:.3f} s  {seconds / floor:.2f}")
    print("Sites one after the other, warm:")
    for count in (1, 4, 16):
        each = sites(count)
        print(f"  {count:3} sites {each * 1e3:8.1f} ms each, {1 / each:5.1f} a second, target 50")


if __name__ == "__main__":
    main()
