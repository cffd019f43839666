"""Walls: outside measures float, inside measures hold."""

from rig.errors import OutOfRange
from rig.physics.hulls import Brimful, Hull
from rig.physics.hulls.outline import moments
from rig.physics.hulls.shape import skin


def inside(hull: Hull, wall_mm: float) -> Hull:
    """Return the room within walls of a thickness, its floor `wall_mm` above the keel.

    Every measure loses the walls it spans: two across, one in depth (see `Measure.walls`).
    Exact for upright walls; leaning ones are thicker across than through.

    Raises:
        OutOfRange: below 0, or walls so thick that nothing is left.
    """
    return _by_walls(hull, -wall_mm)


def outside(hull: Hull, wall_mm: float) -> Hull:
    """Return what floats, for a hull measured inside walls of a thickness. Raises OutOfRange."""
    return _by_walls(hull, wall_mm)


def wall_slopes(hull: Hull, wall_mm: float) -> list[float]:
    """Return how each measure of a hull measured inside grows with its walls, per millimetre.

    In the order of `hull.measured()`. Raises OutOfRange.
    """
    hold, step = inside(hull, wall_mm), 0.01 * wall_mm
    more, less = (outside(hold, wall_mm + part).measured() for part in (step, -step))
    return [(more[key] - less[key]) / (2 * step) for key in hull.measured()]


def _by_walls(hull: Hull, more_mm: float) -> Hull:
    if not abs(more_mm) < 1e3:
        raise OutOfRange(f"Walls of {abs(more_mm):g} mm cannot be.", "Measure them at the rim.")
    if more_mm == 0 or not hull.floods:
        return hull
    values = {
        key: value + hull.measure_of(key).walls * more_mm for key, value in hull.measured().items()
    }
    if isinstance(hull, Brimful):  # its volume is no length: skin x thickness
        bottom_mm2 = moments(hull.outline(0.0)).area
        values["held_ml"] += more_mm * (bottom_mm2 + skin(hull)[0]) / 1000
    return hull.remeasured(values)
