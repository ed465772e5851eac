"""Feeds the readers with texts that a fuzzer finds by what they reach in the code.

    python -m pip install atheris
    python -m tests.fuzz FAMILY SECONDS [FOLDER]

FOLDER keeps the texts that reached something new, for the next run. At the end: how many texts,
the longest time for one, and the most memory. A fault ends it with the text in a file `crash-...`.
"""

from __future__ import annotations

import resource
import sys
import time
from dataclasses import dataclass
from math import inf
from pathlib import Path
from tempfile import mkdtemp

import atheris

WATCHED = (
    *("asked", "controllerfile", "controllerkeys", "coordinates", "country_holidays"),
    *("eventsfile", "fleet", "holiday_list", "holiday_names", "hours", "interview"),
    *(
        "interviewchecks",
        "keyedlist",
        "keyedtokens",
        "newsite",
        "ordinance",
        "phrases",
        "reading",
        "recurrence",
    ),
    *("date_rules", "sheet.qr", "sitefile", "stickcheck", "textfile", "tomlcursor", "tomlfile"),
    *("tomlhints", "tomlscan", "tomltables", "transferfile", "transferform", "transferparts"),
    *("transfercontroller", "transferlimits"),
)
"""Modules that read; to watch the whole package would take a minute to begin with."""

with atheris.instrument_imports(include=[f"schedcomp.{name}" for name in WATCHED]):
    from tests.hostile_readers import FAMILIES

LONGEST_SECONDS = 2
MOST_MEGABYTES = 500


@dataclass(slots=True)
class Run:
    """What was seen; told a second before the end, as the fuzzer ends without a word."""

    name: str
    folder: Path
    end: float
    texts: int = 0
    longest: float = 0.0

    def count(self, data: bytes, seconds: float) -> None:
        self.texts += 1
        if seconds > max(self.longest, LONGEST_SECONDS):
            (self.folder / f"slow-{self.name}-{seconds:.0f}s").write_bytes(data)
        self.longest = max(seconds, self.longest)
        if time.monotonic() > self.end:
            self.end = inf
            megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
            over = " TOO MUCH" * (megabytes > MOST_MEGABYTES)
            print(f"{self.name}: {self.texts} texts, longest {self.longest:.2f} s, ", end="")
            print(f"{megabytes:.0f} MB{over}", flush=True)


def main() -> None:
    """One family for so many seconds."""
    name, seconds, *rest = sys.argv[1:]
    family = FAMILIES[name]
    folder = Path(rest[0] if rest else mkdtemp(prefix="fuzz-"))
    folder.mkdir(exist_ok=True)
    for number, seed in enumerate(family.seeds()):
        (folder / f"seed-{number}").write_bytes(seed)
    words = folder.with_name(f"{folder.name}.dict")
    words.write_text("".join(f'"{_escaped(word)}"\n' for word in family.words.split()))
    run = Run(name, folder.parent, time.monotonic() + float(seconds) - 1)

    def read(data: bytes) -> None:
        begin = time.process_time()
        family.read(data)
        run.count(data, time.process_time() - begin)

    atheris.Setup(
        [
            sys.argv[0],
            str(folder),
            f"-max_total_time={seconds}",
            f"-dict={words}",
            "-timeout=20",
            "-max_len=60000",
            f"-artifact_prefix={folder.parent}/crash-{name.replace(' ', '-')}-",
            "-verbosity=0",
            "-print_final_stats=1",
        ],
        read,
    )
    atheris.Fuzz()


def _escaped(word: str) -> str:
    return "".join(f"\\x{byte:02x}" for byte in word.encode())


if __name__ == "__main__":
    main()
