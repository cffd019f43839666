"""The amplifier against its data sheet, and its wrong words by kind and rate."""

from math import sqrt
from random import Random
from statistics import stdev

import pytest

from rig.sensing.readings import SATURATED
from rig.sensing.stream import Sample, Stream
from rig.simulator.amplifier import WRONG, Creep, WrongWords, input_noise_g
from rig.simulator.bench import Bench
from rig.simulator.conditions import BoardPart
from rig.simulator.room import Room
from rig.simulator.troubles import AmplifierPart, RoomPart

# Avia Semiconductor, HX711 data sheet: input noise at gain 128 is 50 nV rms at 10 SPS and
# 90 nV at 80 SPS. In grams: noise / (mV/V x 5 V / capacity), worked by hand for each cell.
# capacity_g, mV/V, g rms at 10/s, g rms at 80/s
DATA_SHEET_G = [
    (1000, 1.0, 0.01, 0.018),
    (1000, 2.0, 0.005, 0.009),
    (5000, 1.0, 0.05, 0.09),
    (5000, 2.0, 0.025, 0.045),
    (20000, 1.0, 0.2, 0.36),
    (20000, 2.0, 0.1, 0.18),
]
WORD = 84213
N = 60_000


@pytest.mark.parametrize(("capacity_g", "mv_per_v", "slow_g", "fast_g"), DATA_SHEET_G)
def test_noise_is_what_the_data_sheet_implies(capacity_g, mv_per_v, slow_g, fast_g):
    part = AmplifierPart(capacity_g=capacity_g, mv_per_v=mv_per_v)
    assert input_noise_g(part, 10) == pytest.approx(slow_g)
    assert input_noise_g(part, 80) == pytest.approx(fast_g)


def loads(setup, conditions, rows):
    bench = Bench(setup, conditions, seed=2)
    stream = Stream()
    items = [item for _ in range(rows) for item in stream.feed(bench.row())]
    return [(item.load_count - 84213) / 430.0 for item in items if isinstance(item, Sample)]


@pytest.mark.parametrize(("rate_hz", "sd_g"), [(10.0, 0.2), (80.0, 0.36)])
def test_a_recording_has_that_noise(setup, still, rate_hz, sd_g):
    changes = {"amplifier": AmplifierPart(capacity_g=20_000), "board": BoardPart(rate_hz=rate_hz)}
    seen = loads(setup, still.model_copy(update=changes), 3000)
    assert stdev(seen) == pytest.approx(sd_g, rel=4 / sqrt(2 * 3000))


@pytest.mark.parametrize("share", [0.001, 0.01])
def test_wrong_words_come_as_often_as_asked_and_in_all_kinds(share):
    words = WrongWords(share, Random(4))
    given = [words.spoil(WORD + i % 7) for i in range(N)]
    assert words.given.total() == pytest.approx(share * N, abs=4 * sqrt(share * N))
    assert set(words.given) == set(WRONG)
    unlike = sum(word != WORD + i % 7 for i, word in enumerate(given))
    # ones or a repeat may by chance be the right word
    assert 0.8 * words.given.total() <= unlike <= words.given.total()


def test_no_share_no_draw():
    rng = Random(1)
    before = rng.getstate()
    assert WrongWords(0.0, rng).spoil(5) == 5
    assert rng.getstate() == before


@pytest.mark.parametrize("word", [WORD, -WORD, 5_000_000, -5_000_000])
def test_each_kind_is_what_its_name_says(word):
    rng = Random(9)
    for _ in range(200):
        ones = WRONG["ones"](word, rng) + 1
        assert ones & (ones - 1) == 0  # a power of two, less one
        smear = WRONG["smear"](word, rng)
        low = smear ^ word
        assert smear & low == low  # bits only went up ...
        assert (smear | (1 << low.bit_length()) - 1) == smear  # ... and all below are ones
        assert WRONG["sign"](word, rng) in (-word, word - 2**23 if word >= 0 else word + 2**23)
        assert WRONG["saturated"](word, rng) in SATURATED
    assert WRONG["halved"](word, rng) == word // 2
    doubled = WRONG["doubled"](word, rng)
    assert (doubled - 2 * word) % 2**24 == 0  # the bit that fell off the top
    assert -(2**23) <= doubled < 2**23


def test_a_repeat_gives_the_last_word():
    class Always(Random):
        def random(self):
            return 0.0

        def choice(self, seq):
            return "repeat"

    words = WrongWords(1e-9, Always(0))
    words._last = 111
    assert words.spoil(222) == 111


def test_creep_reaches_its_share_in_a_minute_and_comes_back():
    part = AmplifierPart(creep_share=0.0003, creep_s=20.0)
    creep = Creep(part)
    assert creep.at(100.0, 0.0) == 0.0
    creep.at(600.0, 0.0)  # 500 g more from now on
    seen = [creep.at(600.0, second) for second in range(1, 61)]
    assert seen[-1] == pytest.approx(0.0003 * 500)
    assert seen == sorted(seen)
    assert seen[19] > 0.6 * seen[-1]  # an approach, not a straight line
    creep.at(100.0, 60.0)
    back = [creep.at(100.0, 60.0 + second) for second in range(1, 61)]
    assert seen[-1] > back[0] > back[-1] > 0
    # what was there has gone by as much as it came: all but exp(-60 / 20) of it
    assert back[-1] == pytest.approx(seen[-1] * 0.0498, rel=0.01)


def test_creep_does_not_depend_on_how_often_it_is_looked_at():
    part = AmplifierPart(creep_share=0.001)
    coarse, fine = Creep(part), Creep(part)
    coarse.at(0.0, 0.0)
    fine.at(0.0, 0.0)
    for i in range(1, 301):
        fine.at(100.0, i / 10)
    assert coarse.at(100.0, 30.0) == pytest.approx(fine.at(100.0, 30.0))


def test_creep_is_in_the_recording(setup, still, boat):
    part = AmplifierPart(creep_share=0.0003)
    bench = Bench(setup, still.model_copy(update={"amplifier": part}))
    bench.row()
    bench.world.tray = [2.5] * 550  # 1000 g more than at first
    seen = [item for _ in range(600) for item in Stream().feed(bench.row())]
    counts = [item.load_count for item in seen if isinstance(item, Sample)]
    assert (counts[0] - 84213) / 430 == pytest.approx(60 + 550 * 2.5, abs=0.01)
    assert (counts[-1] - counts[0]) / 430 == pytest.approx(0.3, abs=0.01)


def test_the_zero_moves_with_the_room(setup, still):
    part = AmplifierPart(drift_g_per_c=-0.5)
    room = RoomPart(air_c=21.0, walk_c=2.0)
    bench = Bench(setup, still.model_copy(update={"amplifier": part, "room": room}))
    for _ in range(600):
        (sample,) = [i for i in Stream().feed(bench.row()) if isinstance(i, Sample)]
    change_c = bench.gauges._room.change_c
    assert abs(change_c) > 0.2
    assert (sample.load_count - 84213) / 430 - 435 == pytest.approx(-0.5 * change_c, abs=0.005)


def test_the_room_walks_as_far_as_it_is_told():
    ends = []
    for seed in range(400):
        room = Room(RoomPart(air_c=20.0, walk_c=0.3), Random(seed))
        for _ in range(60):
            room.step(1.0)
        ends.append(room.change_c)
    assert stdev(ends) == pytest.approx(0.3, rel=4 / sqrt(800))


def test_the_room_stays_where_the_speed_of_sound_is_known():
    room = Room(RoomPart(air_c=29.5, walk_c=5.0), Random(1))
    temperatures = []
    for _ in range(2000):
        room.step(1.0)
        temperatures.append(room.air_c)
    assert min(temperatures) >= 0 and max(temperatures) <= 30


def test_a_wrong_span_is_a_share_of_all_that_is_weighed(setup, still):
    part = AmplifierPart(span_error=0.002)
    assert loads(setup, still.model_copy(update={"amplifier": part}), 1)[0] == pytest.approx(
        435 * 1.002, abs=0.005
    )
