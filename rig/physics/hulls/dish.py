"""Dish: a round bowl with straight leaning walls (a truncated cone)."""

from dataclasses import dataclass
from math import pi
from typing import ClassVar

from rig.physics.hulls.hull import Measure, Waterplane, require_draft, require_positive
from rig.physics.hulls.outline import Circle, Outline
from rig.physics.hulls.shape import Shape


@dataclass(frozen=True)
class Dish(Shape):
    """A truncated cone standing on its bottom circle.

    Source: frustum volume pi h (R^2 + R r + r^2) / 3 and its first moment, closed form.
    """

    family: ClassVar[str] = "dish"
    measures: ClassVar[tuple[Measure, ...]] = (
        Measure("diameter_mm", "width across the rim, outside", 160, "beam", walls=2),
        Measure("bottom_diameter_mm", "width across the bottom", 100, "bottom_beam", walls=2),
        Measure("depth_mm", "height of the rim above the table", 45, "depth", walls=1),
    )

    diameter_mm: float
    bottom_diameter_mm: float
    depth_mm: float

    def __post_init__(self) -> None:
        require_positive(
            self.family,
            diameter_mm=self.diameter_mm,
            bottom_diameter_mm=self.bottom_diameter_mm,
            depth_mm=self.depth_mm,
        )

    def _radius_and_slope(self) -> tuple[float, float]:
        """Bottom radius, and growth of the radius per millimetre of height."""
        bottom = self.bottom_diameter_mm / 2
        return bottom, (self.diameter_mm / 2 - bottom) / self.depth_mm

    def outline(self, height_mm: float) -> Outline:
        """The circle at that height."""
        bottom, slope = self._radius_and_slope()
        return (Circle(bottom + slope * height_mm),)

    def waterplane(self, draft_mm: float) -> Waterplane:
        """The circle at the draft."""
        require_draft(draft_mm, self.depth_mm)
        bottom, slope = self._radius_and_slope()
        radius = bottom + slope * draft_mm
        second_moment = pi * radius**4 / 4
        return Waterplane(pi * radius**2, second_moment, second_moment)

    def volume_ml(self, draft_mm: float) -> float:
        """Frustum from keel to draft [ml]."""
        require_draft(draft_mm, self.depth_mm)
        bottom, slope = self._radius_and_slope()
        top = bottom + slope * draft_mm
        return pi * draft_mm * (bottom**2 + bottom * top + top**2) / 3000

    def centroid_mm(self, draft_mm: float) -> float:
        """First moment over volume of the frustum [mm]."""
        require_draft(draft_mm, self.depth_mm)
        bottom, slope = self._radius_and_slope()
        top = bottom + slope * draft_mm
        weight = bottom**2 + bottom * top + top**2
        return draft_mm * (bottom**2 + 2 * bottom * top + 3 * top**2) / (4 * weight)

    def profile_mm(self) -> list[tuple[float, float]]:
        """A trapezium through the axis [mm]."""
        low, high = self.bottom_diameter_mm / 2, self.diameter_mm / 2
        return [(-low, 0.0), (low, 0.0), (high, self.depth_mm), (-high, self.depth_mm)]
