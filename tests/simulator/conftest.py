"""One box boat, one tub, still water: the simplest rig there is. Figures are our own invention."""

import pytest

from rig.physics.hulls import Box
from rig.setup import Boat, RigSetup
from rig.simulator.conditions import Conditions, Motion, Noise, Water


@pytest.fixture
def setup() -> RigSetup:
    """Feed tray, both gauges in um, a straight tub of 66 000 mm2, items of exactly 2.5 g."""
    return RigSetup.model_validate(
        {
            "rig": {"name": "test rig", "layout": "feed-tray"},
            "load": {"zero_count": 84213, "count_per_g": 430.0},
            "surface": {"height_mm": 400.0},
            "rim": {"height_mm": 420.0, "flag_mm": 60.0},
            "tub": {"area_mm2": 66000.0},
            "item": {"name": "washer", "mass_g": 2.5},
        }
    )


@pytest.fixture
def boat() -> Boat:
    """A box of 180 ml and 15 g."""
    return Boat("Plover", Box(100.0, 60.0, 30.0), 15.0)


@pytest.fixture
def still() -> Conditions:
    """No waves, no swing, no noise; water at 4 degrees."""
    return Conditions(
        water=Water(water_c=4.0),
        motion=Motion(bounce=0, wave_mm=0),
        noise=Noise(load_g=0, surface_mm=0, rim_mm=0, water_c=0),
    )
