"""Vee: two flat sides that meet in a keel, flat upright ends."""

from dataclasses import dataclass
from math import hypot
from typing import ClassVar

from rig.physics.hulls.hull import Measure, Waterplane, require_draft, require_positive
from rig.physics.hulls.outline import Outline, rectangle
from rig.physics.hulls.shape import Shape


@dataclass(frozen=True)
class Vee(Shape):
    """A triangular prism, apex down: KB = 2 d / 3, BM = b^2 / (6 d) with b the waterline's beam.

    Source: C.B. Barrass and D.R. Derrett, Ship Stability for Masters and Mates.
    """

    family: ClassVar[str] = "vee"
    measures: ClassVar[tuple[Measure, ...]] = (
        Measure("length_mm", "length, outside", 160, "length", walls=2),
        Measure("beam_mm", "width at the rim, outside", 90, "beam", walls=2),
        Measure("depth_mm", "height of the rim above the keel", 45, "depth", walls=1),
    )

    length_mm: float
    beam_mm: float
    depth_mm: float

    def __post_init__(self) -> None:
        require_positive(
            self.family, length_mm=self.length_mm, beam_mm=self.beam_mm, depth_mm=self.depth_mm
        )

    def outline(self, height_mm: float) -> Outline:
        """The rectangle at that height, a line at the keel."""
        return (rectangle(self.length_mm, self.beam_mm * height_mm / self.depth_mm),)

    def waterplane(self, draft_mm: float) -> Waterplane:
        """The rectangle at the draft."""
        require_draft(draft_mm, self.depth_mm)
        length, beam = self.length_mm, self.beam_mm * draft_mm / self.depth_mm
        return Waterplane(length * beam, length * beam**3 / 12, beam * length**3 / 12)

    def volume_ml(self, draft_mm: float) -> float:
        """Half of length x beam x draft [ml]."""
        require_draft(draft_mm, self.depth_mm)
        return self.length_mm * self.beam_mm * draft_mm**2 / (2000 * self.depth_mm)

    def centroid_mm(self, draft_mm: float) -> float:
        """Two thirds of the draft [mm]."""
        require_draft(draft_mm, self.depth_mm)
        return 2 * draft_mm / 3

    def profile_mm(self) -> list[tuple[float, float]]:
        """A rectangle [mm]."""
        half = self.length_mm / 2
        return [(-half, 0.0), (half, 0.0), (half, self.depth_mm), (-half, self.depth_mm)]

    def own_centre_mm(self) -> float:
        """Two leaning sides and two triangles [mm]."""
        sides = 2 * self.length_mm * hypot(self.beam_mm / 2, self.depth_mm)
        ends = self.beam_mm * self.depth_mm
        return (sides / 2 + ends * 2 / 3) / (sides + ends) * self.depth_mm
