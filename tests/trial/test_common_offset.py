"""The common offset against Bayes' rule worked out on a fine grid, with scipy's normal density."""

import numpy as np
import pytest
from scipy.stats import norm

from rig.trial.common_offset import BAD_MM_SD, BAD_SHARE, CommonOffset

GRID_MM = np.linspace(-30, 30, 60_001)


def by_the_grid(prior, seen_mm, variance):
    """Density after one plateau, and the plateau's likelihood."""
    good = norm.pdf(seen_mm, GRID_MM, np.sqrt(variance))
    bad = norm.pdf(seen_mm, GRID_MM, np.sqrt(variance + BAD_MM_SD**2))
    joint = prior * ((1 - BAD_SHARE) * good + BAD_SHARE * bad)
    likelihood = np.trapezoid(joint, GRID_MM)
    return joint / likelihood, likelihood


def mean_and_variance(density):
    mean = np.trapezoid(density * GRID_MM, GRID_MM)
    return mean, np.trapezoid(density * (GRID_MM - mean) ** 2, GRID_MM)


@pytest.mark.parametrize("seen_mm", [0.0, 1.0, -3.0, 4.0, 5.0, 12.0])
@pytest.mark.parametrize("variance", [0.01, 1.0])
def test_one_plateau(seen_mm, variance):
    offset = CommonOffset(2, 1.5)
    got = offset.learn(np.array([0.0, seen_mm]), np.full(2, variance))
    density, likelihood = by_the_grid(norm.pdf(GRID_MM, 0, 1.5), seen_mm, variance)
    mean, spread = mean_and_variance(density)
    assert got[1] == pytest.approx(np.log(likelihood), abs=1e-6)
    assert offset.mm[1] == pytest.approx(mean, abs=1e-6)
    assert offset.variance[1] == pytest.approx(spread, rel=1e-5)
    assert offset.mm[0] == 0  # each boat has its own


def test_many_plateaus_with_a_bad_one_among_them():
    seen = [2.3, 1.8, 2.1, -9.0, 2.0, 1.6, 2.4]
    offset, density = CommonOffset(1, 1.5), norm.pdf(GRID_MM, 0, 1.5)
    for seen_mm in seen:
        offset.learn(np.array([seen_mm]), np.array([0.09]))
        density, _ = by_the_grid(density, seen_mm, 0.09)
    mean, spread = mean_and_variance(density)
    assert mean == pytest.approx(2.0, abs=0.1)
    # One normal in place of two is an approximation; it also depends a little on the order.
    assert offset.mm[0] == pytest.approx(mean, abs=0.05)  # noise alone: 0.12 mm
    assert offset.variance[0] == pytest.approx(spread, rel=0.15)


def test_a_large_offset_is_believed_once_plateaus_agree_on_it():
    offset = CommonOffset(1, 1.5)
    after = []
    for _ in range(6):
        offset.learn(np.array([6.0]), np.array([0.09]))
        after.append(offset.mm[0])
    assert after[0] < 4
    assert after[-1] == pytest.approx(6, abs=0.3)
