"""Brimful: a shape without a name, its volume found by filling it to the rim."""

from dataclasses import dataclass
from functools import cached_property
from math import cos, pi, sin, sqrt
from typing import ClassVar, Final

from rig.errors import OutOfRange
from rig.physics.hulls.hull import Measure, Waterplane, require_draft, require_positive
from rig.physics.hulls.outline import Outline, Polygon
from rig.physics.hulls.shape import Shape, waterplane_of

ELLIPSE: Final = pi / 4  # the least full rim that bulges everywhere; a rectangle has 1
_STEPS: Final = 4  # corners in each quarter of the rim
_QUARTER: Final = _STEPS / 2 * sin(pi / 2 / _STEPS)  # area of a quarter disc drawn with them
STEEPEST: Final = 8.0  # a cone has 2; beyond this a volume was surely misread


@dataclass(frozen=True)
class Brimful(Shape):
    """What the boat holds to the rim, and the rim's length and width.

    Water or dry rice is weighed on the rig's own scale: grams / density = `held_ml`. For thick
    walls add what the boat itself displaces, its mass / the material's density.

    Volume and rim fix the capacity, exactly. The shape between keel and rim is not known; it is
    taken as outlines alike at all heights with areas that grow as a power of the height,
    A = A_rim (z / depth)^p, p = A_rim depth / volume - 1: 0 for upright walls, 1 for a
    vee or a trough-like boat, 2 for a cone. It tells draft and stability.

    The rim's fullness, its area as a part of length x beam, lies between an ellipse (0.785)
    and a rectangle (1): 0.89 with a standard uncertainty of 0.062, the even distribution
    between the two (JCGM 100:2008, 4.3.7); it is at least what the volume needs under upright
    walls. More than length x beam x depth is refused, and so is less than a ninth of the rim's
    area x depth.
    """

    family: ClassVar[str] = "brimful"
    measures: ClassVar[tuple[Measure, ...]] = (
        Measure("length_mm", "length at the rim, outside", 170, "length", walls=2),
        Measure("beam_mm", "width at the rim, outside", 110, "beam", walls=2),
        Measure("depth_mm", "height of the rim above the table", 40, "depth", walls=1),
        # a meniscus or a heap of a millimetre; common practice, no source
        Measure("held_ml", "ml it holds, full to the rim", 480, by_ruler=False, part_sd=0.02),
        Measure(
            "fullness",
            "the rim's area as a part of length x width: 0.785 oval, 1 rectangle",
            0.89,
            default=0.89,
            by_ruler=False,
            sd=0.062,
        ),
    )

    length_mm: float
    beam_mm: float
    depth_mm: float
    held_ml: float
    fullness: float = 0.89

    def __post_init__(self) -> None:
        require_positive(
            self.family, length_mm=self.length_mm, beam_mm=self.beam_mm, depth_mm=self.depth_mm
        )
        if not ELLIPSE - 0.01 <= self.fullness <= 1:
            raise OutOfRange(
                f"fullness = {self.fullness:g} cannot be right for a {self.family}.",
                "An oval has 0.785, a rectangle 1; leave it out if you are not sure.",
            )
        block_ml = self.length_mm * self.beam_mm * self.depth_mm / 1000
        if not block_ml * self.fullness / (1 + STEEPEST) <= self.held_ml <= block_ml:
            raise OutOfRange(
                f"held_ml = {self.held_ml:g} cannot be right for a {self.family} that fits into"
                f" {block_ml:.0f} ml.",
                "Weigh what it holds again, and measure length, width and height of the rim.",
            )

    @cached_property
    def _rim_fullness(self) -> float:
        block_ml = self.length_mm * self.beam_mm * self.depth_mm / 1000
        return max(self.fullness, min(self.held_ml / block_ml, 1.0))

    @cached_property
    def power(self) -> float:
        """How the areas grow with height: 0 upright walls, 1 a vee, 2 a cone."""
        rim_mm2 = self._rim_fullness * self.length_mm * self.beam_mm
        return max(rim_mm2 * self.depth_mm / (1000 * self.held_ml) - 1, 0.0)

    @cached_property
    def _rim(self) -> Polygon:
        """A rectangle with its corners rounded off to ellipses until the area is right."""
        part = sqrt((1 - self._rim_fullness) / (1 - _QUARTER))
        x, y = self.length_mm / 2, self.beam_mm / 2
        if part == 0:
            return ((-x, -y), (x, -y), (x, y), (-x, y))
        corners = []
        for quarter in range(4):
            sx, sy = ((1, 1), (-1, 1), (-1, -1), (1, -1))[quarter]
            for step in range(_STEPS + 1):
                turn = pi / 2 * (quarter + step / _STEPS)
                corners.append(
                    (
                        x * (sx * (1 - part) + part * cos(turn)),
                        y * (sy * (1 - part) + part * sin(turn)),
                    )
                )
        return tuple(corners)

    @cached_property
    def _rim_plane(self) -> Waterplane:
        return waterplane_of((self._rim,))

    def _scale(self, height_mm: float) -> float:
        """Length of the outline as a part of the rim's."""
        return float((height_mm / self.depth_mm) ** (self.power / 2))

    def outline(self, height_mm: float) -> Outline:
        """The rim's outline, smaller."""
        scale = self._scale(height_mm)
        return (tuple((scale * x, scale * y) for x, y in self._rim),)

    def waterplane(self, draft_mm: float) -> Waterplane:
        """The rim's, smaller."""
        require_draft(draft_mm, self.depth_mm)
        rim, area = self._rim_plane, self._scale(draft_mm) ** 2
        return Waterplane(rim.area_mm2 * area, rim.across_mm4 * area**2, rim.along_mm4 * area**2)

    def volume_ml(self, draft_mm: float) -> float:
        """held_ml (d / depth)^(p + 1) [ml]."""
        require_draft(draft_mm, self.depth_mm)
        return float(self.held_ml * (draft_mm / self.depth_mm) ** (self.power + 1))

    def centroid_mm(self, draft_mm: float) -> float:
        """d (p + 1) / (p + 2) [mm]."""
        require_draft(draft_mm, self.depth_mm)
        return draft_mm * (self.power + 1) / (self.power + 2)
