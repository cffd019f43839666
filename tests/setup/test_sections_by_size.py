"""Sections of a boats file by length and width: areas of the plan forms, and what cannot be."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.errors import OutOfRange, SetupInvalid
from rig.physics.hulls.outline import moments
from rig.physics.hulls.plan_forms import FORMS, outline_of
from rig.setup import boat_from_dict

SIZES = st.floats(1, 1e4)


def boat(*rows):
    return boat_from_dict({"label": "A", "hull": "sections", "mass_g": 20, "section": list(rows)})


def row(height_mm, length_mm, beam_mm, **more):
    return {"height_mm": height_mm, "length_mm": length_mm, "beam_mm": beam_mm, **more}


@given(SIZES, SIZES)
def test_areas_of_the_forms(length_mm, beam_mm):
    """Rectangle a b, ellipse pi a b / 4, rectangle with a triangle for its foremost third."""
    parts = {"box": 1.0, "oval": math.pi / 4, "pointed": 2 / 3 + 1 / 3 / 2}
    for form in FORMS:
        area = moments((outline_of(form, length_mm, beam_mm),)).area
        assert area == pytest.approx(parts[form] * length_mm * beam_mm, rel=1e-9)


def test_a_frustum_of_rectangles_is_the_prismatoid():
    hull = boat(row(0, 120, 60), row(40, 150, 80, form="box")).hull
    assert hull.volume_ml(40) == pytest.approx(40 / 6 * (7200 + 4 * 135 * 70 + 12000) / 1000)


@pytest.mark.parametrize(
    ("bad", "told"),
    [
        (row(0, 120, 60, outline_mm=[[0, 0], [1, 0], [0, 1]]), "not both"),
        ({"height_mm": 0, "length_mm": 120}, "length_mm and beam_mm"),
        ({"height_mm": 0}, "outline_mm"),
        (row(0, 120, 60, form="star"), "form"),
        (row(0, -120, 60), "length_mm"),
    ],
)
def test_what_is_no_section_is_told(bad, told):
    with pytest.raises(SetupInvalid, match=told) as caught:
        boat(bad, row(40, 150, 80))
    assert len(str(caught.value).splitlines()) == 1


@pytest.mark.parametrize("size", [(0, 10), (10, -1), (math.nan, 10)])
def test_no_outline_without_a_size(size):
    with pytest.raises(OutOfRange):
        outline_of("oval", *size)
