"""How far off the middle, what comes first, loads high and low."""

from itertools import pairwise
from math import atan, cos, degrees, sin, tan

import pytest

from rig.errors import OutOfRange
from rig.physics.equilibrium import settle
from rig.physics.flotation import capacity_g
from rig.physics.heeling import Laden
from rig.physics.hulls import Bowl, Box, Dish, Hull, Raft, Tray, Tubes, Twin
from rig.physics.off_centre import (
    SLIDES_DEG,
    bears_off_centre_g,
    distance_for_heel_mm,
    off_centre_limit,
)
from rig.physics.outlook import outlook
from rig.physics.stability import initial_stability
from rig.physics.weights import (
    Weight,
    boat_weight,
    centre_of_gravity,
    piled_height_mm,
    spread_height_mm,
)


def empty(hull: Hull, part: float = 0.1) -> Laden:
    boat_g = part * hull.volume_ml(hull.depth_mm)
    return Laden(hull, (boat_weight(hull, boat_g),), 1.0)


def test_a_boxs_limit_by_the_wall_sided_formula():
    # Rim under at tan = freeboard / half beam while the bottom stays under; the moment there is
    # W (GM + BM tan^2 / 2) sin = w e cos. Barrass and Derrett; plane geometry.
    box = Box(150, 100, 40)
    boat, load = empty(box), 300.0
    found = off_centre_limit(boat, load, 8.0)
    mass = 60 + load
    draft = 1000 * mass / 15000
    heel = atan((40 - draft) / 50)
    heights = initial_stability(box, draft)
    kg = (60 * boat.weights[0].z_mm + load * 8) / mass
    arm = (heights.km_mm - kg + heights.bm_mm * tan(heel) ** 2 / 2) * sin(heel)
    assert found.end == "rim under"
    assert found.heel_deg == pytest.approx(degrees(heel), abs=1e-6)
    assert found.limit_mm == pytest.approx(mass * arm / (load * cos(heel)), rel=1e-9)


def test_at_the_limit_the_boat_rests_with_its_rim_at_the_water(open_hull):
    hull = open_hull
    boat, load = empty(hull), 0.3 * hull.volume_ml(hull.depth_mm)
    limit = off_centre_limit(boat, load, 5.0)
    assert limit.end == "rim under"
    for part, state in ((0.99, "afloat"), (1.01, "rim under")):
        weights = (*boat.weights, Weight(load, 0.0, part * limit.limit_mm, 5.0))
        rest = settle(Laden(hull, weights, 1.0))
        symmetrical = hull.family not in ("sections",)  # that one trims as well
        assert rest.state == state or not symmetrical
        assert rest.heel_deg == pytest.approx(limit.heel_deg, rel=0.1)


def test_distance_and_heel_are_two_ways_to_say_one_thing(hull):
    boat, load = empty(hull), 0.3 * hull.volume_ml(hull.depth_mm)
    distance = distance_for_heel_mm(boat, load, 5.0, 4.0)
    weights = (*boat.weights, Weight(load, 0.0, distance, 5.0))
    rest = settle(Laden(hull, weights, 1.0))
    if abs(rest.trim_deg) < 1e-3:
        assert rest.heel_deg == pytest.approx(4.0, abs=1e-3)


def test_trim_is_heel_the_other_way():
    box, turned = Box(150, 100, 40), Box(100, 150, 40)
    along = off_centre_limit(empty(box), 300, 8.0, "along")
    across = off_centre_limit(empty(turned), 300, 8.0, "across")
    assert along.limit_mm == pytest.approx(across.limit_mm, rel=1e-9)
    assert along.heel_deg == pytest.approx(across.heel_deg, rel=1e-9)


def test_a_high_load_is_borne_less_far_out():
    box = Box(150, 100, 40)
    limits = [off_centre_limit(empty(box), 300, z).limit_mm for z in (5, 20, 40, 60)]
    assert all(a > b for a, b in pairwise(limits))


def test_a_catamaran_turns_over_once_a_hull_comes_out():
    # Its limit is near the load straight over one hull: half the spacing (a beam balance).
    twin = Twin(Box(160, 30, 90), 160)
    found = off_centre_limit(empty(twin, 0.02), 200, 40.0)
    assert found.end == "turns over"
    assert found.limit_mm == pytest.approx(80, rel=0.15)
    for part, state in ((0.98, "afloat"), (1.05, "turned over")):
        weights = (*empty(twin, 0.02).weights, Weight(200, 0.0, part * found.limit_mm, 40.0))
        rest = settle(Laden(twin, weights, 1.0))
        assert rest.state == state or (state != "afloat" and rest.state == "rim under")


def test_what_does_not_stand_bears_nothing_off_the_middle():
    found = off_centre_limit(empty(Box(60, 40, 120)), 50, 60.0)
    assert (found.limit_mm, found.end) == (0.0, "turns over")


def test_a_raft_bears_more_than_its_edge():
    found = off_centre_limit(empty(Raft(200, 120, 25), 0.2), 100, 30.0)
    assert found.limit_mm > 0
    assert found.heel_deg <= SLIDES_DEG


def test_loads_that_are_none_or_too_much_are_refused():
    box = Box(150, 100, 40)
    for load in (0.0, -5.0):
        with pytest.raises(OutOfRange, match="above 0"):
            off_centre_limit(empty(box), load, 5.0)
    for load in (540.0, 600.0):  # at the rim, and over it
        with pytest.raises(OutOfRange):
            off_centre_limit(empty(box), load, 5.0)


# --- the load at which it happens -----------------------------------------------------------


def test_with_everything_in_the_middle_it_carries_its_capacity():
    box = Box(150, 100, 40)
    load, heel, end = bears_off_centre_g(box, 60, 1.0, 0.0, lambda _: 5.0)
    assert (load, heel, end) == (capacity_g(box, 60, 1.0), 0.0, "rim under")


def test_the_first_load_too_large_is_where_the_limit_is_the_distance():
    box = Box(150, 100, 40)
    load, heel, end = bears_off_centre_g(box, 60, 1.0, 12.0, lambda _: 8.0)
    assert end == "rim under"
    assert off_centre_limit(empty(box), load, 8.0).limit_mm == pytest.approx(12.0, rel=2e-3)
    assert off_centre_limit(empty(box), load, 8.0).heel_deg == pytest.approx(heel)
    assert load < capacity_g(box, 60, 1.0)


def test_the_further_off_the_less_it_carries():
    tray = Tray(180, 120, 140, 70, 35)
    loads = [bears_off_centre_g(tray, 20, 1.0, off, lambda _: 8.0)[0] for off in (0, 3, 8, 15)]
    assert all(a > b for a, b in pairwise(loads))


def test_a_boat_that_goes_down_empty_has_no_outlook():
    with pytest.raises(OutOfRange, match="goes down empty"):
        outlook(Box(150, 100, 40), 601, 1.0)


@pytest.mark.parametrize(
    ("hull", "first"),
    [
        (Box(200, 150, 30), "fills"),
        (Dish(180, 140, 30), "fills"),
        (Box(60, 40, 120), "falls empty"),
        (Twin(Box(160, 40, 40), 140), "fills"),
    ],
)
def test_what_comes_first_is_what_the_eye_expects(hull, first):
    # load piled on its whole floor: 2 g/ml, as marbles and sand
    def height(load_g: float) -> float:
        return spread_height_mm(hull, load_g, 2.0)

    found = outlook(hull, 0.05 * hull.volume_ml(hull.depth_mm), 1.0, 1.5, height)
    assert found.first == first
    assert found.words.endswith(".")
    assert 0 <= found.load_g <= found.level_g
    if first == "fills":
        assert found.words == "Wide and low: it will fill before it tips."


def test_a_stack_turns_a_high_boat_over():
    box = Box(120, 70, 90)
    found = outlook(box, 40, 1.0, 1.0, lambda load_g: piled_height_mm(box, load_g, 4.0, 600))
    assert found.first == "turns over"
    assert found.words == "It will turn over before it is full: it is high for its width."
    assert found.load_g < 0.9 * found.level_g


def test_far_off_the_middle_the_low_side_goes_first():
    found = outlook(Box(150, 100, 40), 20, 1.0, 15.0)
    assert found.first == "low side"
    assert found.load_g < 0.9 * found.level_g


def test_rafts_do_not_fill():
    for raft in (Raft(200, 120, 25), Tubes(12, 12, 200)):
        found = outlook(raft, 0.3 * raft.volume_ml(raft.depth_mm), 1.0, 0.0)
        assert found.first == "deck under"


def test_a_raft_loaded_a_little_off_the_middle_dips_an_edge():
    found = outlook(Raft(200, 120, 25), 20, 1.0, 3.0)
    assert found.first == "deck edge" and found.load_g < 0.9 * found.level_g
    found = outlook(Raft(200, 120, 25), 20, 1.0, 0.5)  # nearly to the end
    assert found.first == "deck under" and 0.9 * found.level_g <= found.load_g < found.level_g


def test_outlook_by_default_is_a_heap_of_washers_nearly_in_the_middle(hull):
    found = outlook(hull, 0.08 * hull.volume_ml(hull.depth_mm), 0.998)
    assert found.off_centre_mm > 0
    assert 0 < found.load_g <= found.level_g
    assert found.empty_gm_mm is not None


def test_outlook_agrees_with_gm():
    # It turns over where GM is used up: compare with the load at which GM = 0 (off centre 0).
    box = Box(120, 70, 90)

    def height(load_g: float) -> float:
        return piled_height_mm(box, load_g, 4.0, 600)

    found = outlook(box, 40, 1.0, 0.0, height)
    assert found.first == "turns over"
    for part, stands in ((0.995, True), (1.005, False)):
        load = part * found.load_g
        boat = Laden(box, (boat_weight(box, 40), Weight(load, z_mm=height(load))), 1.0)
        assert (boat.gm_mm > 0) is stands


# --- where loads lie ------------------------------------------------------------------------


def test_weights_add_like_levers():
    # Archimedes, On the Equilibrium of Planes: 2 at 3 balances 3 at -2.
    g = centre_of_gravity([Weight(2, y_mm=3, z_mm=10), Weight(3, y_mm=-2, z_mm=20)])
    assert (g.mass_g, g.y_mm, g.z_mm) == (5, 0, 16)
    # what is taken off is a mass below 0
    g = centre_of_gravity([Weight(10, x_mm=1), Weight(-5, x_mm=2)])
    assert (g.mass_g, g.x_mm) == (5, 0)


def test_a_level_heap_lies_at_its_centroid():
    box = Box(150, 100, 40)
    # 300 g at 2 g/ml: 150 ml on 15 000 mm2 is 10 mm high
    assert spread_height_mm(box, 300, 2.0) == pytest.approx(5)
    # walls of 2 mm: floor 2 mm up, 146 x 96 mm
    assert spread_height_mm(box, 300, 2.0, wall_mm=2) == pytest.approx(2 + 150_000 / (146 * 96) / 2)
    # 1.2 times what it holds: 8 mm over the rim
    assert spread_height_mm(box, 1440, 2.0) == pytest.approx(24)
    bowl = Bowl(100, 50)
    assert spread_height_mm(bowl, bowl.volume_ml(50), 1.0) == pytest.approx(5 / 8 * 50)
    # a raft's load lies on its deck
    assert spread_height_mm(Raft(200, 120, 25), 240, 1.0) == pytest.approx(25 + 5)


def test_a_stack_grows_upward():
    box = Box(150, 100, 40)
    assert piled_height_mm(box, 400, 8.0, 500) == pytest.approx(50)
    assert piled_height_mm(box, 400, 8.0, 500, wall_mm=3) == pytest.approx(53)
    assert piled_height_mm(Raft(200, 120, 25), 400, 8.0, 500) == pytest.approx(75)
    for bulk, foot in ((0, 500), (8, 0), (-1, 500)):
        with pytest.raises(OutOfRange):
            piled_height_mm(box, 400, bulk, foot)


def test_no_heap_without_a_density():
    with pytest.raises(OutOfRange, match="bulk density"):
        spread_height_mm(Box(150, 100, 40), 300, 0)
