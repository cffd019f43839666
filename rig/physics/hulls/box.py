"""Box: upright walls on a rectangle."""

from dataclasses import dataclass
from typing import ClassVar

from rig.physics.hulls.hull import Measure, Waterplane, require_draft, require_positive
from rig.physics.hulls.outline import Outline, rectangle
from rig.physics.hulls.shape import Shape


@dataclass(frozen=True)
class Box(Shape):
    """A rectangular box; KB = d/2 and BM = B^2/(12 d).

    Source: C.B. Barrass and D.R. Derrett, Ship Stability for Masters and Mates.
    """

    family: ClassVar[str] = "box"
    measures: ClassVar[tuple[Measure, ...]] = (
        Measure("length_mm", "length, outside", 150, "length", walls=2),
        Measure("beam_mm", "width, outside", 100, "beam", walls=2),
        Measure("depth_mm", "height of the wall, outside", 40, "depth", walls=1),
    )

    length_mm: float
    beam_mm: float
    depth_mm: float

    def __post_init__(self) -> None:
        require_positive(
            self.family, length_mm=self.length_mm, beam_mm=self.beam_mm, depth_mm=self.depth_mm
        )

    def outline(self, height_mm: float) -> Outline:
        """The same rectangle at every height."""
        return (rectangle(self.length_mm, self.beam_mm),)

    def waterplane(self, draft_mm: float) -> Waterplane:
        """The same rectangle at every draft."""
        require_draft(draft_mm, self.depth_mm)
        length, beam = self.length_mm, self.beam_mm
        return Waterplane(length * beam, length * beam**3 / 12, beam * length**3 / 12)

    def volume_ml(self, draft_mm: float) -> float:
        """Length x beam x draft [ml]."""
        require_draft(draft_mm, self.depth_mm)
        return self.length_mm * self.beam_mm * draft_mm / 1000

    def centroid_mm(self, draft_mm: float) -> float:
        """Half the draft [mm]."""
        require_draft(draft_mm, self.depth_mm)
        return draft_mm / 2

    def profile_mm(self) -> list[tuple[float, float]]:
        """A rectangle [mm]."""
        half = self.length_mm / 2
        return [(-half, 0.0), (half, 0.0), (half, self.depth_mm), (-half, self.depth_mm)]
