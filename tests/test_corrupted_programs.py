"""Programs of random sites with one field changed: the test run notices, or nothing is wrong.

What is wrong is decided by `tests.judge`, which reads a program word by word and shares nothing
with the test run.
"""

from __future__ import annotations

import random
from collections import Counter

from hypothesis import HealthCheck, given, settings

from schedcomp.audit import first_doubt, run_program
from schedcomp.audit.compare import wanted_of
from schedcomp.later import wrongs_of
from schedcomp.model import Instant
from schedcomp.program import Program
from schedcomp.records import replace
from tests import judge, site_laws
from tests.brute_force import World
from tests.corruptions import ONLY_WORDS, Corrupted, corrupted, without_one
from tests.site_laws import Ran
from tests.tiny_worlds import how_many
from tests.whole_sites import WholeSite, whole_sites

MOST_TRIED = 40
"""Corruptions of one program."""


def agrees(program: Program, ran: Ran) -> bool:
    report = run_program(program, ran.controller, ran.target, ran.sun, ran.site.timezone)
    doubt = doubt_of(program, ran)
    for wrong in wrongs_of(report):
        assert doubt is not None
        assert doubt <= wrong.instant
    return report.agrees


def doubt_of(program: Program, ran: Ran) -> Instant | None:
    """Until when the check on intervals alone finds the program right."""
    wanted = tuple(map(wanted_of, ran.target.channels))
    period = (ran.target.start, ran.target.end)
    return first_doubt(program, ran.controller, wanted, period, ran.sun, ran.site.timezone)


def is_right(program: Program, world: World) -> bool:
    """A channel that only the program has is to stay dark."""
    known = {c.channel for c in world.channels}
    told = {n for event in program.events for n in event.channels}
    told |= {n for days in program.special_days for n in days.channels}
    dark = [
        replace(world.channels[0], channel=n, lit_at_start=False, switchings=())
        for n in sorted(told - known)
    ]
    channels = (*world.channels, *dark)
    return not any(judge.wrong(judge.firings_of(program, world, c), c) for c in channels)


def sampled(ran: Ran, program: Program) -> list[Corrupted]:
    """Some corruptions of every field there is."""
    every = list(corrupted(program, ran.controller))
    chance = random.Random(repr(program.events[:1]))
    chance.shuffle(every)
    count: Counter[object] = Counter()
    found = []
    for one in every:
        count[one.kind, one.field] += 1
        if count[one.kind, one.field] <= 3:
            found.append(one)
    return found[:MOST_TRIED]


@settings(
    deadline=None,
    derandomize=True,
    max_examples=how_many(120),
    suppress_health_check=[HealthCheck.too_slow],
)
@given(whole_sites(7))
def test_a_corrupted_field_is_noticed_or_does_no_harm(made: WholeSite) -> None:
    ran = site_laws.run(made)
    if not isinstance(ran, Ran) or ran.fitted.program is None or not site_laws.can_be_judged(ran):
        return
    program, world = ran.fitted.program, site_laws.tiny_world(ran)
    for one in sampled(ran, program):
        seen = agrees(one.program, ran)
        assert seen == is_right(one.program, world), (one, ran.controller)
        if one.field in ONLY_WORDS:
            assert seen
    for less in without_one(program):
        assert agrees(less, ran) == is_right(less, world)
