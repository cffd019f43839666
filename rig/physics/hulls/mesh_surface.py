"""From a closed mesh to the outside of a boat: what the water touches, up to the lowest rim.

A model of a real boat has a hollow, and the water must not be let in: at each height the
outermost loops count and loops within them (the hollow, a mast in it) do not. The rim is where
the hollow opens.
"""

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from rig.errors import OutOfRange
from rig.physics.hulls.outline import Polygon, moments

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_LOOKS: Final = 64


@dataclass(frozen=True)
class Loop:
    """One closed line of a cut, solid on its left, and the faces it runs through."""

    polygon: Polygon
    faces: tuple[int, ...]
    area_mm2: float  # below 0 around a hollow


def loops_at(points: Floats, faces: Ints, height: float) -> list[Loop]:
    """Return the loops of a level cut; the height must be no corner's.

    Raises:
        OutOfRange: the mesh is not closed there.
    """
    over = points[faces, 2] > height
    crossing = np.flatnonzero(over.any(axis=1) & ~over.all(axis=1))
    after: dict[tuple[int, int], tuple[tuple[int, int], int]] = {}
    for face in crossing.tolist():
        corners = faces[face].tolist()
        ups = over[face].tolist()
        start = end = (0, 0)
        for i in range(3):
            a, b = corners[i], corners[(i + 1) % 3]
            if ups[i] and not ups[(i + 1) % 3]:  # anticlockwise from outside, downward: begins
                start = (min(a, b), max(a, b))
            elif ups[(i + 1) % 3] and not ups[i]:
                end = (min(a, b), max(a, b))
        after[start] = (end, face)
    found = []
    while after:
        first = edge = next(iter(after))
        corners_on, through = [], []
        while edge in after:
            corners_on.append(edge)
            edge, face = after.pop(edge)
            through.append(face)
        if edge != first:
            raise OutOfRange(
                "The mesh has a hole in its skin.", "Close it in your drawing program."
            )
        polygon = tuple(_meet(points[a], points[b], height) for a, b in corners_on)
        found.append(Loop(polygon, tuple(through), moments((polygon,)).area))
    return found


def outermost(loops: list[Loop]) -> list[Loop]:
    """Return the solid loops that lie in no other solid loop."""
    solid = [loop for loop in loops if loop.area_mm2 > 0]
    return [
        loop
        for loop in solid
        if not any(other is not loop and _inside(loop.polygon[0], other.polygon) for other in solid)
    ]


@dataclass(frozen=True)
class Rim:
    """Where the hollow opens, or the top of a mesh that has none.

    Attributes:
        hollow: whether there is one.
        plain: no loop lies in another anywhere, so that every face is an outer one.
    """

    height: float
    hollow: bool
    plain: bool


def find_rim(points: Floats, faces: Ints) -> Rim:
    """Return the height at which the topmost hollow opens.

    Looks at 64 heights and then, above the highest that shows a hollow, from corner to corner. A
    hollow in less than a sixtieth of the height may be missed; a void with a roof over it is none.
    """
    heights = np.unique(points[:, 2])
    bottom, top = float(heights[0]), float(heights[-1])
    heights = heights[np.concatenate([[True], np.diff(heights) > 1e-7 * (top - bottom)])]
    cuts = [float(a + b) / 2 for a, b in pairwise(heights.tolist())]
    looks = sorted({min(int(len(cuts) * (i + 0.5) / _LOOKS), len(cuts) - 1) for i in range(_LOOKS)})
    plain = True
    above: list[Loop] = []
    for k, look in reversed(list(enumerate(looks))):
        loops = loops_at(points, faces, cuts[look])
        plain = plain and all(loop.area_mm2 > 0 for loop in loops)
        if _opens(loops, above):
            end = looks[k + 1] if k + 1 < len(looks) else len(cuts)
            last = look
            for higher in range(look + 1, end):
                if not any(loop.area_mm2 < 0 for loop in loops_at(points, faces, cuts[higher])):
                    break
                last = higher
            return Rim(float(heights[last + 1]), True, False)
        above = loops
    return Rim(top, False, plain)


def _opens(loops: list[Loop], above: list[Loop]) -> bool:
    """Whether one of the loops is a hollow with no solid over it."""
    return any(loop.area_mm2 < 0 and not _solid(_within(loop.polygon), above) for loop in loops)


def outer_faces(points: Floats, faces: Ints, rim: Rim) -> Ints:
    """Return which leaning or upright faces the water touches below the rim."""
    low = points[faces, 2].min(axis=1)
    high = np.minimum(points[faces, 2].max(axis=1), rim.height)
    leaning = np.flatnonzero(high - low > 1e-9 * rim.height)
    if rim.plain:
        return leaning
    left = set(leaning.tolist())
    heights = np.unique(points[:, 2])
    outer: set[int] = set()
    while left:
        face = next(iter(left))
        height = _between_corners(heights, float(low[face]), float(high[face]))
        loops = loops_at(points, faces, height)
        for loop in outermost(loops):
            outer.update(loop.faces)
        left.difference_update(*(loop.faces for loop in loops), {face})
    return np.array(sorted(outer), dtype=np.int64)


def _between_corners(heights: Floats, low: float, high: float) -> float:
    """A height within a face that is no corner's: the middle of the widest free stretch."""
    inside = heights[(heights > low) & (heights < high)]
    ends = np.concatenate([[low], inside, [high]])
    i = int(np.argmax(np.diff(ends)))
    return float(ends[i] + ends[i + 1]) / 2


def _meet(a: Floats, b: Floats, height: float) -> tuple[float, float]:
    part = (height - a[2]) / (b[2] - a[2])
    return float(a[0] + part * (b[0] - a[0])), float(a[1] + part * (b[1] - a[1]))


def _within(polygon: Polygon) -> tuple[float, float]:
    """A point just inside a clockwise loop: right of its longest side."""
    sides = list(zip(polygon, (*polygon[1:], polygon[0]), strict=True))
    (ax, ay), (bx, by) = max(
        sides, key=lambda s: (s[1][0] - s[0][0]) ** 2 + (s[1][1] - s[0][1]) ** 2
    )
    return (ax + bx) / 2 + 1e-3 * (by - ay), (ay + by) / 2 - 1e-3 * (bx - ax)


def _solid(point: tuple[float, float], loops: list[Loop]) -> bool:
    return sum(_inside(point, loop.polygon) for loop in loops) % 2 == 1


def _inside(point: tuple[float, float], polygon: Polygon) -> bool:
    """Even-odd rule."""
    x, y = point
    inside = False
    ax, ay = polygon[-1]
    for bx, by in polygon:
        if (ay > y) != (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax):
            inside = not inside
        ax, ay = bx, by
    return inside
