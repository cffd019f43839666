"""Outlines: flat closed shapes, their moments, and what lies on one side of a line. Millimetres.

Source: area and moments of a polygon by Green's theorem (Bockman, Am. Math. Monthly 96 (1989)
131, title and page from memory); clipping, Sutherland and Hodgman, Comm. ACM 17 (1974) 32-42; a
circle's segment by integration.
"""

from dataclasses import dataclass
from math import acos, hypot, pi, sqrt

Point = tuple[float, float]
Polygon = tuple[Point, ...]  # corners in order, anticlockwise; the last joins the first


@dataclass(frozen=True, slots=True)
class Circle:
    """A disc."""

    radius_mm: float
    x_mm: float = 0.0
    y_mm: float = 0.0


Outline = tuple[Polygon | Circle, ...]


@dataclass(frozen=True, slots=True)
class Moments:
    """Area and its moments about the origin: x, y first; xx, yy second."""

    area: float = 0.0
    x: float = 0.0
    y: float = 0.0
    xx: float = 0.0
    yy: float = 0.0

    def __add__(self, other: "Moments") -> "Moments":
        return Moments(
            self.area + other.area,
            self.x + other.x,
            self.y + other.y,
            self.xx + other.xx,
            self.yy + other.yy,
        )


def moments(outline: Outline) -> Moments:
    """Return area and moments of all parts together."""
    found = Moments()
    for part in outline:
        found += _of_circle(part) if isinstance(part, Circle) else _of_polygon(part)
    return found


def under_line(outline: Outline, ux: float, uy: float, c: float) -> tuple[float, float, float]:
    """Return area and first moments (x, y) of the part where ux x + uy y <= c."""
    area = mx = my = 0.0
    for part in outline:
        a, x, y = (
            _clip_circle(part, ux, uy, c) if isinstance(part, Circle) else _clip(part, ux, uy, c)
        )
        area, mx, my = area + a, mx + x, my + y
    return area, mx, my


def reach(outline: Outline, ux: float, uy: float) -> list[float]:
    """Return ux x + uy y at each corner; for circles and many-sided parts at the two extremes."""
    found: list[float] = []
    for part in outline:
        if isinstance(part, Circle):
            middle, half = ux * part.x_mm + uy * part.y_mm, part.radius_mm * hypot(ux, uy)
            found += (middle - half, middle + half)
        elif len(part) <= 8:
            found += [ux * x + uy * y for x, y in part]
        else:
            along = [ux * x + uy * y for x, y in part]
            found += (min(along), max(along))
    return found


def moved(outline: Outline, dx: float, dy: float) -> Outline:
    """Return the outline at another place."""
    return tuple(
        Circle(part.radius_mm, part.x_mm + dx, part.y_mm + dy)
        if isinstance(part, Circle)
        else tuple((x + dx, y + dy) for x, y in part)
        for part in outline
    )


def rectangle(length_mm: float, beam_mm: float) -> Polygon:
    """A rectangle about the origin."""
    x, y = length_mm / 2, beam_mm / 2
    return ((-x, -y), (x, -y), (x, y), (-x, y))


def _of_circle(circle: Circle) -> Moments:
    r, x, y = circle.radius_mm, circle.x_mm, circle.y_mm
    area, own = pi * r * r, pi * r**4 / 4
    return Moments(area, area * x, area * y, own + area * x * x, own + area * y * y)


def _of_polygon(polygon: Polygon) -> Moments:
    area = mx = my = mxx = myy = 0.0
    x0, y0 = polygon[-1]
    for x1, y1 in polygon:
        cross = x0 * y1 - x1 * y0
        area += cross
        mx += cross * (x0 + x1)
        my += cross * (y0 + y1)
        mxx += cross * (x0 * x0 + x0 * x1 + x1 * x1)
        myy += cross * (y0 * y0 + y0 * y1 + y1 * y1)
        x0, y0 = x1, y1
    return Moments(area / 2, mx / 6, my / 6, mxx / 12, myy / 12)


def _clip(polygon: Polygon, ux: float, uy: float, c: float) -> tuple[float, float, float]:
    """Clip and sum in one go; a polygon that is not convex gets seams of no area."""
    area = mx = my = 0.0
    ax, ay = polygon[-1]
    a = ux * ax + uy * ay - c
    px, py = first = (ax, ay)
    begun = False
    for bx, by in polygon:
        b = ux * bx + uy * by - c
        new: tuple[Point, ...]
        if (a <= 0) != (b <= 0):
            t = a / (a - b)
            cut = (ax + t * (bx - ax), ay + t * (by - ay))
            new = (cut, (bx, by)) if b <= 0 else (cut,)
        else:
            new = ((bx, by),) if b <= 0 else ()
        for qx, qy in new:
            if begun:
                cross = px * qy - qx * py
                area += cross
                mx += cross * (px + qx)
                my += cross * (py + qy)
            else:
                begun, first = True, (qx, qy)
            px, py = qx, qy
        ax, ay, a = bx, by, b
    if begun:
        cross = px * first[1] - first[0] * py
        area += cross
        mx += cross * (px + first[0])
        my += cross * (py + first[1])
    return area / 2, mx / 6, my / 6


def _clip_circle(circle: Circle, ux: float, uy: float, c: float) -> tuple[float, float, float]:
    r, x, y = circle.radius_mm, circle.x_mm, circle.y_mm
    size, inside = hypot(ux, uy), c - ux * x - uy * y  # above 0: the centre is under
    if inside >= size * r:
        area = pi * r * r
        return area, area * x, area * y
    if inside <= -size * r:
        return 0.0, 0.0, 0.0
    q = inside / size
    half_chord2 = max(r * r - q * q, 0.0)
    area = r * r * (pi - acos(q / r)) + q * sqrt(half_chord2)
    lever = -2 / 3 * half_chord2 * sqrt(half_chord2) / size
    return area, area * x + lever * ux, area * y + lever * uy
