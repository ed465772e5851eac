"""Wording of cautions about the facts of an installation (E590 to E599)."""

from __future__ import annotations

from schedcomp.messages.kind import caution

OVER_RATING = caution(
    "E590",
    'The load of "{circuit}" is {amperes} A, more than 80 % of its contactor\'s {rating} A.',
    why="Lamps that burn for hours are a continuous load. Common practice leaves a fifth of the "
    "rating free: {allowed} A here. A hot contactor may weld, and then the lamps stay lit. Local "
    "codes and the licensed electrician decide.",
    fix="use a larger contactor or split the circuit, then write\n"
    "contactor_rating_amperes = {larger}",
)
TOO_FEW_POLES = caution(
    "E591",
    'The contactor of "{circuit}" has {poles} for {lines}.',
    why="A line that is not opened leaves lamps under voltage, or lit, when the clock says off.",
    fix="check the contactor, and write what is there\ncontactor_poles = {needed}",
)
SURGE_PROTECTOR = caution(
    "E592",
    'The surge protector of "{circuit}" does not cover the lines of its load.',
    why="It is told as `{found}`; the load has {load}. A surge protector follows the voltage and "
    "the lines of the load, not the supply of the clock.",
    fix='have it checked, and write what is there\nsurge_protector = "{typed}"',
)
TOO_SHORT_TO_COOL = caution(
    "E593",
    'The lamps of "{circuit}" are off for only {gap} min on {day}.',
    why="Hot lamps of this kind ({kind}) take up to {minutes} min to light again, by the usual "
    "figures; the maker's count. Until then it is dark where light is asked for.",
    fix='bridge such gaps\nshortest_off = "{minutes} min"',
)
