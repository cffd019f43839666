"""Tubes: a raft of closed tubes side by side, straws or bottles."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

from rig.errors import OutOfRange
from rig.physics.hulls.arc import half_chord_mm, segment_centroid_mm, segment_mm2
from rig.physics.hulls.composite import Composite
from rig.physics.hulls.hull import Hull, Measure, Waterplane, require_draft, require_positive
from rig.physics.hulls.outline import Outline, rectangle
from rig.physics.hulls.shape import Shape, sliced
from rig.physics.hulls.surface import Displaced, Surface

MOST_TUBES = 500


@dataclass(frozen=True)
class Tubes(Composite):
    """`count` closed cylinders that touch; the deck lies on top of them and nothing fills.

    Freeboard is to the deck. Source: area and centroid of a circle's segment.
    """

    family: ClassVar[str] = "tubes"
    measures: ClassVar[tuple[Measure, ...]] = (
        Measure("count", "how many tubes lie side by side", 12, by_ruler=False),
        # of many side by side, divided by their number: common practice, no source
        Measure(
            "diameter_mm",
            "width across all tubes, divided by their number",
            12,
            "tube",
            by_ruler=False,
            sd=0.2,
            part_sd=0.01,
        ),
        Measure("length_mm", "length of the tubes", 200, "length"),
    )

    count: float
    diameter_mm: float
    length_mm: float

    def __post_init__(self) -> None:
        if not (1 <= self.count <= MOST_TUBES and self.count == int(self.count)):
            raise OutOfRange(
                f"count = {self.count:g} cannot be right for {self.family}.",
                f"Count the tubes: a whole number from 1 to {MOST_TUBES}.",
            )
        require_positive(self.family, diameter_mm=self.diameter_mm, length_mm=self.length_mm)

    @property
    def floods(self) -> bool:
        """Nothing to fill."""
        return False

    @property
    def depth_mm(self) -> float:
        """The deck: one diameter [mm]."""
        return self.diameter_mm

    def body(self) -> Hull:
        """One tube."""
        return self._tube

    @cached_property
    def _tube(self) -> "Tube":
        return Tube(self.diameter_mm, self.length_mm)

    def places_mm(self) -> Sequence[float]:
        """One diameter apart [mm]."""
        return self._places

    @cached_property
    def _places(self) -> list[float]:
        middle = (self.count - 1) / 2
        return [(i - middle) * self.diameter_mm for i in range(int(self.count))]

    def rim(self) -> Outline:
        """The deck: a rectangle over all tubes."""
        return (rectangle(self.length_mm, self.count * self.diameter_mm),)


@dataclass(frozen=True)
class Tube(Shape):
    """One closed cylinder lying on its side."""

    family: ClassVar[str] = "tube"
    measures: ClassVar[tuple[Measure, ...]] = (
        Measure("diameter_mm", "width across, outside", 12, "tube"),
        Measure("length_mm", "length", 200, "length"),
    )

    diameter_mm: float
    length_mm: float

    @property
    def floods(self) -> bool:
        """Nothing to fill."""
        return False

    @property
    def depth_mm(self) -> float:
        """One diameter [mm]."""
        return self.diameter_mm

    def outline(self, height_mm: float) -> Outline:
        """The rectangle at that height, a line at bottom and top."""
        half = half_chord_mm(self.diameter_mm / 2, height_mm)
        return (rectangle(self.length_mm, 2 * half),)

    def kinks_mm(self) -> tuple[float, ...]:
        """Where it is widest."""
        return (self.diameter_mm / 2,)

    def waterplane(self, draft_mm: float) -> Waterplane:
        """The rectangle at the draft."""
        require_draft(draft_mm, self.diameter_mm)
        length, beam = self.length_mm, 2 * half_chord_mm(self.diameter_mm / 2, draft_mm)
        return Waterplane(length * beam, length * beam**3 / 12, beam * length**3 / 12)

    def volume_ml(self, draft_mm: float) -> float:
        """Length x segment [ml]."""
        require_draft(draft_mm, self.diameter_mm)
        return self.length_mm * segment_mm2(self.diameter_mm / 2, draft_mm) / 1000

    def centroid_mm(self, draft_mm: float) -> float:
        """The segment's [mm]."""
        require_draft(draft_mm, self.diameter_mm)
        return segment_centroid_mm(self.diameter_mm / 2, draft_mm)

    def below(self, surface: Surface) -> Displaced:
        """A segment again where the surface is parallel to the tube; else by slices."""
        along, across, up = surface.up
        radius = self.diameter_mm / 2
        if abs(along) > 1e-12:
            return sliced(self, surface)
        deep = min(max(surface.height_mm - up * radius + radius, 0.0), self.diameter_mm)
        if deep == 0:
            return Displaced(0.0)
        down = radius - segment_centroid_mm(radius, deep)
        volume_ml = self.length_mm * segment_mm2(radius, deep) / 1000
        return Displaced(volume_ml, 0.0, -down * across, radius - down * up)

    def rim(self) -> Outline:
        """What lies on it: a rectangle as wide as the tube."""
        return (rectangle(self.length_mm, self.diameter_mm),)
