"""Stretched: a drawn hull as the ruler finds it, longer, wider or deeper by a little."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import ClassVar

from rig.physics.hulls.hull import Hull, Measure, Waterplane, require_draft, require_positive
from rig.physics.hulls.outline import Circle, Outline
from rig.physics.hulls.shape import Shape
from rig.physics.hulls.surface import Displaced, Surface

EXTENTS = (
    Measure("length_mm", "length over all, outside", 160, "length", walls=2),
    Measure("beam_mm", "width over all, outside", 90, "beam", walls=2),
    Measure("depth_mm", "height of the rim above the table", 40, "depth", walls=1),
)


@dataclass(frozen=True)
class Stretched(Shape):
    """`drawn`, with every length along an axis multiplied by that axis's factor.

    Only for hulls whose outlines are polygons.
    """

    family: ClassVar[str] = "stretched"
    measures: ClassVar[tuple[Measure, ...]] = EXTENTS

    drawn: Hull
    along: float
    across: float
    up: float

    @classmethod
    def to(cls, drawn: Hull, values: Mapping[str, float]) -> "Stretched":
        """Stretch until the extents are those given. Raises OutOfRange."""
        require_positive(drawn.family, **values)
        own = drawn.measured()
        return cls(drawn, *(values[m.key] / own[m.key] for m in EXTENTS))

    @property
    def depth_mm(self) -> float:
        """Of the stretched hull [mm]."""
        return self.drawn.depth_mm * self.up

    @property
    def _volume(self) -> float:
        return self.along * self.across * self.up

    def _drawn_mm(self, draft_mm: float) -> float:
        require_draft(draft_mm, self.depth_mm)
        return min(draft_mm / self.up, self.drawn.depth_mm)

    def outline(self, height_mm: float) -> Outline:
        """The drawn outline, stretched."""
        return self._stretched(self.drawn.outline(self._drawn_mm(height_mm)))

    def rim(self) -> Outline:
        """The drawn rim, stretched."""
        return self._stretched(self.drawn.rim())

    def rim_mm2(self) -> float:
        """The drawn one, stretched [mm2]."""
        return self.along * self.across * self.drawn.rim_mm2()

    def _stretched(self, outline: Outline) -> Outline:
        parts = []
        for part in outline:
            assert not isinstance(part, Circle)
            parts.append(tuple((self.along * x, self.across * y) for x, y in part))
        return tuple(parts)

    def kinks_mm(self) -> tuple[float, ...]:
        """The drawn ones, stretched."""
        return tuple(self.up * z for z in self.drawn.kinks_mm())

    def waterplane(self, draft_mm: float) -> Waterplane:
        """The drawn one, stretched."""
        plane = self.drawn.waterplane(self._drawn_mm(draft_mm))
        area = self.along * self.across
        return Waterplane(
            plane.area_mm2 * area,
            plane.across_mm4 * area * self.across**2,
            plane.along_mm4 * area * self.along**2,
            plane.x_mm * self.along,
            plane.y_mm * self.across,
        )

    def volume_ml(self, draft_mm: float) -> float:
        """The drawn one, stretched [ml]."""
        return self._volume * self.drawn.volume_ml(self._drawn_mm(draft_mm))

    def volumes_ml(self, shares: Sequence[float]) -> list[float]:
        """The drawn ones, stretched: quick for thousands of hulls of one drawing [ml]."""
        return [self._volume * volume for volume in self.drawn.volumes_ml(shares)]

    def centroid_mm(self, draft_mm: float) -> float:
        """The drawn one, stretched [mm]."""
        return self.up * self.drawn.centroid_mm(self._drawn_mm(draft_mm))

    def below(self, surface: Surface) -> Displaced:
        """The drawn hull under the surface as it was before stretching."""
        x, y, z = surface.up
        x, y, z = x * self.along, y * self.across, z * self.up
        size = sqrt(x * x + y * y + z * z)
        found = self.drawn.below(Surface((x / size, y / size, z / size), surface.height_mm / size))
        return Displaced(
            self._volume * found.volume_ml,
            self.along * found.x_mm,
            self.across * found.y_mm,
            self.up * found.z_mm,
        )

    def measured(self) -> dict[str, float]:
        """Its extents."""
        own, factors = self.drawn.measured(), (self.along, self.across, self.up)
        return {m.key: own[m.key] * f for m, f in zip(EXTENTS, factors, strict=True)}

    def remeasured(self, values: Mapping[str, float]) -> "Stretched":
        """The same drawing stretched otherwise. Raises OutOfRange."""
        return Stretched.to(self.drawn, values)

    def own_centre_mm(self) -> float:
        """The drawn one, stretched [mm]."""
        return self.up * self.drawn.own_centre_mm()
