"""Single wrong readings are dropped, true ones are not.

Code range of the amplifier: HX711 data sheet (Avia Semiconductor), "Serial interface":
24-bit two's complement, 800000h to 7FFFFFh, that is -8388608 to 8388607.
"""

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.trial.despike import LAG, Despiker

CODE_MIN, CODE_MAX = -8_388_608, 8_388_607  # HX711 data sheet
COUNT_PER_G = 429.4967296  # 5 kg cell of 1 mV/V, gain 128, by the data sheet's full-scale formula
FLOOR_G = 0.75


def passed(values, floor=FLOOR_G):
    """The values that come through, each with its time, and the despiker."""
    despiker = Despiker(floor)
    sound = [out for i, value in enumerate(values) for out in despiker.feed(i / 10, value)]
    return sound + despiker.rest(), despiker


def noisy(values, sd=0.05, seed=3):
    random = Random(seed)
    return [value + random.gauss(0, sd) for value in values]


@pytest.mark.parametrize("wrong_at", [(20,), (20, 21), (20, 22), (20, 23), (20, 24)])
@pytest.mark.parametrize("wrong_g", [5.0, -5.0, 1e4])
def test_one_or_two_wrong_readings_among_five_are_dropped(wrong_at, wrong_g):
    values = noisy([100.0] * 40)
    for row in wrong_at:
        values[row] += wrong_g
    sound, despiker = passed(values)
    assert sound == [(i / 10, v) for i, v in enumerate(values) if i not in wrong_at]
    assert despiker.dropped == len(wrong_at)


def test_three_among_five_are_the_majority_and_pass():
    values = noisy([100.0] * 40)
    for row in (20, 21, 22):
        values[row] += 5
    sound, _ = passed(values)
    assert len(sound) == 40


def test_wrong_readings_of_opposite_signs_do_not_shield_each_other():
    values = noisy([100.0] * 40)
    values[20] += 50
    values[21] -= 50
    sound, _ = passed(values)
    assert [at_s for at_s, _ in sound if 1.95 < at_s < 2.15] == []


@pytest.mark.parametrize("step_g", [2.5, -2.5, 300.0, -300.0])
def test_every_reading_of_a_step_passes(step_g):
    values = noisy([0.0] * 20 + [step_g] * 20)
    assert passed(values)[0] == [(i / 10, v) for i, v in enumerate(values)]


@pytest.mark.parametrize("slope_g", [0.5, 20.0, -20.0])
def test_every_reading_of_a_ramp_passes(slope_g):
    values = [0.0] * 10 + [slope_g * i for i in range(40)] + [slope_g * 40] * 10
    assert passed(values)[0] == [(i / 10, v) for i, v in enumerate(values)]


def test_a_reading_is_told_when_two_more_have_come():
    despiker = Despiker(FLOOR_G)
    told = [despiker.feed(float(i), 7.0) for i in range(6)]
    assert LAG == 2
    assert told == [[], [], [(0.0, 7.0)], [(1.0, 7.0)], [(2.0, 7.0)], [(3.0, 7.0)]]


def test_rest_tells_what_was_held_once():
    despiker = Despiker(FLOOR_G)
    for i in range(6):
        despiker.feed(float(i), 7.0)
    assert despiker.rest() == [(4.0, 7.0), (5.0, 7.0)]
    assert despiker.rest() == []


@pytest.mark.parametrize("wrong_row", [4, 5])
def test_rest_judges_too(wrong_row):
    values = [7.0] * 6
    values[wrong_row] = 70.0
    despiker = Despiker(FLOOR_G)
    sound = [out for i, value in enumerate(values) for out in despiker.feed(float(i), value)]
    sound += despiker.rest()
    assert [at_s for at_s, _ in sound] == [i for i in range(6) if i != wrong_row]


@pytest.mark.parametrize("n", [0, 1, 2])
def test_fewer_than_three_readings_cannot_be_judged_and_pass(n):
    values = [0.0, 1000.0][:n]
    assert [value for _, value in passed(values)[0]] == values


def test_a_deviation_below_the_floor_is_never_called_wrong():
    values = [100.0] * 40
    values[20] += 0.74
    values[30] += 0.76
    assert [at_s for at_s, _ in passed(values)[0]] == [i / 10 for i in range(40) if i != 30]


def test_the_gate_widens_with_the_noise_to_six_standard_deviations():
    values = noisy([100.0] * 300, sd=1.0, seed=4)
    values[200], values[250] = 104.0, 109.0  # four and nine standard deviations
    assert [row for row in (200, 250) if (row / 10, values[row]) in passed(values)[0]] == [200]


# --- the wrong words of an HX711 ---------------------------------------------------------

TRUE = (394_670, -394_670, 4_200_000, -4_190_000, 20_011)


def _smears(count):
    """Low bits stuck at one, and words that are nothing but ones: 2^k - 1."""
    return [count | (2**k - 1) for k in range(4, 24)] + [2**k - 1 for k in range(24)]


def _kinds(count):
    return {
        "smear": _smears(count),
        "doubled": [2 * count],  # gain 128 for 64
        "halved": [count // 2],
        "sign flip": [-count, count + (0x800000 if count < 0 else -0x800000)],
    }


@pytest.mark.parametrize("kind", ["smear", "doubled", "halved", "sign flip"])
@pytest.mark.parametrize("count", TRUE)
def test_wrong_words_of_the_amplifier_are_dropped(count, kind):
    words = [w for w in _kinds(count)[kind] if CODE_MIN <= w <= CODE_MAX]
    far = [w for w in words if abs(w - count) > 2 * FLOOR_G * COUNT_PER_G]
    if kind != "doubled" or abs(2 * count) <= CODE_MAX:
        assert far, "nothing would be tried"
    for word in far:
        counts = noisy([count] * 30, sd=20, seed=5)
        counts[15] = word
        sound, _ = passed([c / COUNT_PER_G for c in counts])
        assert [round(at_s * 10) for at_s, _ in sound] == [i for i in range(30) if i != 15], word


# --- what is sound is kept -----------------------------------------------------------------


@given(
    steps=st.lists(st.floats(0, 300), min_size=1, max_size=40),
    sd=st.floats(0, 0.15),
    seed=st.integers(0, 2**32),
)
def test_a_clean_rising_load_loses_less_than_one_in_a_hundred(steps, sd, seed):
    """Steps of any size at random rows, up to noise of a fifth of the floor."""
    random = Random(seed)
    rows = 800
    at = sorted(random.randrange(rows) for _ in steps)
    values = [sum(s for s, row in zip(steps, at, strict=True) if row <= i) for i in range(rows)]
    sound, despiker = passed([v + random.gauss(0, sd) for v in values])
    assert despiker.dropped == rows - len(sound) < rows / 100
