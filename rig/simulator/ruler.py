"""The true boat behind the measured one."""

from dataclasses import replace
from random import Random
from typing import Final

from rig.errors import OutOfRange
from rig.physics.hulls import Hull
from rig.setup import Boat
from rig.simulator.troubles import RulerPart

_TRIES: Final = 100


def true_boat(measured: Boat, ruler: RulerPart, rng: Random) -> Boat:
    """Return the boat as it really is: each measure and the mass off by the ruler's spread.

    What is measured is taken as the centre: the truth scatters about it. A measure stays above
    a tenth, a mass above none, of what was read, and a hull that its family cannot have is
    drawn again, so that the boat stays a boat.
    """
    if not (ruler.measure_mm_sd or ruler.boat_g_sd):
        return measured
    hull = _true_hull(measured.hull, ruler.measure_mm_sd, rng)
    mass_g = max(0.0, rng.gauss(measured.mass_g, ruler.boat_g_sd))
    return replace(measured, hull=hull, mass_g=mass_g)


def _true_hull(hull: Hull, ruler_mm_sd: float, rng: Random) -> Hull:
    for _ in range(_TRIES):
        measures = {}
        for key, read in hull.measured().items():
            sd = hull.measure_of(key).sd_of(read, ruler_mm_sd) if ruler_mm_sd else 0.0
            measures[key] = max(0.1 * read, rng.gauss(read, sd))
        try:
            return hull.remeasured(measures)
        except OutOfRange:
            continue
    return hull  # so near the edge of what can be that only the measured one is a boat
