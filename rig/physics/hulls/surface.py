"""The water's surface as the boat sees it, and what the boat displaces below it."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import hypot, radians, sqrt, tan

from rig.physics.hulls.outline import Circle, Outline


@dataclass(frozen=True, slots=True)
class Surface:
    """A plane in the boat's own axes: under water is where up . (x, y, z) <= height_mm.

    `up` is a unit vector, the true vertical. Heel above 0 lowers the side of positive y,
    trim above 0 the end of positive x.
    """

    up: tuple[float, float, float]
    height_mm: float

    @classmethod
    def tilted(cls, draft_mm: float, heel_deg: float = 0.0, trim_deg: float = 0.0) -> "Surface":
        """The surface that meets the boat's axis at a draft; angles of less than 90 degrees."""
        along, across = tan(radians(trim_deg)), tan(radians(heel_deg))
        size = sqrt(1 + along**2 + across**2)
        return cls((-along / size, -across / size, 1 / size), draft_mm / size)

    @property
    def draft_mm(self) -> float:
        """Where it meets the boat's axis, above the keel [mm]."""
        return self.height_mm / self.up[2]

    def above_mm(self, x: float, y: float, z: float) -> float:
        """How high a point of the boat stands above the water; below 0 under it [mm]."""
        return self.up[0] * x + self.up[1] * y + self.up[2] * z - self.height_mm

    def lowest_mm(self, outline: Outline, z: float) -> float:
        """How high the lowest point of an outline at height z stands above the water [mm]."""
        ux, uy, uz = self.up
        lowest = [
            ux * part.x_mm + uy * part.y_mm - part.radius_mm * hypot(ux, uy)
            if isinstance(part, Circle)
            else min(ux * x + uy * y for x, y in part)
            for part in outline
        ]
        return min(lowest) + uz * z - self.height_mm

    def seen_from(self, dx: float, dy: float) -> "Surface":
        """The same surface for a part of the boat whose own origin lies at (dx, dy)."""
        return Surface(self.up, self.height_mm - self.up[0] * dx - self.up[1] * dy)


@dataclass(frozen=True, slots=True)
class Displaced:
    """A volume and its centroid, in the boat's axes."""

    volume_ml: float
    x_mm: float = 0.0
    y_mm: float = 0.0
    z_mm: float = 0.0

    def along(self, direction: tuple[float, float, float]) -> float:
        """The centroid's distance from the origin in a direction [mm]."""
        return self.x_mm * direction[0] + self.y_mm * direction[1] + self.z_mm * direction[2]


def together(parts: Iterable[tuple[Displaced, float, float]]) -> Displaced:
    """Return several volumes as one, each moved by (dx, dy)."""
    volume = x = y = z = 0.0
    for part, dx, dy in parts:
        volume += part.volume_ml
        x += part.volume_ml * (part.x_mm + dx)
        y += part.volume_ml * (part.y_mm + dy)
        z += part.volume_ml * part.z_mm
    if volume <= 0:
        return Displaced(0.0)
    return Displaced(volume, x / volume, y / volume, z / volume)
