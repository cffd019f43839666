"""The segment of a circle below a chord, its lowest point at height 0. Millimetres.

In the angle t from the lowest point to the chord's end, the half chord is r sin t and the
height r (1 - cos t).
"""

from math import asin, sin, sqrt

from rig.physics.hulls.numeric import RULE


def half_chord_mm(radius_mm: float, height_mm: float) -> float:
    """Half of the chord's length [mm]."""
    return sqrt(max((2 * radius_mm - height_mm) * height_mm, 0.0))


def segment_mm2(radius_mm: float, height_mm: float) -> float:
    """The segment's area, r^2 (2t - sin 2t) / 2, up to the whole circle [mm2]."""
    return radius_mm**2 * _less_its_sine(2 * _angle(radius_mm, height_mm)) / 2


def segment_centroid_mm(radius_mm: float, height_mm: float) -> float:
    """Height of the segment's centroid above the lowest point [mm]."""
    end = _angle(radius_mm, height_mm)
    if end == 0:
        return 0.0
    if end > 1:
        return radius_mm * (1 - 4 / 3 * sin(end) ** 3 / _less_its_sine(2 * end))
    # The difference above loses all digits where the segment is thin; sums of squares do not.
    area = moment = 0.0
    for place, weight in RULE:
        t = end * place
        strip = weight * sin(t) ** 2
        area += strip
        moment += strip * 2 * sin(t / 2) ** 2
    return radius_mm * moment / area


def radius_through_mm(rim_mm: float, depth_mm: float) -> float:
    """Radius of the arc that is `rim_mm` wide and `depth_mm` deep [mm]."""
    return (rim_mm**2 / 4 + depth_mm**2) / (2 * depth_mm)


def arc_mm(radius_mm: float, height_mm: float) -> float:
    """Length of the arc below the chord [mm]."""
    return 2 * radius_mm * _angle(radius_mm, height_mm)


def arc_centroid_mm(radius_mm: float, height_mm: float) -> float:
    """Height of that arc's centroid above the lowest point, r - r sin t / t [mm]."""
    end = _angle(radius_mm, height_mm)
    return radius_mm * _less_its_sine(end) / end if end else 0.0


def _angle(radius_mm: float, height_mm: float) -> float:
    return 2 * asin(min(sqrt(max(height_mm, 0.0) / (2 * radius_mm)), 1.0))


def _less_its_sine(x: float) -> float:
    """x - sin x, by its series where the difference would lose digits."""
    if x > 0.5:
        return x - sin(x)
    term = total = x**3 / 6
    for n in (4, 6, 8, 10, 12):
        term *= -x * x / (n * (n + 1))
        total += term
    return total
