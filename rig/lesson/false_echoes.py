"""Is a gauge's series one trend with noise, or two heights that take turns?"""

from dataclasses import dataclass
from typing import Any

import numpy as np

APART = 6.0  # how far two clumps lie apart, in their own widths; normal noise gives 2.7, even 3.5
LEAST_SHARE = 0.1  # fewer are single wrong echoes, which the mean of a span's middle half drops
FLIPS = 4  # turns from one clump to the other; fewer are somebody's hand or a jug
LEAST_READINGS = 30


@dataclass(frozen=True, slots=True)
class TwoHeights:
    """Readings in two clumps `apart` from each other, with `turns` between them.

    `at_h`: when it first turned.
    """

    apart: float
    turns: int
    at_h: float

    @property
    def flips(self) -> bool:
        """Whether it keeps turning, as between two echoes; else it has jumped and stayed."""
        return self.turns >= FLIPS


def two_heights(at_h: Any, value: Any, slope_per_h: float) -> TwoHeights | None:
    """Return the two clumps a series falls into once its trend is taken off, if it does.

    The split is the one with the least spread within the clumps (N. Otsu, IEEE Trans. Syst. Man
    Cybern. 9 (1979) 62-66).

    Args:
        at_h, value: shape (n,).
    """
    t, y = np.asarray(at_h, float), np.asarray(value, float)
    if y.size < LEAST_READINGS:
        return None
    rest = y - slope_per_h * t
    ordered = np.sort(rest)
    low = np.arange(1, y.size)
    high = y.size - low
    sums = np.cumsum(ordered)[:-1]
    low_mean, high_mean = sums / low, (ordered.sum() - sums) / high
    within = (ordered**2).sum() - low * low_mean**2 - high * high_mean**2
    least = max(1, round(LEAST_SHARE * y.size))
    allowed = within[least - 1 : y.size - least]
    best = int(np.argmin(allowed)) + least - 1
    apart = float(high_mean[best] - low_mean[best])
    width = float(np.sqrt(max(float(within[best]), 0.0) / y.size))
    if apart <= APART * width:
        return None
    upper = rest > (ordered[best] + ordered[best + 1]) / 2
    turned = np.flatnonzero(upper[1:] != upper[:-1])
    return TwoHeights(apart, int(turned.size), float(t[turned[0] + 1]))
