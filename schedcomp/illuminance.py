"""Clear-sky light on level ground against the altitude of the Sun, and back.

Ground illumination polynomial of the Explanatory Supplement to the Astronomical Almanac:
log10(lux) is a cubic in altitude / 90 degrees, in six pieces. Moonless, without lamps.
"""

from __future__ import annotations

from math import log10

LOWEST_ALTITUDE_DEGREES = -18.0
HIGHEST_ALTITUDE_DEGREES = 90.0

# Lowest altitude of a piece in degrees, and its coefficients. The pieces meet within 1 %.
_PIECES = (
    (20.0, (3.74, 3.97, -4.07, 1.47)),
    (5.0, (3.05, 13.28, -45.98, 64.33)),
    (-0.8, (2.88, 22.26, -207.64, 1034.30)),
    (-5.0, (2.88, 21.81, -258.11, -858.36)),
    (-12.0, (2.70, 12.17, -431.69, -1899.83)),
    (-18.0, (13.84, 262.72, 1447.42, 2797.93)),
)
_HALVINGS = 50


def lux(altitude_degrees: float) -> float | None:
    """Clear-sky horizontal illuminance in lux; None below -18 and above 90 degrees."""
    if not LOWEST_ALTITUDE_DEGREES <= altitude_degrees <= HIGHEST_ALTITUDE_DEGREES:
        return None
    return float(10 ** _log_lux(altitude_degrees))


def altitude_degrees(lux: float) -> float | None:
    """Altitude of the Sun's centre in degrees that gives this clear-sky light on level ground.

    None for less light than at -18 degrees (0.0006 lux) or more than at 90 (129,000 lux). Where
    two pieces do not quite meet, an altitude at the joint.
    """
    if lux <= 0:
        return None
    wanted = log10(lux)
    low, high = LOWEST_ALTITUDE_DEGREES, HIGHEST_ALTITUDE_DEGREES
    if not _log_lux(low) <= wanted <= _log_lux(high):
        return None
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (low, middle) if _log_lux(middle) >= wanted else (middle, high)
    return high


def _log_lux(altitude: float) -> float:
    c0, c1, c2, c3 = next(powers for lowest, powers in _PIECES if altitude >= lowest)
    x = altitude / 90
    return c0 + x * (c1 + x * (c2 + x * c3))
