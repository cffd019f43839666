"""Trials of mixed kinds: the same by seed, of every kind, and with a truth that holds."""

from collections import Counter
from itertools import pairwise

import pytest

from rig.physics.flotation import capacity_g
from rig.physics.water import water_density
from rig.sensing.sentences import Identity
from rig.sensing.stream import OperatorMark, Sample, Stream
from rig.simulator.diary import SeenClock, best, carried
from rig.simulator.hands import Landed
from rig.simulator.mixed import mixed_scenario, mixed_trial, mixed_trials

N = 25


@pytest.fixture(scope="module")
def trials():
    return list(mixed_trials(N, seed=5))


def test_a_trial_is_the_same_whichever_others_are_drawn(trials):
    assert mixed_trial(7, seed=5) == trials[7]
    assert mixed_trial(7, seed=6)[0] != trials[7][0]


def test_what_is_drawn_covers_what_was_asked():
    """Many scenarios, none of them played."""
    seen: Counter[str] = Counter()
    for number in range(400):
        scenario, gauges, kinds = mixed_scenario(number, seed=2)
        setup, (trial,) = scenario.setup, scenario.trials
        (boat,) = scenario.boats.values()
        seen.update([gauges, setup.rig.layout.value, boat.hull.family, *kinds])
        seen.update([f"{scenario.conditions.board.rate_hz:g}/s"])
        assert 2.0 <= setup.item.mass_g <= 9.0 and setup.item.mass_sd_g > 0
        assert 3.0 <= setup.rig.hold_s <= 5.0
        assert all(1 <= items <= 10 for _, items in trial.add)
        gaps = [after_s for after_s, _ in trial.add[1:]]
        assert all(4 <= gap <= 12 or 0.5 <= gap <= 0.95 for gap in gaps)
        assert scenario.conditions.amplifier.wrong_words <= 0.01
        assert 0.3 <= scenario.conditions.noise.surface_mm <= 3.0
        assert (setup.surface is not None) == ("surface" in gauges)
        assert (setup.rim is not None) == ("rim" in gauges)
        if gauges == "surface":  # then the tub is small, or displacement would tell nothing
            rim_mm2 = boat.hull.waterplane(boat.hull.depth_mm).area_mm2
            level_mm = scenario.conditions.water.level_mm
            assert 1.4 < setup.tub.table.area_mm2(level_mm) / rim_mm2 < 3.4
    for kind in ("rim+surface", "surface", "rim", "none", "feed-tray", "tub-on-cell"):
        assert seen[kind] > 30
    for kind in ("box", "tray", "dish", "10/s", "80/s", "wrong words", "line", "press", "dry rim"):
        assert seen[kind] > 60
    for kind in ("loan", "beam", "nudge", "lean", "double", "drop", "reset", "rate", "stuck float"):
        assert seen[kind] > 3


def test_a_recording_is_one_trial_that_the_stream_can_read(trials):
    for recording, _setup, boats, truth in trials:
        stream = Stream()
        items = [*stream.feed(recording), *stream.finish()]
        marks = [(i.word, i.text) for i in items if isinstance(i, OperatorMark)]
        sunk = truth["outcome"] != "afloat" and truth["gauges"] == "none"
        assert marks == [("start", truth["boat"]), ("sunk" if sunk else "stop", "")]
        assert list(boats) == [truth["boat"]]
        if "line" not in truth["kinds"]:
            assert not stream.count.skipped and isinstance(items[0], Identity)
        start = next(i.at_ms for i in items if isinstance(i, OperatorMark))
        last = [i.at_ms for i in items if isinstance(i, Sample)][-1]
        # the truth's clock is the recording's, also across a reset
        assert (last - start) / 1000 == pytest.approx(truth["ends_s"], abs=0.45)


def test_the_truth_agrees_with_itself(trials):
    for _recording, setup, _boats, truth in trials:
        additions, sunk_s = truth["additions"], truth["sunk_at_s"]
        load_g = sum(a["mass_g"] for a in additions)
        assert (sunk_s is None) == (truth["outcome"] == "afloat")
        assert truth["true_capacity_g"] >= truth["capacity_g"] > 0
        if truth["outcome"] == "afloat":
            assert load_g <= truth["true_capacity_g"]
        elif truth["outcome"] == "swamped":
            assert load_g > truth["true_capacity_g"]
            assert truth["outcome_also"] == []
        else:
            assert truth["outcome_also"] or load_g < truth["capacity_g"]
        assert [truth["held_g"], truth["held_items"]] in [list(h) for h in truth["held_also"]]
        assert truth["held_g"] <= load_g + 0.001
        loads = [p["load_g"] for p in truth["plateaus"]]
        assert loads == sorted(loads)
        for plateau in truth["plateaus"]:
            assert plateau["until_s"] >= plateau["at_s"]
            assert plateau["freeboard_mm"] > -4.0  # afloat, or held back by its rim
        if truth["track"] and sunk_s is not None:
            assert truth["track"][-1][2] < -3.0 or "capsized" in truth["kinds"]
        assert all(b[0] >= a[0] for a, b in pairwise(truth["track"]))
        assert setup.item.mass_g * 0.8 < additions[0]["mass_g"] / additions[0]["items"]


def test_the_true_boat_is_near_the_measured_one(trials):
    off = []
    for _recording, _setup, boats, truth in trials:
        boat = boats[truth["boat"]]
        measured_g = capacity_g(boat.hull, boat.mass_g, water_density(20.0))
        off.append(truth["capacity_g"] / measured_g - 1)
    assert all(o != 0 for o in off)
    assert 0.02 < (sum(o * o for o in off) / N) ** 0.5 < 0.09  # 1 mm on 18 to 40 mm of depth


def test_a_leak_that_an_addition_finished_is_open_without_a_rim_gauge():
    """Trial 110 of seed 1: items were still landing when it went."""
    truth = mixed_trial(110, seed=1)[3]
    assert (truth["outcome"], truth["gauges"]) == ("leaked", "surface")
    assert truth["additions"][-1]["last_s"] > truth["sunk_at_s"] > truth["additions"][-1]["at_s"]
    assert truth["outcome_also"] == ["heeled"]


ADDITIONS = [Landed(5.0, 5.3, 50.0, 20), Landed(14.0, 14.3, 25.0, 10)]


def test_a_load_is_carried_until_the_next_and_breaks_cut_it():
    whole = carried(ADDITIONS, 20.0)
    assert [(c.load_g, c.items, c.from_s, c.to_s) for c in whole] == [
        (50.0, 20, 5.3, 14.0),
        (75.0, 30, 14.3, 20.0),
    ]
    assert best(whole, 5.0) == (75.0, 30)
    cut = carried(ADDITIONS, 20.0, [(16.0, 18.0)])
    assert [(c.from_s, c.to_s) for c in cut] == [(5.3, 14.0), (14.3, 16.0), (18.0, 20.0)]
    assert best(cut, 5.0) == (50.0, 20)
    assert best(carried(ADDITIONS, 14.1), 5.0) == (50.0, 20)  # gone while they were landing
    assert best([], 5.0) == (0.0, 0)


def test_the_silence_of_a_reset_is_in_nobodys_count():
    clock = SeenClock(10.0, [(20.0, 21.5)])
    assert [clock.at(t) for t in (10.0, 20.0, 21.0, 21.5, 30.0)] == [0.0, 10.0, 10.0, 10.0, 18.5]
