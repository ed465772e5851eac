"""The rows of `fit` against compilations at the same tolerance, and its picture read back.

A compilation and its test run know nothing of the rows; the picture is read by its own axes.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from schedcomp import controllerfile, pipeline, sitefile
from schedcomp.answers import fit
from schedcomp.answers.answer import CLEAN, FINDINGS
from schedcomp.capacity import Wishes, curve, lifted, which_are_enough
from schedcomp.capacity_report import CurvePoint
from schedcomp.compiled import Compiled
from schedcomp.controller import Controller
from schedcomp.deviation import total_deviation
from schedcomp.model import HOUR, MINUTE, Period
from schedcomp.output.curve import CurvePicture, curve_svg
from schedcomp.records import Record, replace
from schedcomp.savings import savings_of
from tests.sites import DENVER, site_text

NOW = 1796304600
JANUARY = Period(date(2027, 1, 1), date(2027, 1, 31))
RULE = """\
schedcomp_ordinance = 1
title = "A rule"
[[requirement]]
clause = "3"
text = "no lamps before ten minutes after sunset"
rule = "not on before sunset + 10 min"
[[requirement]]
clause = "4"
text = "nine hours of darkness each night"
rule = "dark at least 9 h each night"
"""
LINES = ("every day: usual", "fri, sat evenings: late", "2027-01-09 evenings: dark")
WINDOWS = ("on from sunset + 15 min until 21:50", "on from 07:00 until sunrise - 10 min")
LATE = 'late = ["on from sunset + 15 min until 22:10"]'
SIGN = """[[circuit]]
name = "Sign"
channel = 2
load_kw = 3
photocell = "none"
override_minutes = 0
calendar = ["every day: usual", "sun evenings: late"]
"""


def site_file(folder: Path, tolerance: str, lines: tuple[str, ...] = LINES, *, rule: str) -> Path:
    (folder / "rule.toml").write_text(RULE, encoding="utf-8")
    site = f'tolerance = "{tolerance}"' + ('\nordinance = "rule.toml"' if rule else "")
    text = site_text(DENVER, WINDOWS, calendar=lines, types=LATE, site=site, more=SIGN)
    (folder / "site.toml").write_text(text, encoding="utf-8")
    return folder / "site.toml"


def kind(name: str, **more: object) -> Controller:
    controller, findings = controllerfile.load_controller(name)
    assert controller is not None, findings
    return replace(controller, **more)


def wishes_of(path: Path) -> Wishes:
    site, findings = sitefile.load_site(path)
    assert site is not None, findings
    ready, findings = pipeline.ready(site, JANUARY)
    assert ready is not None, findings
    return Wishes(ready.site, ready.world, ready.rules, ready.year)


def compiled_of(path: Path, controller: Controller) -> Compiled:
    site, findings = sitefile.load_site(path)
    assert site is not None, findings
    compiled, findings = pipeline.compile(site, JANUARY, controller)
    assert compiled is not None, findings
    return compiled


CASES = [
    pytest.param("a rule", kind("clock-yearly-48"), (4, 7, 10), id="a rule"),
    pytest.param("", kind("sun-yearly-32"), (0, 6, 8, 12), id="special days"),
    pytest.param("", kind("sun-yearly-32", step_minutes=10), (12, 20), id="a coarse step"),
    pytest.param("", kind("clock-yearly-48", slots_are="per channel"), (5,), id="by channel"),
]


@pytest.mark.parametrize(("rule", "controller", "minutes"), CASES)
def test_a_row_is_what_a_compilation_at_that_tolerance_says(
    rule: str, controller: Controller, minutes: tuple[int, ...], tmp_path: Path
) -> None:
    """Slots, and the worst and total minutes of its test run and of its certificate."""
    path = site_file(tmp_path, "9 min", rule=rule)
    for point in curve(wishes_of(path), controller, minutes):
        path = site_file(tmp_path, f"{point.tolerance_minutes} min", rule=rule)
        built = compiled_of(path, lifted(controller))
        assert point.slots == built.fitted.slots_needed
        assert point.fits == (compiled_of(path, controller).fitted.program is not None)
        if built.fitted.program is None:
            assert {one.circuit for one in point.out_of_reach} == {"Lot", "Sign"}
            continue
        assert built.audit is not None
        runs = [run for run in built.audit.runs if "opposite" not in run.name]
        assert point.early_seconds == max(run.worst_early_seconds for run in runs) > 0
        assert point.late_seconds == max(run.worst_late_seconds for run in runs)
        certificate = built.fitted.certificate
        assert certificate is not None
        assert point.slots is not None
        assert point.bound is not None
        assert 0 <= point.slots - point.bound <= certificate.slots - certificate.bound
        told = total_deviation(certificate)
        assert told is not None
        assert point.total_seconds == told.seconds > 0
        assert point.special_days == len(built.fitted.program.special_days)


def test_rules_bind_what_is_enough_and_what_would_save(tmp_path: Path) -> None:
    path = site_file(tmp_path, "9 min", rule="a rule")
    free = site_file(tmp_path, "9 min", rule="")
    controller = kind("clock-yearly-48", event_slots=20)
    bound = wishes_of(site_file(tmp_path, "9 min", rule="a rule"))
    [enough] = which_are_enough(bound, [controller])
    assert enough.slots == compiled_of(path, controller).fitted.slots_needed
    site_file(tmp_path, "9 min", rule="")
    assert (enough.slots or 0) > (compiled_of(free, controller).fitted.slots_needed or 0)
    savings = {s.text: s.slots for s in savings_of(bound, controller, 9) if s.text in LINES}
    assert len(savings) > 1
    for line, slots in savings.items():
        rest = tuple(other for other in LINES if other != line)
        path = site_file(tmp_path, "9 min", rest, rule="a rule")
        assert slots == compiled_of(path, controller).fitted.slots_needed, line


# The picture


def point(minutes: int, slots: int | None, worst: int, total: int, *, fits: bool) -> CurvePoint:
    """A program that is at most so many seconds early, and half as many late."""
    return CurvePoint(
        tolerance_minutes=minutes,
        slots=slots,
        bound=slots,
        fits=fits,
        early_seconds=None if slots is None else worst,
        late_seconds=None if slots is None else worst // 2,
        total_seconds=None if slots is None else total,
    )


NO_PROGRAM = point(0, None, 0, 0, fits=False)
POINTS = (
    NO_PROGRAM,
    point(1, 120, 60, 14 * HOUR, fits=False),
    point(4, 70, 235, 31 * HOUR, fits=False),
    point(7, 50, 420, 60 * HOUR, fits=True),
    point(8, 9, 400, 80 * HOUR, fits=True),  # shorter than the one before, and no further off
    point(12, 9, 400, 80 * HOUR, fits=True),
)


def picture(points: tuple[CurvePoint, ...], **more: object) -> CurvePicture:
    made = CurvePicture(
        site="A lot <north> & more",
        period="2027",
        controller="sun-yearly-64",
        slots=64,
        per_channel=False,
        wished_minutes=7,
        wished_words="within 7 min",
        points=points,
    )
    return replace(made, **more)


class Drawn(Record):
    """One plot, read back: marks as (across, slots), by how they are filled; lines as slots."""

    name: str
    marks: dict[str, list[tuple[float, float]]]
    dashed: list[float]
    crosses: list[float]


SVG = "{http://www.w3.org/2000/svg}"


def read_back(content: bytes) -> tuple[list[Drawn], list[str]]:
    """Both plots in the units of their axes, and all words."""
    root = ET.fromstring(content)
    texts = [(t.text or "", dict(t.attrib)) for t in root.iter(f"{SVG}text")]
    named = [(t, float(a["y"])) for t, a in texts if re.search(r"early or late$", t)]
    found = []
    for name, at in named:
        across = [(float(a["x"]), n(t)) for t, a in texts if float(a["y"]) == at - 21 and digits(t)]
        bottom = at - 40
        up = [
            (float(a["y"]) - 4, n(t))
            for t, a in texts
            if a.get("text-anchor") == "end" and bottom - 240 < float(a["y"]) < bottom + 10
        ]
        circles = [c for c in root.iter(f"{SVG}circle") if bottom - 240 < y_of(c) <= bottom]
        marks: dict[str, list[tuple[float, float]]] = {}
        for c in circles:
            spot = scaled(float(c.attrib["cx"]), across), scaled(y_of(c), up)
            marks.setdefault(c.attrib["fill"], []).append(spot)
        dashed = [
            scaled(float(line.attrib["y1"]), up)
            for line in root.iter(f"{SVG}line")
            if "stroke-dasharray" in line.attrib
            and bottom - 240 < float(line.attrib["y1"]) <= bottom
        ]
        crosses = [
            scaled(float(part[1]) + 4, across)
            for path in root.iter(f"{SVG}path")
            if (part := path.attrib["d"].split())[6:7] == ["M"]
            and abs(float(part[2]) + 4 - bottom) < 1
        ]
        found.append(Drawn(name, marks, dashed, crosses))
    return found, [text for text, _ in texts]


def digits(text: str) -> bool:
    return text.replace(",", "").isdigit()


def n(text: str) -> int:
    return int(text.replace(",", ""))


def y_of(circle: ET.Element) -> float:
    return float(circle.attrib["cy"])


def scaled(at: float, ticks: list[tuple[float, int]]) -> float:
    """What a place means on an axis with these ticks; to what a tenth of a pixel allows."""
    (low, first), (high, last) = min(ticks), max(ticks)
    return round(first + (at - low) * (last - first) / (high - low), 1)


def test_both_plots_say_what_the_rows_say() -> None:
    (worst, total), words = read_back(curve_svg(picture(POINTS)))
    assert "minutes" in worst.name
    assert worst.marks["#fff"] == [(1, 120), (3.9, 70)]
    assert worst.marks["#000"] == [(6.7, 9), (7, 50)]  # 50 only because it is the one wished for
    assert worst.marks["none"] == [(7, 50)]
    assert worst.crosses == [0]
    assert "hours" in total.name
    assert total.marks["#fff"] == [(14, 120), (31, 70)]
    assert total.marks["#000"] == [(60, 50), (80, 9)]
    assert total.marks["none"] == [(60, 50)]
    assert worst.dashed == total.dashed == [64]
    assert words.count("sun-yearly-64") == words.count("holds 64") == 2
    assert {"fits the controller", "does not fit the controller", "within 7 min"} < set(words)
    assert "Slots against minutes: A lot <north> & more" in words


def test_a_longer_program_that_comes_no_nearer_is_not_drawn() -> None:
    (worst, total), _ = read_back(curve_svg(picture(POINTS, wished_minutes=8)))
    assert worst.marks["#000"] == worst.marks["none"] == [(6.7, 9)]
    assert total.marks["#000"] == [(60, 50), (80, 9)]


def test_one_program_for_every_tolerance() -> None:
    """Clock times are kept to the second, so both axes hold nothing but 0."""
    points = tuple(point(minutes, 4, 0, 0, fits=True) for minutes in (0, 7, 30))
    drawn, words = read_back(curve_svg(picture(points)))
    for plot in drawn:
        assert plot.marks == {"#000": [(0, 4)], "none": [(0, 4)]}
        assert plot.dashed == [64]
        assert "minutes" in plot.name
    assert words.count("4") == 2


def test_no_program_at_all() -> None:
    points = tuple(replace(NO_PROGRAM, tolerance_minutes=minutes) for minutes in (0, 5, 7))
    (worst, total), words = read_back(curve_svg(picture(points)))
    assert worst.crosses == [0, 5, 7]
    assert (total.crosses, total.marks) == ([], {})
    assert "no program of any length" in words
    assert "within 7 min" not in words


def test_counts_far_beyond_the_controller_leave_it_readable() -> None:
    points = (point(1, 5000, 60, HOUR, fits=False), point(7, 20, 400, 2 * HOUR, fits=True))
    (worst, _), words = read_back(curve_svg(picture(points, slots=24)))
    assert worst.dashed == [24]
    assert worst.marks["#000"] == [(6.7, 20)]
    assert {"5,000", "takes more slots than the scale shows"} < set(words)


# The command


def test_the_answer_tells_rows_and_writes_the_picture(tmp_path: Path) -> None:
    path = site_file(tmp_path, "7 min", rule="a rule")
    svg = tmp_path / "slots.svg"
    days = {"first": "2027-01-04", "through": "2027-01-10"}
    asked = fit.FitRequest(site=str(path), most_minutes="8", picture=str(svg), **days)
    answer = fit.fit(asked, NOW)
    assert answer.exit_code == CLEAN, answer.findings
    assert "* within 7 min, the tolerance of the site file" in answer.text
    assert "Where the wishes meet a rule of the site, every program meets it too" in answer.text
    lines = [line for line in answer.text.splitlines() if svg.as_posix() not in line]
    assert all(len(line) <= 80 for line in lines)
    record: Any = answer.record
    rows = {row["tolerance_minutes"]: row for row in record["curve"]}
    seen = max(rows[7]["worst_early_seconds"], rows[7]["worst_late_seconds"])
    (worst, total), words = read_back(svg.read_bytes())
    assert worst.marks["none"] == [(round(seen / MINUTE, 1), rows[7]["slots"])]
    [(across, slots)] = total.marks["none"]
    assert across == pytest.approx(rows[7]["total_seconds"] / MINUTE, abs=0.2)
    assert slots == rows[7]["slots"]
    assert "within 7 min, the tolerance of the site file" in words


def test_what_a_rule_asks_of_the_controller_decides_what_is_enough(tmp_path: Path) -> None:
    """And a controller without the channels is no reason to name none: every answer stays."""
    path = site_file(tmp_path, "9 min", rule="a rule")
    asks = '[[requirement]]\nclause = "5"\ntext = "-"\nrule = "controller: knows the sun"\n'
    (tmp_path / "rule.toml").write_text(RULE + asks, encoding="utf-8")
    days = {"first": "2027-01-04", "through": "2027-01-10", "most_minutes": "9"}
    record: Any
    for name, exit_code in (
        ("sun-yearly-64", CLEAN),
        ("clock-yearly-96", FINDINGS),
        ("sun-weekly-16", FINDINGS),
    ):
        asked = fit.FitRequest(site=str(path), controller=name, **days)
        answer = fit.fit(asked, NOW)
        record = answer.record
        assert answer.exit_code == exit_code
        why = {row["controller"]: row["why_not"] for row in record["controllers"]}
        assert len(why) == len(controllerfile.builtin_controllers())
        for controller, text in why.items():
            assert ("knows no sun times" in text) == controller.startswith("clock-"), text
            assert ("Channel 2 is used" in text) == (kind(controller).channels < 2)
        assert {row["controller"] for row in record["controllers"] if row["enough"]} == {
            controller for controller, text in why.items() if not text
        }
        assert record["specification"]["rules_ask"] == [{"clause": "5", "for": "knows the sun"}]
        codes = [finding.code for finding in answer.findings]
        assert codes == {"c": ["E654"], "s": ["E640"]}[name[0]] * (exit_code == FINDINGS)
        assert bool(record["curve"]) == (name != "sun-weekly-16")
        if codes == ["E654"]:
            enough = [row for row in record["controllers"] if row["enough"]]
            smallest = min(enough, key=lambda row: row["slots_of_controller"])["controller"]
            assert f'controller = "{smallest}"' in answer.findings[0].fix
