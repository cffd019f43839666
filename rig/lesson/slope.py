"""A straight trend in a noisy, slowly wandering series: its slope, and how sure it is."""

from dataclasses import dataclass
from math import log, pi
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rig.errors import OutOfRange

LEAST_POINTS = 10
_EFFICIENCY = 3 / pi  # of Theil-Sen beside least squares in normal noise: Sen (1968), section 5
# correlation of neighbouring points, each as likely beforehand
_CORRELATION = (0.0, 0.25, 0.5, 0.7, 0.85, 0.95)
# a room may swing more than most: times the walk expected, and how likely beforehand
_WALKS = ((1.0, 0.9), (3.0, 0.1))
_ROUNDS = 6  # of matching the noise beside a known walk

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Slope:
    """A trend per hour. `scales` and `weights`: a mixture of Student's t with `freedom`.

    `point_sd` is the noise of one point, `correlation` that of neighbours.
    """

    per_h: float
    scales: tuple[float, ...]
    weights: tuple[float, ...]
    freedom: int
    point_sd: float
    correlation: float

    def half_width(self, confidence: float) -> float:
        """Return how far the true slope may be off on either side, at a confidence below 1."""
        from scipy.optimize import brentq
        from scipy.stats import t

        scales, weights = np.array(self.scales), np.array(self.weights)
        tail = (1 - confidence) / 2
        wide = float(t.ppf(1 - tail, self.freedom)) * float(scales.max())
        if not wide > 0:
            return 0.0

        def missed(half: float) -> float:
            return float(weights @ t.sf(half / scales, self.freedom)) - tail

        return float(brentq(missed, 0.0, wide, xtol=wide * 1e-6)) if missed(wide) < 0 else wide


def theil_sen(at_h: Floats, value: Floats) -> float:
    """Return the median of the slopes of all pairs.

    Source: P.K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379-1389. The work is scipy's.
    """
    from scipy.stats import theilslopes

    return float(theilslopes(value, at_h).slope)


def trend(at_h: Any, value: Any, walk_sd: float = 0.0) -> Slope:
    """Return the robust slope of a series, and its uncertainty with correlated noise.

    The noise is taken as a first-order autoregression, on top of a random walk of known size (a
    room that warms and cools, and a gauge that drifts with it). How strong the correlation is, is
    weighed by the restricted likelihood over a grid, so that few points give a wide interval.

    Args:
        at_h: shape (n,), rising in even steps but for gaps [h]; n at least 10.
        value: shape (n,).
        walk_sd: the walk in one hour that physics lets one expect, in units of `value`.

    Raises:
        OutOfRange: too few points, or no time between them.

    Source:
        restricted likelihood: D.A. Harville, J. Am. Stat. Assoc. 72 (1977) 320-338.
    """
    t, y = np.asarray(at_h, float), np.asarray(value, float)
    if t.size < LEAST_POINTS or not t[-1] > t[0]:
        raise OutOfRange("There are too few readings for a trend.", "Watch some minutes longer.")
    since = t - t[0]
    middle = since - since.mean()
    pull = middle / (middle**2).sum()  # least squares as weights: slope = pull . y
    design = np.column_stack((np.ones_like(since), since))
    walk = walk_sd**2 * np.minimum.outer(since, since)
    steps = np.abs(np.subtract.outer(since, since)) / np.median(np.diff(since))
    walks = _WALKS if walk_sd else ((1.0, 1.0),)
    fits = [
        _Fit.of(phi, _correlated(phi, steps), times**2 * walk, design, y, log(before))
        for phi in _CORRELATION
        for times, before in walks
    ]
    likely = np.array([fit.log_likelihood for fit in fits])
    weights = np.exp(likely - likely.max())
    weights /= weights.sum()
    scales = [float(np.sqrt(pull @ fit.covariance @ pull / _EFFICIENCY)) for fit in fits]
    point_var = np.array([fit.point_var for fit in fits])
    return Slope(
        theil_sen(t, y),
        tuple(scales),
        tuple(map(float, weights)),
        int(t.size) - 2,
        float(np.sqrt(weights @ point_var)),
        float(weights @ np.array([fit.correlation for fit in fits])),
    )


def _correlated(phi: float, steps: Floats) -> Floats:
    return np.asarray(phi**steps) if phi else np.eye(steps.shape[0])


@dataclass(frozen=True, slots=True)
class _Fit:
    correlation: float
    covariance: Floats
    point_var: float
    log_likelihood: float

    @classmethod
    def of(
        cls, phi: float, shape: Floats, walk: Floats, design: Floats, y: Floats, before: float
    ) -> "_Fit":
        """The noise of this shape that, with the walk, explains the residuals' size."""
        freedom = y.size - design.shape[1]
        variance = max(float(np.var(y)), 1e-12)
        for _ in range(_ROUNDS if walk.any() else 1):
            squares, _size = _judged(variance * shape + walk, design, y)
            variance = max(variance * squares / freedom, 1e-18)
        covariance = variance * shape + walk
        squares, log_size = _judged(covariance, design, y)
        return cls(phi, covariance, variance, before - log_size / 2 - squares / 2)


def _judged(covariance: Floats, design: Floats, y: Floats) -> tuple[float, float]:
    """Return the residuals' squares in units of the covariance, and the log of its size."""
    lower = np.linalg.cholesky(covariance)
    x, z = np.linalg.solve(lower, design), np.linalg.solve(lower, y)
    normal = x.T @ x
    rest = z - x @ np.linalg.solve(normal, x.T @ z)
    log_size = 2 * np.log(np.diag(lower)).sum() + np.linalg.slogdet(normal)[1]
    return float(rest @ rest), float(log_size)
