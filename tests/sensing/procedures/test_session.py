"""The state machine: what may be pressed when, redo, stop, silence, and the same from a replay."""

from itertools import product
from random import Random

import pytest

from rig.errors import OutOfPlace, OutOfRange
from rig.sensing.procedures.jobs import make_job
from rig.sensing.procedures.session import READY, REDO, STOP, Phase, Session
from rig.sensing.stream import OperatorMark, Sample

OPTIONS = {"masses": ["M2 100 g", "M2 200 g"], "creep": False}


class Bench:
    """A session fed by hand."""

    def __init__(self, setup):
        self.session = Session(make_job("load", OPTIONS), setup)
        self.at_ms = 0
        self.rng = Random(1)

    def rows(self, seconds, grams=0.0, word=None, restarted=False):
        for _ in range(round(10 * seconds)):
            self.at_ms += 100
            count = round(84_213 + 430 * grams + self.rng.gauss(0, 20))
            said = count if word is None else word
            self.session.feed(Sample(self.at_ms, said, None, None, None, restarted))
            restarted = False

    def take(self, grams):
        self.session.act(READY)
        self.rows(8, grams)


@pytest.fixture
def bench(setup):
    return Bench(setup)


def test_five_steps_up_and_down_then_done(bench):
    for grams in (0, 100, 200, 100, 0):
        assert bench.session.phase is Phase.ASKING
        bench.take(grams)
    assert bench.session.phase is Phase.DONE and bench.session.step is None
    assert [one.known.value for one in bench.session.taken] == [0, 100, 200, 100, 0]
    assert bench.session.outcome().ok


ALLOWED = {
    ("asking, nothing taken", READY): True,
    ("asking, nothing taken", REDO): False,
    ("asking, nothing taken", STOP): True,
    ("asking", READY): True,
    ("asking", REDO): True,
    ("asking", STOP): True,
    ("reading", READY): False,
    ("reading", REDO): True,
    ("reading", STOP): True,
    ("done", READY): False,
    ("done", REDO): True,
    ("done", STOP): False,
    ("stopped", READY): False,
    ("stopped", REDO): False,
    ("stopped", STOP): False,
}


@pytest.mark.parametrize(("state", "word"), ALLOWED, ids=str)
def test_each_button_in_each_phase(bench, state, word):
    takes = {"asking": 1, "done": 5, "stopped": 2}.get(state, 0)
    for grams in (0, 100, 200, 100, 0)[:takes]:
        bench.take(grams)
    if state == "reading":
        bench.session.act(READY)
    if state == "stopped":
        bench.session.act(STOP)
    before = bench.session.view()
    if ALLOWED[state, word]:
        bench.session.act(word)
        assert bench.session.view() != before
    else:
        with pytest.raises(OutOfPlace):
            bench.session.act(word)
        assert bench.session.view() == before


def test_the_table_above_is_whole():
    states = {"asking, nothing taken", "asking", "reading", "done", "stopped"}
    assert set(ALLOWED) == set(product(states, (READY, REDO, STOP)))


def test_redo_takes_the_last_one_back(bench):
    bench.take(0)
    bench.take(130)
    bench.session.act(REDO)
    assert bench.session.step.known.value == 100 and bench.session.withdrawn == 1
    bench.take(100)
    assert bench.session.taken[-1].reading.raw == pytest.approx(84_213 + 43_000, abs=20)


def test_another_mass_may_be_typed(bench):
    bench.take(0)
    with pytest.raises(OutOfRange, match="no known mass"):
        bench.session.act(READY, "a stone")
    assert bench.session.phase is Phase.ASKING
    bench.session.act(READY, "M2 50 g")
    bench.rows(8, 50)
    assert bench.session.taken[-1].known.value == 50


def test_stopping_early_keeps_what_was_measured(bench):
    for grams in (0, 100, 200):
        bench.take(grams)
    bench.session.act(STOP)
    assert bench.session.phase is Phase.DONE and len(bench.session.taken) == 3
    load = bench.session.outcome().sets["load"]
    assert load["count_per_g"] == pytest.approx(430, abs=1)


def test_too_few_for_a_result_is_told(bench):
    bench.take(0)
    with pytest.raises(OutOfRange, match="2 different known values"):
        bench.session.outcome()


@pytest.mark.parametrize(
    ("word", "needle"), [(8_388_607, "end of its range"), (-1, "stands still")]
)
def test_a_sick_channel_gives_no_reading_but_a_line(bench, word, needle):
    bench.rows(10)  # its noise is known
    bench.session.act(READY)
    bench.rows(12, word=word)
    assert bench.session.phase is Phase.ASKING and not bench.session.taken
    assert needle in bench.session.trouble
    bench.take(0)  # and then it goes on
    assert len(bench.session.taken) == 1 and not bench.session.trouble


def test_silence_of_the_channel_ends_too(bench):
    bench.session.act(READY)
    for _ in range(100):
        bench.at_ms += 100
        bench.session.feed(Sample(bench.at_ms, None, None, None, None))
    assert bench.session.phase is Phase.ASKING and "silent" in bench.session.trouble


def test_a_board_that_restarts_spoils_the_reading(bench):
    bench.session.act(READY)
    bench.rows(2)
    bench.rows(1, restarted=True)
    assert bench.session.phase is Phase.ASKING and "started again" in bench.session.trouble


def test_hands_that_never_leave_end_as_unsettled(bench):
    bench.session.act(READY)
    for step in range(500):
        bench.rows(0.1, grams=step)
    assert bench.session.phase is Phase.ASKING and "come to rest" in bench.session.trouble


def test_the_notes_of_a_recording_do_what_buttons_did(bench, setup):
    other = Session(make_job("load", OPTIONS), setup)
    for text in ("bench ready", "bench redo", "bench ready M2 50 g", "lunch", "bench dance"):
        other.feed(OperatorMark(0, "note", text))
    assert other.phase is Phase.READING
    other.feed(OperatorMark(0, "note", "bench ready"))  # out of place: nothing happens
    assert other.phase is Phase.READING
    other.feed(OperatorMark(0, "note", "bench stop"))
    assert other.phase is Phase.DONE
