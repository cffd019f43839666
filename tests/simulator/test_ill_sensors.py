"""Sensors that fail in mid-trial: what the wire then says, and the truth beside it."""

import pytest

from rig.errors import SetupInvalid
from rig.physics.hx711 import CODE_HIGH
from rig.sensing.sentences import Fault
from rig.sensing.stream import OperatorMark, Sample, Stream
from rig.simulator import read_scenario, simulate
from rig.simulator.bench import Bench
from rig.simulator.conditions import Conditions
from rig.simulator.disturbances import Disturbance
from rig.simulator.hands import Plan
from rig.simulator.pty_board import PtyBoard
from tests.simulator.test_mishaps import only

CHANNELS = {"load": "load_count", "surface": "surface_raw", "rim": "rim_raw", "water": "water_mc"}


def rows(bench, seconds, stream=None):
    stream = stream or Stream()
    lines = b"".join(bench.row() for _ in range(round(10 * seconds)))
    items = stream.feed(lines)
    return [i for i in items if isinstance(i, Sample)], [i for i in items if isinstance(i, Fault)]


@pytest.mark.parametrize("channel", CHANNELS)
@pytest.mark.parametrize("how", ["silent", "frozen"])
def test_a_sensor_is_ill_for_its_time_and_well_again(setup, channel, how):
    bench = Bench(setup, Conditions(), seed=1)
    bench.load_with(
        only({"kind": "fault", "at_s": 1.95, "for_s": 3, "channel": channel, "how": how})
    )
    samples, _ = rows(bench, 8)
    words = [getattr(sample, CHANNELS[channel]) for sample in samples]
    ill, well = words[19:49], words[:19] + words[49:]
    assert set(ill) == {None} if how == "silent" else len(set(ill)) == 1 and ill[0] is not None
    assert None not in well and len(set(well)) > len(well) / 3
    for other in set(CHANNELS) - {channel}:
        assert None not in [getattr(sample, CHANNELS[other]) for sample in samples]


def test_a_saturated_scale_says_so_itself(setup, still):
    bench = Bench(setup, still)
    bench.load_with(
        only({"kind": "fault", "at_s": 1.95, "for_s": 3, "channel": "load", "how": "saturated"})
    )
    samples, faults = rows(bench, 8)
    saturated = [sample.load_count == CODE_HIGH for sample in samples]
    assert saturated == [19 <= n < 49 for n in range(80)]
    assert [fault.code for fault in faults] == ["E02"]


def test_a_broken_line_loses_rows_and_the_board_counts_on(setup, still):
    bench, stream = Bench(setup, still), Stream()
    bench.load_with(only({"kind": "port", "at_s": 1.95, "for_s": 3}))
    samples, _ = rows(bench, 8, stream)
    assert [sample.at_ms for sample in samples] == [100 * n for n in range(80) if not 19 <= n < 49]
    assert stream.count.lost == 30 and not any(sample.restarted for sample in samples)


def test_only_a_scale_saturates_and_only_a_gauge_has_a_beam():
    for keys in (
        {"kind": "fault", "how": "saturated", "channel": "rim"},
        {"kind": "beam", "channel": "load"},
    ):
        with pytest.raises(ValueError, match="only"):
            Disturbance(at_s=1.0, **keys)


def test_the_truth_tells_what_was_ill_from_when_to_when(tmp_path):
    text = (
        'seed = 1\n[rig]\nname = "r"\nlayout = "feed-tray"\n'
        "[load]\nzero_count = 1\ncount_per_g = 430\n[item]\nname = 'i'\nmass_g = 2.5\n"
        "[rim]\nheight_mm = 400\nflag_mm = 60\n[tub]\narea_mm2 = 60000\n"
        "[[boat]]\nlabel = 'B'\nhull = 'box'\nlength_mm = 100\nbeam_mm = 60\ndepth_mm = 30\n"
        "mass_g = 14\n[[trial]]\nboat = 'B'\nadd = [[4, 10], [8, 10], [8, 5]]\n"
        "silent = {rim = 12.0}\n"
        "[[trial.disturb]]\nkind = 'fault'\nchannel = 'load'\nhow = 'frozen'\nat_s = 6\nfor_s = 3\n"
        "[[trial.disturb]]\nkind = 'port'\nat_s = 10.5\nfor_s = 1\n"
    )
    path = tmp_path / "ill.toml"
    path.write_text(text)
    recording, truth = simulate(read_scenario(path))
    assert truth["trials"][0]["faults"] == [
        {"channel": "rim", "how": "silent", "from_s": 12.0, "to_s": None},
        {"channel": "load", "how": "frozen", "from_s": 6.0, "to_s": 9.0},
        {"channel": "port", "how": "silent", "from_s": 10.5, "to_s": 11.5},
    ]
    items = Stream().feed(recording)
    start = next(item.at_ms for item in items if isinstance(item, OperatorMark))
    ill = [s.load_count for s in items if isinstance(s, Sample) and 6050 < s.at_ms - start < 8950]
    assert len(ill) == 29 and len(set(ill)) == 1
    assert all(
        (s.rim_raw is None) == (s.at_ms - start >= 12_000) for s in items if isinstance(s, Sample)
    )
    path.write_text(text.replace("'frozen'", "'sleepy'"))
    with pytest.raises(SetupInvalid, match="how"):
        read_scenario(path)


def test_what_is_ill_is_well_when_everything_is_taken_out(setup, still, boat):
    bench = Bench(setup, still)
    bench.place_boat(boat)
    bench.load_with(Plan())
    bench.fall_ill("load", "silent")
    assert rows(bench, 1)[0][-1].load_count is None
    bench.take_everything_out()
    assert rows(bench, 1)[0][-1].load_count is not None
    bench.fall_ill("load", "saturated")
    assert rows(bench, 1)[0][-1].load_count == CODE_HIGH
    bench.recover()
    assert rows(bench, 1)[0][-1].load_count != CODE_HIGH


def test_a_reset_board_is_silent_and_counts_anew(setup, still):
    bench, stream = Bench(setup, still), Stream()
    before, _ = rows(bench, 3, stream)
    bench.reset(2.0)
    after, _ = rows(bench, 5, stream)
    assert len(before) == 30 and len(after) == pytest.approx(30, abs=1)
    assert [n for n, sample in enumerate(after) if sample.restarted] == [0]
    assert stream.count.lost == 0


def test_on_the_pseudo_terminal_too(setup):
    with PtyBoard(setup, speed=20) as board:
        board.fall_ill("load", "frozen")
        board.recover()
        board.reset(1.0)
