"""Trough: a half cylinder lying on its round side, flat upright ends."""

from dataclasses import dataclass
from typing import ClassVar

from rig.physics.hulls.arc import (
    arc_centroid_mm,
    arc_mm,
    half_chord_mm,
    radius_through_mm,
    segment_centroid_mm,
    segment_mm2,
)
from rig.physics.hulls.hull import Measure, Waterplane, require_draft, require_positive
from rig.physics.hulls.outline import Outline, rectangle
from rig.physics.hulls.shape import Shape


@dataclass(frozen=True)
class Trough(Shape):
    """Its section is an arc through both rims and the keel; half a circle if beam = 2 depth.

    A flatter or a deeper arc is as good. Source: area and centroid of a circle's segment.
    """

    family: ClassVar[str] = "trough"
    measures: ClassVar[tuple[Measure, ...]] = (
        Measure("length_mm", "length, outside", 160, "length", walls=2),
        Measure("beam_mm", "width at the rim, outside", 90, "beam", walls=2),
        Measure("depth_mm", "height of the rim above the table", 45, "depth", walls=1),
    )

    length_mm: float
    beam_mm: float
    depth_mm: float

    def __post_init__(self) -> None:
        require_positive(
            self.family, length_mm=self.length_mm, beam_mm=self.beam_mm, depth_mm=self.depth_mm
        )

    @property
    def radius_mm(self) -> float:
        """Radius of the arc [mm]."""
        return radius_through_mm(self.beam_mm, self.depth_mm)

    def outline(self, height_mm: float) -> Outline:
        """The rectangle at that height, a line at the keel."""
        return (rectangle(self.length_mm, 2 * half_chord_mm(self.radius_mm, height_mm)),)

    def waterplane(self, draft_mm: float) -> Waterplane:
        """The rectangle at the draft."""
        require_draft(draft_mm, self.depth_mm)
        length, beam = self.length_mm, 2 * half_chord_mm(self.radius_mm, draft_mm)
        return Waterplane(length * beam, length * beam**3 / 12, beam * length**3 / 12)

    def volume_ml(self, draft_mm: float) -> float:
        """Length x segment [ml]."""
        require_draft(draft_mm, self.depth_mm)
        return self.length_mm * segment_mm2(self.radius_mm, draft_mm) / 1000

    def centroid_mm(self, draft_mm: float) -> float:
        """The segment's [mm]."""
        require_draft(draft_mm, self.depth_mm)
        return segment_centroid_mm(self.radius_mm, draft_mm)

    def kinks_mm(self) -> tuple[float, ...]:
        """Where the arc is widest, if it goes on above."""
        return (self.radius_mm,)

    def own_centre_mm(self) -> float:
        """The arc and two segments [mm]."""
        radius, depth = self.radius_mm, self.depth_mm
        bottom = self.length_mm * arc_mm(radius, depth)
        ends = 2 * segment_mm2(radius, depth)
        moment = bottom * arc_centroid_mm(radius, depth) + ends * segment_centroid_mm(radius, depth)
        return moment / (bottom + ends)
