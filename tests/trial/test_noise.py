"""Noise told from differences, against numpy's standard deviation of the same noise."""

import numpy as np
import pytest

from rig.trial.noise import DifferenceNoise


def told(values):
    noise = DifferenceNoise()
    for value in values:
        noise.feed(float(value))
    return noise.sd


def ratios(sd, steps, seeds=40, rows=400):
    """The figure over numpy's, for seeds 0, 1, 2 ..."""
    for seed in range(seeds):
        random = np.random.default_rng(seed)
        noise = random.normal(0.0, sd, rows)
        base = np.zeros(rows)
        for row in random.integers(0, rows, steps):
            base[row:] += random.uniform(10, 1000) * sd
        yield told(base + noise) / np.std(noise[-241:], ddof=1)


@pytest.mark.parametrize("sd", [0.01, 1.0, 300.0])
@pytest.mark.parametrize("steps", [0, 12])
def test_it_is_numpys_standard_deviation_whatever_the_steps(sd, steps):
    found = list(ratios(sd, steps))
    # 240 differences scatter the figure by some 7 %; forty seeds leave 1 % of that
    assert np.mean(found) == pytest.approx(1.0, abs=0.05)
    assert np.mean(np.abs(np.array(found) - 1) < 0.10) > 0.7
    assert max(abs(ratio - 1) for ratio in found) < 0.3


@pytest.mark.parametrize("seed", [1, 2, 3, 4, 5])
def test_averaged_over_an_hour_it_is_within_ten_percent(seed):
    random = np.random.default_rng(seed)
    values = random.normal(0.0, 0.3, 6000) + np.repeat(np.arange(60) * 2.5, 100)
    noise, seen = DifferenceNoise(), []
    for value in values:
        noise.feed(float(value))
        seen.append(noise.sd)
    assert np.mean(seen[240:]) == pytest.approx(0.3, rel=0.10)


def test_it_is_not_known_before_six_differences():
    assert told([1.0, 2.0] * 3) is None
    assert told([1.0, 2.0] * 3 + [1.0]) == pytest.approx(1 / (0.6745 * 2**0.5))


def test_it_follows_a_change_within_its_span():
    random = np.random.default_rng(7)
    values = np.concatenate([random.normal(0, 1, 500), random.normal(0, 10, 250)])
    assert told(values) == pytest.approx(10, rel=0.2)


def test_a_constant_has_none():
    assert told([5.0] * 50) == 0.0
