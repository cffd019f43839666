"""Means over stretches of a gauge's readings, and how sure they say they are."""

import numpy as np
import pytest

from rig.trial.gauge_track import Channel, GaugeTrack


def channel(values, rate_hz=10):
    heights = Channel()
    for i, value in enumerate(values):
        heights.feed(i / rate_hz, None if value is None else float(value))
    heights.finish()
    return heights


def test_both_ends_of_a_stretch_are_in_it():
    heights = channel([100, 101, 102, 103, 104, 103, 102, 101, 100, 99])
    mean = heights.between(0.2, 0.4)
    assert (mean.value, mean.n) == (103.0, 3)
    assert heights.between(0.21, 0.39).n == 1
    assert heights.between(0.41, 0.49) is None


def test_what_gave_nothing_is_not_in_it():
    heights = channel([100, None, 102, None, 104])
    assert (heights.at_s, heights.values) == ([0.0, 0.2, 0.4], [100, 102, 104])


def test_readings_wait_for_their_neighbours_until_it_is_finished():
    heights = Channel()
    for i in range(5):
        heights.feed(i / 10, 100.0)
    assert len(heights.values) == 3
    heights.finish()
    assert len(heights.values) == 5


def test_single_wrong_echoes_are_dropped():
    random = np.random.default_rng(1)
    values = 100 + random.normal(0, 0.3, 60)
    values[[20, 40]] = 50.0, 200.0
    assert set(np.round(np.array(channel(values).at_s) * 10)) == set(range(60)) - {20, 40}


def test_strays_are_left_out_of_a_mean():
    """A burst too long for the despiker is not of the stretch."""
    random = np.random.default_rng(2)
    values = 100 + random.normal(0, 0.5, 60)
    values[30:36] += 30
    mean = channel(values).between(0, 6)
    assert mean.n == 54
    assert mean.value == pytest.approx(np.delete(values, range(30, 36)).mean())


def test_a_wave_is_no_stray():
    values = 100 + 1.9 * np.sin(np.arange(60) / 3)
    assert channel(values).between(0, 6).n == 60


def test_with_less_than_five_readings_all_count():
    heights = channel([100, 100, 100, 130, 130, 130, 130])
    assert heights.between(0.1, 0.3).value == 110


def test_noise_is_a_safe_guess_while_unknown():
    assert channel([100.0]).noise == 5.0
    assert channel([100, 101, 102]).noise == pytest.approx(1.0)  # their standard deviation


def test_the_sd_of_a_mean_of_white_noise_is_that_of_one_reading_by_root_n():
    told = []
    for seed in range(40):
        values = np.random.default_rng(seed).normal(100, 0.5, 300)
        told.append(channel(values).between(0, 30).sd)
    assert np.median(told) == pytest.approx(0.5 / np.sqrt(300), rel=0.05)


def covered(draw, seeds=300, rows=60):
    """Share of draws whose 95 % interval covers the true mean."""
    hits = 0
    for seed in range(seeds):
        random = np.random.default_rng(seed)
        values, true = draw(random, np.arange(rows) / 10)
        mean = channel(values).between(0, rows / 10)
        hits += abs(mean.value - true) <= 1.96 * mean.sd
    return hits / seeds


def wave(random, t):
    """A bob of a boat: 0.3 to 1.5 Hz, up to 4 mm, gone in 1 to 5 s; about still water at 100."""
    bob = random.uniform(1, 4) * np.exp(-t / random.uniform(1, 5))
    phase = random.uniform(0, 2 * np.pi)
    bob = bob * np.sin(2 * np.pi * random.uniform(0.3, 1.5) * t + phase)
    return 100 + bob + random.normal(0, 0.5, len(t)), 100.0


def still(random, t):
    return random.normal(100, 0.5, len(t)), 100.0


def drift(random, t):
    """A level that falls slowly: blocks differ by more than noise. The mean is the middle's."""
    slope = random.uniform(-1, 1)
    return 100 + slope * t + random.normal(0, 0.3, len(t)), 100 + slope * t.mean()


# fixed draws; binomial scatter of 300 at 95 % is 1.3 %
def test_the_interval_covers_still_water_in_noise_about_95_in_100():
    assert 0.92 <= covered(still) <= 0.98


def test_the_interval_covers_still_water_under_waves_about_95_in_100():
    assert 0.92 <= covered(wave) <= 0.99


def test_under_a_drift_the_blocks_widen_the_interval():
    assert covered(drift) > 0.97


def test_freeboard_is_rim_less_level_and_surplus_level_less_floating():
    track = GaugeTrack()
    for i in range(6):
        track.feed(i / 10, 100.0 + i, 140.0 + i / 2, 98.0)
    track.finish()
    assert track.freeboard.values == [40 - i / 2 for i in range(6)]
    assert track.surplus.values == [2.0 + i for i in range(6)]
    assert track.rim.values == [140 + i / 2 for i in range(6)]


def test_without_a_level_the_freeboard_stands_on_the_load():
    track = GaugeTrack()
    for i in range(6):
        track.feed(i / 10, None, 140.0, 98.0)
    track.feed(0.6, None, 140.0, None)  # neither measured nor known
    track.finish()
    assert track.freeboard.values == [42.0] * 6
    assert track.level.values == track.surplus.values == []


def test_backwards_is_newest_first_each_the_mean_around_its_time():
    heights = channel([0.0, 1.0, 2.0, 3.0, 4.0])
    assert list(heights.backwards(3)) == [
        (pytest.approx(0.3), 3.0),
        (pytest.approx(0.2), 2.0),
        (pytest.approx(0.1), 1.0),
    ]


def test_the_lowest_reading_since_a_moment():
    channel = Channel()
    for at_s, value in enumerate([3.0, 5.0, 4.0, 4.5, 4.2, 4.1]):
        channel.feed(at_s, value)
    channel.finish()
    assert (channel.lowest_since(0), channel.lowest_since(1), channel.lowest_since(3)) == (
        3,
        4,
        4.1,
    )
    assert channel.lowest_since(6) is None
