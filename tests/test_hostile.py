"""Nothing that people may give breaks a reader, keeps it busy, or is written elsewhere."""

from __future__ import annotations

import json
import os
import random
import re
import time
from math import inf, nan
from pathlib import Path

import pytest

from schedcomp import sitefile
from schedcomp.diag import Source, render
from schedcomp.fleet.cells import MOST_CELLS
from schedcomp.fleet.job import Order
from schedcomp.fleet.lists import summary_csv, summary_json, worklist_csv
from schedcomp.fleet.outcome import READY, Outcome, as_record, from_record
from schedcomp.fleet.page import summary_html
from schedcomp.fleet.storelist import MOST_ROWS, read_store_list
from schedcomp.limits import LONGEST_PHRASE, LONGEST_TEXT, MOST_LINES, MOST_WINDOWS
from schedcomp.output.stick_set import stick_set
from schedcomp.records import replace
from schedcomp.stickcheck import check_set
from schedcomp.tomlcursor import MAX_ENTRIES
from tests.hostile_readers import FAMILIES, FORTNIGHT, TODAY, changed, nothing_written
from tests.small_transfer import small, small_bytes
from tests.test_cli import SITE

OUTCOME = Outcome(
    number=0,
    site_id="1",
    folder="1",
    status=READY,
    code="7F3A-92C1",
    slots_needed=9,
    slots_used=10,
    slots_of=64,
    hours=124.0,
    kwh=80.5,
    good_until="2028-01-14",
    visit_by="2027-03-07",
    reason="first program",
    units=("Panel A",),
    findings=({"code": "E550", "title": "Lot is dark"},),
)

SECONDS = float(os.environ.get("SCHEDCOMP_HOSTILE", "0.3"))
"""How long each family is fed; `tests/fuzz.py` looks further."""
LONGEST_SECONDS = 20
"""Ten times what is wanted, for a machine that has other things to do."""


@pytest.mark.parametrize("name", FAMILIES)
def test_any_bytes_at_all_are_answered(name: str) -> None:
    family = FAMILIES[name]
    chance = random.Random(name)
    words = [word.encode() for word in family.words.split()]
    seeds = family.seeds()
    assert seeds
    end = time.monotonic() + SECONDS
    number = 0
    while number < len(seeds) or time.monotonic() < end:
        text = (
            seeds[number] if number < len(seeds) else changed(chance.choice(seeds), chance, words)
        )
        begin = time.process_time()
        family.read(text)
        assert time.process_time() - begin < LONGEST_SECONDS, text
        number += 1
    nothing_written()


# Large files are refused before anything is worked out from them


def with_sign(extra: str) -> str:
    return SITE.replace('serves   = "sign"', f'serves   = "sign"\n{extra}')


def in_calendar(lines: str) -> str:
    return SITE.replace('calendar = ["every day: shop"]', f"calendar = [{lines}]")


def listed(line: str, count: int) -> str:
    return f'"{line}",\n' * count


def below(part: str, value: str, count: int) -> str:
    entries = "".join(f'"x {number}" = {value}\n' for number in range(count))
    return SITE.replace(f"{part}\n", f"{part}\n{entries}")


MANY = MOST_LINES + 1
OVERSIZE = {
    "calendar lines": ("E268", in_calendar(listed("every day: shop", MANY))),
    "promises": ("E268", with_sign(f"promise = [{listed('every day 23:50: dark', MANY)}]")),
    "hours kept dark": (
        "E268",
        with_sign(f"keep_dark = [{listed('every day: from 00:30 until 04:15', MOST_WINDOWS + 1)}]"),
    ),
    "windows": (
        "E268",
        SITE.replace(
            '["on from dusk until close"]', f"[{listed('on from 01:00 until 02:00', 51)}]"
        ),
    ),
    "day types": ("E268", below("[day_types]", "[]", MANY)),
    "opening hours": ("E268", below("[hours]", '"closed"', MANY)),
    "days off": (
        "E268",
        SITE.replace("add = {", f"add = {{ {''.join(f'd{n} = 1, ' for n in range(MANY))}"),
    ),
    "units": ("E268", SITE + '[[unit]]\nlabel = "A"\n' * MANY),
    "entries": ("E194", below("[site]", "1", MAX_ENTRIES + 1)),
    "a hundred thousand calendar lines": ("E194", in_calendar(listed("fri: shop", 100_000))),
    "a phrase": ("E266", in_calendar('"' + "mon, " * (LONGEST_PHRASE // 5) + 'tue: shop"')),
    "a name": ("E267", SITE.replace("Sample lot", "x" * (LONGEST_TEXT + 1))),
    "unknown names": ("E191", below("[site]", "1", 1000)),
}


@pytest.mark.parametrize(("code", "text"), OVERSIZE.values(), ids=OVERSIZE)
def test_what_is_too_large_is_told_and_not_worked_out(code: str, text: str) -> None:
    """And a file that was not read to its end misses nothing."""
    site, found = sitefile.site_from_source(Source("site.toml", text))
    assert site is None
    codes = [finding.code for finding in found]
    assert code in codes
    assert "E205" not in codes
    assert len(render(found)) < 10_000


# What an earlier run kept


STRANGE_VALUES: tuple[object, ...] = (
    None,
    True,
    -1,
    1.5,
    inf,
    nan,
    10**400,
    "",
    "x",
    "2027-02-30",
    [],
    [1],
    {},
    [{}],
)


@pytest.mark.parametrize("name", sorted(as_record(OUTCOME)))
def test_a_kept_outcome_that_was_changed_is_one_that_can_be_listed_or_none(name: str) -> None:
    """Such a site is built anew."""
    order = Order(period=FORTNIGHT, out="out", made_on=TODAY)
    kept = json.loads(json.dumps(as_record(OUTCOME)))
    assert from_record(kept, 0) == replace(OUTCOME, built=False)
    taken = 0
    for value in STRANGE_VALUES:
        outcome = from_record({**kept, name: value}, 0)
        if outcome is not None:
            taken += 1
            for listing in (summary_csv, worklist_csv):
                listing((outcome,))
            for page in (summary_html, summary_json):
                page(order, (outcome,))
    assert taken < len(STRANGE_VALUES) / 2


@pytest.mark.parametrize("value", ["1e999", "-1e999", "NaN", "null", "[]", '"x"', "1" * 5000])
def test_a_manifest_with_any_size_of_a_file_is_no_fault(value: str, tmp_path: Path) -> None:
    made = stick_set(small(), small_bytes(), {}, (), "")
    listed = made.files["manifest.json"].decode()
    assert re.search(r'"bytes":\s*[0-9]+', listed)
    changed_size = re.sub(r'"bytes":\s*[0-9]+', f'"bytes": {value}', listed)
    for file, content in {**made.files, "manifest.json": changed_size.encode()}.items():
        (tmp_path / file).write_bytes(content)
    assert [finding.code for finding in check_set(tmp_path)[1]] != []


# Store lists


BIG_LISTS = {
    "rows": ("site id\n" + "1\n" * (MOST_ROWS + 1), "lines"),
    "blank rows": ("site id\n" + "\n" * (MOST_ROWS + 1), "lines"),
    "columns": ("site id" + ",x" * MOST_CELLS + "\n", "columns"),
}


@pytest.mark.parametrize(("text", "most"), BIG_LISTS.values(), ids=BIG_LISTS)
def test_a_store_list_that_is_too_large_is_told(text: str, most: str, tmp_path: Path) -> None:
    (tmp_path / "stores.csv").write_text(text)
    jobs, (finding,) = read_store_list(tmp_path / "stores.csv", "shop.toml")
    assert jobs is None
    assert finding.code == "E817"
    assert finding.title.endswith(f"{most}.")


def test_a_row_of_any_length_and_a_cell_of_quotes_are_read_to_their_end(tmp_path: Path) -> None:
    """The row after them is one that can be used."""
    wide = "1," + "," * 1_000_000 + "x"
    text = "\n".join(["site id,name", wide, '2,"' + '""' * 500_000 + '"', "3,Lot", ""])
    (tmp_path / "stores.csv").write_text(text)
    jobs, _ = read_store_list(tmp_path / "stores.csv", "shop.toml")
    assert jobs is not None
    assert [[found.code for found in job.problems] for job in jobs] == [["E806"], [], []]
    assert len(jobs[1].overrides[0].text) == 500_000
    assert jobs[2].overrides[0].text == "Lot"


@pytest.mark.parametrize("column", ["controller", "rule", "hours file", "template"])
@pytest.mark.parametrize(
    "cell", ["x" * 5000, "a/" * 3000, ";", " ; ", "x\ufffd", "/dev/zero", ".."]
)
def test_no_name_of_a_file_in_a_store_list_is_a_fault(column: str, cell: str) -> None:
    """What reads it raises on any fault of ours."""
    listed = f'site id,zone,{column}\n1,America/Denver,"{cell}"\n'
    FAMILIES["store list"].read(listed.encode())
