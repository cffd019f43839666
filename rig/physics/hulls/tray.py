"""Tray: flat walls that lean from a bottom rectangle to a rim rectangle."""

from dataclasses import dataclass
from typing import ClassVar

from rig.physics.hulls.hull import Measure, Waterplane, require_draft, require_positive
from rig.physics.hulls.outline import Outline, rectangle
from rig.physics.hulls.shape import Shape


@dataclass(frozen=True)
class Tray(Shape):
    """A flared (or tapering) tray; length and beam change in proportion to height.

    Source: integrals of the rectangle l(z) b(z), l and b linear in z, in closed form.
    """

    family: ClassVar[str] = "tray"
    measures: ClassVar[tuple[Measure, ...]] = (
        Measure("length_mm", "length at the rim, outside", 180, "length", walls=2),
        Measure("beam_mm", "width at the rim, outside", 120, "beam", walls=2),
        Measure("bottom_length_mm", "length of the bottom", 140, "bottom_length", walls=2),
        Measure("bottom_beam_mm", "width of the bottom", 80, "bottom_beam", walls=2),
        Measure("depth_mm", "height of the rim above the table", 35, "depth", walls=1),
    )

    length_mm: float
    beam_mm: float
    bottom_length_mm: float
    bottom_beam_mm: float
    depth_mm: float

    def __post_init__(self) -> None:
        require_positive(
            self.family,
            length_mm=self.length_mm,
            beam_mm=self.beam_mm,
            bottom_length_mm=self.bottom_length_mm,
            bottom_beam_mm=self.bottom_beam_mm,
            depth_mm=self.depth_mm,
        )

    def _slopes(self) -> tuple[float, float]:
        """Growth of length and of beam per millimetre of height."""
        return (
            (self.length_mm - self.bottom_length_mm) / self.depth_mm,
            (self.beam_mm - self.bottom_beam_mm) / self.depth_mm,
        )

    def outline(self, height_mm: float) -> Outline:
        """The rectangle at that height."""
        by_length, by_beam = self._slopes()
        return (
            rectangle(
                self.bottom_length_mm + by_length * height_mm,
                self.bottom_beam_mm + by_beam * height_mm,
            ),
        )

    def waterplane(self, draft_mm: float) -> Waterplane:
        """The rectangle at the draft."""
        require_draft(draft_mm, self.depth_mm)
        by_length, by_beam = self._slopes()
        length = self.bottom_length_mm + by_length * draft_mm
        beam = self.bottom_beam_mm + by_beam * draft_mm
        return Waterplane(length * beam, length * beam**3 / 12, beam * length**3 / 12)

    def volume_ml(self, draft_mm: float) -> float:
        """Integral of the rectangle from keel to draft [ml]."""
        require_draft(draft_mm, self.depth_mm)
        (by_length, by_beam), d = self._slopes(), draft_mm
        length, beam = self.bottom_length_mm, self.bottom_beam_mm
        mixed = length * by_beam + beam * by_length
        return d * (length * beam + d * (mixed / 2 + d * by_length * by_beam / 3)) / 1000

    def centroid_mm(self, draft_mm: float) -> float:
        """First moment over volume; half the draft's limit at draft 0 [mm]."""
        require_draft(draft_mm, self.depth_mm)
        (by_length, by_beam), d = self._slopes(), draft_mm
        length, beam = self.bottom_length_mm, self.bottom_beam_mm
        mixed = length * by_beam + beam * by_length
        moment = d * (length * beam / 2 + d * (mixed / 3 + d * by_length * by_beam / 4))
        volume = length * beam + d * (mixed / 2 + d * by_length * by_beam / 3)
        return moment / volume  # both divided by d, so that draft 0 gives 0 and not 0/0

    def profile_mm(self) -> list[tuple[float, float]]:
        """A trapezium [mm]."""
        low, high = self.bottom_length_mm / 2, self.length_mm / 2
        return [(-low, 0.0), (low, 0.0), (high, self.depth_mm), (-high, self.depth_mm)]
