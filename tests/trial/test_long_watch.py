"""A trial that is watched for long: memory stays what it is, and nothing that counts is lost."""

import tracemalloc
from random import Random

import pytest

from rig.trial import gauge_track, load_track
from rig.trial.gauge_track import Channel
from rig.trial.load_track import LoadTrack


@pytest.fixture(autouse=True)
def few_rows(monkeypatch):
    """As if so few rows were many: 50 s at ten a second."""
    monkeypatch.setattr(load_track, "MOST_ROWS", 500)
    monkeypatch.setattr(gauge_track, "MOST_ROWS", 500)


def test_plateaus_are_the_means_of_all_their_readings_however_long_ago():
    rng, track, at_s = Random(1), LoadTrack(2.5), 0.0
    fed = {0.0: [], 25.0: [], 30.0: []}
    for load_g, rows in ((0.0, 2000), (25.0, 1700), (30.0, 300)):
        for _ in range(rows):
            at_s += 0.1
            fed[load_g].append(load_g + rng.gauss(0, 0.05))
            track.feed(at_s, fed[load_g][-1])
    assert len(track.plateaus) == 3
    for plateau, readings in zip(track.plateaus, fed.values(), strict=True):
        # but for a reading or two at either end, the step's own
        assert plateau.n == pytest.approx(len(readings), abs=3)
        assert plateau.mean_g == pytest.approx(sum(readings) / len(readings), abs=0.03)


def test_a_load_that_never_comes_to_rest_is_followed_without_end():
    track = LoadTrack(2.5)
    for row in range(3000):
        track.feed(row / 10, 0.0 if row < 50 else 20.0 * (row % 7))
    for row in range(3000, 3100):
        track.feed(row / 10, 50.0)
    assert track.mean_since(305.0) == pytest.approx(50.0)
    assert track.now_s == pytest.approx(309.9)


def test_means_of_long_ago_stay_what_they_were():
    rng, channel = Random(2), Channel()
    values = [100 + rng.gauss(0, 0.5) + (5 if row >= 1500 else 0) for row in range(4000)]
    for row, value in enumerate(values):
        channel.feed(row / 10, value)
    channel.finish()
    early, late = channel.between(0.0, 140.0), channel.between(390.0, 399.9)
    assert early.value == pytest.approx(sum(values[:1400]) / 1400, abs=0.1)
    assert late.value == pytest.approx(sum(values[3900:]) / 100, abs=0.01)
    assert early.sd >= 0.5 / 1400**0.5  # rows that became one row count as one
    assert channel.at_s == sorted(channel.at_s) and len(channel.at_s) <= 500


def test_memory_does_not_grow_with_the_length_of_a_watch():
    rng, track, channel = Random(3), LoadTrack(2.5), Channel()

    def watch(rows, from_row):
        for row in range(from_row, from_row + rows):
            track.feed(row / 10, rng.gauss(0, 0.05))
            channel.feed(row / 10, rng.gauss(100, 0.5))

    tracemalloc.start()
    try:
        watch(3000, 0)
        first, _ = tracemalloc.get_traced_memory()
        watch(12_000, 3000)
        second, _ = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert second < first + 40_000  # five times as long; a row kept is some 150 bytes
