"""The tub: how much water stands in it at a level."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from rig.errors import OutOfRange


@dataclass(frozen=True)
class Tub:
    """A tub by its level-volume table, straight between the rows.

    `pours`: at least two (level_mm, volume_ml), both rising. Raises OutOfRange if they do not.
    """

    pours: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        rising = all(a[0] < b[0] and a[1] < b[1] for a, b in pairwise(self.pours))
        if len(self.pours) < 2 or not rising:
            raise OutOfRange(
                "The pours must be two or more, each with a higher level and a larger volume"
                " than the one before.",
                "Sort them from low to high and take doubtful ones out.",
            )

    @classmethod
    def straight(cls, area_mm2: float, height_mm: float = 2000.0) -> "Tub":
        """A tub with upright walls. Raises OutOfRange for an area that is not above 0."""
        if not (area_mm2 > 0 and height_mm > 0):
            raise OutOfRange(
                f"A tub of {area_mm2:g} mm2 and {height_mm:g} mm height holds no water.",
                "Measure length and width of the water's surface and multiply them.",
            )
        return cls(((0.0, 0.0), (height_mm, area_mm2 * height_mm / 1000)))

    @classmethod
    def poured(cls, pours: Sequence[Sequence[float]]) -> "Tub":
        """A tub from (level_mm, volume_ml) rows in any kind of sequence."""
        return cls(tuple((float(level), float(volume)) for level, volume in pours))

    def volume_ml(self, level_mm: float) -> float:
        """Return the volume below a level [ml]. Raises OutOfRange outside the table."""
        i = self._row(level_mm, 0, "level", "mm")
        (l0, v0), (l1, v1) = self.pours[i], self.pours[i + 1]
        return _between(v0, v1, (level_mm - l0) / (l1 - l0))

    def level_mm(self, volume_ml: float) -> float:
        """Return the level at which a volume stands [mm]. Raises OutOfRange outside the table."""
        i = self._row(volume_ml, 1, "volume", "ml")
        (l0, v0), (l1, v1) = self.pours[i], self.pours[i + 1]
        return _between(l0, l1, (volume_ml - v0) / (v1 - v0))

    def area_mm2(self, level_mm: float) -> float:
        """Return the water's surface at a level, free area and boat together [mm2]."""
        i = self._row(level_mm, 0, "level", "mm")
        (l0, v0), (l1, v1) = self.pours[i], self.pours[i + 1]
        return 1000 * (v1 - v0) / (l1 - l0)

    def _row(self, value: float, column: int, what: str, unit: str) -> int:
        rows = self._columns[column]
        low, high = rows[0], rows[-1]
        if not low <= value <= high:
            raise OutOfRange(
                f"The {what} is {value:.1f} {unit}; the tub's table runs from"
                f" {low:g} to {high:g} {unit}.",
                "Add pours up to the highest water you will use.",
            )
        return min(bisect_right(rows, value), len(rows) - 1) - 1

    @cached_property
    def _columns(self) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """All levels, all volumes: every reading asks for its row."""
        levels, volumes = zip(*self.pours, strict=True)
        return levels, volumes


def _between(low: float, high: float, part: float) -> float:
    """Return what lies a part (0 to 1) of the way up: exact at both ends, never beyond them."""
    return min(max(low, low * (1 - part) + high * part), high)
