"""What is taken without being told, in words for people."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from schedcomp.site import Assumption, Circuit
from schedcomp.words import join_and


def assumptions(
    *,
    zone: str | None,
    dusk_given: bool,
    dawn_given: bool,
    holidays_given: bool,
    rule_given: bool,
    circuits: Sequence[Circuit],
) -> Iterator[Assumption]:
    """`zone` is a zone that was looked up, None if the file gives it.

    Once a rule is named, photocell and override have no usual value: they must be told.
    """
    if zone is not None:
        yield Assumption(topic="time zone", text=f"{zone}, looked up from the coordinates")
    if not dusk_given:
        yield Assumption(topic="dusk", text="sunset + 15 min")
    if not dawn_given:
        yield Assumption(topic="dawn", text="sunrise - 15 min")
    yield Assumption(topic="horizon", text="level: no hills or buildings hide the sun")
    if not holidays_given:
        yield Assumption(topic="holidays", text="no holiday list: no date is a holiday")
    if not rule_given:
        yield from _about("photocell", [c.name for c in circuits if c.photocell is None], "none")
        yield from _about(
            "override", [c.name for c in circuits if c.override_minutes is None], "0 minutes"
        )


def _about(topic: str, names: Sequence[str], taken: str) -> Iterator[Assumption]:
    if names:
        yield Assumption(topic=topic, text=f"{taken} for {join_and(names)}")
