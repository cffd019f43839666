"""The simulated boat does what worked examples in print say.

One metre is played as ten millimetres, so that one tonne of water becomes one gram;
water at 4 degrees, the nearest to 1 t/m3.
"""

from random import Random

import pytest

from rig.physics.hulls import Box
from rig.setup import Boat
from rig.simulator.conditions import Fate
from rig.simulator.world import World


def afloat(setup, still, boat: Boat, item_g: float, fate: Fate | None = None) -> World:
    world = World(setup, still, Random(0))
    world.place(boat, fate or Fate(), [item_g])
    return world


def test_the_barge_that_lifts_a_weight(setup, still):
    """Barrass and Derrett, Ship Stability for Masters and Mates, 5th ed., p. 27, Example 2:
    a barge of 16 x 6 x 5 m, draft 3.5 m with the load and 2.0 m without; the load is 144 t."""
    world = afloat(setup, still, Boat("barge", Box(160.0, 60.0, 50.0), 192.0), 144.0)
    assert world.vessel.draft_mm == pytest.approx(20.0, rel=1e-4)
    world.land_next()
    world.step(0.01)
    assert world.vessel.draft_mm == pytest.approx(35.0, rel=1e-4)
    assert world.rim_mm - world.level_mm == pytest.approx(15.0, rel=1e-4)


@pytest.mark.parametrize(("item_g", "goes_down"), [(43.49, False), (43.51, True)])
def test_reserve_buoyancy(setup, still, item_g, goes_down):
    """The same, Example 1: a box of 105 x 30 x 20 m that displaces 19 500 t in fresh water
    has 43 500 m3 of reserve buoyancy. Here a thousandth of each length."""
    world = afloat(setup, still, Boat("box", Box(105.0, 30.0, 20.0), 19.5), item_g)
    world.land_next()
    world.step(0.01)
    assert (world.vessel.gone_at_s is not None) is goes_down


def test_the_coin_on_the_floor(setup, still):
    """OpenStax College Physics 2e, Example 11.10: a coin of 8.63 g and 10.4 g/cm3 displaces
    0.83 cm3. So much higher stands the tub for a coin in a sunk boat."""
    boat = Boat("any", Box(100.0, 60.0, 30.0), 15.0)
    levels = []
    for item_g in (170.0, 170.0 + 8.63):
        world = afloat(setup, still, boat, item_g, Fate(item_g_ml=10.4))
        world.land_next()
        for _ in range(300):
            world.step(0.01)
        assert world.vessel.fortune == "swamped"
        levels.append(world.level_mm)
    coin_ml = (levels[1] - levels[0]) * 66000 / 1000
    assert coin_ml == pytest.approx(0.83, abs=0.005)


def test_the_steel_boat_carries_nine_times_its_own_weight(setup, still):
    """OpenStax College Physics 2e, Example 11.8(b): 1e5 m3 of hull, 1e7 kg of steel."""
    world = afloat(setup, still, Boat("steel", Box(100.0, 50.0, 20.0), 10.0), 1.0)
    assert world.vessel.capacity_g / 10.0 == pytest.approx(9.0, rel=1e-3)
