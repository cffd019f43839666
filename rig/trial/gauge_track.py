"""Level and rim as the gauges saw them, and means over any stretch of time."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from math import sqrt

from rig.trial.noise import DifferenceNoise


@dataclass(frozen=True, slots=True)
class Mean:
    """A mean of n readings, with the standard deviation of the mean."""

    value: float
    sd: float
    n: int


class Channel:
    """One series of readings, rising in time; what gave nothing is simply not in it."""

    def __init__(self) -> None:
        self.at_s: list[float] = []
        self.values: list[float] = []
        self._sums = [0.0]
        self._noise = DifferenceNoise()

    def feed(self, at_s: float, value: float | None) -> None:
        """Take in a reading, or nothing."""
        if value is None:
            return
        self.at_s.append(at_s)
        self.values.append(value)
        self._sums.append(self._sums[-1] + value)
        self._noise.feed(value)

    @property
    def noise(self) -> float:
        """Standard deviation of one reading; 0 while unknown."""
        return self._noise.sd or 0.0

    def between(self, from_s: float, to_s: float) -> Mean | None:
        """Mean over a stretch, both ends included; None with no reading in it."""
        first, last = bisect_left(self.at_s, from_s), bisect_right(self.at_s, to_s)
        n = last - first
        if n <= 0:
            return None
        return Mean((self._sums[last] - self._sums[first]) / n, self.noise / sqrt(n), n)

    def backwards(self, span: int) -> Iterator[tuple[float, float]]:
        """(time, mean of `span` readings around it), newest first."""
        for last in range(len(self.values), span - 1, -1):
            mean = (self._sums[last] - self._sums[last - span]) / span
            yield (self.at_s[last - 1] + self.at_s[last - span]) / 2, mean


class GaugeTrack:
    """Level, rim, and what follows from them row by row.

    `freeboard` is the rim above the water. `surplus` is the level above where a boat afloat
    would hold it under the load of that moment: nought while it floats, below when it is down.
    """

    def __init__(self) -> None:
        self.level = Channel()
        self.rim = Channel()
        self.freeboard = Channel()
        self.surplus = Channel()

    def feed(
        self, at_s: float, level_mm: float | None, rim_mm: float | None, floating_mm: float | None
    ) -> None:
        """Take in one row.

        Args:
            floating_mm: where the level must stand, by the load, while the boat floats; used
                for the freeboard where the level is not measured.
        """
        self.level.feed(at_s, level_mm)
        self.rim.feed(at_s, rim_mm)
        if level_mm is not None and floating_mm is not None:
            self.surplus.feed(at_s, level_mm - floating_mm)
        water_mm = level_mm if level_mm is not None else floating_mm
        if water_mm is not None and rim_mm is not None:
            self.freeboard.feed(at_s, rim_mm - water_mm)
