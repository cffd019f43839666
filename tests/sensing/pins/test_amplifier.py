"""The amplifier's wrapper over the package's real code, pin by pin, pause by pause.

Data sheet: Avia Semiconductor, HX711: 25 pulses for gain 128, 27 for 64; off when the clock is
high for more than 60 us; settling 400 ms at 10 SPS, 50 ms at 80; 7FFFFFh and 800000h at the ends.
"""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rig.physics.hx711 import CODE_HIGH, CODE_LOW
from rig.sensing.pins.amplifier import Status

WORDS = (1, -1, 0, 8_388_606, -8_388_607, 0x555555, -0x2AAAAA, 123_456)


def ramp(n):
    """Words that no shift, loss of a bit or mixing of two makes of one another."""
    return WORDS[n % len(WORDS)] if n % 3 else 1_000_003 + 7 * n


def true_words(chip, gain=128):
    """What the chip ever had ready at that gain, in order."""
    return [word for word, made_at in chip.converted if made_at == gain]


def read(amplifier, n, wait_s=0.5):
    return [amplifier.word(wait_s) for _ in range(n)]


@pytest.mark.parametrize("rate_hz", [10.0, 80.0])
def test_every_word_after_the_first_is_passed_on_once_and_in_order(wired, rate_hz):
    """0 and -1 as well, which the package itself drops."""
    amplifier, chip, _ = wired(ramp, rate_hz)
    got = read(amplifier, 200)
    assert {word.status for word in got} == {Status.OK}
    assert [word.count for word in got] == true_words(chip)[1:201]
    assert {0, -1} <= {word.count for word in got}
    assert set(chip.pulse_counts) == {25}


def test_gain_64_takes_27_pulses_and_no_word_of_another_gain_is_passed_on(wired):
    amplifier, chip, _ = wired(lambda n: 1000 + 2 * n, gain=64)
    got = read(amplifier, 20)
    assert [word.count for word in got] == true_words(chip, 64)[:20]
    assert [word.count for word in got] == [(1000 + 2 * n) // 2 for n in range(1, 21)]
    assert set(chip.pulse_counts) == {27}


def test_the_first_word_comes_once_the_chip_has_settled(wired):
    for rate_hz, settled_s, period_s in ((10.0, 0.4, 0.1), (80.0, 0.05, 0.0125)):
        amplifier, _, clock = wired(ramp, rate_hz)
        assert amplifier.word(1.0).status is Status.OK
        # power-down and up take the package 20 ms; one word is thrown away
        assert clock.now_s == pytest.approx(0.02 + settled_s + period_s, abs=0.01)


@pytest.mark.parametrize("wait_s", [0.05, 0.2, 1.0])
def test_a_silent_chip_is_waited_for_no_longer_than_asked(wired, wait_s):
    amplifier, chip, clock = wired(ramp)
    read(amplifier, 3)
    chip.unplugged = True
    began_s = clock.now_s
    assert amplifier.word(wait_s).status is Status.SILENT
    assert clock.now_s - began_s == pytest.approx(wait_s, abs=0.005)
    chip.unplugged = False
    after = read(amplifier, 5)
    assert [word.status for word in after] == [Status.OK] * 5
    assert all(word.count in true_words(chip) for word in after)


def test_the_ends_of_the_range_are_told_apart_from_everything_else(wired):
    high, _, _ = wired(lambda n: CODE_HIGH if n > 4 else 8_000_000)
    assert [(w.status, w.count) for w in read(high, 6)][-1] == (Status.SATURATED, CODE_HIGH)
    low, _, _ = wired(lambda n: CODE_LOW if n > 4 else -8_000_000)
    assert [(w.status, w.count) for w in read(low, 6)][-1] == (Status.SATURATED, CODE_LOW)


def calls_of_three_words(wired, gain):
    """How many calls of the pin library came before the fourth word's frame, and in it."""
    amplifier, chip, _ = wired(ramp, gain=gain)
    read(amplifier, 3)
    before = chip.calls
    amplifier.word(0.5)
    return before, chip.calls - before


@pytest.mark.parametrize("gain", [128, 64])
@pytest.mark.parametrize("pause_s", [70e-6, 1e-3, 0.09, 0.15, 2.0])
def test_a_pause_in_any_call_spoils_no_word(wired, gain, pause_s):
    """Clock high: the chip goes off. Low: the package leaves the frame half read, or it is late."""
    before, calls = calls_of_three_words(wired, gain)
    polls = calls - 24 * 3 - 3 * gain // 64  # while it waits; of these the last few will do
    spoilt = 0
    for call in range(before + polls - 3, before + calls + 1):
        amplifier, chip, _ = wired(ramp, gain=gain, pauses={call: pause_s})
        got = read(amplifier, 12, wait_s=3.0)
        true = iter(true_words(chip, gain))
        good = [word.count for word in got if word.status is Status.OK]
        assert all(count in true for count in good), f"call {call}: never converted, or disorder"
        assert len(good) >= 11 and {w.status for w in got} <= {Status.OK, Status.SPOILT}
        assert all(word.count is None for word in got if word.status is Status.SPOILT)
        spoilt += len(got) - len(good)
    assert spoilt > 20  # the pauses did hit frames


@settings(
    max_examples=150,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],  # it wires anew each time
)
@given(
    data=st.data(),
    rate_hz=st.sampled_from([10.0, 80.0]),
    gain=st.sampled_from([128, 64]),
    pauses=st.dictionaries(
        st.integers(1, 3500), st.sampled_from([20e-6, 59e-6, 61e-6, 5e-4, 0.01, 0.02, 0.5]),
        max_size=12,
    ),
)  # fmt: skip
def test_whatever_the_pauses_what_is_passed_on_was_converted_in_that_order(
    data, rate_hz, gain, pauses, wired_anew
):
    seed = data.draw(st.integers(0, 2**16))

    def word(n):
        return ((n * 2_654_435_761 + seed * 40_503) % (2**24 - 2)) - (2**23 - 1)

    amplifier, chip, _ = wired_anew(word, rate_hz, gain, pauses)
    got = read(amplifier, 25, wait_s=1.0)
    true = iter(true_words(chip, gain))
    assert all(w.count in true for w in got if w.status is Status.OK)
    assert sum(w.status is Status.SPOILT for w in got) <= len(pauses)
    assert sum(w.status is Status.OK for w in got) >= 25 - 2 * len(pauses)


@pytest.fixture
def wired_anew(wired):
    return wired


def test_closing_switches_the_chip_off(wired):
    amplifier, chip, _ = wired(ramp)
    read(amplifier, 2)
    amplifier.close()
    amplifier.close()
    chip.input(5)
    assert chip._asleep
