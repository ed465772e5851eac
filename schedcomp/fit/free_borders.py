"""The cells of channels with every border free that some of the starts looked at could move."""

from __future__ import annotations

from collections.abc import Sequence

from schedcomp.clock import Zone
from schedcomp.controller import Controller
from schedcomp.fit.cells import Cells, cells_of, contested_rows, useful_firings
from schedcomp.fit.firings import Axis, Firings
from schedcomp.fit.special_days import Domain, acting_midnights, domains_of
from schedcomp.target import ChannelTarget


def free_cells(
    channels: Sequence[ChannelTarget],
    firings: Sequence[Firings],
    controller: Controller,
    clock: Zone,
    axis: Axis,
    domains: Sequence[Domain] | None = None,
) -> tuple[Cells, ...]:
    """Right for programs of no other starts than these. `domains`: where they are known."""
    if domains is None:
        domains = domains_of(channels, controller, clock, axis)
    rule = controller.exceptions
    return tuple(
        cells_of(
            channel,
            contested_rows(
                useful_firings(firings, channel),
                channel,
                acting_midnights(domains, rule, clock, axis, index),
            ),
        )
        for index, channel in enumerate(channels)
    )
