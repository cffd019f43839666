"""What lies below a tilted surface, against brute force: space cut into a million small cubes.

Inside and outside are written here a second time, point by point.
"""

from collections.abc import Callable

import numpy as np
import pytest

from rig.physics.heeling import lowest_rim_mm, rim_freeboard_mm
from rig.physics.hulls import (
    Bowl,
    Box,
    Dish,
    Hull,
    Raft,
    Surface,
    Tray,
    Trough,
    Tubes,
    Twin,
    Vee,
)

Inside = Callable[[np.ndarray, np.ndarray, np.ndarray], np.ndarray]


def block(length: float, beam: Callable[[np.ndarray], np.ndarray]) -> Inside:
    return lambda x, y, z: (abs(x) <= length / 2) & (abs(y) <= beam(z) / 2)


CASES: dict[str, tuple[Hull, Inside]] = {
    "box": (Box(150, 100, 40), block(150, lambda z: 100 + 0 * z)),
    "raft": (Raft(150, 100, 40), block(150, lambda z: 100 + 0 * z)),
    "vee": (Vee(160, 90, 45), block(160, lambda z: 90 * z / 45)),
    "tray": (
        Tray(180, 120, 140, 70, 35),
        lambda x, y, z: (abs(x) <= 70 + 20 * z / 35) & (abs(y) <= 35 + 25 * z / 35),
    ),
    "dish": (Dish(160, 100, 45), lambda x, y, z: np.hypot(x, y) <= 50 + 30 * z / 45),
    "bowl": (Bowl(100, 50), lambda x, y, z: x**2 + y**2 + (z - 50) ** 2 <= 50**2),
    "trough": (
        Trough(160, 90, 45),
        lambda x, y, z: (abs(x) <= 80) & (y**2 + (z - 45) ** 2 <= 45**2),
    ),
    "tubes": (
        Tubes(3, 40, 150),
        lambda x, y, z: (
            (abs(x) <= 75)
            & (np.minimum.reduce([abs(y - c) for c in (-40, 0, 40)]) ** 2 + (z - 20) ** 2 <= 400)
        ),
    ),
    "twin": (
        Twin(Box(160, 45, 40), 110),
        lambda x, y, z: (abs(x) <= 80) & (abs(abs(y) - 55) <= 22.5),
    ),
}  # fmt: skip
cases = pytest.mark.parametrize("name", CASES)
tilts = pytest.mark.parametrize("tilt", [(2, 1), (9, 0), (0, 7), (-22, 12), (55, 0)])


def cubes(hull: Hull) -> tuple[np.ndarray, np.ndarray, np.ndarray, float]:
    x = max(abs(x) for x, _ in hull.profile_mm())
    y = max(abs(y) for body in hull.ends_mm() for y, _ in body)
    n = 110
    axes = [
        (np.arange(n) + 0.5) / n * (high - low) + low
        for low, high in ((-x, x), (-y, y), (0.0, hull.depth_mm))
    ]
    one = (2 * x / n) * (2 * y / n) * (hull.depth_mm / n)
    return (*np.meshgrid(*axes, indexing="ij", sparse=True), one)


@cases
@tilts
def test_the_volume_under_water_is_that_of_the_cubes_under_water(name, tilt):
    hull, inside = CASES[name]
    surface = Surface.tilted(0.45 * hull.depth_mm, *tilt)
    x, y, z, one = cubes(hull)
    ux, uy, uz = surface.up
    wet = inside(x, y, z) & (ux * x + uy * y + uz * z <= surface.height_mm)
    count = wet.sum()
    found = hull.below(surface)
    assert 1000 * found.volume_ml == pytest.approx(one * count, rel=4e-3)
    size = hull.rim_mm2() ** 0.5
    for ours, axis in ((found.x_mm, x), (found.y_mm, y), (found.z_mm, z)):
        assert ours == pytest.approx((wet * axis).sum() / count, abs=3e-3 * size)


def test_level_is_the_same_as_upright(hull):
    for part in (0.2, 0.7, 1.0):
        z = part * hull.depth_mm
        found = hull.below(Surface.tilted(z))
        assert found.volume_ml == pytest.approx(hull.volume_ml(z), rel=1e-6)
        assert found.z_mm == pytest.approx(hull.centroid_mm(z), rel=1e-6)


def test_all_or_nothing_under_water(hull):
    full = hull.below(Surface((0.0, -0.6, 0.8), 1e4))
    assert full.volume_ml == pytest.approx(hull.volume_ml(hull.depth_mm), rel=1e-6)
    assert hull.below(Surface((0.0, -0.6, 0.8), -1e4)).volume_ml == 0


def test_heel_to_one_side_mirrors_heel_to_the_other(hull):
    if hull.family in ("sections", "mesh"):
        assert hull.waterplane(hull.depth_mm * 0.9).y_mm == pytest.approx(0, abs=1e-6)
    one, other = (hull.below(Surface.tilted(0.5 * hull.depth_mm, heel, 4)) for heel in (11, -11))
    assert one.volume_ml == pytest.approx(other.volume_ml, rel=1e-9)
    assert one.y_mm == pytest.approx(-other.y_mm, rel=1e-6)
    assert one.y_mm > 0  # positive heel lowers the side of positive y
    assert hull.below(Surface.tilted(0.5 * hull.depth_mm, 0, 5)).x_mm > 0


def test_a_box_on_its_side_is_a_box():
    # 90 degrees: the height is now the beam
    found = Box(150, 100, 40).below(Surface((0.0, -1.0, 0.0), -20.0))
    assert found.volume_ml == pytest.approx(150 * 30 * 40 / 1000)
    assert (found.y_mm, found.z_mm) == pytest.approx((35, 20))


def test_freeboard_along_the_rim_by_plane_geometry():
    # Heeled h degrees about the axis, a rim point y lies y sin(h) lower.
    box, surface = Box(150, 100, 40), Surface.tilted(20, 10)
    by_place = {(x, y): f for x, y, f in rim_freeboard_mm(box, surface)}
    s, c = np.sin(np.radians(10)), np.cos(np.radians(10))
    assert by_place[(75, 50)] == pytest.approx(20 * c - 50 * s)
    assert by_place[(-75, -50)] == pytest.approx(20 * c + 50 * s)
    assert lowest_rim_mm(box, surface) == pytest.approx(min(by_place.values()))
    dish = Dish(160, 100, 45)
    low = lowest_rim_mm(dish, Surface.tilted(20, 10))
    assert low == pytest.approx(25 * c - 80 * s)
    around = rim_freeboard_mm(dish, Surface.tilted(20, 10), points=360)
    assert len(around) == 360
    assert min(f for _, _, f in around) == pytest.approx(low, abs=1e-2)
    assert sum(f for _, _, f in around) / 360 == pytest.approx(25 * c)
