"""Facts of an installation: line current, and what does not go together."""

from __future__ import annotations

import pytest

from schedcomp.panel_facts import circuit_cautions, cooling_minutes, line_amperes, shortest_gap
from schedcomp.records import replace
from schedcomp.sheet.schedule import schedule_page
from schedcomp.site import Circuit, PanelFacts
from tests import made_up
from tests.sheets import job, texts

PANEL = PanelFacts(
    volts=277,
    phases=1,
    contactor_poles=1,
    contactor_rating_amperes=40,
    power_factor=0.95,
    lamp_kind="LED",
    surge_protector="277 V, 1 line",
)
POLES = Circuit(name="Lot poles", channel=1, load_kw=6.4, panel=PANEL)


def panel(**facts: object) -> Circuit:
    return replace(POLES, panel=replace(PANEL, **facts))


def codes(circuit: Circuit) -> list[str]:
    return [f.code for f in circuit_cautions(circuit, made_up.YEAR, made_up.ZONE)]


@pytest.mark.parametrize(
    ("circuit", "amperes"),
    [
        (POLES, 6400 / (277 * 0.95)),  # I = P / (U cos phi)
        (panel(volts=208, phases=2, power_factor=None), 6400 / 208),
        (panel(volts=480, phases=3), 6400 / (3**0.5 * 480 * 0.95)),  # I = P / (sqrt 3 U cos phi)
    ],
)
def test_line_current(circuit: Circuit, amperes: float) -> None:
    assert line_amperes(circuit) == pytest.approx(amperes)


def test_no_current_without_load_or_voltage() -> None:
    assert line_amperes(replace(POLES, load_kw=None)) is None
    assert line_amperes(panel(volts=None)) is None


def test_all_is_well() -> None:
    assert codes(POLES) == []
    assert codes(replace(POLES, panel=PanelFacts())) == []


@pytest.mark.parametrize(("rating", "found"), [(30.5, []), (30.3, ["E590"])])
def test_a_fifth_of_the_rating_stays_free(rating: float, found: list[str]) -> None:
    """24.32 A: 80 % of 30.4 A."""
    assert codes(panel(contactor_rating_amperes=rating)) == found


def test_poles_for_every_line() -> None:
    assert codes(panel(phases=3, contactor_poles=2, surge_protector="")) == ["E591"]
    assert codes(panel(phases=3, contactor_poles=3, surge_protector="")) == []


@pytest.mark.parametrize(
    ("told", "found"),
    [
        ("120 V", ["E592"]),
        ("277 V", []),
        ("120/277 V", []),
        ("120 V and 277 V, 1 pole", []),
        ("in each pole", []),
        ("", []),
    ],
)
def test_surge_protectors_follow_the_load(told: str, found: list[str]) -> None:
    assert codes(panel(surge_protector=told)) == found


def test_surge_protector_with_too_few_lines() -> None:
    three = panel(phases=3, contactor_poles=3, surge_protector="277 V, 1-pole")
    assert codes(three) == ["E592"]


@pytest.mark.parametrize(
    ("kind", "minutes"),
    [
        ("LED", None),
        ("", None),
        ("metal halide, 400 W", 15),
        ("Mercury vapour", 7),
        ("high-pressure sodium", 2),
        ("LED, replaced metal halide", None),
    ],
)
def test_lamps_that_must_cool(kind: str, minutes: int | None) -> None:
    assert cooling_minutes(panel(lamp_kind=kind)) == minutes


def test_gaps_shorter_than_lamps_need_to_cool() -> None:
    """The poles go off at 23:00 on 10 March and on at 23:30 the next day; no gap is short."""
    gap = shortest_gap(made_up.POLES, made_up.YEAR)
    assert gap is not None
    assert codes(panel(lamp_kind="metal halide")) == []
    first, second, *rest = made_up.POLES.spans
    inside = replace(second, start=made_up.at("03-12 17:00"), end=made_up.at("03-12 18:10"))
    short = replace(made_up.POLES, spans=(first, inside, *rest))
    year = replace(made_up.YEAR, circuits=(short, made_up.SIGNS))
    [found] = circuit_cautions(panel(lamp_kind="metal halide"), year, made_up.ZONE)
    assert found.code == "E593"
    assert "only 5 min on Fri 12 Mar 2027" in found.title


def test_the_schedule_on_paper() -> None:
    compiled = made_up.WITH_SPECIAL_DAYS
    facts = replace(PANEL, contactor="latched", contactor_rating_amperes=20, fed_from="panel E, 3")
    poles = replace(compiled.site.circuits[0], panel=facts)
    site = replace(compiled.site, circuits=(poles, *compiled.site.circuits[1:]))
    told = "\n".join(texts(schedule_page(job(replace(compiled, site=site))).blocks))
    assert "Current in each line | 24.3 A (power factor 0.95) | ____" in told
    assert "Lamps fed from | panel E, 3 | ____" in told
    assert "Lot poles | as they were | as they were" in told
    assert "more than 80 % of its contactor's 20 A" in told
    assert "They do not replace the licensed electrician" in told


@pytest.mark.parametrize(
    ("photocell", "fails", "told"),
    [
        ("series", "open", "dark"),
        ("series", "closed", "as the clock says"),
        ("parallel", "closed", "lit day and night"),
        ("parallel", "open", "as the clock says"),
        ("series", "", "not stated *"),
        ("none", "", "no photocell"),
    ],
)
def test_what_a_broken_photocell_does(photocell: str, fails: str, told: str) -> None:
    compiled = made_up.WITH_SPECIAL_DAYS
    poles = replace(
        compiled.site.circuits[0], photocell=photocell, panel=PanelFacts(photocell_fails=fails)
    )
    site = replace(compiled.site, circuits=(poles, *compiled.site.circuits[1:]))
    lines = texts(schedule_page(job(replace(compiled, site=site))).blocks)
    row = [line for line in lines if line.startswith("Lot poles | ")][-1]
    assert row.split(" | ")[3] == told
