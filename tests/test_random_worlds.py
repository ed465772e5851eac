"""Whole sites made at random: whatever is asked of whatever unit, the laws hold or no program is
written, and no run ends in a fault.

`SCHEDCOMP_WORLDS=2000` makes each test try so many. What was found so is kept as a small site.
"""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings

from tests import site_laws
from tests.site_laws import Ran
from tests.tiny_worlds import how_many
from tests.whole_sites import WholeSite, whole_sites


def quick(usual: int) -> settings:
    return settings(
        deadline=None,
        derandomize=True,
        max_examples=how_many(usual),
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )


@quick(320)
@given(whole_sites(14))
def test_the_test_run_is_the_year(made: WholeSite) -> None:
    ran = site_laws.run(made)
    if isinstance(ran, Ran):
        site_laws.check(ran)


@quick(64)
@given(whole_sites(7))
def test_sites_that_differ_in_one_thing(made: WholeSite) -> None:
    ran = site_laws.run(made)
    if isinstance(ran, Ran):
        site_laws.check(ran)
        site_laws.check_relations(made, ran)


@quick(8)
@given(whole_sites(365))
def test_whole_years(made: WholeSite) -> None:
    ran = site_laws.run(made)
    if isinstance(ran, Ran):
        site_laws.check(ran)
