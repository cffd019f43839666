"""Drawings: every measure a ruler reads has its dimension line, as long as it measures."""

from math import cos, hypot, radians, sin

import pytest

from rig.physics.drawing import afloat_view, drawing, example
from rig.physics.hulls import FAMILIES, Box, Surface, Trough, Twin


def test_every_measure_is_drawn_or_noted(hull):
    found = drawing(hull)
    drawn = {d.key: d for view in found.views for d in view.dimensions}
    noted = dict(found.notes)
    assert set(drawn) | set(noted) == set(hull.measured())
    assert not set(drawn) & set(noted)
    for key, value in hull.measured().items():
        measure = hull.measure_of(key)
        assert (key in drawn) == (measure.shows is not None)
        if key in drawn:
            line = drawn[key]
            long = hypot(line.end[0] - line.start[0], line.end[1] - line.start[1])
            assert long == pytest.approx(value, rel=1e-3), key
            assert line.words == measure.words
            assert hypot(*line.out) == 1


def test_three_views_of_closed_lines(hull):
    found = drawing(hull)
    assert [view.name for view in found.views] == ["side", "end", "top"]
    assert found.family == hull.family
    for view in found.views:
        assert view.lines
        for line in view.lines:
            assert line.closed
            assert len(line.points) >= 3


@pytest.mark.parametrize("family", [*FAMILIES, "twin", "sections"])
def test_every_family_has_an_example_to_draw(family):
    hull = example(family)
    assert hull.family == family
    assert 20 < hull.volume_ml(hull.depth_mm) < 2000  # a child's boat
    assert drawing(hull).views


def test_round_bottoms_are_drawn_round():
    end = drawing(Trough(160, 90, 45)).views[1].lines[0]
    assert len(end.points) > 20
    for y, z in end.points:
        assert z == 45 or hypot(y, z - 45) == pytest.approx(45, rel=1e-6)


def test_afloat_the_water_is_at_0_and_up_is_up():
    surface = Surface.tilted(20, 10)
    box, turn = Box(150, 100, 40), radians(10)
    (line,) = afloat_view(box, surface)
    for (y, z), (across, height) in zip(box.ends_mm()[0], line.points, strict=True):
        assert height == pytest.approx((z - 20) * cos(turn) - y * sin(turn))
        assert height == pytest.approx(surface.above_mm(0, y, z))
        assert across == pytest.approx(y * cos(turn) + z * sin(turn))
    assert len(afloat_view(Twin(Box(160, 45, 40), 110), surface)) == 2
    # turning changes no lengths
    (ay, az), (by, bz) = line.points[0], line.points[1]
    assert hypot(ay - by, az - bz) in (pytest.approx(40), pytest.approx(100))
    (side,) = afloat_view(Box(150, 100, 40), Surface.tilted(20, 0, 10), "along")
    assert max(abs(x) for x, _ in side.points) > 75 * cos(turn)
