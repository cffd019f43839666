"""What all freeboards of one gauge are off by together, learnt along the way, bad plateaus or not.

A Kalman filter with one state, for many boats at once. A plateau is good or, once in twenty,
plainly wrong; both are carried on as one normal of the same mean and variance.

Sources: filter, Kalman, J. Basic Eng. 82 (1960) 35-45; two normals for good and bad readings,
Box and Tiao, Biometrika 55 (1968) 119-129 (journals and pages from memory).
"""

from math import log, pi
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

BAD_SHARE: Final = 0.05  # plateaus that are plainly wrong: a hand in the beam, a float that sticks
BAD_MM_SD: Final = 10.0  # and how wrong those may be


class CommonOffset:
    """The offset of one gauge, for each possible boat by itself [mm]; 0 is expected at first."""

    def __init__(self, boats: int, mm_sd: float) -> None:
        self.mm: Floats = np.zeros(boats)
        self.variance: Floats = np.full(boats, mm_sd**2)

    def learn(self, residual_mm: Floats, variance: Floats) -> Floats:
        """Take in one plateau; return the logarithm of each boat's likelihood.

        Args:
            residual_mm: measured freeboard less what each boat expects.
            variance: of the plateau's own error, without the offset [mm2].
        """
        surprise = residual_mm - self.mm
        good_variance = self.variance + variance
        bad_variance = good_variance + BAD_MM_SD**2
        log_good = log(1 - BAD_SHARE) + _log_normal(surprise, good_variance)
        log_bad = log(BAD_SHARE) + _log_normal(surprise, bad_variance)
        log_both = np.logaddexp(log_good, log_bad)
        good = np.exp(log_good - log_both)
        good_gain, bad_gain = self.variance / good_variance, self.variance / bad_variance
        gain = good * good_gain + (1 - good) * bad_gain
        apart_mm = surprise * (good_gain - bad_gain)  # between the two candidates' means
        self.mm = self.mm + gain * surprise
        self.variance = self.variance * (1 - gain) + good * (1 - good) * apart_mm**2
        return np.asarray(log_both, dtype=np.float64)


def _log_normal(x: Floats, variance: Floats) -> Floats:
    """Logarithm of a normal density about 0."""
    return np.asarray(-0.5 * (x**2 / variance + np.log(2 * pi * variance)), dtype=np.float64)
