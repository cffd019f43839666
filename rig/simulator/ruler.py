"""The true boat behind the measured one."""

from dataclasses import replace
from random import Random

from rig.setup import Boat
from rig.simulator.troubles import RulerPart


def true_boat(measured: Boat, ruler: RulerPart, rng: Random) -> Boat:
    """Return the boat as it really is: each measure and the mass off by the ruler's spread.

    What is measured is taken as the centre: the truth scatters about it. A measure stays above
    a tenth, a mass above none, of what was read, so that the boat stays a boat.
    """
    if not (ruler.measure_mm_sd or ruler.boat_g_sd):
        return measured
    hull = measured.hull
    measures = {}
    for key, read in hull.measured().items():
        sd = hull.measure_of(key).sd_of(read, ruler.measure_mm_sd) if ruler.measure_mm_sd else 0.0
        measures[key] = max(0.1 * read, rng.gauss(read, sd))
    mass_g = max(0.0, rng.gauss(measured.mass_g, ruler.boat_g_sd))
    return replace(measured, hull=hull.remeasured(measures), mass_g=mass_g)
