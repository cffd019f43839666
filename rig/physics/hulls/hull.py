"""What every hull family must tell: waterplane, volume and centroid at a draft."""

from dataclasses import dataclass
from typing import ClassVar, Protocol

from rig.errors import OutOfRange


@dataclass(frozen=True, slots=True)
class Measure:
    """One thing to measure with a ruler, as asked in a file, a command and the Desk."""

    key: str
    words: str


@dataclass(frozen=True, slots=True)
class Waterplane:
    """The cut of the hull at the water's surface.

    `across_mm4` is its second moment about the fore-and-aft axis (resists heel),
    `along_mm4` about the athwartships axis (resists trim).
    """

    area_mm2: float
    across_mm4: float
    along_mm4: float


class Hull(Protocol):
    """The outside of a boat, upright, from keel (0) to rim (`depth_mm`)."""

    family: ClassVar[str]
    measures: ClassVar[tuple[Measure, ...]]

    def __init__(self, **measured_mm: float) -> None: ...

    @property
    def depth_mm(self) -> float:
        """Height of the lowest rim point above the keel [mm]."""

    def waterplane(self, draft_mm: float) -> Waterplane:
        """The waterplane at a draft from 0 to `depth_mm` inclusive. Raises OutOfRange."""

    def volume_ml(self, draft_mm: float) -> float:
        """Volume below a draft from 0 to `depth_mm` inclusive [ml]. Raises OutOfRange."""

    def centroid_mm(self, draft_mm: float) -> float:
        """Height of that volume's centroid above the keel, KB [mm]. Raises OutOfRange."""

    def profile_mm(self) -> list[tuple[float, float]]:
        """Side view: (fore-and-aft, height) corners, keel first, closed by the reader [mm]."""


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
