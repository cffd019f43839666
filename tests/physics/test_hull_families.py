"""Every family: closed forms against integrals of cross-sections written here a second time.

Cross-sections from the ruler's point of view; integration is scipy's. 1e-9 relative.
"""

from collections.abc import Callable
from math import acos, pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from rig.errors import OutOfRange
from rig.physics.flotation import capacity_g, draft_for_volume
from rig.physics.hulls import (
    FAMILIES,
    Bowl,
    Box,
    Brimful,
    Hull,
    Raft,
    Sections,
    Surface,
    Trough,
    Tubes,
    Twin,
    Vee,
    raft_mass_g,
)
from rig.physics.hulls.outline import moments
from rig.physics.hulls.shape import Shape, waterplane_of
from rig.physics.stability import initial_stability

# family -> (length, beam) of a rectangle, or (radius,) of a circle, at a height
CUTS: list[tuple[Hull, Callable[[float], tuple[float, ...]]]] = [
    (Vee(160, 90, 45), lambda z: (160, 90 * z / 45)),
    # A circle through (+-b/2, h) and (0, 0) has its centre at height r with
    # r^2 = b^2/4 + (r - h)^2.
    (Trough(160, 90, 45), lambda z: (160, 2 * sqrt(45**2 - (45 - z) ** 2))),
    (Trough(160, 90, 20), lambda z: (160, 2 * sqrt(60.625**2 - (60.625 - z) ** 2))),
    (Trough(120, 60, 90), lambda z: (120, 2 * sqrt(50**2 - (50 - z) ** 2))),
    (Bowl(100, 50), lambda z: (sqrt(50**2 - (50 - z) ** 2),)),
    (Bowl(120, 45), lambda z: (sqrt(62.5**2 - (62.5 - z) ** 2),)),
    (Bowl(80, 80), lambda z: (sqrt(50**2 - (50 - z) ** 2),)),
    (Raft(200, 120, 25), lambda z: (200, 120)),
]
cuts = pytest.mark.parametrize(("hull", "cut"), CUTS, ids=[repr(h) for h, _ in CUTS])
parts = pytest.mark.parametrize("part", [1e-4, 0.05, 0.37, 0.5, 0.8, 1.0])


def area_mm2(cut: tuple[float, ...]) -> float:
    return pi * cut[0] ** 2 if len(cut) == 1 else cut[0] * cut[1]


def integrate(of: Callable[[float], float], top: float) -> float:
    # z = t^2: the square roots at the keel become smooth
    end = sqrt(top)
    return float(quad(lambda t: of(t * t) * 2 * t, 0, end, epsabs=0, epsrel=1e-12, limit=400)[0])


@cuts
@parts
def test_volume_centroid_and_moments_are_those_of_the_sections(hull, cut, part):
    draft = part * hull.depth_mm
    volume = integrate(lambda z: area_mm2(cut(z)), draft)
    moment = integrate(lambda z: z * area_mm2(cut(z)), draft)
    assert 1000 * hull.volume_ml(draft) == pytest.approx(volume, rel=1e-9)
    assert hull.centroid_mm(draft) == pytest.approx(moment / volume, rel=1e-9)
    plane, at = hull.waterplane(draft), cut(draft)
    assert plane.area_mm2 == pytest.approx(area_mm2(at), rel=1e-9)
    if len(at) == 1:
        across = along = pi * at[0] ** 4 / 4
    else:
        across, along = at[0] * at[1] ** 3 / 12, at[1] * at[0] ** 3 / 12
    assert plane.across_mm4 == pytest.approx(across, rel=1e-9)
    assert plane.along_mm4 == pytest.approx(along, rel=1e-9)


@parts
def test_tubes_side_by_side_by_the_parallel_axis_rule(part):
    # Area of a segment, r^2 acos((r - d)/r) - (r - d) sqrt(2 r d - d^2): any mensuration table.
    raft, r, draft = Tubes(5, 60, 200), 30.0, part * 60
    half = sqrt(2 * r * draft - draft**2)
    if part > 0.01:  # the tables' form loses its digits below
        segment = r**2 * acos((r - draft) / r) - (r - draft) * half
        assert 1000 * raft.volume_ml(draft) == pytest.approx(5 * 200 * segment, rel=1e-9)
    plane = raft.waterplane(draft)
    across = sum(
        quad(lambda y: y * y * 200, y0 - half, y0 + half, epsrel=1e-12)[0]
        for y0 in (-120, -60, 0, 60, 120)
    )
    assert plane.area_mm2 == pytest.approx(5 * 200 * 2 * half, rel=1e-9)
    assert plane.across_mm4 == pytest.approx(across, rel=1e-9)
    assert plane.along_mm4 == pytest.approx(5 * 2 * half * 200**3 / 12, rel=1e-9)


@pytest.mark.parametrize("draft", [1e-3, 1e-6, 1e-9])
def test_thin_segments_keep_their_digits(draft):
    # Near its lowest point a circle is the parabola y^2 = 2 r z: area 4/3 z sqrt(2 r z), centroid
    # 3/5 z (Archimedes' quadrature); a circle differs by less than z / r.
    trough = Trough(160, 90, 45)
    parabola = 4 / 3 * draft * sqrt(2 * 45 * draft) * 160 / 1000
    assert trough.volume_ml(draft) == pytest.approx(parabola, rel=draft / 45 + 1e-11, abs=0)
    assert trough.centroid_mm(draft) == pytest.approx(0.6 * draft, rel=draft / 45 + 1e-11, abs=0)


def test_a_twin_is_both_hulls_and_far_stiffer():
    one = Box(160, 45, 40)
    twin = Twin(one, 110)
    assert twin.volume_ml(30) == 2 * one.volume_ml(30)
    assert twin.centroid_mm(30) == one.centroid_mm(30)
    # I = 2 (L b^3 / 12 + L b (s/2)^2), the parallel-axis rule of any mechanics text
    assert twin.waterplane(30).across_mm4 == pytest.approx(
        2 * (160 * 45**3 / 12 + 160 * 45 * 55**2), rel=1e-12
    )
    assert initial_stability(twin, 30).bm_mm > 10 * initial_stability(one, 30).bm_mm


def test_hulls_that_would_overlap_are_no_twin():
    assert Twin(Box(160, 45, 40), 45).rim_mm2() == 2 * 160 * 45
    with pytest.raises(OutOfRange, match=r"^spacing_mm = 44.9 .* overlap"):
        Twin(Box(160, 45, 40), 44.9)
    with pytest.raises(OutOfRange, match="overlap"):  # widest below the rim
        Twin(Trough(160, 70, 60), 71)


def test_a_closed_form_is_what_its_outlines_integrate_to(hull):
    # The one representation: Shape's defaults know only outline and depth.
    within = 1e-6 if isinstance(hull, Brimful) else 1e-9  # z^p at the keel, a power between
    for part in (0.2, 0.55, 0.9, 1 - 1e-12):
        z = part * hull.depth_mm
        assert hull.volume_ml(z) == pytest.approx(Shape.volume_ml(hull, z), rel=within)
        assert hull.centroid_mm(z) == pytest.approx(Shape.centroid_mm(hull, z), rel=within)
        plane, drawn = hull.waterplane(z), waterplane_of(hull.outline(z))
        size = drawn.along_mm4 + drawn.across_mm4
        assert plane.area_mm2 == pytest.approx(drawn.area_mm2, rel=1e-7)
        assert plane.across_mm4 == pytest.approx(drawn.across_mm4, abs=1e-7 * size)
        assert plane.along_mm4 == pytest.approx(drawn.along_mm4, abs=1e-7 * size)


def test_the_areas_are_the_slope_of_the_volume(hull):
    for part in (0.11, 0.43, 0.87):
        z, step = part * hull.depth_mm, 1e-4 * hull.depth_mm
        slope = 1000 * (hull.volume_ml(z + step) - hull.volume_ml(z - step)) / (2 * step)
        assert hull.waterplane(z).area_mm2 == pytest.approx(slope, rel=1e-5)


def test_volumes_by_shares_are_the_volumes(hull):
    shares = [0.0, 0.1, 0.5, 1.0]
    assert hull.volumes_ml(shares) == [hull.volume_ml(s * hull.depth_mm) for s in shares]


def test_volume_and_draft_go_both_ways(hull):
    full = hull.volume_ml(hull.depth_mm)
    for part in (0.0, 1e-6, 0.01, 0.3, 0.77, 1.0):
        draft = draft_for_volume(hull, part * full)
        assert hull.volume_ml(draft) == pytest.approx(part * full, rel=1e-9, abs=1e-11 * full)


def test_drafts_outside_are_refused(hull):
    for ask in (hull.waterplane, hull.volume_ml, hull.centroid_mm):
        ask(hull.depth_mm)
        for draft in (-1e-9, hull.depth_mm * (1 + 1e-9), float("nan")):
            with pytest.raises(OutOfRange, match="outside this hull"):
                ask(draft)


def test_measures_go_out_and_come_back(hull):
    measured = hull.measured()
    again = hull.remeasured(measured)
    for part in (0.3, 1.0):
        z = part * hull.depth_mm
        assert again.volume_ml(z) == pytest.approx(hull.volume_ml(z), rel=1e-12)
    for key, value in measured.items():
        assert hull.measure_of(key).words
        assert hull.measure_of(key).sd_of(value, 1.0) >= 0


def test_a_longer_hull_of_any_family_measures_longer(hull):
    measured = hull.measured()
    for key in (k for k in measured if k.endswith("length_mm") and "bottom" not in k):
        longer = hull.remeasured({**measured, key: 1.02 * measured[key]})
        if isinstance(hull, Brimful) and hull.power == 0:
            continue  # its rim is then as full as the volume needs
        rims = [moments(h.rim()) for h in (hull, longer)]
        assert rims[1].xx == pytest.approx(1.02**3 * rims[0].xx, rel=1e-6)


def test_views_reach_as_far_as_the_outlines(hull):
    side, ends = hull.profile_mm(), hull.ends_mm()
    assert min(z for _, z in side) == 0
    assert max(z for _, z in side) == pytest.approx(hull.depth_mm)
    assert max(z for body in ends for _, z in body) == pytest.approx(hull.depth_mm)
    across = sum(abs(moments((tuple(body),)).area) for body in ends)
    assert across > 0
    assert abs(moments((tuple(side),)).area) > 0


def test_the_empty_boats_centre_lies_within_it(hull):
    assert 0 < hull.own_centre_mm() < hull.depth_mm


def test_a_skins_centre_where_it_is_known():
    # Box: bottom L B at 0, walls 2 (L + B) h at h/2. Half sphere: r/2 (Archimedes).
    # Half circle's arc: r (1 - 2/pi) above its lowest point; its disc: r (1 - 4/(3 pi)).
    assert Box(150, 100, 40).own_centre_mm() == pytest.approx(
        2 * 250 * 40 * 20 / (150 * 100 + 2 * 250 * 40), rel=1e-9
    )
    assert Shape.own_centre_mm(Bowl(100, 50)) == pytest.approx(25, rel=1e-6)
    arc, discs = 160 * pi * 45, pi * 45**2
    known = (arc * 45 * (1 - 2 / pi) + discs * 45 * (1 - 4 / (3 * pi))) / (arc + discs)
    assert Trough(160, 90, 45).own_centre_mm() == pytest.approx(known, rel=1e-9)
    sides, ends = 2 * 160 * sqrt(45**2 + 45**2), 90 * 45
    known = (sides * 22.5 + ends * 30) / (sides + ends)
    assert Vee(160, 90, 45).own_centre_mm() == pytest.approx(known, rel=1e-9)
    assert Raft(200, 120, 25).own_centre_mm() == 12.5
    assert Tubes(4, 20, 200).own_centre_mm() == pytest.approx(10)


# --- rafts ----------------------------------------------------------------------------------


def test_a_raft_of_straws_carries_its_volume_less_its_mass():
    # pi r^2 L each; a straw raft of 12 straws 12 mm wide displaces 271 ml
    straws = Tubes(12, 12, 200)
    assert capacity_g(straws, 20, 1.0) == pytest.approx(12 * pi * 36 * 0.2 - 20, rel=1e-12)
    assert not straws.floods
    assert straws.rim_mm2() == 12 * 12 * 200  # the deck, though the waterplane ends in lines


@pytest.mark.parametrize("count", [0, -1, 2.5, 501, float("nan"), float("inf")])
def test_tubes_are_counted_in_whole_numbers(count):
    with pytest.raises(OutOfRange, match=r"^count = .* whole number"):
        Tubes(count, 12, 200)


def test_a_solid_raft_floats_as_deep_as_its_density():
    # Archimedes: the part under water is the density's ratio; pine of 0.5 lies half under.
    raft = Raft(200, 120, 25)
    mass = raft_mass_g(raft, 0.5)
    assert draft_for_volume(raft, mass / 1.0) == pytest.approx(12.5)
    assert capacity_g(raft, mass, 1.0) == pytest.approx(300)
    for wrong in (0, -0.1, 3, float("nan")):
        with pytest.raises(OutOfRange, match="density_g_ml"):
            raft_mass_g(raft, wrong)


# --- brimful --------------------------------------------------------------------------------


@given(st.floats(0.12, 0.999), st.floats(0.79, 1))
def test_brimful_keeps_the_volume_that_was_poured(part, fullness):
    hull = Brimful(170, 110, 40, part * 170 * 110 * 40 / 1000, fullness)
    assert hull.volume_ml(40) == hull.held_ml
    assert hull.rim_mm2() == pytest.approx(max(fullness, part) * 170 * 110, rel=1e-9)
    assert hull.power >= 0


def test_brimful_fills_its_rim_to_its_length_and_width():
    for fullness in (0.79, 0.89, 1.0):
        (rim,) = Brimful(170, 110, 40, 300, fullness).rim()
        assert max(x for x, _ in rim) == pytest.approx(85)
        assert max(y for _, y in rim) == pytest.approx(55)


def test_brimful_of_known_shapes_is_nearly_those_shapes():
    # p = 0 upright, 1 a vee or any shape with areas straight in height, 2 a cone
    cone = Brimful(100, 100, 60, pi * 50**2 * 60 / 3000, pi / 4)
    assert cone.power == pytest.approx(2)
    assert cone.centroid_mm(60) == pytest.approx(45)  # three quarters: Euclid's cone
    block = Brimful(150, 100, 40, 600, 1.0)
    assert block.power == 0
    assert block.waterplane(20).across_mm4 == pytest.approx(
        Box(150, 100, 40).waterplane(20).across_mm4
    )


def test_brimful_refuses_what_cannot_be():
    Brimful(100, 80, 40, 320, 0.8)  # fills its block: upright walls all around
    with pytest.raises(OutOfRange, match=r"^held_ml = 321 .* 320 ml"):
        Brimful(100, 80, 40, 321)
    with pytest.raises(OutOfRange, match=r"^held_ml = 20 "):
        Brimful(100, 80, 40, 20)
    with pytest.raises(OutOfRange, match=r"^fullness = 0.5 "):
        Brimful(100, 80, 40, 200, 0.5)


# --- sections -------------------------------------------------------------------------------


def test_sections_of_a_tray_are_the_tray():
    rim, bottom = (
        [(90, 60), (-90, 60), (-90, -60), (90, -60)],
        [(70, 35), (-70, 35), (-70, -35), (70, -35)],
    )
    drawn = Sections.drawn([(0, bottom), (35, rim)])
    tray = FAMILIES["tray"](
        length_mm=180, beam_mm=120, bottom_length_mm=140, bottom_beam_mm=70, depth_mm=35
    )
    for z in (0.0, 10.0, 35.0):
        assert drawn.volume_ml(z) == pytest.approx(tray.volume_ml(z), rel=1e-12)
        assert drawn.waterplane(z).across_mm4 == pytest.approx(tray.waterplane(z).across_mm4)
        assert drawn.centroid_mm(z) == pytest.approx(tray.centroid_mm(z), rel=1e-12)


def test_sections_round_a_bowl_as_well_as_they_are_many():
    # 12 rows of 48 corners: within 1 % of the half sphere, and nearer with more.
    def drawn(rows: int, corners: int) -> float:
        turns = np.linspace(0, 2 * pi, corners, endpoint=False)
        table = []
        for z in np.linspace(0, 50, rows):
            r = sqrt(max(50**2 - (50 - z) ** 2, 0))
            table.append(
                (z, [(0, 0)] if z == 0 else [(r * np.cos(t), r * np.sin(t)) for t in turns])
            )
        hull = Sections.drawn(table)
        return hull.volume_ml(50) / Bowl(100, 50).volume_ml(50) - 1

    coarse, fine = abs(drawn(12, 48)), abs(drawn(48, 96))
    assert coarse < 0.012
    assert fine < 0.25 * coarse


def test_rows_with_other_numbers_of_corners_join_without_losing_one():
    square = [(50, 50), (-50, 50), (-50, -50), (50, -50)]
    more = [(50, 50), (0, 50), (-50, 50), (-50, 0), (-50, -50), (0, -50), (50, -50), (50, 0)]
    box = Sections.drawn([(0, square), (20, more), (40, square)])
    for z in (5.0, 20.0, 33.0):
        assert box.waterplane(z).area_mm2 == pytest.approx(1e4, rel=1e-12)
    assert box.volume_ml(40) == pytest.approx(400, rel=1e-12)


def test_either_way_round_is_the_same_hull():
    rim = [(95, 0), (45, 38), (-75, 38), (-75, -38), (45, -38)]
    rows = [(0.0, [(70, 0), (-60, 0)]), (40.0, rim)]
    other = [(0.0, [(70, 0), (-60, 0)]), (40.0, [rim[0], *rim[:0:-1]])]
    assert Sections.drawn(rows).volume_ml(25) == pytest.approx(Sections.drawn(other).volume_ml(25))


def test_the_origin_lies_below_the_centroid_of_the_volume():
    hull = Sections.drawn([(0, [(200, 10)]), (30, [(300, 0), (300, 40), (100, 40), (100, 0)])])
    found = hull.below(Surface.tilted(30))
    assert found.x_mm == pytest.approx(0, abs=1e-9)
    assert found.y_mm == pytest.approx(0, abs=1e-9)
    assert Sections.drawn(hull.rows).rows == hull.rows  # a second time nothing moves


@pytest.mark.parametrize(
    "rows",
    [
        [],
        [(0, [(0, 0), (10, 0), (0, 10)])],
        [(1, [(0, 0), (10, 0), (0, 10)]), (5, [(0, 0), (10, 0), (0, 10)])],
        [(0, [(0, 0), (10, 0), (0, 10)]), (0, [(0, 0), (10, 0), (0, 10)])],
        [(0, [(0, 0), (10, 0), (0, 10)]), (5, [(0, 0), (10, 10), (10, 0), (0, 10)])],  # a bow tie
        [(0, [(0, 0)]), (5, [(0, 0), (10, 0)])],  # a rim without area
        [(0, [(0, 0)]), (5, [(0, 0), (1e6, 0), (0, 10)])],
        [(0, [(0, 0)]), (5, [(0, 0), (float("nan"), 0), (0, 10)])],
        [(0, []), (5, [(0, 0), (10, 0), (0, 10)])],
    ],
)
def test_sections_that_can_be_no_boat_are_refused(rows):
    with pytest.raises(OutOfRange):
        Sections.drawn(rows)
