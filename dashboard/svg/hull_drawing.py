"""A hull's views with a lettered line for everything a ruler measures."""

from collections.abc import Callable
from dataclasses import dataclass
from math import hypot
from typing import Final

from dashboard.svg.elements import Point, badge, path, picture
from rig.physics.drawing import Dimension, View, drawing
from rig.physics.hulls import Hull

WIDTH: Final = 320.0
_MARGIN: Final = 44.0  # room for a dimension line and its letter
_OFF: Final = 24.0  # from the hull to the dimension line
_TALLEST: Final = 190.0
_ARROW: Final = 5.0
_SAYS: Final = {"side": "from the side", "end": "from the end", "top": "from above"}


@dataclass(frozen=True, slots=True)
class Measured:
    """One measure in words: its letter in the drawing ("" if no ruler reads it) and its value."""

    letter: str
    key: str
    words: str
    value: float
    unit: str


def measured(hull: Hull) -> list[Measured]:
    """Return all measures in order; letters A, B, C ... for those the drawing shows."""
    found: list[Measured] = []
    letters = iter("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    # one hull of a twin has its letters as if it stood alone
    for key, value in sorted(hull.measured().items(), key=lambda one: one[0] == "spacing_mm"):
        measure = hull.measure_of(key)
        letter = next(letters) if measure.shows else ""
        found.append(Measured(letter, key, measure.words, value, unit_of(key)))
    return found


def unit_of(key: str) -> str:
    """The unit in a measure's name; "" for a number or a share."""
    return next((unit for unit in ("mm", "ml") if key.endswith(f"_{unit}")), "")


def hull_pictures(hull: Hull) -> dict[str, str]:
    """Return the SVG of each view: side, end, top. All in one scale."""
    letters = {one.key: one.letter for one in measured(hull)}
    views = drawing(hull).views
    scale = min(_scale(view) for view in views)
    return {view.name: _picture(view, scale, letters) for view in views}


def _box(view: View) -> tuple[float, float, float, float]:
    points = [point for line in view.lines for point in line.points]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), max(xs), min(ys), max(ys)


def _scale(view: View) -> float:
    left, right, low, high = _box(view)
    across = (WIDTH - 2 * _MARGIN) / max(right - left, 1e-9)
    return min(across, _TALLEST / max(high - low, 1e-9))


def _picture(view: View, scale: float, letters: dict[str, str]) -> str:
    left, right, low, high = _box(view)
    height = (high - low) * scale + 2 * _MARGIN

    def at(point: Point) -> Point:
        x, y = point
        return WIDTH / 2 + (x - (left + right) / 2) * scale, _MARGIN + (high - y) * scale

    parts = [path(map(at, line.points), "hull", line.closed) for line in view.lines]
    for dimension in view.dimensions:
        letter = letters[dimension.key]
        lines = _dimension(dimension, at, letter)
        parts.append(f'<g data-letter="{letter}">{"".join(lines)}</g>')
    said = ", ".join(f"{letters[d.key]}: {d.words}" for d in view.dimensions)
    says = f"The boat {_SAYS[view.name]}" + (f". {said}" if said else "")
    return picture(WIDTH, height, says, parts)


def _dimension(dimension: Dimension, at: Callable[[Point], Point], letter: str) -> list[str]:
    out = (dimension.out[0], -dimension.out[1])  # down is up on a page
    ends = [at(dimension.start), at(dimension.end)]
    start, end = (_moved(point, out, _OFF) for point in ends)
    lines = [path([point, _moved(point, out, _OFF + 5)], "reach") for point in ends]
    lines.append(path([start, end], "measure"))
    length = hypot(end[0] - start[0], end[1] - start[1])
    if length > 4 * _ARROW:
        along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
        lines += [_arrow(start, along), _arrow(end, (-along[0], -along[1]))]
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    return [*lines, badge(middle, letter)]


def _arrow(tip: Point, along: Point) -> str:
    base = _moved(tip, along, 1.8 * _ARROW)
    side = (-along[1], along[0])
    return path([tip, _moved(base, side, _ARROW / 2), _moved(base, side, -_ARROW / 2)], "tip", True)


def _moved(point: Point, way: Point, by: float) -> Point:
    return point[0] + way[0] * by, point[1] + way[1] * by
