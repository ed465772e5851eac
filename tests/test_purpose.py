"""What slots are for, in words."""

from __future__ import annotations

from schedcomp.fit.purpose import purpose_of
from schedcomp.model import Action
from schedcomp.program import ClockStart, SunOffset


def test_a_slot_that_serves_no_switching_still_says_what_it_does() -> None:
    assert purpose_of(Action.OFF, [], ClockStart(22 * 60)) == "off at 22:00, in case one was missed"
    found = purpose_of(Action.ON, [], SunOffset("sunset", 11))
    assert found == "on at sunset + 11 min, in case one was missed"
