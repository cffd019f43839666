"""The true boat behind the measured one, for every kind of hull."""

from random import Random

import pytest

from rig.physics.hulls import Box, Brimful, Dish, Tubes, Twin
from rig.setup import Boat
from rig.simulator.conditions import Fate, Motion
from rig.simulator.ruler import true_boat
from rig.simulator.troubles import RulerPart
from rig.simulator.world import Vessel

HULLS = [
    Tubes(12, 12, 200),
    Brimful(170, 110, 40, 740),  # all but a block: half of what scatters about it is impossible
    Twin(Dish(90, 60, 40), 91),  # the hulls nearly touch
    Box(150, 100, 40),
]


@pytest.mark.parametrize("hull", HULLS, ids=repr)
def test_the_truth_scatters_and_stays_a_boat(hull):
    ruler, rng = RulerPart(measure_mm_sd=1.5, boat_g_sd=0.5), Random(3)
    measured = Boat("A", hull, 20.0, 100, 1.0, False, 2.0)
    found = [true_boat(measured, ruler, rng) for _ in range(40)]
    volumes = [boat.hull.volume_ml(boat.hull.depth_mm) for boat in found]
    assert len(set(volumes)) == 40
    assert all(boat.label == "A" and boat.rim_out_mm == 2.0 for boat in found)
    if isinstance(hull, Tubes):
        assert {boat.hull.measured()["count"] for boat in found} == {12}


def test_without_a_rulers_error_nothing_scatters_but_the_mass():
    ruler = RulerPart(measure_mm_sd=0, boat_g_sd=0.5)
    measured = Boat("A", Brimful(170, 110, 40, 480), 20.0)
    found = true_boat(measured, ruler, Random(3))
    assert found.hull == measured.hull
    assert found.mass_g != 20.0
    assert true_boat(measured, RulerPart(measure_mm_sd=0, boat_g_sd=0), Random(3)) is measured


@pytest.mark.parametrize("hull", HULLS, ids=repr)
def test_it_floats_and_goes_down_in_the_simulated_tub(hull):
    vessel = Vessel(Boat("A", hull, 10.0), Fate(), Motion(), 0.998)
    load, now = vessel.true_capacity_g, 0.0
    while vessel.gone_at_s is None and vessel.load_g < 2 * load:
        vessel.land(load / 20, now)
        for _ in range(40):
            now += 0.05
            vessel.step(0.05, now)
    assert vessel.fortune == "swamped"
    assert load * 0.95 <= vessel.load_g <= load * 1.1
