"""What the host hears from the board's own files: lines, rates, wrap-around, identity, clock.

The simulated chip keeps the HX711 data sheet (Avia Semiconductor): 25, 26 or 27 pulses choose
the gain, 10 or 80 words a second, true after four periods, asleep after a clock high for 60 us.
"""

from itertools import pairwise

import pynmea2
import pytest

from rig.sensing.sentences import Data, decode

ECHO_LATE_US = 25  # of the stand-in: an edge waits while a clock pulse is high, or for its turn


def body(line: bytes) -> bytes:
    return line[1:-5]


def rows(heard) -> list[Data]:
    sentences = [decode(body(line)) for line in heard.lines]
    return [sentence for sentence in sentences if isinstance(sentence, Data)]


def test_every_line_is_a_sentence_by_another_reader_too(board):
    heard = board(seconds=20)
    assert len(heard.lines) > 190 and not heard.stream.count.skipped and not heard.stream.count.lost
    for line in heard.lines:
        assert len(line) <= 82 and line.endswith(b"\r\n")
        text = line.decode("ascii").strip()
        assert pynmea2.NMEASentence.checksum(text[1:-3]) == int(text[-2:], 16)
        pynmea2.parse(text, check=True)


@pytest.mark.parametrize("sps", [10, 80])
def test_one_row_for_every_word_by_the_boards_own_clock(board, sps):
    heard = board(seconds=10, sps=sps, settings={"SPS": sps})
    told = rows(heard)
    between_ms = [b.ms - a.ms for a, b in pairwise(told)]
    # the loop naps for 0.5 ms, a talk on the 1-wire line takes 8
    assert min(between_ms) >= 1000 // sps - 9 and max(between_ms) <= 1000 / sps + 9
    assert (told[-1].ms - told[0].ms) / (len(told) - 1) == pytest.approx(1000 / sps, rel=0.005)
    assert heard.world["conversions_missed"] == 0
    assert heard.identities[0].rate_hz == sps


@pytest.mark.parametrize("sps", [10, 80])
def test_all_channels_come_true_and_often_enough(board, sps):
    heard = board(
        seconds=10, sps=sps, settings={"SPS": sps}, load=-12345, surface=1750, rim=930, water=19937
    )
    samples = heard.samples
    assert {s.load_count for s in samples[4:]} == {-12345}
    for raw, echo_us in (("surface_raw", 1750), ("rim_raw", 930)):
        echoes = [getattr(s, raw) for s in samples if getattr(s, raw) is not None]
        assert len(echoes) >= 7 * 9.0
        assert all(abs(echo - echo_us) <= ECHO_LATE_US for echo in echoes)
    # sixteenths of a degree: 19.9375 deg C
    assert {s.water_mc for s in samples} == {None, 19937}
    assert sum(s.water_mc is not None for s in samples) >= 4


def test_words_are_not_believed_until_the_amplifier_has_settled(board):
    samples = board(seconds=3).samples
    assert [s.load_count for s in samples[:6]] == [None, None, None, None, 84213, 84213]


@pytest.mark.parametrize("word", [0, -1, 1, -8388607, 8388606, 4194304, -4194305])
def test_every_word_comes_as_it_was(board, word):
    assert {s.load_count for s in board(seconds=2, load=word).samples[4:]} == {word}


@pytest.mark.parametrize(("gain", "pulses"), [(128, "25"), (32, "26"), (64, "27")])
def test_the_pulses_choose_the_gain(board, gain, pulses):
    """The chip gives a word at its gain of the moment: 128 000 counts at gain 128."""
    heard = board(seconds=4, load=128_000, settings={"GAIN": gain})
    assert list(heard.world["pulses"]) == [pulses]
    told = {s.load_count for s in heard.samples if s.load_count is not None}
    assert told == {1000 * gain}


def test_no_interrupt_keeps_the_clock_high(board):
    """Other interrupts of 200 us, 1000 a second: any in a high clock would put the chip to sleep
    (60 us), and after waking it gives gain 128.
    """
    heard = board(seconds=4, load=128_000, settings={"GAIN": 64}, storm_us=200, storm_every_us=1003)
    assert heard.world["power_downs"] == 0
    assert heard.world["longest_high_us"] <= 50  # T3 of the data sheet
    assert {s.load_count for s in heard.samples if s.load_count is not None} == {64_000}
    assert not heard.faults


def test_counter_and_clock_wrap(board):
    heard = board(seconds=5, first_seq=65_520, first_ms=2**32 - 2000)
    told = rows(heard)
    assert {row.seq for row in told} == {*range(65_520, 65_536), *range(len(told) - 16)}
    assert max(row.ms for row in told) > 2**32 - 200 and told[-1].ms < 4000
    assert heard.stream.count.lost == 0
    assert {b.at_ms - a.at_ms for a, b in pairwise(heard.samples)} <= set(range(91, 110))
    assert not any(s.restarted for s in heard.samples)


def test_the_boards_own_tick_counter_wraps_unseen(board):
    """MicroPython's counters wrap at 2^30: milliseconds in 12 days, microseconds in 18 min."""
    heard = board(seconds=5, start_us=2**30 * 1000 - 2_500_000)
    told = rows(heard)
    assert {b.ms - a.ms for a, b in pairwise(told)} <= set(range(91, 110))
    echoes = {s.surface_raw for s in heard.samples} - {None}
    assert all(abs(echo - 1749) <= ECHO_LATE_US for echo in echoes)


def test_it_says_who_it_is_at_power_up_and_when_asked(board):
    """The source asks when it opens the port; without that the greeting would come alone."""
    heard = board(seconds=60, settings={"WATER_PIN": None, "BOARD": "tub-3"})
    greeting, *answers = heard.identities
    assert heard.items[0] is greeting and len(answers) == 1 and answers[0] == greeting
    assert (greeting.board, greeting.firmware) == ("tub-3", "1")
    assert greeting.units == (("load", "count"), ("surface", "us"), ("rim", "us"))


def test_a_rig_of_a_load_cell_only(board):
    heard = board(seconds=3, settings={"SURFACE_PINS": None, "RIM_PINS": None, "WATER_PIN": None})
    assert heard.identities[0].units == (("load", "count"),)
    assert len(heard.samples) == 26 and not heard.faults
    assert heard.world["pings"] == {"surface": 0, "rim": 0}


def test_with_the_service_pin_tied_it_stays_still(board):
    heard = board(seconds=3, service=0)
    assert heard.lines == [] and heard.world["feeds"] == 0


def test_pings_take_turns_and_leave_each_other_time(board):
    world = board(seconds=5).world
    assert abs(world["pings"]["surface"] - world["pings"]["rim"]) <= 1
    assert world["shortest_trigger_us"] >= 10
    assert world["closest_pings_us"] >= 59_000  # clocked in whole milliseconds
