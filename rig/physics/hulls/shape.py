"""What follows from the outline by height alone: the one representation behind every hull.

A family that gives `outline` and `depth_mm` is whole: waterplane, volume, centroid and the
volume below a tilted surface are integrals over it. Closed forms that a family adds make it
faster, not different (a test compares them).
"""

from collections.abc import Mapping, Sequence
from functools import partial
from itertools import pairwise
from math import hypot, pi

from rig.physics.hulls.hull import Hull, Measure, Waterplane, require_draft
from rig.physics.hulls.numeric import integral, root
from rig.physics.hulls.outline import (
    Circle,
    Outline,
    Point,
    Polygon,
    moments,
    reach,
    under_line,
)
from rig.physics.hulls.surface import Displaced, Surface

# Where between two kinks a corner is looked for; not on them, where outlines change corners.
_LOOKS = (1e-9, 0.25, 0.5, 0.75, 1 - 1e-9)


class Shape:
    """The default for everything a hull must tell but its outline, depth and measures."""

    @property
    def floods(self) -> bool:
        """An open boat does."""
        return True

    def kinks_mm(self) -> tuple[float, ...]:
        """None: one law from keel to rim."""
        return ()

    def waterplane(self: Hull, draft_mm: float) -> Waterplane:
        """Area, centroid and second moments of the outline."""
        require_draft(draft_mm, self.depth_mm)
        return waterplane_of(self.outline(draft_mm))

    def volume_ml(self: Hull, draft_mm: float) -> float:
        """The areas' integral [ml]."""
        require_draft(draft_mm, self.depth_mm)
        return _areas(self, draft_mm)[0] / 1000

    def volumes_ml(self: Hull, shares: Sequence[float]) -> list[float]:
        """One by one [ml]."""
        depth_mm = self.depth_mm
        return [self.volume_ml(share * depth_mm) for share in shares]

    def centroid_mm(self: Hull, draft_mm: float) -> float:
        """The areas' first moment over their integral [mm]."""
        require_draft(draft_mm, self.depth_mm)
        volume, moment = _areas(self, draft_mm)
        return moment / volume if volume > 0 else 0.0

    def below(self: Hull, surface: Surface) -> Displaced:
        """The outlines' parts under water, summed over the heights."""
        return sliced(self, surface)

    def rim(self: Hull) -> Outline:
        """The outline at the rim's height."""
        return self.outline(self.depth_mm)

    def rim_mm2(self: Hull) -> float:
        """Its area [mm2]."""
        return moments(self.rim()).area

    def profile_mm(self: Hull) -> list[tuple[float, float]]:
        """How far the outlines reach fore and aft [mm]."""
        rows = [(z, *_span(self.outline(z), 0)) for z in _view_heights(self)]
        back = [(low, z) for z, low, _ in reversed(rows)]
        bottom = [back.pop(), (rows[0][2], rows[0][0])]
        return [*bottom, *((high, z) for z, _, high in rows[1:]), *back]

    def ends_mm(self: Hull) -> list[list[Point]]:
        """How far the outlines reach athwartships [mm]."""
        rows = [(z, *_span(self.outline(z), 1)) for z in _view_heights(self)]
        return [[(high, z) for z, _, high in rows] + [(low, z) for z, low, _ in reversed(rows)]]

    def measured(self: Hull) -> dict[str, float]:
        """The measures, by key."""
        return {m.key: float(getattr(self, m.key)) for m in self.measures}

    def measure_of(self: Hull, key: str) -> Measure:
        """The family's measure of that key."""
        return next(m for m in self.measures if m.key == key)

    def remeasured(self: Hull, values: Mapping[str, float]) -> Hull:
        """The same family with other measures."""
        return type(self)(**values)

    def own_centre_mm(self: Hull) -> float:
        """Centre of a skin of even thickness; of the whole body for what does not flood [mm]."""
        if not self.floods:
            return self.centroid_mm(self.depth_mm)
        bottom_mm2 = moments(self.outline(0.0)).area
        wall_mm2, moment = skin(self)
        return moment / (bottom_mm2 + wall_mm2)


def waterplane_of(outline: Outline) -> Waterplane:
    """Return an outline's area, centroid and second moments about its own axes."""
    m = moments(outline)
    if m.area <= 0:
        return Waterplane(0.0, 0.0, 0.0)
    x, y = m.x / m.area, m.y / m.area
    return Waterplane(m.area, m.yy - m.area * y * y, m.xx - m.area * x * x, x, y)


def skin(hull: Hull) -> tuple[float, float]:
    """Return the walls' area [mm2] and its first moment about the keel [mm3]; no bottom.

    One millimetre of height makes a strip as long as the outline's edge and sqrt(1 + v^2) wide,
    v being how far that edge moves outward in it.
    """
    depth = hull.depth_mm
    ends = [0.0, *(k for k in hull.kinks_mm() if 0 < k < depth), depth]

    def strip(z: float) -> tuple[float, float]:
        step = 1e-3 * min(abs(z - end) for end in ends)
        low, high = hull.outline(z - step), hull.outline(z + step)
        wide = sum(_strip(a, b, 2 * step) for a, b in zip(low, high, strict=True))
        return wide, wide * z

    area, moment = integral(strip, 0.0, depth, hull.kinks_mm())
    return area, moment


def _strip(low: Circle | Polygon, high: Circle | Polygon, rise: float) -> float:
    """Wall area per height between two outlines with corners in the same order."""
    if isinstance(low, Circle) or isinstance(high, Circle):
        assert isinstance(low, Circle) and isinstance(high, Circle)
        radius = (low.radius_mm + high.radius_mm) / 2
        return 2 * pi * radius * hypot(1, (high.radius_mm - low.radius_mm) / rise)
    total = 0.0
    for i in range(len(low)):
        (ax, ay), (bx, by) = low[i - 1], low[i]
        (cx, cy), (dx, dy) = high[i - 1], high[i]
        ex, ey = (bx + dx - ax - cx) / 2, (by + dy - ay - cy) / 2
        long = hypot(ex, ey)
        # the parallelogram's height, as the cross product of the edge and the way it moved
        out = ((cx + dx - ax - bx) * ey - (cy + dy - ay - by) * ex) / 2
        total += hypot(long, out / rise)
    return total


def _areas(hull: Hull, draft_mm: float) -> list[float]:
    """Volume [mm3] and its first moment about the keel [mm4]."""

    def slice_at(z: float) -> tuple[float, float]:
        area = moments(hull.outline(z)).area
        return area, area * z

    return integral(slice_at, 0.0, draft_mm, hull.kinks_mm())


def sliced(hull: Hull, surface: Surface) -> Displaced:
    """Return what lies below a surface, by integration over the outlines' wet parts."""
    ux, uy, uz = surface.up

    def wet(z: float) -> tuple[float, float, float, float]:
        area, mx, my = under_line(hull.outline(z), ux, uy, surface.height_mm - uz * z)
        return area, mx, my, area * z

    breaks = _corners_meet(hull, surface)
    volume, mx, my, mz = integral(wet, 0.0, hull.depth_mm, breaks)
    if volume <= 0:
        return Displaced(0.0)
    return Displaced(volume / 1000, mx / volume, my / volume, mz / volume)


def _corners_meet(hull: Hull, surface: Surface) -> list[float]:
    """Return the kinks, and the heights at which a corner of the outline meets the surface."""
    ux, uy, uz = surface.up
    depth = hull.depth_mm
    ends = [0.0, *(k for k in hull.kinks_mm() if 0 < k < depth), depth]
    found = ends[1:-1]

    def above(z: float) -> list[float]:
        return [along + uz * z - surface.height_mm for along in reach(hull.outline(z), ux, uy)]

    def corner_above(i: int, z: float) -> float:
        return above(z)[i]

    for low, high in pairwise(ends):
        heights = [low + (high - low) * look for look in _LOOKS]
        seen = [above(z) for z in heights]
        for i in range(len(seen[0])):
            for k in range(len(heights) - 1):
                a, b = seen[k][i], seen[k + 1][i]
                if a * b < 0:
                    z = root(
                        partial(corner_above, i),
                        heights[k],
                        heights[k + 1],
                        a,
                        b,
                        1e-13 * depth,
                    )
                    found.append(z)
    return found


def _span(outline: Outline, axis: int) -> tuple[float, float]:
    """How far an outline reaches along x (0) or y (1)."""
    low, high = [], []
    for part in outline:
        if isinstance(part, Circle):
            middle = part.y_mm if axis else part.x_mm
            low.append(middle - part.radius_mm)
            high.append(middle + part.radius_mm)
        else:
            along = [point[axis] for point in part]
            low.append(min(along))
            high.append(max(along))
    return min(low), max(high)


def _view_heights(hull: Hull) -> list[float]:
    """Heights that draw a hull well: ends, kinks and, where walls curve, places between."""
    depth = hull.depth_mm
    ends = [0.0, *(k for k in hull.kinks_mm() if 0 < k < depth), depth]
    found = [0.0]
    for low, high in pairwise(ends):
        spans = [
            [*_span(hull.outline(z), 0), *_span(hull.outline(z), 1)]
            for z in (low, (low + high) / 2, high)
        ]
        bent = any(abs(a + b - 2 * m) > 1e-6 * (high - low) for a, m, b in zip(*spans, strict=True))
        if bent:  # closer at both ends, where round bilges turn
            found += [
                low + (high - low) * (3 - 2 * t) * t * t for t in (i / 16 for i in range(1, 16))
            ]
        found.append(high)
    return found
