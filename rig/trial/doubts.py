"""How far what was measured before the trial may be off. Common practice, no source.

A ruler reads to a millimetre, a kitchen scale to half a gram; the room's air is within a degree
and a half of what the set-up says.
"""

from math import sqrt
from typing import Final

from rig.errors import OutOfRange
from rig.physics.flotation import draft_for_volume
from rig.physics.hulls import Hull
from rig.physics.uncertainty import BOAT_G_SD, RULER_MM_SD

AIR_C_SD: Final = 1.5
ECHO_PART_PER_C: Final = 0.0018  # speed of sound: 0.6 m/s in 343 m/s a degree (Cramer 1993)
CREEP_PART_SD: Final = 0.00015  # of the load: cells creep 0.03 % within a minute

# Zero drift, in noise of one reading: a cell of 1 mV/V behind an HX711 at 10 readings a second has
# noise of 1e-5 of its rated load (50 nV, data sheet) and drifts 1e-4 of it a degree (0.1 % in 10);
# a room changes by some hundredths of a degree in a trial.
ZERO_WANDER: Final = 0.6


def freeboard_sd_by_ruler(hull: Hull, displaced_ml: float) -> float:
    """Return the standard uncertainty of a freeboard worked out from hull and displacement [mm].

    Each measure of the hull is put a standard uncertainty off in turn, the boat's mass after
    them; the effects add as independent ones do (GUM, JCGM 100:2008, 5.1.2).
    """
    measures = hull.measured()
    here = _freeboard_mm(hull, displaced_ml)
    squares = 0.0
    for key, value in measures.items():
        try:
            sd = hull.measure_of(key).sd_of(value, RULER_MM_SD)
            other = hull.remeasured({**measures, key: value + sd})
        except OutOfRange:
            continue  # the family knows no such hull: it is not what was measured either
        squares += (_freeboard_mm(other, displaced_ml) - here) ** 2
    squares += (_freeboard_mm(hull, displaced_ml + BOAT_G_SD) - here) ** 2
    return sqrt(squares)


def _freeboard_mm(hull: Hull, displaced_ml: float) -> float:
    """Freeboard, carried on over the rim with the rim's waterplane."""
    over_ml = displaced_ml - hull.volume_ml(hull.depth_mm)
    if over_ml > 0:
        return -1000 * over_ml / hull.rim_mm2()
    return hull.depth_mm - draft_for_volume(hull, max(displaced_ml, 0.0))
