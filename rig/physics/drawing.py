"""Drawings that show what to measure: plain lines and dimensions, for whoever draws them.

Coordinates in millimetres of the boat: across the page (fore and aft, or athwartships) and up.
"""

from dataclasses import dataclass
from math import cos, pi, sin
from typing import Literal

from rig.physics.heeling import Toward
from rig.physics.hulls import FAMILIES, Box, Hull, Sections, Surface, Twin
from rig.physics.hulls.hull import Span
from rig.physics.hulls.outline import Circle, Outline, Point

Name = Literal["side", "end", "top"]


@dataclass(frozen=True, slots=True)
class Line:
    """A line through points, closed by the reader if `closed`."""

    points: tuple[Point, ...]
    closed: bool = True


@dataclass(frozen=True, slots=True)
class Dimension:
    """What one measure spans.

    Attributes:
        key, words: the measure's (`each.` before the key for one hull of a twin).
        start, end: the two points it lies between.
        out: which way its dimension line stands off, a unit vector.
    """

    key: str
    words: str
    start: Point
    end: Point
    out: Point


@dataclass(frozen=True, slots=True)
class View:
    """A hull from one direction."""

    name: Name
    lines: tuple[Line, ...]
    dimensions: tuple[Dimension, ...]


@dataclass(frozen=True)
class Drawing:
    """Side, end and top; `notes` are (key, words) of measures that no ruler reads."""

    family: str
    views: tuple[View, ...]
    notes: tuple[tuple[str, str], ...]


def example(family: str) -> Hull:
    """Return a hull of a family in a size children build, for a drawing before it is measured.

    Raises:
        KeyError: no such family, or one that has no shape of its own (a mesh).
    """
    if family == "twin":
        return Twin(Box(160, 45, 40), 110.0)
    if family == "sections":
        return Sections.drawn(
            [
                (0.0, [(70, 0), (40, 20), (-60, 20), (-60, -20), (40, -20)]),
                (40.0, [(90, 0), (50, 40), (-75, 40), (-75, -40), (50, -40)]),
            ]
        )
    measures = FAMILIES[family].measures
    return FAMILIES[family](**{measure.key: measure.example for measure in measures})


def drawing(hull: Hull) -> Drawing:
    """Return what to draw for a hull: three views, and a dimension line for every measure."""
    side, ends, rim = tuple(hull.profile_mm()), hull.ends_mm(), hull.rim()
    dimensions: dict[Name, list[Dimension]] = {"side": [], "end": [], "top": []}
    notes = []
    for key in hull.measured():
        measure = hull.measure_of(key)
        if measure.shows is None:
            notes.append((key, measure.words))
            continue
        view, start, end, out = _place(measure.shows, side, ends)
        dimensions[view].append(Dimension(key, measure.words, start, end, out))
    lines: dict[Name, tuple[Line, ...]] = {
        "side": (Line(side),),
        "end": tuple(Line(tuple(corners)) for corners in ends),
        "top": tuple(Line(points) for points in _round(rim)),
    }
    views = tuple(View(name, lines[name], tuple(dimensions[name])) for name in lines)
    return Drawing(hull.family, views, tuple(notes))


def afloat_view(hull: Hull, surface: Surface, toward: Toward = "across") -> tuple[Line, ...]:
    """Return the hull as it lies in the water, seen along the axis it turns about.

    Up is true up, and the water's surface is the line at height 0.

    Args:
        toward: "across" shows heel, from the end; "along" trim, from the side.
    """
    bodies = hull.ends_mm() if toward == "across" else [hull.profile_mm()]
    lean = surface.up[1] if toward == "across" else surface.up[0]
    up = surface.up[2]
    return tuple(
        Line(tuple((up * a - lean * z, lean * a + up * z - surface.height_mm) for a, z in corners))
        for corners in bodies
    )


def _place(
    shows: Span, side: tuple[Point, ...], ends: list[list[Point]]
) -> tuple[Name, Point, Point, Point]:
    top = max(z for _, z in side)
    first = ends[0]
    if shows == "length":
        return "side", *_widest(side, top), (0.0, 1.0)
    if shows == "bottom_length":
        return "side", *_widest(side, 0.0), (0.0, -1.0)
    if shows == "depth":
        x = max(x for x, _ in side)
        return "side", (x, 0.0), (x, top), (1.0, 0.0)
    if shows == "beam":
        return "end", *_widest(tuple(first), top), (0.0, 1.0)
    if shows == "bottom_beam":
        return "end", *_widest(tuple(first), 0.0), (0.0, -1.0)
    if shows == "spacing":
        middles = [(min(y for y, _ in b) + max(y for y, _ in b)) / 2 for b in (ends[0], ends[-1])]
        return "end", (middles[0], 0.0), (middles[1], 0.0), (0.0, -1.0)
    low, high = min(y for y, _ in first), max(y for y, _ in first)
    return "end", (low, top / 2), (high, top / 2), (0.0, 1.0)


def _widest(corners: tuple[Point, ...], z: float) -> tuple[Point, Point]:
    """The outermost corners at a height, or of all if fewer than two lie there."""
    size = max(z for _, z in corners) or 1.0
    there = [a for a, height in corners if abs(height - z) < 1e-9 * size]
    if len(there) < 2 or max(there) - min(there) < 1e-9 * size:
        there = [a for a, _ in corners]
    return (min(there), z), (max(there), z)


def _round(outline: Outline) -> list[tuple[Point, ...]]:
    found: list[tuple[Point, ...]] = []
    for part in outline:
        if isinstance(part, Circle):
            turns = [2 * pi * i / 64 for i in range(64)]
            found.append(
                tuple(
                    (part.x_mm + part.radius_mm * cos(t), part.y_mm + part.radius_mm * sin(t))
                    for t in turns
                )
            )
        else:
            found.append(part)
    return found
