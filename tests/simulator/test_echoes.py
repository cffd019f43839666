"""What a distance gauge gets wrong, one thing at a time, in a recording."""

import itertools
from random import Random
from statistics import fmean

import pytest

from rig.sensing.sentences import Fault
from rig.sensing.stream import Sample, Stream
from rig.simulator.bench import Bench
from rig.simulator.conditions import BoardPart, Fate, Motion
from rig.simulator.echoes import Echoes
from rig.simulator.hands import Plan
from rig.simulator.troubles import EchoPart, RoomPart


def rows(setup, conditions, boat, n, plan=None, fate=None):
    bench = Bench(setup, conditions, seed=3)
    bench.place_boat(boat, fate)
    if plan:
        bench.load_with(plan)
    stream = Stream()
    items = [item for _ in range(n) for item in stream.feed(bench.row())]
    return [item for item in items if isinstance(item, Sample)], items, bench


def gaps(values):
    """Lengths of the stretches without a value."""
    lengths, run = [], 0
    for value in [*values, 0]:
        if value is None:
            run += 1
        elif run:
            lengths.append(run)
            run = 0
    return lengths


@pytest.mark.parametrize(("burst_s", "mean_rows"), [(0.0, 1.11), (0.1, 1.0), (2.0, 20.0)])
def test_echoes_are_missing_as_often_and_as_long_as_asked(burst_s, mean_rows):
    """On their own with a share of 0.1, a gap is 1 / 0.9 rows long in the mean."""
    echoes = Echoes(EchoPart(missing=0.1, burst_s=burst_s), 10.0, Random(5))
    given = [echoes.echo(250.0) for _ in range(300_000)]
    assert given.count(None) / len(given) == pytest.approx(0.1, rel=0.12)
    assert fmean(gaps(given)) == pytest.approx(mean_rows, rel=0.12)


def test_a_gauge_without_an_echo_for_long_is_reported_once(setup, still, boat):
    changes = {
        "rim_echo": EchoPart(missing=0.2, burst_s=1.0),
        "board": BoardPart(complains_after_s=1.5),
    }
    samples, items, _ = rows(setup, still.model_copy(update=changes), boat, 2000)
    long_gaps = [n for n in gaps([s.rim_raw for s in samples]) if n > 15]
    faults = [item for item in items if isinstance(item, Fault)]
    assert faults == [Fault("E03", "rim gauge no echo")] * len(long_gaps)
    assert 0 < len(long_gaps) < len(gaps([s.rim_raw for s in samples]))


def test_double_and_half_distances(setup, still, boat):
    part = EchoPart(doubled=0.02, halved=0.01)
    samples, _, bench = rows(setup, still.model_copy(update={"surface_echo": part}), boat, 5000)
    right = round(1000 * (400 - bench.world.level_mm))
    seen = [sample.surface_raw for sample in samples]
    doubled = [raw for raw in seen if abs(raw - 2 * right) <= 1]
    halved = [raw for raw in seen if abs(raw - right / 2) <= 1]
    assert seen.count(right) + len(doubled) + len(halved) == len(seen)
    assert len(doubled) == pytest.approx(100, abs=40)
    assert len(halved) == pytest.approx(50, abs=28)
    assert {sample.rim_raw for sample in samples} == {samples[0].rim_raw}


def test_an_offset_is_always_there(setup, still, boat):
    plain, _, _ = rows(setup, still, boat, 5)
    moved = still.model_copy(update={"rim_echo": EchoPart(offset_mm=2.5)})
    offset, _, _ = rows(setup, moved, boat, 5)
    for a, b in zip(plain, offset, strict=True):
        assert a.rim_raw - b.rim_raw == 2500  # higher is nearer
        assert a.surface_raw == b.surface_raw


def test_a_float_sticks_and_follows_with_a_jerk(setup, still, boat):
    """Items of 2.5 g lift the water by 0.038 mm each; the float moves only every 0.5 mm."""
    changed = still.model_copy(update={"surface_echo": EchoPart(sticks_mm=0.5)})
    samples, _, bench = rows(setup, changed, boat, 600, Plan(then=(1.0, 1)))
    heights = [(400_000 - s.surface_raw) / 1000 for s in samples]
    moves = [b - a for a, b in itertools.pairwise(heights) if a != b]
    rise_mm = bench.world.level_mm - heights[0]
    assert len(moves) == int(rise_mm / (14 * 2.5 / 66)) == 4  # 14 items are more than 0.5 mm
    assert all(0.5 < move < 0.6 for move in moves)


def test_an_echo_comes_back_by_the_true_air(setup, still, boat):
    """Warmer air carries sound faster, so water looks nearer: 0.17 % a degree (the school-book
    331.3 + 0.606 t m/s, from memory), 280 mm and 5 degrees give 2.45 mm."""
    data = setup.model_dump()
    data["surface"]["unit"] = "us"
    echo = setup.model_validate(data)
    plain, _, _ = rows(echo, still, boat, 1)
    warm = still.model_copy(update={"room": RoomPart(air_c=25.0)})
    warmer, _, _ = rows(echo, warm, boat, 1)
    nearer_mm = (plain[0].surface_raw - warmer[0].surface_raw) * 0.3434 / 2
    assert nearer_mm == pytest.approx(2.45, abs=0.2)  # whole microseconds are 0.17 mm
    assert warmer[0].rim_raw == plain[0].rim_raw  # micrometres do not care


@pytest.mark.parametrize("under", ["flag", "surface", "nothing"])
def test_what_the_rim_gauge_sees_of_a_boat_on_the_floor(setup, still, boat, under):
    """The flag's top is then at 30 + 60 mm, 28 mm under water."""
    changed = still.model_copy(update={"rim_echo": EchoPart(under=under)})
    plan = Plan(((1.0, 40),))
    samples, _, bench = rows(setup, changed, boat, 80, plan, Fate(heels_at_g=90.0))
    flag, surface = 420_000 - 90_000, round(1000 * (420 - bench.world.level_mm))
    seen = {"flag": flag, "surface": surface, "nothing": None}[under]
    assert samples[-1].rim_raw == (seen if seen is None else pytest.approx(seen, abs=1))
    assert samples[5].rim_raw < 305_000  # while it floated, the flag


def test_gauges_slower_than_the_load_cell_leave_their_fields_empty(setup, still, boat):
    board = BoardPart(rate_hz=80.0, gauge_hz=10.0)
    samples, items, _ = rows(setup, still.model_copy(update={"board": board}), boat, 800)
    assert all(sample.load_count is not None for sample in samples)
    read = [sample for sample in samples if sample.surface_raw is not None]
    assert len(read) == 100
    assert {b.at_ms - a.at_ms for a, b in itertools.pairwise(read)} == {100}
    for sample in samples:
        nothing = sample.surface_raw is None
        assert (sample.rim_raw is None, sample.water_mc is None) == (nothing, nothing)
    assert not any(isinstance(item, Fault) for item in items)


def test_waves_come_with_each_item(setup, still, boat):
    wavy = still.model_copy(update={"motion": Motion(bounce=0, wave_mm=2.0, wave_decay_s=0.5)})
    samples, _, _ = rows(setup, wavy, boat, 100, Plan(((3.0, 1),)))
    heights = [(400_000 - s.surface_raw) / 1000 for s in samples]
    before, after, late = heights[25:29], heights[30:36], heights[70:]
    assert max(after) - min(after) > 5 * (max(before) - min(before))
    assert max(late) - min(late) < 0.05
