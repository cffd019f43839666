"""Boats at rest under loads off the middle, against closed forms and brute force."""

from itertools import pairwise
from math import atan, cos, degrees, radians, sin, sqrt, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from rig.errors import OutOfRange
from rig.physics.equilibrium import settle
from rig.physics.flotation import capacity_g
from rig.physics.heeling import Laden, righting_arm_mm, surface_for, vertical
from rig.physics.hulls import Box, Dish, Hull, Raft, Sections, Trough, Vee
from rig.physics.stability import initial_stability
from rig.physics.walls import inside
from rig.physics.weights import Weight, boat_weight, centre_of_gravity


def laden(hull: Hull, part: float = 0.5, x: float = 0.0, y: float = 0.0, z: float = 6.0) -> Laden:
    """Loaded to a part of what it displaces, a seventh of that the boat itself."""
    full = hull.volume_ml(hull.depth_mm)
    boat = boat_weight(hull, part * full / 7)
    return Laden(hull, (boat, Weight(part * full * 6 / 7, x, y, z)), 1.0)


# --- closed forms ---------------------------------------------------------------------------


@settings(deadline=None, max_examples=30)
@given(st.floats(0.5, 12), st.floats(5, 20))
def test_a_box_heels_as_the_wall_sided_formula_says(y, z):
    # (GM + BM tan^2 / 2) sin = (w y / W) cos, exact while no corner comes out of or under the
    # water: Barrass and Derrett, wall-sided formula.
    box = Box(150, 100, 40)
    boat = laden(box, 0.5, y=y, z=z)
    rest = settle(boat)
    bm = initial_stability(box, boat.draft_mm).bm_mm
    off = y * 6 / 7

    def moment(heel: float) -> float:
        return (boat.gm_mm + bm * tan(heel) ** 2 / 2) * sin(heel) - off * cos(heel)

    assert rest.heel_deg == pytest.approx(degrees(brentq(moment, 0, 1.2, xtol=1e-14)), abs=1e-6)
    assert rest.trim_deg == pytest.approx(0, abs=1e-7)
    assert rest.state == "afloat"


def test_a_tender_box_lies_at_its_angle_of_loll():
    # GM < 0: tan(loll) = sqrt(2 |GM| / BM), Barrass and Derrett p. 229.
    box = Box(150, 100, 60)
    boat = Laden(box, (Weight(box.volume_ml(30), z_mm=46.0),), 1.0)
    bm = initial_stability(box, 30).bm_mm
    assert boat.gm_mm < 0
    rest = settle(boat)
    assert abs(rest.heel_deg) == pytest.approx(degrees(atan(sqrt(-2 * boat.gm_mm / bm))), abs=1e-5)
    for heel in (rest.heel_deg, -rest.heel_deg):
        assert righting_arm_mm(boat, heel) == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("y", [2.0, 6.0, 9.0])
def test_a_round_trough_turns_about_its_middle(y):
    # A half cylinder's metacentre is its axis at every angle, so the list is exact:
    # tan = y / (r - KG) of the common centre. Common practice of the trade.
    trough = Trough(160, 90, 45)
    boat = laden(trough, 0.5, y=y, z=10)
    g = centre_of_gravity(boat.weights)
    rest = settle(boat)
    assert rest.heel_deg == pytest.approx(degrees(atan(g.y_mm / (45 - g.z_mm))), abs=1e-6)


def test_a_flat_raft_heels_like_its_box():
    raft, box = Raft(200, 120, 25), Box(200, 120, 25)
    weights = (Weight(200, z_mm=12.5), Weight(80, y_mm=15, z_mm=28))
    one, other = (settle(Laden(hull, weights, 0.998)) for hull in (raft, box))
    assert one.heel_deg == other.heel_deg > 1


# --- brute force ----------------------------------------------------------------------------


KNUCKLED = [(0, 20), (15, 45), (40, 50)]  # (height, half beam)


def strips_heel_deg(section: list[tuple[float, float]], boat: Laden, length: float) -> float:
    """Heel of a prism from its section cut into thin strips; shares nothing with the code."""
    half = np.array(section)  # (height, half beam), straight between
    z = (np.arange(4000) + 0.5) / 4000 * half[-1, 0]
    b = np.interp(z, half[:, 0], half[:, 1])
    dz = half[-1, 0] / 4000
    g = centre_of_gravity(boat.weights)
    wanted = 1000 * boat.mass_g / boat.density_g_ml / length

    def wet(heel: float, height: float) -> tuple[float, float, float]:
        # under water: -y sin + z cos <= height, so y >= (z cos - height) / sin
        low = np.clip((z * cos(heel) - height) / sin(heel), -b, b)
        area = (b - low) * dz
        return area.sum(), (area * (b + low) / 2).sum(), (area * z).sum()

    def arm(heel: float) -> float:
        height = brentq(lambda h: wet(heel, h)[0] - wanted, -100, 100, xtol=1e-12)
        total, my, mz = wet(heel, height)
        by, bz = my / total, mz / total
        return float((by - g.y_mm) * cos(heel) + (bz - g.z_mm) * sin(heel))

    return degrees(brentq(arm, 1e-4, 1.0, xtol=1e-10))


@pytest.mark.parametrize("y", [1.0, 6.0, 14.0])
@pytest.mark.parametrize(
    ("hull", "section"),
    [
        (Box(150, 100, 40), [(0, 50), (40, 50)]),
        (Vee(160, 90, 45), [(0, 0), (45, 45)]),
        (
            Sections.drawn(
                [(z, [(80, b), (-80, b), (-80, -b), (80, -b)]) for z, b in KNUCKLED],
            ),
            KNUCKLED,
        ),
    ],
    ids=["box", "vee", "knuckled"],
)  # fmt: skip
def test_heel_is_that_of_thin_strips(hull, section, y):
    boat = laden(hull, 0.45, y=y)
    length = hull.measured()["length_mm"]
    assert settle(boat).heel_deg == pytest.approx(strips_heel_deg(section, boat, length), abs=1e-3)


def test_at_rest_buoyancy_stands_under_gravity(hull):
    boat = laden(hull, 0.45, x=4.0, y=3.0)
    rest = settle(boat)
    assert rest.state == "afloat"
    assert rest.displaced.volume_ml == pytest.approx(boat.mass_g, rel=1e-9)  # 1 g/ml
    g, b, up = centre_of_gravity(boat.weights), rest.displaced, rest.surface.up
    gb = (g.x_mm - b.x_mm, g.y_mm - b.y_mm, g.z_mm - b.z_mm)
    along = sum(a * u for a, u in zip(gb, up, strict=True))
    off = sqrt(max(sum(a * a for a in gb) - along**2, 0))
    assert off < 1e-5 * hull.depth_mm
    assert rest.heel_deg > 0
    assert rest.trim_deg > 0
    # least energy: any other attitude nearby lifts G over B
    for heel, trim in ((0.5, 0), (-0.5, 0), (0, 0.5), (0, -0.5)):
        a = tan(radians(rest.trim_deg + trim))
        c = tan(radians(rest.heel_deg + heel))
        n = sqrt(1 + a * a + c * c)
        tilted = (-a / n, -c / n, 1 / n)
        _, there = boat.surface(tilted)
        lifted = sum(
            (p - q) * u
            for p, q, u in zip(
                (g.x_mm, g.y_mm, g.z_mm), (there.x_mm, there.y_mm, there.z_mm), tilted, strict=True
            )
        )
        assert lifted > along


def test_small_lists_follow_gm(hull):
    # tan(list) = G's distance / GM for small angles: the handbook's formula.
    boat = laden(hull, 0.4, y=0.05)
    g = centre_of_gravity(boat.weights)
    assert settle(boat).heel_deg == pytest.approx(degrees(atan(g.y_mm / boat.gm_mm)), rel=3e-3)


def test_gm_is_the_slope_of_the_righting_arm(hull):
    boat = laden(hull, 0.4)
    arms = [righting_arm_mm(boat, heel) for heel in (-0.2, 0.2)]
    assert (arms[1] - arms[0]) / radians(0.4) == pytest.approx(boat.gm_mm, rel=2e-3)


def test_a_load_in_the_middle_leaves_it_level(hull):
    rest = settle(laden(hull, 0.5))
    assert rest.heel_deg == pytest.approx(0, abs=0.02)
    assert rest.state == "afloat"


def test_the_further_out_the_further_over(hull):
    beam = max(y for body in hull.ends_mm() for y, _ in body)
    heels = [settle(laden(hull, 0.35, y=share * beam)).heel_deg for share in (0.02, 0.05, 0.1)]
    assert all(a < b for a, b in pairwise(heels))


# --- limits ---------------------------------------------------------------------------------


def test_the_low_rim_under_is_told():
    box = Box(150, 100, 40)
    rest = settle(laden(box, 0.8, y=20))
    assert rest.state == "rim under"
    assert rest.lowest_rim_mm < 0


def test_a_boat_that_turns_over_is_told():
    tall = Box(100, 40, 120)
    boat = Laden(tall, (Weight(200, z_mm=110, y_mm=2),), 1.0)
    assert settle(boat).state == "turned over"


def test_too_heavy_to_float_is_refused():
    box = Box(150, 100, 40)
    with pytest.raises(OutOfRange, match="displaces 0 to"):
        settle(Laden(box, (Weight(600.1),), 1.0))
    with pytest.raises(OutOfRange, match="at most"):
        surface_for(box, vertical(10), 600.1, 40)


def test_weights_without_mass_have_no_centre():
    with pytest.raises(OutOfRange, match="no centre"):
        centre_of_gravity([])


# --- water inside ---------------------------------------------------------------------------


def test_slack_water_costs_gm_what_the_handbook_says():
    # loss = i / V for water in water, i = l b^3 / 12: Barrass and Derrett.
    box = Box(150, 100, 40)
    dry = Laden(box, (boat_weight(box, 30), Weight(170, z_mm=5)), 1.0)
    wet = Laden(box, (boat_weight(box, 30), Weight(170, z_mm=5)), 1.0, slack_ml=100, wall_mm=2)
    level = 100_000 / (146 * 96)
    g = (30 * boat_weight(box, 30).z_mm + 170 * 5 + 100 * (2 + level / 2)) / 300
    km = initial_stability(box, 20).km_mm
    assert wet.mass_g == 300
    assert wet.gm_mm == pytest.approx(km - g - 146 * 96**3 / 12 / 300_000, rel=1e-9)
    assert wet.gm_mm < dry.gm_mm


def test_slack_water_runs_to_the_low_side():
    box = Box(150, 100, 40)
    weights = (boat_weight(box, 30), Weight(170, y_mm=6, z_mm=5))
    # the same water frozen in place heels it less
    level = 100_000 / (150 * 100)
    frozen = Laden(box, (*weights, Weight(100, z_mm=level / 2)), 1.0)
    free = Laden(box, weights, 1.0, slack_ml=100)
    assert settle(free).heel_deg > 1.2 * settle(frozen).heel_deg
    assert free.gm_mm == pytest.approx(righting_arm_slope(free), rel=2e-3)


def righting_arm_slope(boat: Laden) -> float:
    level = Laden(
        boat.hull,
        tuple(Weight(w.mass_g, z_mm=w.z_mm) for w in boat.weights),
        boat.density_g_ml,
        boat.slack_ml,
        boat.wall_mm,
    )
    return (righting_arm_mm(level, 0.2) - righting_arm_mm(level, -0.2)) / radians(0.4)


def test_the_room_inside_is_smaller_by_the_walls():
    assert inside(Box(150, 100, 40), 2) == Box(146, 96, 38)
    with pytest.raises(OutOfRange):
        inside(Box(150, 100, 40), 50)
    assert inside(Dish(160, 100, 45), 0) == Dish(160, 100, 45)


def test_capacity_and_upright_flotation_agree_with_the_tilted_road(hull):
    full = capacity_g(hull, 0, 1.0)
    surface, displaced = surface_for(hull, (0.0, 0.0, 1.0), 0.6 * full, 0.5 * hull.depth_mm)
    assert displaced.volume_ml == pytest.approx(0.6 * full, rel=1e-9)
    assert hull.volume_ml(surface.draft_mm) == pytest.approx(0.6 * full, rel=1e-6)
