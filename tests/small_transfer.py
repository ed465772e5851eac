"""A small transfer file made by hand: four dates at Denver, two circuits, four events."""

from __future__ import annotations

from schedcomp.controller import Controller
from schedcomp.keyedwords import Entry, content_words
from schedcomp.model import Action
from schedcomp.output.transfer import transfer_json
from schedcomp.program import ClockStart, Event, Program, SpecialDays, SunOffset
from schedcomp.records import replace
from schedcomp.transfer import Transfer
from schedcomp.transferfile import read_transfer
from tests.made_up import CONTROLLER, PLAIN_SITE, VERSIONS, WITH_SPECIAL_DAYS

SMALL_CONTROLLER = replace(CONTROLLER, weekday_sets=None)

SMALL_PROGRAM = Program(
    controller=SMALL_CONTROLLER.name,
    events=(
        Event(slot=1, channels=(1,), action=Action.ON, start=SunOffset("sunset", 15)),
        Event(slot=2, channels=(1,), action=Action.OFF, start=ClockStart(23 * 60)),
        Event(slot=3, channels=(2,), action=Action.ON, start=SunOffset("sunset", 0)),
        Event(slot=4, channels=(2,), action=Action.OFF, start=ClockStart(22 * 60)),
    ),
)


def keyed_list(program: Program) -> str:
    """What somebody would read off the display of a unit that holds it, events first."""
    entries: tuple[Entry, ...] = (*program.events, *program.special_days)
    kinds = ("special " if isinstance(entry, SpecialDays) else "" for entry in entries)
    return "".join(
        f"{kind}{e.slot} {content_words(e)}\n" for kind, e in zip(kinds, entries, strict=True)
    )


def small_bytes(
    program: Program = SMALL_PROGRAM, controller: Controller = SMALL_CONTROLLER
) -> bytes:
    return transfer_json(replace(WITH_SPECIAL_DAYS, controller=controller), program, VERSIONS)


def tiny_bytes() -> bytes:
    """As little as a transfer file can hold."""
    given = replace(
        WITH_SPECIAL_DAYS,
        site=replace(PLAIN_SITE, hours=None, units=(), circuits=PLAIN_SITE.circuits[:1]),
        controller=replace(SMALL_CONTROLLER, sun_starts=(), assumed=()),
        world=replace(
            WITH_SPECIAL_DAYS.world, holidays=replace(WITH_SPECIAL_DAYS.world.holidays, holidays=())
        ),
        fitted=replace(WITH_SPECIAL_DAYS.fitted, certificate=None),
    )
    events = (
        Event(slot=1, channels=(1,), action=Action.ON, start=ClockStart(20 * 60)),
        Event(slot=2, channels=(1,), action=Action.OFF, start=ClockStart(23 * 60)),
    )
    return transfer_json(given, Program(controller=SMALL_CONTROLLER.name, events=events), VERSIONS)


def small(program: Program = SMALL_PROGRAM, controller: Controller = SMALL_CONTROLLER) -> Transfer:
    transfer, findings = read_transfer(small_bytes(program, controller), "transfer.json")
    assert transfer is not None, findings
    return transfer
