"""Readings in, a short series out; then the whole check on the wire's own lines."""

import numpy as np
import pytest

from rig.errors import RigError
from rig.lesson.tub_check import TubCheck
from rig.lesson.tub_facts import TubFacts, tub_area_mm2, walk_per_sqrt_h, watch_by
from rig.lesson.tub_verdict import TubFinding
from rig.lesson.tub_watch import FIRST_SPAN_S, MOST_SAMPLES, MOST_SPANS, By, TubWatch
from rig.physics.air import speed_of_sound
from rig.physics.evaporation import still_water
from rig.sensing.readings import Reading
from rig.sensing.sentences import Mark, encode
from rig.sensing.stream import Stream
from rig.setup import RigSetup
from rig.simulator import Bench, Conditions
from rig.simulator.conditions import BoardPart, Noise, Water

CELL = {
    "rig": {"name": "test rig", "layout": "tub-on-cell"},
    "load": {"zero_count": 84213, "count_per_g": 430.0},
    "surface": {"height_mm": 300.0},
    "tub": {"area_mm2": 66000.0},
    "item": {"name": "washer", "mass_g": 2.5},
}


def changed(**sections):
    return RigSetup.model_validate(
        {key: value for key, value in (CELL | sections).items() if value is not None}
    )


def fed(watch, seconds, level=lambda s: 120 - s / 3600, water_c=lambda s: None, every_s=0.1):
    for i in range(round(seconds / every_s)):
        s = i * every_s
        watch.feed(Reading(round(1000 * s), None, level(s), None, water_c(s)))
    return watch.watched()


@pytest.mark.parametrize("seconds", [120, 1000, 4000])
def test_a_straight_fall_stays_straight_however_spans_join(seconds):
    watched = fed(TubWatch(By.LEVEL), seconds, water_c=lambda s: 15 + s / 3600)
    assert np.allclose(watched.value, 120 - watched.at_h, atol=1e-9)
    assert np.allclose(watched.water_c, 15 + watched.at_h, atol=1e-9)
    assert watched.at_h.size <= MOST_SPANS
    assert watched.sample.size <= MOST_SAMPLES
    assert watched.at_h.size >= min(MOST_SPANS / 2, seconds / FIRST_SPAN_S) - 2
    assert watched.minutes == pytest.approx(seconds / 60, abs=0.01)
    assert watched.heard == 1


def test_a_quarter_of_wrong_echoes_does_not_move_a_span():
    spiked = fed(TubWatch(By.LEVEL), 300, lambda s: 250.0 if round(10 * s) % 5 == 0 else 120.0)
    assert set(spiked.value) == {120.0}


def test_silence_is_counted_and_leaves_a_gap():
    gap = fed(TubWatch(By.LEVEL), 400, lambda s: None if 100 <= s < 200 else 120.0)
    assert gap.heard == pytest.approx(0.75, abs=0.01)
    assert not ((gap.at_h > 101 / 3600) & (gap.at_h < 199 / 3600)).any()


def test_a_tub_on_the_cell_is_weighed_another_looked_at():
    assert watch_by(changed()) is By.WEIGHT
    assert watch_by(changed(), By.LEVEL) is By.LEVEL
    tray = {"name": "test rig", "layout": "feed-tray"}
    assert watch_by(changed(rig=tray)) is By.LEVEL
    with pytest.raises(RigError, match="cannot watch the weight"):
        watch_by(changed(rig=tray), By.WEIGHT)
    with pytest.raises(RigError, match="strip of tape"):
        watch_by(changed(rig=tray, surface=None))
    with pytest.raises(RigError, match=r"no \[tub\]"):
        tub_area_mm2(changed(tub=None))


def test_how_far_a_gauge_wanders_follows_the_physics_of_its_kind():
    echo = changed(surface={"height_mm": 300.0, "unit": "us", "air_c": 20.0})
    # the speed of sound rises by 0.18 % a degree (0.606 of 343 m/s, and moisture): 180 mm of air
    # seem 0.32 mm shorter
    per_c = (speed_of_sound(20.5) / speed_of_sound(19.5) - 1) * 180
    assert per_c == pytest.approx(0.32, abs=0.01)
    assert walk_per_sqrt_h(echo, By.LEVEL, 120) == pytest.approx(0.5 * per_c)
    assert walk_per_sqrt_h(changed(), By.LEVEL, 120) < 0.1
    assert walk_per_sqrt_h(changed(), By.WEIGHT, 8000) == pytest.approx(0.4)


def watched_on_the_wire(water, by, minutes=16, noise_mm=0.4, mark_at_s=None):
    setup = changed()
    board = BoardPart(rate_hz=2.0)
    bench = Bench(setup, Conditions(water=water, board=board, noise=Noise(surface_mm=noise_mm)), 7)
    check = TubCheck(setup, TubFacts(by, tub_area_mm2(setup), 20.0, still_water(20, 20)))
    stream, verdicts = Stream(), []
    for i in range(round(minutes * 60 * 2)):
        row = bench.row()
        if mark_at_s is not None and i == round(2 * mark_at_s):
            row += encode(Mark(bench.board.last_ms, "start", "Otters"))
        looked = check.feed(stream.feed(row))
        verdicts += [looked] if looked else []
    return check, verdicts


@pytest.mark.parametrize("by", By)
def test_a_leak_is_found_on_the_wire_in_either_way(by):
    check, verdicts = watched_on_the_wire(Water(leak_ml_h=600.0, dries_mm_day=2.0), by)
    assert [round(v.minutes) for v in verdicts] == [3, 6, 12]
    final = check.look()
    assert final.finding is TubFinding.LEAKS
    assert final.leak_low_ml_h < 600 < final.leak_high_ml_h
    assert final.leak_high_ml_h - final.leak_low_ml_h < 250


def test_a_sound_tub_that_dries_and_warms_is_no_leak():
    water = Water(dries_mm_day=3.0, water_c=15.0, room_c=21.0, warms_h=2.0)
    check, verdicts = watched_on_the_wire(water, By.WEIGHT)
    assert all(v.finding is not TubFinding.LEAKS for v in verdicts)
    assert check.look().finding is TubFinding.HOLDS


def test_a_boat_ends_the_watch():
    check, verdicts = watched_on_the_wire(Water(), By.WEIGHT, minutes=5, mark_at_s=60)
    assert check.ended
    assert check.minutes == pytest.approx(1, abs=0.1)
    assert verdicts == []


def test_a_check_that_heard_nothing_says_so():
    setup = changed()
    check = TubCheck(setup, TubFacts(By.WEIGHT, 1.0, 20.0, still_water(20, 20)))
    with pytest.raises(RigError, match="recording"):
        check.must_have_heard()
