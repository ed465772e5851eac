"""The circuits as they are built: schedule, line current, and what the lamps do when parts fail."""

from __future__ import annotations

from collections.abc import Sequence

from schedcomp.compiled import Compiled
from schedcomp.controller import Controller
from schedcomp.panel_facts import circuit_cautions, cooling_minutes, line_amperes
from schedcomp.records import replace
from schedcomp.sheet.blocks import (
    BLANK,
    Block,
    Cell,
    Column,
    Heading,
    Items,
    Page,
    Table,
    Text,
    row,
)
from schedcomp.sheet.blocks import strong as bold
from schedcomp.sheet.making import Job
from schedcomp.site import Circuit
from schedcomp.words import counted

_SIDE_BY_SIDE = 4
NOT_STATED = "not stated *"
_UNKNOWN = "* Not stated in the site file: find out in the test, and write it down."
ELECTRICIAN = (
    "Figures are worked out from what the site file states. They do not replace the licensed "
    "electrician, who decides on wiring, contactors and protection under local codes."
)


def schedule_page(job: Job) -> Page:
    """Circuit schedule, cautions about it, and the failure box."""
    compiled = job.compiled
    circuits = compiled.site.circuits
    tables = [
        _schedule(circuits[first : first + _SIDE_BY_SIDE])
        for first in range(0, len(circuits), _SIDE_BY_SIDE)
    ]
    last = replace(tables[-1], leads=True)
    blocks: list[Block] = [*tables[:-1], last, Text(text=ELECTRICIAN, style="small")]
    found = [
        f"{finding.title[0].upper()}{finding.title[1:]} {finding.why}"
        for circuit in circuits
        for finding in circuit_cautions(circuit, compiled.year, compiled.world.zone)
    ]
    if found:
        blocks += [Heading(text="To be looked at"), Items(items=tuple(found))]
    failures = _failures(compiled)
    blocks.append(Heading(text="When something fails, the lamps are"))
    if any("*" in cell.text for cells in failures.rows for cell in cells):
        blocks += [replace(failures, leads=True), Text(text=_UNKNOWN, style="small")]
    else:
        blocks.append(failures)
    return Page(key="circuits", title="Circuits", blocks=tuple(blocks))


def _schedule(circuits: Sequence[Circuit]) -> Table:
    """Facts down, circuits across."""
    names = ("Channel", *(name for name, _ in _facts(circuits[0])))
    columns = (
        Column(title="", width=3.2),
        *(Column(title=circuit.name, width=4) for circuit in circuits),
    )
    facts = [dict(_facts(circuit)) for circuit in circuits]
    rows = [row(bold("Channel"), *(bold(str(c.channel)) for c in circuits))]
    rows += [row(bold(name), *(_value(fact[name]) for fact in facts)) for name in names[1:]]
    return Table(columns=columns, rows=tuple(rows), style="dense")


def _value(text: str) -> Cell:
    return Cell(text=text) if text else BLANK


def _facts(circuit: Circuit) -> tuple[tuple[str, str], ...]:
    panel = circuit.panel
    supply = _joined(
        "" if panel.volts is None else f"{panel.volts:g} V",
        "" if panel.phases is None else counted(panel.phases, "phase"),
    )
    contactor = _joined(
        panel.contactor,
        "" if panel.contactor_poles is None else counted(panel.contactor_poles, "pole"),
        "" if panel.contactor_rating_amperes is None else f"{panel.contactor_rating_amperes:g} A",
    )
    override = circuit.override_minutes
    return (
        ("Lamps", _joined(circuit.lamps, panel.lamp_kind)),
        ("Load", "" if circuit.load_kw is None else f"{circuit.load_kw:g} kW"),
        ("Supply", supply),
        ("Current in each line", current_words(circuit)),
        ("Lamps fed from", panel.fed_from),
        ("Control fed from", panel.control_fed_from),
        ("Contactor", contactor),
        ("Coil supply", panel.coil_supply),
        ("Output of the unit", panel.output),
        ("Selector", panel.selector),
        ("Surge protector", panel.surge_protector),
        ("Photocell", circuit.photocell or ""),
        ("Wall override", "" if override is None else f"{override} min"),
        ("Serves", circuit.serves),
        ("Egress lighting", circuit.egress),
    )


def _joined(*parts: str) -> str:
    return ", ".join(part for part in parts if part)


def current_words(circuit: Circuit) -> str:
    """`23.1 A`, with what was taken for it; "" where it cannot be worked out."""
    amperes = line_amperes(circuit)
    if amperes is None:
        return ""
    factor = circuit.panel.power_factor
    taken = "power factor 1 taken" if factor is None else f"power factor {factor:g}"
    return f"{amperes:.1f} A ({taken})"


def _failures(compiled: Compiled) -> Table:
    columns = (
        Column(title="Circuit", width=3),
        Column(title="clock without power", width=4),
        Column(title="coil without supply", width=4),
        Column(title="photocell broken", width=4),
        Column(title="unit's battery flat", width=5),
    )
    rows = tuple(
        row(
            bold(circuit.name),
            _no_power(circuit),
            _no_coil(circuit),
            _no_photocell(circuit),
            _no_battery(compiled.controller),
        )
        for circuit in compiled.site.circuits
    )
    return Table(columns=columns, rows=rows, style="dense")


def _latched(circuit: Circuit) -> bool:
    return "latch" in circuit.panel.contactor.casefold()


def _no_power(circuit: Circuit) -> str:
    if _latched(circuit):
        return "as they were"
    output = circuit.panel.output.casefold()
    if "normally closed" in output:
        return "lit"
    if circuit.photocell == "parallel":
        return "lit when the photocell sees dark"
    if "normally open" in output or circuit.panel.contactor:
        return "dark"
    return f"dark if held by the coil; {NOT_STATED}"


def _no_coil(circuit: Circuit) -> str:
    if _latched(circuit):
        return "as they were"
    if circuit.panel.contactor:
        return "dark"
    return f"dark, or as they were if it latches; {NOT_STATED}"


def _no_photocell(circuit: Circuit) -> str:
    if circuit.photocell is None:
        return "no photocell is stated *"
    if circuit.photocell == "none":
        return "no photocell"
    fails = circuit.panel.photocell_fails.casefold()
    lit = any(word in fails for word in ("closed", "lit", "on"))
    if not fails:
        return NOT_STATED
    if circuit.photocell == "series":
        return "as the clock says" if lit else "dark"
    return "lit day and night" if lit else "as the clock says"


def _no_battery(controller: Controller) -> str:
    after = {
        "keeps the last state": ", then as before the cut until the next slot",
        "waits for the next event": ", then dark until the next slot",
    }.get(controller.after_power_loss, "")
    return f"right while there is power; after a cut wrong until the clock is set{after}"


def cooling_words(circuit: Circuit) -> str:
    """How long to wait before the lamps can be lit again, "" for lamps that need no wait."""
    minutes = cooling_minutes(circuit)
    if minutes is None:
        return ""
    return f"{circuit.name}: wait {minutes} min after an OFF, the lamps must cool"
