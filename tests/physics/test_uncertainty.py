"""The bill of uncertainty against slopes by hand and against thousands of drawn boats."""

from math import hypot, pi, sqrt

import numpy as np
import pytest

from rig.errors import OutOfRange
from rig.physics.capillarity import held_back_mm
from rig.physics.flotation import capacity_g
from rig.physics.hulls import Bowl, Box, Brimful, Dish, Hull, Raft, Tubes
from rig.physics.uncertainty import Bill, Doubts, bill
from rig.physics.walls import inside, outside, wall_slopes
from rig.physics.water import water_density
from rig.trial.possible_boats import PossibleBoats


def lines(found: Bill) -> dict[str, float]:
    return {line.key: line.sd_g for line in found.lines}


def test_a_boxs_bill_by_hand():
    # capacity = rho L B D - m: its slopes are B D, L D, L B (JCGM 100:2008, 5.1.2)
    found = bill(Box(150, 100, 40), 20, 20.0, Doubts(rim_out_mm=2.0))
    rho = water_density(20.0)
    sd = lines(found)
    assert sd["ruler"] == pytest.approx(rho * hypot(100 * 40, 150 * 40, 150 * 100) / 1000, rel=1e-9)
    assert sd["boat"] == 0.5
    # 0.2 g/l a degree near 20 C (Tanaka), half a degree, 600 ml
    assert sd["water"] == pytest.approx(600 * 0.000207 * 0.5, rel=0.02)
    # triangular from 0 to h with its top at 0: mean h/3, sd h/sqrt(18) (any table)
    height = held_back_mm(20.0, 90)
    assert sd["rim"] == pytest.approx(15 * rho * height / sqrt(18), rel=1e-9)
    # even between 0 and 2 mm: sd 2/sqrt(12) (JCGM 100:2008, 4.3.7)
    assert sd["level"] == pytest.approx(15 * rho * 2 / sqrt(12), rel=1e-9)
    assert sd["wall"] == 0
    shifts = {line.key: line.shift_g for line in found.lines}
    assert shifts["rim"] == pytest.approx(15 * rho * height / 3)
    assert shifts["level"] == pytest.approx(-15 * rho)
    assert found.capacity_g == capacity_g(Box(150, 100, 40), 20, rho)
    assert found.expected_g == pytest.approx(found.capacity_g + shifts["rim"] + shifts["level"])
    assert found.sd_g == pytest.approx(hypot(*sd.values()))
    assert found.high_g - found.low_g == pytest.approx(2 * 1.6449 * found.sd_g)


def test_shares_are_parts_of_one_and_the_largest_comes_first(hull):
    found = bill(hull, 0.1 * hull.volume_ml(hull.depth_mm), None, Doubts(rim_out_mm=1.0))
    shares = [line.share for line in found.lines]
    assert sum(shares) == pytest.approx(1)
    assert shares == sorted(shares, reverse=True)
    for line in found.lines:
        assert line.share == pytest.approx(line.sd_g**2 / found.sd_g**2)
        if line.by_measure:
            assert hypot(*(sd for _, sd in line.by_measure)) == pytest.approx(line.sd_g)
    told = {key for line in found.lines for key, _ in line.by_measure}
    assert told == set(hull.measured())


@pytest.mark.parametrize(
    "hull",
    [Box(150, 100, 40), Dish(160, 100, 45), Bowl(120, 45), Raft(200, 120, 25), Tubes(8, 30, 200)],
    ids=repr,
)
def test_the_bill_is_the_spread_of_drawn_boats(hull):
    boats = PossibleBoats(hull, 40.0, 21.0)
    drawn = boats.carries_g[boats.careful]
    found = bill(hull, 40.0, 21.0)
    assert found.sd_g == pytest.approx(drawn.std(), rel=0.04)
    assert found.expected_g == pytest.approx(drawn.mean(), abs=0.1 * found.sd_g)
    low, high = np.percentile(drawn, (5, 95))
    assert found.low_g == pytest.approx(low, abs=0.25 * found.sd_g)
    assert found.high_g == pytest.approx(high, abs=0.25 * found.sd_g)


def test_the_boats_are_drawn_with_wall_and_rim_in_doubt():
    held, wall = Box(146, 96, 38), 2.0
    hull = outside(held, wall)
    doubts = Doubts(ruler_mm_sd=0.2, wall_mm=wall, wall_part_sd=0.5, rim_out_mm=4.0)
    boats = PossibleBoats(hull, 40.0, 21.0, doubts)
    drawn, found = boats.carries_g[boats.careful], bill(hull, 40.0, 21.0, doubts)
    assert found.sd_g == pytest.approx(drawn.std(), rel=0.04)
    assert found.expected_g == pytest.approx(drawn.mean(), abs=0.1 * found.sd_g)
    assert lines(found)["wall"] > lines(found)["ruler"]


def test_without_those_doubts_the_boats_are_the_boats_of_before():
    # Regression guard: drawn before these doubts were known; a kept trial must replay the same.
    boats = PossibleBoats(Box(150, 100, 40), 20.0, 20.0)
    kept = [572.7108774050724, 579.301018274018, 612.1986987373748, 520.7498888818487]
    assert boats.carries_g[[0, 1, 2, -1]].tolist() == pytest.approx(kept, rel=1e-12)


def test_a_thermometer_makes_the_water_surer():
    hull = Box(150, 100, 40)
    assert lines(bill(hull, 20, 20.0))["water"] < lines(bill(hull, 20))["water"]


def test_a_volume_by_filling_has_its_own_line_and_no_rulers():
    found = bill(Brimful(170, 110, 40, 480), 20)
    assert lines(found)["ruler"] == 0  # length and beam do not touch what was poured
    assert lines(found)["filling"] == pytest.approx(0.02 * 480 * water_density(20.0))


def test_counted_straws_are_not_in_doubt():
    by = {k: sd for line in bill(Tubes(12, 12, 200), 20).lines for k, sd in line.by_measure}
    assert by["count"] == 0
    # d V / d diameter = 12 x pi d L / 2
    assert by["diameter_mm"] == pytest.approx(
        water_density(20.0) * 12 * pi * 12 / 2 * 0.2 * hypot(0.2, 0.12), rel=1e-3
    )


def test_the_waters_temperature_must_be_known_to_the_formula():
    with pytest.raises(OutOfRange):
        bill(Box(150, 100, 40), 20, 45.0)


# --- walls ----------------------------------------------------------------------------------


def test_outside_measures_float_and_inside_measures_hold():
    box = Box(146, 96, 38)
    assert outside(box, 2) == Box(150, 100, 40)
    assert inside(outside(box, 2), 2) == box
    assert inside(Raft(200, 120, 25), 2) == Raft(200, 120, 25)  # nothing inside
    assert wall_slopes(Box(150, 100, 40), 2.0) == pytest.approx([2, 2, 1])


def test_a_brimful_boat_floats_on_its_walls_too():
    # A block's skin: bottom and four sides, 1 mm thick
    block = Brimful(150, 100, 40, 600, 1.0)
    skin = 150 * 100 + 2 * (150 + 100) * 40
    found = outside(block, 1.0)
    assert isinstance(found, Brimful)
    assert found.held_ml == pytest.approx(600 + skin / 1000, rel=1e-6)
    assert (found.length_mm, found.depth_mm) == (152, 41)


@pytest.mark.parametrize("wall", [float("nan"), float("inf"), 1e4])
def test_walls_that_cannot_be_are_refused(wall):
    with pytest.raises(OutOfRange, match="Walls of"):
        inside(Box(150, 100, 40), wall)


def test_every_open_hull_has_a_room_within_its_walls(open_hull):
    hold: Hull = inside(open_hull, 1.0)
    assert hold.volume_ml(hold.depth_mm) < open_hull.volume_ml(open_hull.depth_mm)
