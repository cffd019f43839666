"""Dead bands: the known value changes, the reading does not. A float sticks, a tray rests."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import hypot
from statistics import median
from typing import ClassVar, Final

from rig.sensing.calibrating.points import Point
from rig.setup.finding import Finding

STILL_PART: Final = 0.3  # of the step that the other points lead to expect (our own choice)
_SURE: Final = 4.0  # standard deviations by which the missing step must stand out


@dataclass(frozen=True)
class DeadBand(Finding):
    """From one known value to the next the reading hardly moved."""

    about: ClassVar[str] = "dead band"
    numbers: tuple[int, int]  # from 1, in the order taken
    before: float
    after: float
    moved: float  # in the known unit
    unit: str

    @property
    def ok(self) -> bool:
        """Never: it is only found where there is one."""
        return False

    @property
    def says(self) -> str:
        """Where."""
        return (
            f"From {self.before:.6g} to {self.after:.6g} {self.unit} the reading moved by"
            f" {self.moved:.3g} {self.unit} only: a dead band."
        )

    @property
    def do(self) -> str:
        """Free it."""
        return "Look for what sticks or rests on something (float, tray, cable), and free it."


def dead_bands(points: Sequence[Point], unit: str) -> list[DeadBand]:
    """Return every step between two points taken one after the other that hardly shows.

    What a step should show is told by the median of all pairs, which a few bad ones cannot move
    (Theil, Proc. Kon. Ned. Akad. Wet. A 53 (1950) 386; from memory).
    """
    slopes = [
        (b.raw - a.raw) / (b.known - a.known)
        for i, a in enumerate(points)
        for b in points[i + 1 :]
        if a.known != b.known
    ]
    slope = median(slopes) if slopes else 0.0
    found = []
    for number, (a, b) in enumerate(pairwise(points), start=1):
        step = b.known - a.known
        if not (step and slope):
            continue
        moved = (b.raw - a.raw) / slope
        doubt = hypot(a.raw_sd or 0.0, b.raw_sd or 0.0) / abs(slope)
        if abs(moved) < STILL_PART * abs(step) and abs(step) - abs(moved) > _SURE * doubt:
            pair = (number, number + 1)
            found.append(DeadBand(pair, a.known, b.known, moved, unit))
    return found
