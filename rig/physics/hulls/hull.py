"""What every hull family must tell: waterplane, volume and centroid at a draft.

Axes of a hull at rest: x fore and aft, y athwartships, z up from the keel; the origin lies below
the middle of the rim, or for shapes that are not symmetrical below the centroid of their volume.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot
from typing import ClassVar, Literal, Protocol

from rig.errors import OutOfRange
from rig.physics.hulls.outline import Outline, Point
from rig.physics.hulls.surface import Displaced, Surface

Span = Literal["length", "beam", "bottom_length", "bottom_beam", "depth", "spacing", "tube"]


@dataclass(frozen=True, slots=True)
class Measure:
    """One thing to measure, as asked in a file, a command and the Desk.

    Attributes:
        example: a size children build; for drawings and examples.
        shows: where a drawing puts its dimension line; None for what no ruler reads.
        walls: how many wall thicknesses an outside measure holds: 2 across, 1 for a depth.
        default: taken where nothing is given; None if it must be given.
        by_ruler: False for counts, volumes and shares, which have their own uncertainty.
        sd, part_sd: that uncertainty, as it stands and as a part of the value.
    """

    key: str
    words: str
    example: float = 50.0
    shows: Span | None = None
    walls: int = 0
    default: float | None = None
    by_ruler: bool = True
    sd: float = 0.0
    part_sd: float = 0.0

    def sd_of(self, value: float, ruler_mm_sd: float) -> float:
        """Return the standard uncertainty of a value, in the measure's own unit."""
        return ruler_mm_sd if self.by_ruler else hypot(self.sd, self.part_sd * value)


@dataclass(frozen=True, slots=True)
class Waterplane:
    """The cut of the hull at the water's surface.

    `across_mm4` is its second moment about the fore-and-aft axis (resists heel),
    `along_mm4` about the athwartships axis (resists trim), both through its centroid.
    """

    area_mm2: float
    across_mm4: float
    along_mm4: float
    x_mm: float = 0.0
    y_mm: float = 0.0


class Hull(Protocol):
    """The outside of a boat, upright, from keel (0) to rim (`depth_mm`)."""

    family: ClassVar[str]
    measures: ClassVar[tuple[Measure, ...]]

    def __init__(self, **measured_mm: float) -> None: ...

    @property
    def floods(self) -> bool:
        """Whether water over the rim fills it; a raft's deck only goes under."""

    @property
    def depth_mm(self) -> float:
        """Height of the lowest rim point (a raft's deck) above the keel [mm]."""

    def waterplane(self, draft_mm: float) -> Waterplane:
        """The waterplane at a draft from 0 to `depth_mm` inclusive. Raises OutOfRange."""

    def volume_ml(self, draft_mm: float) -> float:
        """Volume below a draft from 0 to `depth_mm` inclusive [ml]. Raises OutOfRange."""

    def volumes_ml(self, shares: Sequence[float]) -> list[float]:
        """Volumes below drafts given as shares of the depth, 0 to 1 [ml]."""

    def centroid_mm(self, draft_mm: float) -> float:
        """Height of that volume's centroid above the keel, KB [mm]. Raises OutOfRange."""

    def outline(self, height_mm: float) -> Outline:
        """The waterplane's outline at a height [mm]: closed polygons and circles."""

    def kinks_mm(self) -> tuple[float, ...]:
        """Heights between keel and rim at which the outline changes its law [mm]."""

    def below(self, surface: Surface) -> Displaced:
        """Volume and centroid of what lies below a tilted surface and below the rim's plane."""

    def rim(self) -> Outline:
        """The rim (a raft's deck) seen from above, at height `depth_mm` [mm]."""

    def rim_mm2(self) -> float:
        """Area within the rim [mm2]; above 0 also where the waterplane ends in an edge."""

    def profile_mm(self) -> list[tuple[float, float]]:
        """Side view: (fore-and-aft, height) corners, keel first, closed by the reader [mm]."""

    def ends_mm(self) -> list[list[Point]]:
        """View from the end: (athwartships, height) corners, one list for each body [mm]."""

    def measured(self) -> dict[str, float]:
        """Everything measured, by key; `remeasured` takes it back."""

    def measure_of(self, key: str) -> Measure:
        """The measure behind a key of `measured`."""

    def remeasured(self, values: Mapping[str, float]) -> "Hull":
        """The same kind of hull with other measures. Raises OutOfRange."""

    def own_centre_mm(self) -> float:
        """Height of the empty boat's centre of gravity, if made of one material [mm]."""


def require_positive(hull: str, **measured_mm: float) -> None:
    """Raise OutOfRange for a measure that is not above 0 and below 100 000 (or not a number)."""
    for key, value in measured_mm.items():
        if not 0 < value < 1e5:
            raise OutOfRange(
                f"{key} = {value:g} cannot be right for a {hull}.",
                "Measure again and give millimetres, above 0 and below 100000.",
            )


def require_draft(draft_mm: float, depth_mm: float) -> None:
    """Raise OutOfRange for a draft below the keel or over the rim."""
    if not 0 <= draft_mm <= depth_mm:
        raise OutOfRange(
            f"A draft of {draft_mm:g} mm is outside this hull's 0 to {depth_mm:g} mm.",
            "Below the keel it does not float, over the rim it fills.",
        )
