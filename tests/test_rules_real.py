"""Every real clause has the right verdict on a schedule that meets it and on a minute that does
not.
"""

from __future__ import annotations

import pytest

from schedcomp.model import MINUTE
from schedcomp.ordinance.verdict import Status
from tests.judged import verdicts
from tests.real_clauses import CASES, Case
from tests.usual_clauses import USUAL


def test_there_are_all_of_them() -> None:
    assert len(CASES) == len({case.name for case in CASES}) == 49
    assert len(USUAL) == len({case.name for case in USUAL}) == 40


EVERY = (*CASES, *USUAL)


@pytest.mark.parametrize("case", EVERY, ids=[case.name for case in EVERY])
def test_a_clause_is_met_and_one_minute_of_one_night_breaks_it(case: Case) -> None:
    met = verdicts(case.scene)
    for name, verdict in met.items():
        wanted = {Status.NOT_CHECKABLE} if name in case.untold else {Status.PASS}
        if name in ("sensor", "back-up") and case.name.startswith("Long Beach"):
            wanted = {Status.FAIL}
        assert verdict.status in wanted, (name, verdict.why, verdict.worst)
    for name, single in case.breaks:
        broken = verdicts(case.scene, single)[name]
        assert broken.status is Status.FAIL, (name, single)
        assert len(broken.failed) == 1, (name, [n.day for n in broken.failed])
        assert broken.failed_seconds == MINUTE, (name, broken.failed)
