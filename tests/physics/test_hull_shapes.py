"""The closed forms of the hulls against numerical integration of their own cross-sections.

The cross-sections are written here a second time, from the ruler's point of view: a rectangle
or circle whose sides move in a straight line from bottom to rim. Integration is scipy's.
"""

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad, quad

from rig.errors import OutOfRange
from rig.physics.hulls import FAMILIES, Box, Brimful, Dish, Hull, Tray
from rig.physics.stability import initial_stability

HULLS: list[Hull] = [
    Box(length_mm=150, beam_mm=100, depth_mm=40),
    Tray(length_mm=180, beam_mm=120, bottom_length_mm=140, bottom_beam_mm=70, depth_mm=35),
    Tray(length_mm=100, beam_mm=80, bottom_length_mm=130, bottom_beam_mm=95, depth_mm=50),
    Tray(length_mm=160, beam_mm=60, bottom_length_mm=110, bottom_beam_mm=90, depth_mm=22.5),
    Dish(diameter_mm=160, bottom_diameter_mm=100, depth_mm=45),
    Dish(diameter_mm=70, bottom_diameter_mm=95, depth_mm=60),
]
hulls = pytest.mark.parametrize("hull", HULLS, ids=repr)
parts = pytest.mark.parametrize("part", [0.05, 0.37, 0.8, 1.0])


def side_mm(bottom: float, top: float, hull: Hull, z: float) -> float:
    return bottom + (top - bottom) * z / hull.depth_mm


def rectangle_mm(hull: Box | Tray, z: float) -> tuple[float, float]:
    if isinstance(hull, Box):
        return hull.length_mm, hull.beam_mm
    return (
        side_mm(hull.bottom_length_mm, hull.length_mm, hull, z),
        side_mm(hull.bottom_beam_mm, hull.beam_mm, hull, z),
    )


def section_area_mm2(hull: Hull, z: float) -> float:
    if isinstance(hull, Dish):
        return pi / 4 * side_mm(hull.bottom_diameter_mm, hull.diameter_mm, hull, z) ** 2
    assert isinstance(hull, Box | Tray)
    length, beam = rectangle_mm(hull, z)
    return length * beam


@hulls
@parts
def test_volume_and_centroid_are_the_integrals_of_the_sections(hull, part):
    draft = part * hull.depth_mm
    volume = quad(lambda z: section_area_mm2(hull, z), 0, draft, epsabs=0, epsrel=1e-12)[0]
    moment = quad(lambda z: z * section_area_mm2(hull, z), 0, draft, epsabs=0, epsrel=1e-12)[0]
    assert 1000 * hull.volume_ml(draft) == pytest.approx(volume, rel=1e-9)
    assert hull.centroid_mm(draft) == pytest.approx(moment / volume, rel=1e-9)
    assert hull.waterplane(draft).area_mm2 == pytest.approx(section_area_mm2(hull, draft), rel=1e-9)


@hulls
@parts
def test_second_moments_are_the_integrals_over_the_waterplane(hull, part):
    draft = part * hull.depth_mm
    if isinstance(hull, Dish):
        radius = side_mm(hull.bottom_diameter_mm, hull.diameter_mm, hull, draft) / 2
        # About a diameter, in polar coordinates: half of the polar moment.
        across = along = quad(lambda r: pi * r**3, 0, radius, epsabs=0, epsrel=1e-12)[0]
    else:
        length, beam = rectangle_mm(hull, draft)
        # x fore and aft, y athwartships: heel turns about x, trim about y.
        sides = (-length / 2, length / 2, -beam / 2, beam / 2)
        across = dblquad(lambda y, x: y * y, *sides, epsabs=0, epsrel=1e-11)[0]
        along = dblquad(lambda y, x: x * x, *sides, epsabs=0, epsrel=1e-11)[0]
    plane = hull.waterplane(draft)
    assert plane.across_mm4 == pytest.approx(across, rel=1e-9)
    assert plane.along_mm4 == pytest.approx(along, rel=1e-9)


@parts
def test_a_tray_with_equal_rectangles_is_the_box(part):
    box, tray = Box(150, 100, 40), Tray(150, 100, 150, 100, 40)
    draft = part * 40
    assert tray.volume_ml(draft) == pytest.approx(box.volume_ml(draft), rel=1e-14)
    assert tray.centroid_mm(draft) == pytest.approx(box.centroid_mm(draft), rel=1e-14)
    assert tray.waterplane(draft) == box.waterplane(draft)
    assert tray.profile_mm() == box.profile_mm()


@parts
def test_a_dish_with_equal_circles_is_the_cylinder(part):
    dish, draft = Dish(100, 100, 50), part * 50
    assert 1000 * dish.volume_ml(draft) == pytest.approx(pi * 50**2 * draft, rel=1e-14)
    assert dish.centroid_mm(draft) == pytest.approx(draft / 2, rel=1e-14)
    # Upright cylinder, BM = r^2 / (4 d): common practice of the trade, no source.
    assert initial_stability(dish, draft).bm_mm == pytest.approx(50**2 / (4 * draft), rel=1e-13)


def test_a_dish_shrunk_to_a_point_is_the_cone():
    # Euclid, Elements XII.10: a third of the cylinder; its centroid at three quarters.
    cone = Dish(diameter_mm=100, bottom_diameter_mm=1e-6, depth_mm=60)
    assert 1000 * cone.volume_ml(60) == pytest.approx(pi * 50**2 * 60 / 3, rel=1e-7)
    assert cone.centroid_mm(60) == pytest.approx(45, rel=1e-7)


@hulls
def test_at_the_keel_there_is_no_volume(hull):
    assert hull.volume_ml(0) == 0
    assert hull.centroid_mm(0) == 0
    assert hull.waterplane(0).area_mm2 > 0


@hulls
@pytest.mark.parametrize("ask", ["waterplane", "volume_ml", "centroid_mm"])
def test_a_draft_outside_the_hull_is_refused(hull, ask):
    getattr(hull, ask)(hull.depth_mm)  # the rim itself is inside
    for draft in (-1e-9, hull.depth_mm * (1 + 1e-12), float("nan"), float("inf")):
        with pytest.raises(OutOfRange, match="outside this hull"):
            getattr(hull, ask)(draft)


@pytest.mark.parametrize("family", FAMILIES.values(), ids=FAMILIES)
@pytest.mark.parametrize("wrong", [0, -1, float("nan"), float("inf"), 1e5])
def test_a_measure_that_cannot_be_is_refused_by_name(family, wrong):
    whole = {measure.key: measure.example for measure in family.measures}
    for key in whole:
        with pytest.raises(OutOfRange, match=rf"^{key} = .* {family.family}"):
            family(**{**whole, key: wrong})


@pytest.mark.parametrize("family", FAMILIES.values(), ids=FAMILIES)
def test_every_measure_changes_the_hull(family):
    # A family that asks for a measure and never uses it would pass unnoticed otherwise.
    whole = {measure.key: measure.example for measure in family.measures}
    hull = family(**whole)
    middle = hull.waterplane(hull.depth_mm / 2)
    for key, value in whole.items():
        other = family(**{**whole, key: value + 1 if key == "count" else 1.05 * value})
        if key not in ("length_mm", "beam_mm", "depth_mm", "fullness") or family is not Brimful:
            assert other.volume_ml(other.depth_mm) > hull.volume_ml(hull.depth_mm)
        assert other.waterplane(hull.depth_mm / 2) != middle or other.depth_mm != hull.depth_mm


@hulls
def test_the_profile_is_the_side_view_keel_first(hull):
    corners = hull.profile_mm()
    assert [z for _, z in corners] == [0, 0, hull.depth_mm, hull.depth_mm]
    widths = [abs(corners[0][0] - corners[1][0]), abs(corners[2][0] - corners[3][0])]
    if isinstance(hull, Dish):
        assert widths == [hull.bottom_diameter_mm, hull.diameter_mm]
    else:
        assert isinstance(hull, Box | Tray)
        assert widths == [rectangle_mm(hull, z)[0] for z in (0, hull.depth_mm)]
    # Going round: bottom from left to right, rim from right to left, so the sides do not cross.
    assert corners[0][0] < 0 < corners[1][0]
    assert corners[3][0] < 0 < corners[2][0]


@hulls
@parts
def test_stability_is_second_moment_over_volume_above_the_centroid(hull, part):
    draft = part * hull.depth_mm
    heights = initial_stability(hull, draft)
    volume_mm3 = quad(lambda z: section_area_mm2(hull, z), 0, draft, epsabs=0, epsrel=1e-12)[0]
    assert heights.kb_mm == hull.centroid_mm(draft)
    assert heights.bm_mm == pytest.approx(hull.waterplane(draft).across_mm4 / volume_mm3, rel=1e-9)
    assert heights.km_mm == heights.kb_mm + heights.bm_mm


@hulls
@pytest.mark.parametrize("draft_mm", [0, -1, float("nan"), 1e4])
def test_no_stability_without_water_under_the_keel_or_outside_the_hull(hull, draft_mm):
    with pytest.raises(OutOfRange):
        initial_stability(hull, draft_mm)


def test_a_draft_too_small_to_hold_any_volume_is_refused_like_0():
    with pytest.raises(OutOfRange, match="no metacentre"):
        initial_stability(Box(10, 10, 10), 5e-324)


@given(
    beam=st.floats(10, 500),
    draft_part=st.floats(0.01, 1),
)
def test_a_wider_box_stands_stiffer_and_a_deeper_one_less(beam, draft_part):
    # B^2 / (12 d), Barrass and Derrett, Ship Stability for Masters and Mates.
    box, draft = Box(200, beam, 60), 60 * draft_part
    assert initial_stability(box, draft).bm_mm == pytest.approx(beam**2 / (12 * draft), rel=1e-12)
