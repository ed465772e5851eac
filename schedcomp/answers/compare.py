"""The answer to `compare`: how the lamps of two programs, site files or lists differ."""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp import asked
from schedcomp.answers.answer import BAD_FILES, CLEAN, FINDINGS, USAGE, Answer, Findings
from schedcomp.answers.here import utc_date
from schedcomp.audit_report import NO_SLOT
from schedcomp.behaviour import Behaviour
from schedcomp.clock import Zone, zone
from schedcomp.comparables import (
    EVENTS,
    LIST,
    Around,
    Side,
    behaviour_of,
    completed,
    load_side,
    with_controller,
)
from schedcomp.comparison import ChannelComparison, compare_behaviours
from schedcomp.diag import Diagnostic
from schedcomp.messages import compare as messages
from schedcomp.model import ONE_DAY, Instant, Period
from schedcomp.records import Record
from schedcomp.renewal import SlotChange, slot_changes
from schedcomp.report import compare as report
from schedcomp.words import counted, date_words

NEAR_DEGREES = 0.05
"""About 5 km; nearer places have the same sun within a quarter of a minute."""


class CompareRequest(Record, kw_only=True):
    """What was typed after `compare`; None where an option was left out."""

    first: str
    second: str
    site: str | None = None
    year: str | None = None
    begin: str | None = None
    through: str | None = None

    @property
    def names_period(self) -> bool:
        return any(text is not None for text in (self.year, self.begin, self.through))


def compare(request: CompareRequest, now: Instant) -> Answer:
    """Play both sides over the same dates and tell the differences."""
    given, found = asked.read_period(request.year, request.begin, request.through, utc_date(now))
    if given is None:
        return Answer(exit_code=USAGE, findings=found)
    sides, found = _sides(request)
    if sides is None:
        is_usage = any(f.code == messages.NO_PLACE.code for f in found)
        return Answer(exit_code=USAGE if is_usage else BAD_FILES, findings=found)
    first, second = sides
    period = given if request.names_period else _usual_period(first, second, given)
    lit = []
    for side in sides:
        behaviour, found = behaviour_of(side, period)
        if behaviour is None:
            return Answer(exit_code=BAD_FILES, findings=found)
        lit.append(behaviour)
    around = _around(first, second)
    here = zone(around.location.zone_name, period.first - ONE_DAY, period.last + ONE_DAY)
    channels = compare_behaviours(lit[0], lit[1], dict(around.lamps), here)
    changes, slots = _slots(first, second)
    told = report.Told(
        first=report.Named(first.name, first.kind),
        second=report.Named(second.name, second.kind),
        period=period,
        channels=channels,
        changes=changes,
        slots=slots,
        confirms="" if changes or _differ(channels) else _confirms(first, second, now),
    )
    return Answer(
        exit_code=FINDINGS if changes or _differ(channels) else CLEAN,
        text=report.compare_text(told),
        record=report.compare_record(told),
        findings=(
            *_two_places(first, second),
            *_luck(first, lit[0], here),
            *_luck(second, lit[1], here),
        ),
    )


def _confirms(first: Side, second: Side, now: Instant) -> str:
    """What a list that agrees with a transfer file shows about the unit it was read off."""
    transfer = first.transfer or second.transfer
    if transfer is None or LIST not in (first.kind, second.kind):
        return ""
    return f"keyed-back list, {utc_date(now)}, {transfer.program_code}"


def _differ(channels: tuple[ChannelComparison, ...]) -> bool:
    return any(channel.nights for channel in channels)


def _sides(request: CompareRequest) -> tuple[tuple[Side, Side] | None, Findings]:
    """Both files read; a file that does not tell its place is read for that of the other."""
    loaded: list[Side] = []
    found: list[Diagnostic] = []
    names = [request.first, request.second, *([] if request.site is None else [request.site])]
    for name in names:
        side, problems = load_side(name)
        found += problems
        if side is not None:
            loaded.append(side)
    if found:
        return None, tuple(found)
    if any(side.kind in (EVENTS, LIST) for side in loaded):
        return _completed(request, loaded)
    return (loaded[0], loaded[1]), ()


def _completed(
    request: CompareRequest, loaded: list[Side]
) -> tuple[tuple[Side, Side] | None, Findings]:
    telling = next((side for side in loaded if side.around is not None), None)
    if telling is None:
        name = next(side.name for side in loaded)
        finding = messages.NO_PLACE.at(None, name=name, first=request.first, second=request.second)
        return None, (finding,)
    known, found = with_controller(telling)
    if known is None or known.around is None:
        return None, found
    both: list[Side] = []
    problems: list[Diagnostic] = []
    for side in loaded[:2]:
        done, found = completed(side, known.around)
        problems += found
        if done is not None:
            both.append(done)
    return (None, tuple(problems)) if problems else ((both[0], both[1]), ())


def _usual_period(first: Side, second: Side, given: Period) -> Period:
    """That of the second file if it has one, else of the first; else the usual year."""
    for side in (second, first):
        if side.around is not None and side.around.period is not None:
            return side.around.period
    return given


def _around(first: Side, second: Side) -> Around:
    found = first.around or second.around
    if found is None:
        raise ValueError("no side tells its place")
    return found


def _slots(first: Side, second: Side) -> tuple[tuple[SlotChange, ...], int | None]:
    """The slots that differ, and how many are used on either side; None where one has no slots."""
    one, other = first.program, second.program
    around = second.around if second.around is not None else first.around
    if one is None or other is None or around is None or around.controller is None:
        return (), None
    apart = around.controller.slots_are == "per channel"
    used = {
        (kind, entry.channels if apart and kind == "events" else (), entry.slot)
        for program in (one, other)
        for kind, entries in (("events", program.events), ("special", program.special_days))
        for entry in entries
    }
    return slot_changes(one, other, around.controller), len(used)


def _two_places(first: Side, second: Side) -> Findings:
    if first.around is None or second.around is None:
        return ()
    one, other = first.around.location, second.around.location
    near = (
        abs(one.latitude_degrees - other.latitude_degrees) < NEAR_DEGREES
        and abs(one.longitude_degrees - other.longitude_degrees) < NEAR_DEGREES
        and one.zone_name == other.zone_name
    )
    if near:
        return ()
    return (messages.TWO_PLACES.at(None, first=first.name, second=second.name),)


def _luck(side: Side, lit: Behaviour, here: Zone) -> Iterator[Diagnostic]:
    """Slots that act against each other, each pair once."""
    pairs: dict[tuple[int, int, int], list[Instant]] = {}
    for met in lit.overlaps:
        slots = sorted((met.first_slot, met.second_slot))
        pairs.setdefault((met.channel, slots[0], slots[1]), []).append(met.start)
    for (channel, one, other), starts in sorted(pairs.items()):
        yield messages.ORDER_IS_LUCK.at(
            None,
            name=side.name,
            first=messages.OF_THE_UNIT if one == NO_SLOT else one,
            second=other,
            channel=channel,
            count=counted(len({here.local_date(start) for start in starts}), "date"),
            day=date_words(here.local_date(min(starts))),
        )
