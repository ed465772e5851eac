"""What `compare` tells: slots, nights, minutes and kWh, for people and as a record."""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp.comparison import ChannelComparison, NightDifference
from schedcomp.keyedwords import contents_words
from schedcomp.model import MINUTE, Period
from schedcomp.records import Record
from schedcomp.renewal import SPECIAL_DAYS, SlotChange
from schedcomp.report.words import amount_words, wrapped
from schedcomp.words import counted, date_words, length_words

SHOWN_SLOTS = 40
LIST = "list of slots"


class Named(Record):
    """A file for people, and what kind of file it is."""

    name: str
    kind: str


class Told(Record, kw_only=True):
    """`slots` None: one of the two has no slots, so that only what lamps do is compared.

    `confirms`: what a unit holds, as the site file keeps it, where a list has all slots right.
    """

    first: Named
    second: Named
    period: Period
    channels: tuple[ChannelComparison, ...]
    changes: tuple[SlotChange, ...]
    slots: int | None
    confirms: str = ""

    @property
    def against_list(self) -> bool:
        """One of the two was read off a unit, and the other says what it should hold."""
        return (self.first.kind == LIST) != (self.second.kind == LIST)


def compare_text(told: Told) -> str:
    """Slots, then lamps channel by channel, at most 80 columns wide."""
    first, last = date_words(told.period.first), date_words(told.period.last)
    lines = [
        wrapped(f"A  {told.first.name} ({told.first.kind})", rest="   "),
        wrapped(f"B  {told.second.name} ({told.second.kind})", rest="   "),
        f"{first} through {last}",
        "",
        *_slot_lines(told),
    ]
    for channel in told.channels:
        lines += _channel_lines(channel)
    if told.confirms:
        lines += [
            "",
            wrapped(
                "The unit holds these slots. To have it on the sheet, below its [[unit]] write"
            ),
            f'confirmed = "{told.confirms}"',
        ]
    return "\n".join(lines) + "\n"


# Slots


def _slot_lines(told: Told) -> Iterator[str]:
    if told.slots is None:
        yield wrapped("Slots are not compared: one of the two is a site file.")
        yield ""
        return
    equal = told.slots - len(told.changes)
    counts = [f"{equal} equal"]
    kinds = [slot_kind(change, told) for change in told.changes]
    counts += [f"{kinds.count(kind)} {kind}" for kind in dict.fromkeys(kinds)]
    yield wrapped(f"{counted(told.slots, 'slot')}: {', '.join(counts)}")
    for change, kind in list(zip(told.changes, kinds, strict=True))[:SHOWN_SLOTS]:
        yield f"  {_slot_name(change)}: {kind}"
        yield wrapped(contents_words(change.old), "    A  ")
        yield wrapped(contents_words(change.new), "    B  ")
    if len(told.changes) > SHOWN_SLOTS:
        yield f"  and {len(told.changes) - SHOWN_SLOTS} more"
    yield ""


def slot_kind(change: SlotChange, told: Told) -> str:
    """Against a list what is wrong with the unit; else where the slot is used."""
    if told.against_list:
        held, wanted = change.new, change.old
        if told.first.kind == LIST:
            held, wanted = wanted, held
        if not held:
            return "missing in the unit"
        return "wrong in the unit" if wanted else "extra in the unit"
    if not change.old:
        return "only in B"
    return "different" if change.new else "only in A"


def _slot_name(change: SlotChange) -> str:
    if change.listed == SPECIAL_DAYS:
        return f"special days {change.slot}"
    channels = " ".join(map(str, change.channels))
    return f"slot {change.slot}" + (f" of channel {channels}" if channels else "")


# Lamps


def _channel_lines(channel: ChannelComparison) -> Iterator[str]:
    name = f"{channel.circuit} (channel {channel.channel})" if channel.circuit else ""
    name = name or f"Channel {channel.channel}"
    worst = channel.worst
    if worst is None:
        yield wrapped(f"{name}: lamps do the same on every night.")
        return
    yield wrapped(f"{name}: {counted(len(channel.nights), 'night')} differ")
    more, less = channel.only_second_seconds, channel.only_first_seconds
    yield wrapped(
        f"lit only in B {length_words(more)}, only in A {length_words(less)}{_kwh(channel)}", "  "
    )
    first, last = channel.nights[0].day, channel.nights[-1].day
    yield wrapped(
        f"first {date_words(first)}, last {date_words(last)}; most on "
        f"{date_words(worst.day)}: {_night_words(worst)}",
        "  ",
    )


def _kwh(channel: ChannelComparison) -> str:
    kwh = channel.kwh
    if kwh is None:
        return ""
    if not round(kwh, 1):
        return "; no more and no less kWh"
    return f"; B uses {amount_words(abs(kwh))} kWh {'more' if kwh > 0 else 'less'}"


def _night_words(night: NightDifference) -> str:
    sides = (("B", night.only_second_seconds), ("A", night.only_first_seconds))
    told = [f"{_exact_length(seconds)} only in {side}" for side, seconds in sides if seconds]
    return ", ".join(told)


def _exact_length(seconds: int) -> str:
    return f"{seconds} s" if seconds < MINUTE else length_words(seconds)


# As a record


def compare_record(told: Told) -> dict[str, object]:
    """The same as `compare_text`, lengths in seconds."""
    return {
        "first": {"file": told.first.name, "kind": told.first.kind},
        "second": {"file": told.second.name, "kind": told.second.kind},
        "period": {
            "first": told.period.first.isoformat(),
            "last": told.period.last.isoformat(),
        },
        "same": not told.changes and not any(c.nights for c in told.channels),
        "slots": None if told.slots is None else _slots_record(told),
        "channels": [_channel_record(channel) for channel in told.channels],
    }


def _slots_record(told: Told) -> dict[str, object]:
    return {
        "compared": told.slots,
        "equal": (told.slots or 0) - len(told.changes),
        "differences": [
            {
                "list": change.listed,
                "slot": change.slot,
                "channels": list(change.channels),
                "what": slot_kind(change, told),
                "first": contents_words(change.old),
                "second": contents_words(change.new),
            }
            for change in told.changes
        ],
    }


def _channel_record(channel: ChannelComparison) -> dict[str, object]:
    kwh = channel.kwh
    return {
        "channel": channel.channel,
        "circuit": channel.circuit or None,
        "lit_seconds_first": channel.lit_seconds[0],
        "lit_seconds_second": channel.lit_seconds[1],
        "only_first_seconds": channel.only_first_seconds,
        "only_second_seconds": channel.only_second_seconds,
        "kwh_second_minus_first": None if kwh is None else round(kwh, 3),
        "nights": [
            {
                "date": night.day.isoformat(),
                "only_first_seconds": night.only_first_seconds,
                "only_second_seconds": night.only_second_seconds,
            }
            for night in channel.nights
        ],
    }
