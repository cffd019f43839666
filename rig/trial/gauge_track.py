"""Level and rim as the gauges saw them, and means over any stretch of time."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, median, stdev

from rig.trial.despike import Despiker

_STRAY = 5.0  # standard deviations from the median: not of this stretch
_FLOOR_MM = 2.0  # no reading so near its neighbours is called wrong: waves are real
_UNKNOWN_MM = 5.0
_BLOCKS = 8
MOST_ROWS = 24_000  # of a channel: five minutes at eighty a second, forty at ten


@dataclass(frozen=True, slots=True)
class Mean:
    """A mean of n readings, with the standard deviation of the mean."""

    value: float
    sd: float
    n: int


class Channel:
    """One series of heights [mm], rising in time; what gave nothing, or nonsense, is not in it."""

    def __init__(self) -> None:
        self.at_s: list[float] = []
        self.values: list[float] = []
        self._old, self._merged = 0, 1  # so many old rows, each the mean of so many
        self._despiker = Despiker(_FLOOR_MM)

    def feed(self, at_s: float, value: float | None) -> None:
        """Take in a reading, or nothing."""
        if value is not None:
            self._keep(self._despiker.feed(at_s, value))

    def finish(self) -> None:
        """Take in what is still being judged: no more will come."""
        self._keep(self._despiker.rest())

    def _keep(self, sound: list[tuple[float, float]]) -> None:
        for at_s, value in sound:
            self.at_s.append(at_s)
            self.values.append(value)
        if len(self.values) > MOST_ROWS:
            self._thin_out()

    def _thin_out(self) -> None:
        """Let old rows be means of some: what was long ago is asked for in the mean only.

        All old rows are means of equally many; when they are too many, of twice as many.
        """
        if self._old > MOST_ROWS // 4:
            self._merge(0, self._old // 2 * 2, 2)
            self._old, self._merged = self._old // 2, 2 * self._merged
        aged = (len(self.values) - self._old - MOST_ROWS // 2) // self._merged
        self._merge(self._old, self._old + aged * self._merged, self._merged)
        self._old += aged

    def _merge(self, first: int, last: int, by: int) -> None:
        for rows in (self.at_s, self.values):
            rows[first:last] = [fmean(rows[row : row + by]) for row in range(first, last, by)]

    @property
    def noise(self) -> float:
        """Standard deviation of one reading; a safe guess while unknown."""
        known = self._despiker.noise.sd
        if known is not None:
            return known
        return stdev(self.values) if len(self.values) >= 3 else _UNKNOWN_MM

    def between(self, from_s: float, to_s: float) -> Mean | None:
        """Mean over a stretch, both ends included, strays left out; None with no reading in it.

        Its standard deviation allows for waves: where blocks of the stretch differ by clearly
        more than white noise would make them, they set it.
        """
        first, last = bisect_left(self.at_s, from_s), bisect_right(self.at_s, to_s)
        values = self.values[first:last]
        if not values:
            return None
        noise = self.noise
        if len(values) >= 5:
            gate = max(_FLOOR_MM, _STRAY * noise)
            low, high = min(values), max(values)
            # the median lies among them: where all are close together none is a stray
            if high - low > gate:
                middle = median(values)
                if max(high - middle, middle - low) > gate:
                    values = [value for value in values if abs(value - middle) <= gate] or [middle]
        mean, n = fmean(values), len(values)
        variance = max(noise**2 / n, _block_variance(values, mean, noise))
        return Mean(mean, sqrt(variance), n)

    def lowest_since(self, from_s: float) -> float | None:
        """The lowest single reading from a moment on; None if there is none."""
        return min(self.values[bisect_left(self.at_s, from_s) :], default=None)

    def backwards(self, span: int) -> Iterator[tuple[float, float]]:
        """(time, mean of `span` readings around it), newest first."""
        for last in range(len(self.values), span - 1, -1):
            values = self.values[last - span : last]
            yield (self.at_s[last - 1] + self.at_s[last - span]) / 2, fmean(values)


def _block_variance(values: list[float], mean: float, noise: float) -> float:
    """Variance of the mean told by blocks; 0 where it is no more than noise explains."""
    size = len(values) // _BLOCKS
    if size < 3:
        return 0.0
    means = [fmean(values[i * size : (i + 1) * size]) for i in range(_BLOCKS)]
    variance = sum((block - mean) ** 2 for block in means) / (_BLOCKS - 1) / _BLOCKS
    # twice the expected: white noise gets there once in twenty stretches (chi square, 7 free)
    return variance if variance > 2 * noise**2 / len(values) else 0.0


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

    def finish(self) -> None:
        """No more rows will come."""
        for channel in (self.level, self.rim, self.freeboard, self.surplus):
            channel.finish()
