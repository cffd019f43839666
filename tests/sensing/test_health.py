"""The watch on the channels: what is noticed, how soon, and what must not be called a fault.

Honest channels are drawn as white noise, rounded to the gauge's own steps; an HX711's noise of
50 nV at 10 readings a second is its data sheet's figure.
"""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.physics.hx711 import CODE_HIGH, CODE_LOW, noise_counts
from rig.sensing.health import BOARD, Ailment, RigHealth, Trouble
from rig.sensing.sentences import Identity
from rig.sensing.stream import Sample
from rig.setup.rigfile import RigSetup

HX711_10_HZ = noise_counts(10.0)
BOTH = {
    "rig": {"name": "t", "layout": "feed-tray"},
    "load": {"zero_count": 0, "count_per_g": 430},
    "surface": {"height_mm": 300, "unit": "um"},
    "rim": {"height_mm": 400, "flag_mm": 60, "unit": "us"},
}
SETUP = RigSetup.model_validate(BOTH)


class Rows:
    """Rows at a steady rate; a channel's word comes from a function of its draw."""

    def __init__(self, rate_hz=10.0, seed=1, health=None):
        self.health = health or RigHealth(SETUP)
        self.at_s, self.turns = 0.0, []
        self.draw = random.Random(seed).gauss
        self.step_s = 1 / rate_hz

    def honest(self, channel):
        if channel == "load":
            return round(self.draw(84_000, HX711_10_HZ))
        return round(self.draw(100_000, 300)) if channel == "surface" else round(self.draw(1400, 2))

    def go(self, seconds, restarted=False, **words):
        """`words`: what a channel says instead; None for nothing, a function of the row's time."""
        for _ in range(round(seconds / self.step_s)):
            said = {}
            for channel in ("load", "surface", "rim"):
                word = words.get(channel, self.honest)
                said[channel] = word(channel) if callable(word) else word
            row = Sample(
                round(1000 * self.at_s), said["load"], said["surface"], said["rim"], None, restarted
            )
            for turn in self.health.feed(row):
                self.turns.append((self.at_s, turn))
            restarted = False
            self.at_s += self.step_s
        return self

    @property
    def began(self):
        return [(at, t.trouble.channel, t.trouble.ailment) for at, t in self.turns if not t.over_ms]


@pytest.mark.parametrize("rate_hz", [10.0, 80.0])
@pytest.mark.parametrize(
    ("channel", "word", "ailment"),
    [
        ("load", None, Ailment.SILENT),
        ("load", CODE_HIGH, Ailment.SATURATED),
        ("load", CODE_LOW, Ailment.SATURATED),
        ("load", 84_123, Ailment.FROZEN),
        ("surface", None, Ailment.SILENT),
        ("surface", 100_123, Ailment.FROZEN),
        ("rim", None, Ailment.NO_ECHO),  # it counts microseconds: an echo that did not come
        ("rim", 1400, Ailment.FROZEN),
    ],
)
def test_each_fault_is_noticed_within_two_seconds_and_withdrawn_soon(
    rate_hz, channel, word, ailment
):
    rows = Rows(rate_hz).go(8)
    assert rows.turns == []
    ill_s = rows.at_s
    rows.go(6, **{channel: word})
    ((noticed_s, *what),) = rows.began
    assert what == [channel, ailment] and rows.health.out(channel)
    # at ten readings a second this rim gauge's coarse noise repeats words too often to be sooner
    slow = (channel, ailment, rate_hz) == ("rim", Ailment.FROZEN, 10.0)
    assert noticed_s - ill_s <= (2.5 if slow else 2.0)
    since_s = rows.health.troubles[channel].since_ms / 1000
    assert since_s == pytest.approx(ill_s, abs=2 * rows.step_s)
    well_s = rows.at_s
    rows.go(3)
    (over_s, turn) = rows.turns[-1]
    assert turn.over_ms is not None and over_s - well_s <= 1.0
    assert not rows.health.out(channel) and len(rows.turns) == 2


@given(
    st.integers(0, 10**6),
    st.sampled_from(["um", "us"]),
    st.floats(0.2, 20.0),  # noise in steps of the gauge
    st.sampled_from([10.0, 20.0, 80.0]),
)
def test_honest_noise_however_coarse_is_never_called_frozen(seed, unit, noise_steps, rate_hz):
    draw = random.Random(seed).gauss
    step = 1000 if unit == "um" else 1

    def coarse(_):
        return step * round(draw(300.3, noise_steps))

    rows = Rows(rate_hz, seed).go(60, surface=coarse, rim=coarse)
    assert rows.turns == []


def test_a_gauge_that_hardly_ever_moves_is_not_frozen_by_that():
    """A float on still water, read in whole millimetres: one word for minutes."""
    rows = Rows()
    for word in (100_000, 101_000, 100_000, 101_000, 102_000):
        rows.go(90, surface=word)
    assert rows.turns == []


def test_wrong_words_now_and_then_are_no_fault():
    wrong = random.Random(5)

    def spoilt(channel):
        return (
            CODE_HIGH
            if wrong.random() < 0.05
            else None
            if wrong.random() < 0.05
            else 84_000 + (wrong.randrange(-50, 50))
        )

    assert Rows().go(120, load=spoilt).turns == []


def test_one_good_word_from_a_loose_plug_does_not_make_the_scale_believed():
    rows = Rows().go(8).go(3, load=None)
    row = Sample(round(rows.at_s * 1000), 84_000, 1, 1, None)
    assert rows.health.feed(row) == []
    assert rows.health.believed("load", 84_000) is None
    rows.at_s += 0.1
    rows.go(3, load=None)
    assert len(rows.began) == 1


def test_a_gauge_that_is_heard_again_is_believed_at_once_a_frozen_one_is_not():
    rows = Rows().go(8).go(3, rim=None)
    assert rows.health.believed("rim", 1399) == 1399
    rows = Rows().go(8).go(4, surface=100_000)
    assert rows.health.out("surface") and rows.health.believed("surface", 100_001) is None


def test_a_gauge_of_one_reading_a_second_is_not_silent_between_them():
    turn = 0

    def slow(channel):
        nonlocal turn
        turn += 1
        return Rows().honest(channel) + turn if turn % 10 == 0 else None

    rows = Rows().go(60, surface=slow)
    assert rows.turns == []
    rows.go(4, surface=None)
    assert rows.began[0][1:] == ("surface", Ailment.SILENT)


def test_the_silence_of_the_whole_board_is_not_each_channels():
    rows = Rows().go(8)
    rows.at_s += 30  # no rows at all
    rows.go(5)
    assert rows.turns == []
    rows.at_s += 30
    rows.go(1, load=None)  # a second of rows is too short to tell
    assert rows.turns == []


def test_a_restart_is_told_for_a_while():
    rows = Rows().go(8).go(20, restarted=True)
    (began, first), (over, last) = rows.turns
    assert first.trouble == Trouble(BOARD, Ailment.RESTARTED, 8000)
    assert began == pytest.approx(8) and last.over_ms == pytest.approx(18_000, abs=200)
    assert over == pytest.approx(18, abs=0.2)


def test_without_rows_the_board_is_silent_and_nothing_is_believed():
    rows = Rows().go(8)
    (turn,) = rows.health.nothing(9600)
    assert turn.trouble == Trouble(BOARD, Ailment.SILENT, 7900) and rows.health.out("load")
    assert rows.health.nothing(10_100) == []
    rows.at_s = 12.0
    rows.go(1)
    assert not rows.health.troubles and rows.turns[-1][1].over_ms == 12_000


def test_only_what_the_rig_has_is_missed():
    bare = RigSetup.model_validate({key: BOTH[key] for key in ("rig", "load")})
    rows = Rows(health=RigHealth(bare)).go(8, surface=None, rim=None)
    assert rows.turns == []
    named = Identity("b", "1", 10.0, (("load", "count"), ("rim", "um"), ("water", "mC")))
    rows = Rows(health=RigHealth(SETUP, named)).go(8, rim=None)
    assert [t[1:] for t in rows.began] == [("rim", Ailment.SILENT), ("water", Ailment.SILENT)]


@given(
    st.lists(
        st.tuples(
            st.integers(0, 5000),
            st.none() | st.integers(CODE_LOW, CODE_HIGH),
            st.none() | st.integers(-(2**31), 2**31 - 1),
            st.booleans(),
        ),
        max_size=60,
    )
)
def test_whatever_comes_each_trouble_ends_before_it_begins_again(rows):
    health, at_ms, open_now = RigHealth(SETUP), 0, {}
    for step_ms, load, gauge, restarted in rows:
        at_ms += step_ms
        for turn in health.feed(Sample(at_ms, load, gauge, gauge, None, restarted)):
            channel = turn.trouble.channel
            if turn.over_ms is None:
                assert channel not in open_now
                open_now[channel] = turn.trouble
            else:
                assert open_now.pop(channel) == turn.trouble
                assert turn.trouble.since_ms <= turn.over_ms == at_ms
        assert open_now == health.troubles
