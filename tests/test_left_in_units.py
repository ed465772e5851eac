"""What a renewal leaves in a unit though nothing needs it: less to key, and no harm in any year.

Each program is run by the test run, and through the years in which it is good, with what was left
in it and without.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from schedcomp import controllerfile, pipeline, sitefile
from schedcomp.answers.build import BuildRequest, build
from schedcomp.compiled import Compiled
from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.later import good_until
from schedcomp.model import Period
from schedcomp.program import Program
from schedcomp.records import replace
from schedcomp.renewal import EVENTS, body_of, slot_changes
from schedcomp.report.words import used_words
from schedcomp.transferfile import load_transfer
from schedcomp.transferlimits import contradictions
from tests.sites import DENVER, site_text

NOW = 1796304600
EVENING = "on from 17:00 until 22:00"
TYPES = 'early = ["on from 17:00 until 20:00"]\nfair = ["on from 15:00 until 23:30"]'


def unit(name: str, **more: object) -> Controller:
    controller, findings = controllerfile.load_controller(name)
    assert controller is not None, findings
    return replace(controller, **more)


def compiled(
    folder: Path,
    year: int,
    lines: tuple[str, ...],
    controller: Controller,
    keep: Program | None = None,
    more: str = "",
) -> Compiled:
    """December of a year; `more` are further keys of the site."""
    path = folder / "site.toml"
    path.write_text(site_text(DENVER, (EVENING,), calendar=lines, types=TYPES, site=more), "utf-8")
    site, findings = sitefile.load_site(path)
    assert site is not None, findings
    period = Period(date(year, 12, 1), date(year, 12, 31))
    found, findings = pipeline.compile(site, period, controller, keep=keep)
    assert found is not None, findings
    assert found.fitted.program is not None
    assert found.audit is not None
    assert found.audit.agrees
    return found


def changed_slots(old: Program, new: Program, controller: Controller) -> list[tuple[str, int, str]]:
    return [(c.listed, c.slot, c.action) for c in slot_changes(old, new, controller)]


def last_right_day(found: Compiled, program: Program) -> date:
    return good_until(
        found.site,
        found.controller,
        program,
        found.world,
        found.year,
        found.fitted.tolerance_minutes,
    ).last


# Events that did something in the old program


def test_what_would_do_the_first_wrong_thing_in_a_later_year_does_not_stay(tmp_path: Path) -> None:
    """The repeat of 20:10 rests on 24 December 2028, a Sunday, and hurts on the next, a Monday."""
    clock = unit("clock-yearly-48", exceptions=ExceptionSlots())
    old = compiled(tmp_path, 2027, ("every day: usual", "dec 23 to dec 24: early"), clock)
    held = old.fitted.program
    assert held is not None
    found = compiled(tmp_path, 2028, ("every day: usual", "sat, sun: early"), clock, held)
    program = found.fitted.program
    assert program is not None
    assert found.good_until is not None
    assert found.good_until.wrong is None
    [slot] = [s for _, s, action in changed_slots(held, program, clock) if action == "delete"]
    [left] = [e for e in held.events if e.slot == slot]
    assert left.purpose == "safety repeat of slot 2: off again 10 min after 20:00"
    with_it = replace(program, events=(*program.events, left))
    assert last_right_day(found, with_it) == date(2029, 12, 23)


def test_for_its_sake_alone_nobody_has_to_go(tmp_path: Path) -> None:
    """Where nothing else is to be keyed the program of the unit stays as it is."""
    clock = unit("clock-yearly-48", exceptions=ExceptionSlots())
    lines = ("every day: usual", "sat, sun: early")
    made = compiled(tmp_path, 2028, lines, clock).fitted.program
    other = compiled(tmp_path, 2027, ("every day: usual", "dec 23 to dec 24: early"), clock)
    assert made is not None
    assert other.fitted.program is not None
    [left] = [e for e in other.fitted.program.events if "after 20:00" in e.purpose]
    held = replace(made, events=(*made.events, replace(left, slot=40)))
    found = compiled(tmp_path, 2028, lines, clock, held)
    assert found.fitted.program is not None
    assert changed_slots(held, found.fitted.program, clock) == []
    assert found.good_until is not None
    assert found.good_until.last == date(2029, 12, 23)


# Plans of special days

FAIR = ("every day: usual", "2027-12-24: fair", "2027-12-29: fair")
DARK = ("every day: usual", "2028-12-26: dark")
SPECIAL = unit("clock-yearly-48")


def test_a_plan_that_no_date_runs_stays_and_is_ready_when_it_is_wanted_again(
    tmp_path: Path,
) -> None:
    held = compiled(tmp_path, 2027, FAIR, SPECIAL).fitted.program
    assert held is not None
    of_plan = [e for e in held.events if e.plan]
    assert len(of_plan) == 2
    next_year = compiled(tmp_path, 2028, DARK, SPECIAL, held)
    program = next_year.fitted.program
    assert program is not None
    changes = changed_slots(held, program, SPECIAL)
    assert {listed for listed, _, _ in changes} == {"special days"}
    left = [e for e in program.events if e.plan]
    assert [(e.slot, body_of(e)) for e in left] == [(e.slot, body_of(e)) for e in of_plan]
    assert all(e.safety and e.purpose.endswith("of plan A, which no date runs") for e in left)
    bare = replace(program, events=tuple(e for e in program.events if not e.plan))
    assert last_right_day(next_year, program) == last_right_day(next_year, bare)
    lines = ("every day: usual", "2029-12-21: fair")
    again = compiled(tmp_path, 2029, lines, SPECIAL, program).fitted.program
    assert again is not None
    assert not [c for c in slot_changes(program, again, SPECIAL) if c.listed == EVENTS]
    assert [e.safety for e in again.events if e.plan] == [False, False]


def test_without_spare_slots_in_use_nothing_stays(tmp_path: Path) -> None:
    held = compiled(tmp_path, 2027, FAIR, SPECIAL).fitted.program
    found = compiled(tmp_path, 2028, DARK, SPECIAL, held, 'spare = "none"').fitted.program
    assert found is not None
    assert not [e for e in found.events if e.plan or e.safety]


@pytest.mark.parametrize(("plans", "stay"), [(1, False), (2, True)])
def test_a_plan_gives_way_where_the_unit_has_room_for_no_other(
    plans: int, stay: bool, tmp_path: Path
) -> None:
    """Dates without events are a plan too, one that is empty."""
    few = replace(SPECIAL, exceptions=replace(SPECIAL.exceptions, plans=plans))
    held = compiled(tmp_path, 2027, FAIR, few).fitted.program
    found = compiled(tmp_path, 2028, DARK, few, held).fitted.program
    assert found is not None
    assert found.special_days
    assert any(e.plan for e in found.events) == stay


# Plans that have slots of their own

OWN = """\
schedcomp_controller = 1
name = "plans apart"
event_slots = 4
channels = 2
starts_at = ["clock"]
exceptions = { slots = 4, plan = "own events", plan_events = 4, plans = 2 }
"""
SIGN = """[[circuit]]
name = "Sign"
channel = 2
photocell = "none"
override_minutes = 0
calendar = ["every day: usual"]
"""


def test_plans_with_slots_of_their_own_leave_the_event_slots_to_others(tmp_path: Path) -> None:
    """Four slots for two channels: none is lost to a plan, and the file is one the unit holds."""
    (tmp_path / "apart.toml").write_text(OWN, encoding="utf-8")
    text = site_text(DENVER, (EVENING,), calendar=FAIR, types=TYPES, more=SIGN)
    path = tmp_path / "site.toml"
    path.write_text(text.replace("sun-yearly-64", "apart.toml"), encoding="utf-8")
    out = tmp_path / "out"
    asked = BuildRequest(site=str(path), out=str(out), first="2027-12-20", through="2027-12-31")
    answer = build(asked, NOW)
    assert "uses 4 of 4 and 2 in special-day plans" in " ".join(answer.text.split())
    transfer, found = load_transfer(out / "transfer.json")
    assert transfer is not None, found
    assert contradictions(transfer) == ()
    events = transfer.program.events
    assert [(e.slot, e.channels[0], e.plan) for e in events] == [
        *((1, 1, ""), (2, 1, ""), (3, 2, ""), (4, 2, "")),
        *((5, 1, "A"), (6, 1, "A")),
    ]
    each = replace(transfer.controller, slots_are="per channel")
    assert used_words(transfer.program, each, briefly=False) == (
        "uses 2 of 4 on channel 1 and 2 of 4 on channel 2 and 2 in special-day plans"
    )


def test_plans_with_slots_of_their_own_are_renewed_with_as_little_to_key(tmp_path: Path) -> None:
    """A plan that no date runs stays; what is new goes into event slots and not into its slots."""
    own = ExceptionSlots(slots=4, events_from="plan_events", plan_events=4, plans=2)
    apart = unit("clock-yearly-48", event_slots=4, exceptions=own)
    held = compiled(tmp_path, 2027, FAIR, apart).fitted.program
    assert held is not None
    assert [e.slot for e in held.events if e.plan] == [5, 6]
    lines = (*DARK, "fri evenings: early")
    program = compiled(tmp_path, 2028, lines, apart, held).fitted.program
    assert program is not None
    assert [(e.slot, e.safety) for e in program.events if e.plan] == [(5, True), (6, True)]
    assert max(e.slot for e in program.events if not e.plan) <= 4
    events = [c for c in slot_changes(held, program, apart) if c.listed == EVENTS]
    assert [c.action for c in events] == ["change"]
