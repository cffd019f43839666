"""When is a reading steady? Noise alone must pass, drift and waves must not, every wait ends."""

from math import sin
from random import Random
from statistics import stdev

import pytest

from rig.sensing.procedures.steady import GIVE_UP_S, Reading, Steady, Unsettled, Watch, Watched


def fed(wait, word, rate_hz=10, most_s=120):
    """Feed words by time [s] until something comes; return it and when."""
    for row in range(int(most_s * rate_hz)):
        at_s = row / rate_hz
        came = wait.feed(round(1000 * at_s), word(at_s))
        if came is not None:
            return came, at_s
    return None, most_s


@pytest.mark.parametrize("seed", range(20))
def test_noise_alone_is_steady_and_its_mean_is_right(seed):
    rng = Random(seed)
    came, at_s = fed(Steady(), lambda _: round(rng.gauss(84_000, 20)))
    assert isinstance(came, Reading) and at_s <= 10
    assert abs(came.raw - 84_000) < 5 * came.raw_sd
    assert came.noise_sd == pytest.approx(20, rel=0.5)


def test_the_stated_doubt_is_how_much_readings_scatter():
    means = []
    for seed in range(200):
        rng = Random(seed)
        came, _ = fed(Steady(), lambda _, rng=rng: round(rng.gauss(0, 20)))
        means.append((came.raw, came.raw_sd))
    stated = sum(sd for _, sd in means) / len(means)
    assert stdev(raw for raw, _ in means) == pytest.approx(stated, rel=0.15)


def test_it_waits_for_a_step_and_a_wave_to_die_out():
    rng = Random(1)
    dies = lambda s: 50_000 * sin(10 * s) * 0.3**s if s < 8 else 0  # noqa: E731
    came, at_s = fed(Steady(), lambda s: round(1000 * (s > 2) + dies(s) + rng.gauss(0, 5)))
    assert isinstance(came, Reading) and 8 < at_s < 20
    assert came.raw == pytest.approx(1000, abs=5)


@pytest.mark.parametrize(
    "word",
    [
        lambda s: round(100 * s),
        lambda s: round(1000 * sin(4 * s)),
        lambda s: 0 if s % 1 < 0.5 else 900,
        lambda s: None,
    ],
    ids=["drift", "waves", "to and fro", "nothing"],
)
def test_what_never_rests_ends_as_unsettled(word):
    came, at_s = fed(Steady(), word)
    assert isinstance(came, Unsettled)
    assert at_s == pytest.approx(GIVE_UP_S, abs=0.2)


def test_wrong_words_of_the_amplifier_are_left_out():
    rng = Random(4)

    def word(s):
        right = round(rng.gauss(84_000, 20))
        return 2 * right if round(s * 10) % 15 == 7 else right

    came, _ = fed(Steady(), word)
    assert came.left_out >= 1 and came.raw == pytest.approx(84_000, abs=20)


def test_a_slow_gauge_gets_its_ten_words():
    rng = Random(2)
    came, at_s = fed(Steady(), lambda s: round(rng.gauss(300_000, 400)), rate_hz=2)
    assert isinstance(came, Reading) and came.words >= 10 and at_s >= 4


def test_a_coarse_gauge_that_repeats_itself_is_steady_and_keeps_a_doubt():
    came, _ = fed(Steady(), lambda _: 1750)
    assert came.raw == 1750 and came.raw_sd == pytest.approx(0.29, abs=0.01)  # 1 / sqrt(12)


def test_a_watch_sees_creep_that_the_steady_reading_hides():
    rng = Random(3)
    came, at_s = fed(Watch(60), lambda s: round(430 * (500 + 2 * (1 - 0.95**s)) + rng.gauss(0, 20)))
    assert isinstance(came, Watched) and at_s == pytest.approx(60, abs=0.2)
    grams = (came.later.raw - came.early.raw) / 430
    assert grams == pytest.approx(2 * (0.95**2 - 0.95**58.5), abs=0.1)
    assert came.steady.raw > came.early.raw + 100
