"""Bowl: a round bottom all over, part of a sphere."""

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from rig.physics.hulls.arc import half_chord_mm, radius_through_mm
from rig.physics.hulls.hull import Measure, Waterplane, require_draft, require_positive
from rig.physics.hulls.outline import Circle, Outline
from rig.physics.hulls.shape import Shape


@dataclass(frozen=True)
class Bowl(Shape):
    """A spherical cap through rim and lowest point; half a sphere if diameter = 2 depth.

    Source: cap volume pi d^2 (3 R - d) / 3 (Archimedes, On the Sphere and Cylinder) and its
    first moment by integration.
    """

    family: ClassVar[str] = "bowl"
    measures: ClassVar[tuple[Measure, ...]] = (
        Measure("diameter_mm", "width across the rim, outside", 120, "beam", walls=2),
        Measure("depth_mm", "height of the rim above the table", 50, "depth", walls=1),
    )

    diameter_mm: float
    depth_mm: float

    def __post_init__(self) -> None:
        require_positive(self.family, diameter_mm=self.diameter_mm, depth_mm=self.depth_mm)

    @property
    def radius_mm(self) -> float:
        """Radius of the sphere [mm]."""
        return radius_through_mm(self.diameter_mm, self.depth_mm)

    def outline(self, height_mm: float) -> Outline:
        """The circle at that height, a point at the keel."""
        return (Circle(half_chord_mm(self.radius_mm, height_mm)),)

    def waterplane(self, draft_mm: float) -> Waterplane:
        """The circle at the draft."""
        require_draft(draft_mm, self.depth_mm)
        square = (2 * self.radius_mm - draft_mm) * draft_mm
        return Waterplane(pi * square, pi * square**2 / 4, pi * square**2 / 4)

    def volume_ml(self, draft_mm: float) -> float:
        """The cap below the draft [ml]."""
        require_draft(draft_mm, self.depth_mm)
        return pi * draft_mm**2 * (3 * self.radius_mm - draft_mm) / 3000

    def centroid_mm(self, draft_mm: float) -> float:
        """First moment over volume of the cap [mm]."""
        require_draft(draft_mm, self.depth_mm)
        radius, d = self.radius_mm, draft_mm
        return d * (8 * radius - 3 * d) / (4 * (3 * radius - d))

    def kinks_mm(self) -> tuple[float, ...]:
        """Where the sphere is widest, if it goes on above."""
        return (self.radius_mm,)

    def own_centre_mm(self) -> float:
        """Half the depth: equal heights of a sphere have equal skin (Archimedes) [mm]."""
        return self.depth_mm / 2
