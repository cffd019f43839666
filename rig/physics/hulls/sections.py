"""Sections: any hull, as the outlines of its waterplane at a few heights."""

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations, pairwise
from math import hypot
from typing import ClassVar

from rig.errors import OutOfRange
from rig.physics.hulls.hull import Measure, require_draft, require_positive
from rig.physics.hulls.outline import Outline, Point, Polygon, moments
from rig.physics.hulls.shape import Shape, waterplane_of
from rig.physics.hulls.stretched import EXTENTS, Stretched

Rows = tuple[tuple[float, Polygon], ...]


@dataclass(frozen=True)
class Sections(Shape):
    """Straight walls between (height_mm, outline) rows, the first at height 0, all rising.

    An outline has three corners or more in order, either way round; the keel's may be a point or
    a line of two. Rows with equally many corners are joined corner to corner; others by
    their share of the way round, beginning at the foremost corner (largest x).

    Between two rows areas are quadratic in height, so Simpson's rule is exact for volume
    and first moment. Origin: `drawn` moves it below the centroid of the volume.
    """

    family: ClassVar[str] = "sections"
    measures: ClassVar[tuple[Measure, ...]] = EXTENTS

    rows: Rows

    @classmethod
    def drawn(cls, rows: Sequence[tuple[float, Sequence[Sequence[float]]]]) -> "Sections":
        """Sections from any kind of sequence. Raises OutOfRange for what can be no boat."""
        table = []
        for height_mm, corners in rows:
            points = [(float(x), float(y)) for x, y in corners]
            table.append((float(height_mm), _anticlockwise(points)))
        hull = cls(tuple(table))
        x, y = hull._middle()
        if hypot(x, y) < 1e-9 * hull.measured()["length_mm"]:
            return hull  # drawn about its middle: kept as it is, to the last digit
        return cls(
            tuple((z, tuple((px - x, py - y) for px, py in outline)) for z, outline in hull.rows)
        )

    def __post_init__(self) -> None:
        _require_rows(self.rows)
        require_positive(self.family, **self.measured())

    @property
    def depth_mm(self) -> float:
        """Height of the last row [mm]."""
        return self.rows[-1][0]

    def outline(self, height_mm: float) -> Outline:
        """A part of the way from the row below to the row above, corner by corner."""
        i = max(min(bisect_right(self._heights, height_mm), len(self.rows) - 1), 1)
        low, high = self._heights[i - 1], self._heights[i]
        part = (height_mm - low) / (high - low)
        return (
            tuple(
                (ax + part * (bx - ax), ay + part * (by - ay))
                for (ax, ay), (bx, by) in self._joined[i - 1]
            ),
        )

    @cached_property
    def _heights(self) -> tuple[float, ...]:
        return tuple(z for z, _ in self.rows)

    @cached_property
    def _joined(self) -> list[list[tuple[Point, Point]]]:
        return [_join(a, b) for (_, a), (_, b) in pairwise(self.rows)]

    def kinks_mm(self) -> tuple[float, ...]:
        """The rows between."""
        return self._heights[1:-1]

    def volume_ml(self, draft_mm: float) -> float:
        """Simpson's rule, row by row [ml]."""
        return self._sums(draft_mm)[0] / 1000

    def centroid_mm(self, draft_mm: float) -> float:
        """First moment over volume [mm]."""
        volume, moment, _, _ = self._sums(draft_mm)
        return moment / volume if volume > 0 else 0.0

    def volumes_ml(self, shares: Sequence[float]) -> list[float]:
        """Worked out once for the same shares [ml]."""
        key = tuple(shares)
        if key not in self._kept:
            self._kept[key] = [self.volume_ml(share * self.depth_mm) for share in key]
        return self._kept[key]

    @cached_property
    def _kept(self) -> dict[tuple[float, ...], list[float]]:
        return {}

    def measured(self) -> dict[str, float]:
        """How far it reaches: all rows together."""
        xs = [x for _, outline in self.rows for x, _ in outline]
        ys = [y for _, outline in self.rows for _, y in outline]
        return {
            "length_mm": max(xs) - min(xs),
            "beam_mm": max(ys) - min(ys),
            "depth_mm": self.depth_mm,
        }

    def remeasured(self, values: Mapping[str, float]) -> Stretched:
        """The drawing stretched to other extents. Raises OutOfRange."""
        return Stretched.to(self, values)

    def _middle(self) -> Point:
        volume, _, mx, my = self._sums(self.depth_mm)
        return mx / volume, my / volume

    def _sums(self, draft_mm: float) -> tuple[float, float, float, float]:
        """Volume and its moments about keel, x = 0 and y = 0."""
        require_draft(draft_mm, self.depth_mm)
        total = [0.0] * 4
        for low, high in pairwise(self._heights):
            top = min(high, draft_mm)
            if top <= low:
                break
            for z, weight in ((low, 1.0), ((low + top) / 2, 4.0), (top, 1.0)):
                # from inside its own stretch: at a row the joining corners differ, not the area
                m = moments(self.outline(z))
                part = weight * (top - low) / 6
                for i, value in enumerate((m.area, m.area * z, m.x, m.y)):
                    total[i] += part * value
        return total[0], total[1], total[2], total[3]


def _anticlockwise(points: list[Point]) -> Polygon:
    """The same corners the other way round if need be, the first staying first."""
    if points and moments((tuple(points),)).area < 0:
        return (points[0], *reversed(points[1:]))
    return tuple(points)


def _join(a: Polygon, b: Polygon) -> list[tuple[Point, Point]]:
    if len(a) == len(b):
        return list(zip(a, b, strict=True))
    ways = sorted({*_ways(_from_bow(a)), *_ways(_from_bow(b))})
    return [(_on_the_way(_from_bow(a), way), _on_the_way(_from_bow(b), way)) for way in ways]


def _from_bow(polygon: Polygon) -> Polygon:
    first = max(range(len(polygon)), key=lambda i: (polygon[i][0], -polygon[i][1]))
    return polygon[first:] + polygon[:first]


def _ways(polygon: Polygon) -> list[float]:
    """Each corner's share of the way round, the first at 0."""
    lengths = [hypot(bx - ax, by - ay) for (ax, ay), (bx, by) in pairwise((*polygon, polygon[0]))]
    total, gone, ways = sum(lengths), 0.0, []
    for length in lengths:
        ways.append(gone / total if total > 0 else 0.0)
        gone += length
    return ways


def _on_the_way(polygon: Polygon, way: float) -> Point:
    ways = [*_ways(polygon), 1.0]
    i = min(bisect_right(ways, way), len(polygon)) - 1
    (ax, ay), (bx, by) = polygon[i], polygon[(i + 1) % len(polygon)]
    span = ways[i + 1] - ways[i]
    part = (way - ways[i]) / span if span > 0 else 0.0
    return ax + part * (bx - ax), ay + part * (by - ay)


def _require_rows(rows: Rows) -> None:
    heights = [z for z, _ in rows]
    if len(rows) < 2 or heights[0] != 0 or any(not a < b for a, b in pairwise(heights)):
        raise OutOfRange(
            "Sections must be two or more, the first at height_mm = 0, each higher than the last.",
            "Sort them from keel to rim; measure heights from the lowest point.",
        )
    for number, (z, outline) in enumerate(rows):
        if not all(abs(v) < 1e5 for point in outline for v in point) or not outline:
            raise OutOfRange(f"The outline at {z:g} mm is not made of millimetres.", "Mend it.")
        if number == 0 and len(outline) < 3:
            continue
        if not waterplane_of((outline,)).area_mm2 > 0 or _crosses(outline):
            raise OutOfRange(
                f"The outline at {z:g} mm crosses itself or holds no area.",
                "Give its corners in order, once round.",
            )


def _crosses(polygon: Polygon) -> bool:
    sides = list(pairwise((*polygon, polygon[0])))
    return any(
        _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0
        for (a, b), (c, d) in combinations(sides, 2)
    )


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
