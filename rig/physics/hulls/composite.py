"""Several bodies side by side as one hull: sums, and the parallel-axis rule for moments."""

from collections.abc import Sequence

from rig.physics.hulls.hull import Hull, Waterplane
from rig.physics.hulls.outline import Outline, Point, moved
from rig.physics.hulls.shape import Shape
from rig.physics.hulls.surface import Displaced, Surface, together


class Composite(Shape):
    """A hull of equal bodies across its beam, each upright and as deep as the whole."""

    def body(self) -> Hull:
        """One of the bodies, about its own axis."""
        raise NotImplementedError

    def places_mm(self) -> Sequence[float]:
        """Where the bodies' axes lie athwartships; their mean is 0 [mm]."""
        raise NotImplementedError

    def outline(self, height_mm: float) -> Outline:
        """Every body's outline."""
        return self._beside(self.body().outline(height_mm))

    def kinks_mm(self) -> tuple[float, ...]:
        """The body's."""
        return self.body().kinks_mm()

    def waterplane(self, draft_mm: float) -> Waterplane:
        """Areas added; second moment across = own + area x distance^2 (parallel axes)."""
        one, places = self.body().waterplane(draft_mm), self.places_mm()
        n, squares = len(places), sum(y * y for y in places)
        return Waterplane(
            n * one.area_mm2,
            n * one.across_mm4 + one.area_mm2 * squares,
            n * one.along_mm4,
            one.x_mm,
            one.y_mm,
        )

    def volume_ml(self, draft_mm: float) -> float:
        """As many as one has [ml]."""
        return len(self.places_mm()) * self.body().volume_ml(draft_mm)

    def volumes_ml(self, shares: Sequence[float]) -> list[float]:
        """As many as one has [ml]."""
        n = len(self.places_mm())
        return [n * volume for volume in self.body().volumes_ml(shares)]

    def centroid_mm(self, draft_mm: float) -> float:
        """The body's own [mm]."""
        return self.body().centroid_mm(draft_mm)

    def below(self, surface: Surface) -> Displaced:
        """Each body sees the surface from its own place."""
        body = self.body()
        return together((body.below(surface.seen_from(0.0, y)), 0.0, y) for y in self.places_mm())

    def rim(self) -> Outline:
        """Every body's rim."""
        return self._beside(self.body().rim())

    def profile_mm(self) -> list[tuple[float, float]]:
        """The body's: from the side they stand one behind another [mm]."""
        return self.body().profile_mm()

    def ends_mm(self) -> list[list[Point]]:
        """Every body's [mm]."""
        return [
            [(y + place, z) for y, z in corners]
            for place in self.places_mm()
            for corners in self.body().ends_mm()
        ]

    def own_centre_mm(self) -> float:
        """The body's own [mm]."""
        return self.body().own_centre_mm()

    def _beside(self, outline: Outline) -> Outline:
        return tuple(part for y in self.places_mm() for part in moved(outline, 0.0, y))
