"""Sites a second of a fleet run on one process and on all cores, growth and memory.

Run: python tests/bench/bench_fleet.py [SITES]; with 40 sites it takes a few minutes.

Sites lie all over North America and have the same wishes: many with one circuit each, few of a
chain of shops. Time is that of the processor in all processes and of the wall. Growth: the same
with half the sites. `stages` is what a site spends where, within one process.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from schedcomp import fleet, pipeline
from schedcomp.fleet import onesite, workers
from schedcomp.model import Period
from schedcomp.process import settle_for_speed

YEAR = Period(date(2027, 1, 1), date(2027, 12, 31))
SAMPLE = Path(__file__).parents[2] / "sample_sites" / "shop_chain" / "shop.toml"
PLAIN = """\
schedcomp = 1
[site]
name = "Lot"
latitude = 40
longitude = -100
holidays = { country = "US", only = ["Christmas Day"], observed = false }
controller = "sun-yearly-32"
tolerance = "10 min"
[day_types]
usual = ["on from dusk until 23:00"]
[[circuit]]
name = "Lot"
channel = 1
load_kw = 2
serves = "sign"
egress = "none on this circuit"
calendar = ["every day: usual", "holidays: dark"]
"""
STAGES = (
    (onesite, ("load", "controller_of", "_files", "kept_record", "write_set")),
    (pipeline, ("read_world", "expand", "plan", "prove", "find_mishaps", "good_until")),
)


def store_list(folder: Path, count: int) -> Path:
    rows = [
        f'{n},"{30 + n * 7919 % 19000 / 1000:.3f}, {-115 + n * 104729 % 35000 / 1000:.3f}"'
        for n in range(count)
    ]
    path = folder / "sites.csv"
    path.write_text("\n".join(["site id,coordinates", *rows]) + "\n", "utf-8")
    return path


def seconds_used() -> float:
    each = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    return sum(r.ru_utime + r.ru_stime for r in map(resource.getrusage, each))


def measured(template: Path, count: int, processes: int, *, again: bool = False) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sites = store_list(folder, count)
        wishes: dict[str, Any] = {"period": YEAR, "out": folder / "out", "template": str(template)}
        built = 0
        for _ in range(1 + again):
            used, wall = seconds_used(), time.perf_counter()
            made, found = fleet.run(sites, workers=processes, **wishes)
            used, wall = seconds_used() - used, time.perf_counter() - wall
            assert made is not None, found
            built = made.built
        largest = max(
            resource.getrusage(who).ru_maxrss // 1024
            for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
        )
        print(
            f"{template.stem:6} {count:6} sites, {processes} processes: "
            f"{count / wall:8.2f} a second, {1000 * used / count:8.1f} ms of a processor each, "
            f"largest process so far {largest} MB; built {built}"
        )


def stages(template: Path, count: int) -> None:
    spent: defaultdict[str, float] = defaultdict(float)

    def timed(name: str, work: Callable[..., Any]) -> Callable[..., Any]:
        def timing(*values: Any, **named: Any) -> Any:
            begun = time.thread_time()
            try:
                return work(*values, **named)
            finally:
                spent[name] += time.thread_time() - begun

        return timing

    for module, names in STAGES:
        for name in names:
            setattr(module, name, timed(name, getattr(module, name)))
    measured(template, count, 1)
    each = {name: 1000 * seconds / count for name, seconds in spent.items()}
    told = ", ".join(f"{n} {ms:.1f}" for n, ms in sorted(each.items(), key=lambda x: -x[1]))
    print(f"       stages, ms a site (good_until looks at later years with expand): {told}")


def overhead(template: Path, counts: tuple[int, ...]) -> None:
    """What a fleet run adds to compiling: every site gets the compilation of the first one."""
    first: list[Any] = []
    compiled = onesite._compiled

    def once(*values: Any) -> Any:
        first.extend([compiled(*values)] if not first else [])
        return first[0]

    setattr(onesite, "_compiled", once)  # noqa: B010
    for count in counts:
        measured(template, count, 1)


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    with tempfile.TemporaryDirectory() as name:
        plain = Path(name) / "plain.toml"
        plain.write_text(PLAIN, "utf-8")
        few = max(2, count // 10)
        for template, sites in ((plain, count), (SAMPLE, few)):
            measured(template, sites // 2, 1)
            measured(template, sites, 1)
            measured(template, sites, workers.cores())
        measured(plain, count, 1, again=True)
        for template, sites in ((plain, count // 4), (SAMPLE, few // 2)):
            stages(template, sites)
        print("the same without compiling")
        overhead(plain, (10 * count, 40 * count))


if __name__ == "__main__":
    settle_for_speed()
    main()
