"""The robust slope: Sen's own example, and whether 95 % means 95 %."""

import numpy as np
import pytest

from rig.errors import OutOfRange
from rig.lesson.slope import Slope, theil_sen, trend

# P.K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379-1389, section 6: slope 4
SEN_X, SEN_Y = [1, 2, 3, 4, 10, 12, 18], [9, 15, 19, 20, 45, 55, 78]


def test_sens_own_example():
    assert theil_sen(np.array(SEN_X, float), np.array(SEN_Y, float)) == 4.0


def autoregressive(rng, n, phi):
    noise = rng.normal(size=n)
    for i in range(1, n):
        noise[i] = phi * noise[i - 1] + np.sqrt(1 - phi**2) * noise[i]
    return noise


def walking(rng, n, phi):
    return rng.normal(size=n) + np.cumsum(rng.normal(size=n)) * 2 / np.sqrt(n)


@pytest.mark.parametrize(
    ("noise", "phi", "walk_sd"),
    [(autoregressive, 0.0, 0.0), (autoregressive, 0.4, 0.0), (walking, 0.0, 2.0)],
    ids=["white", "correlated", "white on a walk of known size"],
)
def test_a_95_percent_interval_holds_the_truth_in_about_95_of_100(noise, phi, walk_sd):
    # The goal is 93 to 97 %; 300 draws tell a share to 1.3 % (one standard deviation), so the
    # test allows two of these on either side. tests/benchmarks/tub_coverage.py prints more.
    rng, held, draws = np.random.default_rng(11), 0, 300
    at_h = (np.arange(48) + 0.5) / 48
    for _ in range(draws):
        found = trend(at_h, 5 - 3 * at_h + noise(rng, 48, phi), walk_sd)
        held += abs(found.per_h + 3) <= found.half_width(0.95)
    assert 0.93 - 0.026 <= held / draws <= 0.97 + 0.026


def test_correlated_noise_widens_the_interval():
    rng = np.random.default_rng(3)
    at_h = np.arange(60) / 60
    white = trend(at_h, rng.normal(size=60)).half_width(0.95)
    slow = trend(at_h, autoregressive(rng, 60, 0.8)).half_width(0.95)
    assert slow > 1.5 * white


def test_a_walk_known_beforehand_is_never_forgotten():
    # white noise alone would give a half width of 2 x 0.01 x sqrt(12 / 60); a walk of 1 in an
    # hour makes a slope uncertain by sqrt(6 / 5), textbook result for a line through a walk
    at_h = np.arange(60) / 60
    quiet = 0.01 * np.random.default_rng(5).normal(size=60)
    assert trend(at_h, quiet).half_width(0.95) < 0.02
    assert trend(at_h, quiet, 1.0).half_width(0.95) == pytest.approx(2 * np.sqrt(1.2), rel=0.3)


def test_outliers_do_not_move_it():
    rng = np.random.default_rng(8)
    at_h = np.arange(40) / 40
    value = 2 * at_h + 0.01 * rng.normal(size=40)
    value[[3, 17, 30]] += (40, -25, 60)
    assert trend(at_h, value).per_h == pytest.approx(2, abs=0.05)


def test_the_half_width_of_a_plain_t_is_a_tables_figure():
    # Student's t, 10 degrees of freedom, 97.5 %: 2.228 (any printed table)
    assert Slope(0, (1.0,), (1.0,), 10, 1, 0).half_width(0.95) == pytest.approx(2.228, abs=5e-4)


def test_too_few_points_are_an_error():
    at_h = np.arange(9.0)
    with pytest.raises(OutOfRange, match="longer"):
        trend(at_h, at_h)
