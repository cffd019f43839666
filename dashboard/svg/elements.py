"""The few SVG elements the pictures are made of; coordinates in the picture's own pixels."""

from collections.abc import Iterable
from html import escape

Point = tuple[float, float]


def picture(width: float, height: float, says: str, parts: Iterable[str]) -> str:
    """Return a whole picture; `says` is what a screen reader reads in its place."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(width)} {_n(height)}"'
        f' role="img" aria-label="{escape(says)}">{"".join(parts)}</svg>'
    )


def path(points: Iterable[Point], kind: str, closed: bool = False) -> str:
    """Return a line through points, with the class that styles it."""
    way = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
    tag = "polygon" if closed else "polyline"
    return f'<{tag} class="{kind}" points="{way}"/>'


def text(at: Point, words: str, kind: str = "", anchor: str = "middle") -> str:
    """Return words at a point."""
    x, y = at
    style = f' class="{kind}"' if kind else ""
    return f'<text{style} x="{_n(x)}" y="{_n(y)}" text-anchor="{anchor}">{escape(words)}</text>'


def badge(at: Point, letter: str) -> str:
    """Return a letter in a ring."""
    x, y = at
    ring = f'<circle class="badge" cx="{_n(x)}" cy="{_n(y)}" r="11"/>'
    return ring + text((x, y + 5), letter, "letter")


def _n(value: float) -> str:
    """A tenth of a pixel is enough, and -0 is 0."""
    return f"{round(value, 1) + 0.0:g}"
