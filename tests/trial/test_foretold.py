"""What is said of a boat before its test: that the parts are the same boat's, and agree."""

import pytest

from rig.errors import OutOfRange
from rig.physics.drawing import example
from rig.physics.heeling import Laden
from rig.physics.hulls import FAMILIES
from rig.physics.off_centre import off_centre_limit
from rig.physics.weights import boat_weight, piled_height_mm
from rig.setup import Boat, Item
from rig.trial.foretold import Heap, foretell

WATER = 0.9982067  # g/ml, Tanaka et al., Metrologia 38 (2001) 301-309, table, 20 deg C
WASHER = Item(name="washer", mass_g=2.5)


@pytest.mark.parametrize("family", [*FAMILIES, "twin", "sections"])
def test_every_family_is_foretold(family):
    hull = example(family)
    found = foretell(Boat("A", hull, 20.0), WASHER)
    carries = hull.volume_ml(hull.depth_mm) * WATER - 20
    assert found.prediction.capacity_g == pytest.approx(carries, abs=1e-3)
    assert found.bill.capacity_g == pytest.approx(carries, abs=1e-3)
    assert found.outlook.level_g == pytest.approx(carries, abs=1e-3)
    assert found.points[-1].load_g == found.prediction.capacity_g
    assert [at.load_g / carries for at in found.bears] == pytest.approx([0.25, 0.5, 0.75], rel=1e-6)
    limits = [at.limit.limit_mm for at in found.bears]
    assert limits == sorted(limits, reverse=True)  # the more aboard, the nearer the middle
    low, high = found.likely_items
    assert low <= found.prediction.capacity_items <= high
    told = found.as_dict()
    assert told["hull"] == family and told["boat"] == {"label": "A", "mass_g": 20.0}


def test_the_bill_and_the_boards_band_agree_on_the_capacity():
    """The bill adds variances, the band counts drawn boats: two ways to one interval. The rim's
    effect is in the bill only, so it is taken out: where the band crosses nought."""
    found = foretell(Boat("A", example("box"), 20.0), WASHER)
    sd = sum(line.sd_g**2 for line in found.bill.lines if line.key != "rim") ** 0.5
    band = found.prediction.band
    crossing = [
        next(a.load_g for a in band if mm(a) < 0)
        for mm in (lambda p: p.low_mm, lambda p: p.high_mm)
    ]
    step = band[1].load_g - band[0].load_g
    carries = found.prediction.capacity_g
    for load_g, sign in zip(crossing, (-1, 1), strict=True):
        assert load_g == pytest.approx(carries + sign * 1.645 * sd, abs=1.2 * step)


def test_piled_up_it_bears_less():
    boat = Boat("A", example("box"), 20.0, wall_mm=2.0)
    piled = foretell(boat, heap=Heap(bulk_g_ml=3.0, pile_mm2=500))
    assert piled.likely_items is None
    for at in piled.bears:
        height = piled_height_mm(boat.hull, at.load_g, 3.0, 500, 2.0)
        empty = Laden(boat.hull, (boat_weight(boat.hull, 20.0),), piled.density_g_ml)
        assert at.limit == off_centre_limit(empty, at.load_g, height)
    spread = foretell(boat, heap=Heap(bulk_g_ml=3.0))
    for a, b in zip(spread.bears, piled.bears, strict=True):
        assert a.limit.limit_mm > b.limit.limit_mm


def test_cold_water_is_denser():
    """0.9999 g/ml at 4 deg C, 0.9957 at 30 (Tanaka et al.)."""
    boat = Boat("A", example("box"), 20.0)
    cold, warm = foretell(boat, water_c=4.0), foretell(boat, water_c=30.0)
    assert cold.prediction.capacity_g == pytest.approx(600 * 0.9999749 - 20, abs=0.01)
    assert warm.prediction.capacity_g == pytest.approx(600 * 0.9956511 - 20, abs=0.01)


def test_a_boat_that_goes_down_empty_is_refused():
    with pytest.raises(OutOfRange, match=r"401\.1 g too heavy"):
        foretell(Boat("A", example("box"), 1000.0))
