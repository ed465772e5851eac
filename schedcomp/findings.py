"""What a compilation has to say about the controller and the program."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date

from schedcomp.audit.findings import audit_findings
from schedcomp.compiled import Compiled
from schedcomp.controller import Controller
from schedcomp.controllerfile import builtin_controllers, load_controller
from schedcomp.diag import Diagnostic
from schedcomp.fit.overrides import override_notes
from schedcomp.messages import fitting as messages
from schedcomp.messages.kind import Kind
from schedcomp.messages.rules import NO_ROOM
from schedcomp.model import MINUTE, Instant, Period
from schedcomp.rule_room import beside_rule, no_room
from schedcomp.site import Assumption, Site
from schedcomp.target import DROPPED, LENGTHENED, STEPPED, Changed, TargetSwitching
from schedcomp.told_time import phrase_words
from schedcomp.unit_place import unit_sun_of
from schedcomp.words import counted, date_words, length_words

DIRECTIONS = {
    "light": "earlier on and later off",
    "dark": "later on and earlier off",
    "even": "earlier or later",
}

NO_PROGRAM = frozenset(
    kind.code for kind in (messages.OUT_OF_REACH, messages.NEEDS_MORE_SLOTS, NO_ROOM)
)
"""The codes that tell why there is no program."""


def unit_problems(site: Site, controller: Controller) -> tuple[Diagnostic, ...]:
    """What the site asks of its controller that no program could give."""
    return tuple(_missing_channels(site, controller))


def _missing_channels(site: Site, controller: Controller) -> Iterator[Diagnostic]:
    used = sorted({circuit.channel for circuit in site.circuits})
    beyond = [n for n in used if n > controller.channels]
    free = [n for n in range(controller.channels, 0, -1) if n not in used]
    other = _with_channels(len(used)) if len(free) < len(beyond) else ""
    for circuit in site.circuits:
        if circuit.channel in beyond:
            instead = free[beyond.index(circuit.channel)] if not other else 0
            yield messages.NO_SUCH_CHANNEL.at(
                circuit.at,
                circuit=circuit.name,
                channel=circuit.channel,
                controller=controller.name,
                channels=counted(controller.channels, "channel"),
                fix=other or messages.FREE_CHANNEL.format(channel=instead),
            )


def _with_channels(count: int) -> str:
    """The built-in controller with so many channels and the most slots, as it can be typed."""
    built_in = (load_controller(name)[0] for name in builtin_controllers())
    wide = [c for c in built_in if c is not None and c.channels >= count]
    if not wide:
        return messages.NO_SO_MANY_CHANNELS.format(channels=count)
    return messages.MORE_CHANNELS.format(controller=max(wide, key=lambda c: c.event_slots).name)


def assumed_of(site: Site, controller: Controller) -> tuple[Assumption, ...]:
    """What was taken without being told: of the site, then of the controller."""
    found = list(site.assumed)
    if controller.sun_starts:
        minutes, degrees = controller.sun_error_minutes, controller.sun_error_degrees
        text = (
            f"the unit's own sun times are within {minutes:g} min and {degrees:g} degrees of ours"
        )
        found.append(Assumption(topic="sun error", text=text))
    if controller.assumed:
        names = ", ".join(controller.assumed)
        text = f"{controller.name} leaves out {names}: the usual values were taken"
        found.append(Assumption(topic="controller", text=text))
    return tuple(found)


_SHARED = {
    "per channel": "this unit keeps one offset a channel for each sun time",
    "one for all": "this unit keeps one offset for each sun time",
}


def program_findings(compiled: Compiled) -> tuple[Diagnostic, ...]:
    """What does not fit, what the target changed, and a test run that disagrees."""
    found = [
        *_never_switched_on(compiled),
        *_changes(compiled),
        *_shorter(compiled),
        *override_notes(
            compiled.fitted.ended_overrides, compiled.controller, compiled.site.circuits
        ),
    ]
    if compiled.fitted.program is None:
        found += _no_program(compiled)
    if compiled.audit is not None:
        found += audit_findings(compiled.audit, compiled.target, compiled.world.zone)
    return tuple(found)


def _never_switched_on(compiled: Compiled) -> Iterator[Diagnostic]:
    """Lamps lit from end to end need no slot, and a unit that starts dark leaves them dark; a
    spare slot may switch them on.
    """
    program = compiled.fitted.program
    switched = {n for event in (program.events if program else ()) for n in event.channels}
    for channel in compiled.target.channels:
        always = channel.lit_at_start and not channel.switchings
        if always and channel.channel not in switched:
            at = next((c.at for c in compiled.site.circuits if c.name == channel.circuit), None)
            way_out = 'give it a short break, for example\n"on from 12:00 until 11:55"'
            if compiled.site.fit.spare == "none" and program is not None:
                way_out = 'let a spare slot do it, under [site]\nspare = "safety"'
            yield messages.NEVER_SWITCHED_ON.at(at, circuit=channel.circuit, way_out=way_out)


def fit_command(site: Site, controller: Controller, period: Period) -> str:
    """What to type to be told about slots for the same dates and the same controller."""
    words = ["schedcomp fit", site.typed_file]
    year = period.first.year
    if period == Period(date(year, 1, 1), date(year, 12, 31)):
        words.append(f"--year {year}")
    else:
        words.append(f"--from {period.first} --through {period.last}")
    if site.controller_at is None:
        name = site.controller or controller.name
        words.append(f'--controller "{name}"' if " " in name else f"--controller {name}")
    return " ".join(words)


def _no_program(compiled: Compiled) -> Iterator[Diagnostic]:
    fitted, controller = compiled.fitted, compiled.controller
    at = compiled.site.controller_at
    for circuit, switchings in fitted.out_of_reach:
        of_year = compiled.year.circuit(circuit)
        if beside := beside_rule(switchings, of_year):
            unit = unit_sun_of(compiled.site, controller, compiled.world)
            yield no_room(beside, of_year, compiled.site, controller, unit)
        switchings = tuple(s for s in switchings if s not in beside)
        if not switchings:
            continue
        first = switchings[0]
        yield messages.OUT_OF_REACH.at(
            at,
            controller=controller.name,
            switchings=counted(len(switchings), "switching"),
            circuit=circuit,
            tolerance=fitted.tolerance_minutes,
            action=first.action.value,
            phrase=phrase_words(compiled.world.zone, first.reason.phrase),
            first=date_words(first.reason.date),
            fix=_way_out(compiled, switchings),
        )
    if fitted.slots_needed is not None:
        yield messages.NEEDS_MORE_SLOTS.at(
            at,
            needed=fitted.slots_needed,
            controller=controller.name,
            slots=controller.event_slots,
            tolerance=fitted.tolerance_minutes,
            direction=DIRECTIONS[compiled.site.fit.favour],
            each=" on one channel" if controller.slots_are == "per channel" else "",
            command=fit_command(compiled.site, controller, compiled.year.period),
        )


def _shorter(compiled: Compiled) -> Iterator[Diagnostic]:
    """That a larger tolerance within the limit would save slots worth naming."""
    fitted = compiled.fitted
    if fitted.slots_needed is None or fitted.slots_at_limit is None:
        return
    if 0 < fitted.slots_at_limit * 2 <= fitted.slots_needed:
        yield messages.FEWER_SLOTS.at(
            None,
            used=fitted.slots_needed,
            tolerance=fitted.tolerance_minutes,
            wider=compiled.site.fit.tolerance_limit_minutes,
            needed=fitted.slots_at_limit,
        )


def _way_out(compiled: Compiled, switchings: Sequence[TargetSwitching]) -> str:
    """What would help: minutes help only switchings that follow the sun."""
    controller = compiled.controller
    if not all(s.reason.bound.has_sun for s in switchings):
        return (
            "give all dates the same times, or use a controller whose slots can have dates of the "
            'year, for example\ncontroller = "sun-yearly-64"'
        )
    if controller.sun_starts and controller.offsets != "per event":
        return (
            f"give dusk one offset throughout and dawn one, since {_SHARED[controller.offsets]}; "
            "or use a controller with an offset for each slot, for example\n"
            'controller = "sun-yearly-64"'
        )
    if controller.sun_starts or controller.date_ranges != "none":
        told = "allow more minutes; this tells what each tolerance takes"
        return f"{told}\n{fit_command(compiled.site, controller, compiled.year.period)}"
    return (
        'use a controller that knows sunrise and sunset, for example\ncontroller = "sun-weekly-48"'
    )


def _changes(compiled: Compiled) -> Iterator[Diagnostic]:
    """Differences between the exact year and the target, one finding a circuit and kind."""
    for channel in compiled.target.channels:
        groups: dict[str, list[Changed]] = defaultdict(list)
        for change in channel.changed:
            groups[change.kind].append(change)
        at = next((c.at for c in compiled.site.circuits if c.name == channel.circuit), None)
        for kind, changes in groups.items():
            message, noun = _change_kind(kind)
            yield message.at(
                at,
                circuit=channel.circuit,
                count=counted(len(changes), noun),
                dates=_dates(compiled, changes),
                longest=length_words(max(c.end - c.start for c in changes)),
                cause=_too_short(compiled, changes),
                step=compiled.controller.step_minutes,
                controller=compiled.controller.name,
                phrase=phrase_words(compiled.world.zone, changes[0].reason.phrase),
            )


def _change_kind(kind: str) -> tuple[Kind, str]:
    """The message, and what it counts."""
    return {
        DROPPED: (messages.SWITCHING_DROPPED, "lit span"),
        LENGTHENED: (messages.GAP_LENGTHENED, "dark gap"),
        STEPPED: (messages.MOVED_TO_STEP, "switching"),
    }[kind]


def _dates(compiled: Compiled, changes: Sequence[Changed]) -> str:
    first, last = (_day(compiled, changes[at].start) for at in (0, -1))
    return f"First on {first}, last on {last}" if len(changes) > 1 else f"On {first}"


def _too_short(compiled: Compiled, changes: Sequence[Changed]) -> str:
    """Why the unit cannot switch these spans or gaps as they are."""
    controller = compiled.controller
    longest = max(change.end - change.start for change in changes)
    if longest < controller.step_minutes * MINUTE:
        return (
            f"The unit switches in steps of {controller.step_minutes} min, so on and off could "
            "fall together."
        )
    if controller.repeated_time == "twice" and not controller.sun_starts:
        return "The unit runs the hour that comes twice a second time, and would switch again."
    return (
        f"The unit's own sun times may be {controller.sun_error_minutes:g} min off, so it could "
        "switch off before it switches on."
    )


def _day(compiled: Compiled, instant: Instant) -> str:
    return date_words(compiled.world.zone.local_date(instant))
