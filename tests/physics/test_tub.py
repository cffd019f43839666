"""The tub's level-volume table."""

from itertools import accumulate, pairwise
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.errors import OutOfRange
from rig.physics.hulls import Dish
from rig.physics.tub import Tub

STEPS = st.lists(st.tuples(st.floats(0.1, 80), st.floats(1, 5000)), min_size=2, max_size=12)
TUBS = st.builds(
    lambda steps: Tub.poured(list(accumulate(steps, lambda a, b: (a[0] + b[0], a[1] + b[1])))),
    STEPS,
)
PART = st.floats(0, 1)


def at(tub: Tub, part: float, column: int) -> float:
    low, high = tub.pours[0][column], tub.pours[-1][column]
    return min(low + part * (high - low), high)


@given(TUBS, PART)
def test_level_and_volume_are_each_others_inverse(tub, part):
    level, volume = at(tub, part, 0), at(tub, part, 1)
    # A level is known to about 1e-15 of the table's height; the steepest step turns that into ml.
    steepest = max((b[1] - a[1]) / (b[0] - a[0]) for a, b in pairwise(tub.pours))
    flattest = max((b[0] - a[0]) / (b[1] - a[1]) for a, b in pairwise(tub.pours))
    top_mm, top_ml = tub.pours[-1]
    assert tub.level_mm(tub.volume_ml(level)) == pytest.approx(
        level, abs=1e-12 * (top_mm + flattest * top_ml)
    )
    assert tub.volume_ml(tub.level_mm(volume)) == pytest.approx(
        volume, abs=1e-12 * (top_ml + steepest * top_mm)
    )


@given(TUBS)
def test_every_pour_is_met_exactly(tub):
    for level, volume in tub.pours:
        assert tub.volume_ml(level) == volume
        assert tub.level_mm(volume) == level


@given(TUBS, PART, PART)
def test_more_water_stands_higher(tub, one, other):
    low, high = sorted((at(tub, one, 1), at(tub, other, 1)))
    assert tub.level_mm(low) <= tub.level_mm(high)
    if high - low > 1e-6 * tub.pours[-1][1]:
        assert tub.level_mm(low) < tub.level_mm(high)


@given(TUBS, PART)
def test_the_area_is_the_slope_of_the_volume(tub, part):
    level = at(tub, part, 0)
    low, high = next((a, b) for a, b in reversed(list(pairwise(tub.pours))) if a[0] <= level)
    assert tub.area_mm2(level) == pytest.approx(1000 * (high[1] - low[1]) / (high[0] - low[0]))


def test_upright_walls():
    # 1 litre on 100 cm2 stands 10 cm high: the definition of the litre as a cubic decimetre.
    tub = Tub.straight(area_mm2=10_000)
    assert tub.level_mm(1000) == pytest.approx(100)
    assert tub.volume_ml(100) == pytest.approx(1000)
    assert tub.area_mm2(55) == pytest.approx(10_000)


def test_pours_into_a_bucket_follow_the_frustum():
    # A round bucket 200 to 260 mm wide, poured in 5 mm steps: between two pours the straight
    # line may be wrong by h^2 A' / 8 at most, A' the growth of the area (interpolation error).
    bucket = Dish(diameter_mm=260, bottom_diameter_mm=200, depth_mm=200)
    tub = Tub.poured([(z, bucket.volume_ml(z)) for z in range(0, 201, 5)])
    worst_ml = 5**2 * (2 * pi * 130 * 0.15) / 8 / 1000
    gaps = [tub.volume_ml(z / 10) - bucket.volume_ml(z / 10) for z in range(0, 2001)]
    assert max(map(abs, gaps)) == pytest.approx(worst_ml, rel=0.05)
    assert max(map(abs, gaps)) <= worst_ml


@pytest.mark.parametrize(
    "pours",
    [
        [],
        [(0, 0)],
        [(0, 0), (0, 100)],
        [(0, 0), (10, 0)],
        [(0, 0), (10, 1000), (20, 900)],
        [(0, 0), (10, 1000), (5, 1100)],
        [(0, 0), (float("nan"), 100)],
        [(0, 0), (10, float("nan"))],
    ],
)
def test_pours_that_do_not_rise_are_refused(pours):
    with pytest.raises(OutOfRange, match="higher level and a larger volume"):
        Tub.poured(pours)


@pytest.mark.parametrize("area", [0, -1, float("nan")])
def test_a_tub_without_an_area_is_refused(area):
    with pytest.raises(OutOfRange, match="holds no water"):
        Tub.straight(area)


@pytest.mark.parametrize("outside", [-1e-9, 60.001, float("nan"), float("inf")])
def test_a_level_outside_the_table_is_refused(outside):
    tub = Tub.poured([(0, 0), (30, 3000), (60, 6600)])
    assert (tub.volume_ml(0), tub.volume_ml(60)) == (0, 6600)  # the ends themselves are inside
    with pytest.raises(OutOfRange, match="from 0 to 60 mm"):
        tub.volume_ml(outside)
    with pytest.raises(OutOfRange, match="from 0 to 60 mm"):
        tub.area_mm2(outside)


@pytest.mark.parametrize("outside", [-1e-9, 6600.001, float("nan")])
def test_a_volume_outside_the_table_is_refused(outside):
    tub = Tub.poured([(0, 0), (30, 3000), (60, 6600)])
    assert (tub.level_mm(0), tub.level_mm(6600)) == (0, 60)
    with pytest.raises(OutOfRange, match="from 0 to 6600 ml"):
        tub.level_mm(outside)
