"""What a watched tub is called: holds, leaks, not known yet, unusable."""

from dataclasses import replace
from itertools import islice
from math import inf

import numpy as np
import pytest

from rig.lesson.false_echoes import two_heights
from rig.lesson.tub_facts import pan_evaporation
from rig.lesson.tub_verdict import TubFinding, judge, look_times_min
from rig.lesson.tub_words import tub_lines, until_line
from rig.physics.evaporation import Evaporation

FAINT_WALK = 0.02


def test_a_flat_noisy_gauge_raises_no_leak(facts, seen):
    for seed in range(20):
        verdict = judge(seen(12, 0.1, noise_mm=0.3, seed=seed), facts, FAINT_WALK, 120)
        assert verdict.finding is TubFinding.UNKNOWN
        assert verdict.more_minutes > 5


def test_a_good_gauge_and_time_enough_show_that_it_holds(facts, seen):
    verdict = judge(seen(60, 0.1, noise_mm=0.02), facts, FAINT_WALK, 120)
    assert verdict.finding is TubFinding.HOLDS
    assert verdict.sure_high_ml_h < 0.5 * 120
    # 0.1 mm/h fall, at least 0.05 of it drying: at most 6 ml/h and the noise
    assert 6 <= verdict.leak_high_ml_h < 20


def test_a_leak_is_found_with_its_size_and_when_it_is_too_low(facts, seen):
    verdict = judge(seen(30, 4.1, noise_mm=0.05), facts, FAINT_WALK, 120)
    assert verdict.finding is TubFinding.LEAKS
    assert verdict.leak_ml_h == pytest.approx(4.0 * 120, rel=0.05)
    assert verdict.leak_low_ml_h < 480 < verdict.leak_high_ml_h
    soonest, likely = verdict.hours_until_low(10)
    assert likely == pytest.approx(10 / 4.1, rel=0.05)
    assert soonest < likely


def test_drying_alone_is_no_leak_even_at_its_strongest(facts, seen):
    verdict = judge(seen(600, 0.15, noise_mm=0.01), facts, 0.0, 120)
    assert verdict.finding is not TubFinding.LEAKS
    without = replace(facts, evaporation=Evaporation(0, 0))
    assert judge(seen(600, 0.15, noise_mm=0.01), without, 0.0, 120).finding is TubFinding.LEAKS


def test_a_pan_beside_the_tub_narrows_what_dries(facts, seen):
    # 2 mm in 10 h, read to 0.5 mm twice: 0.06 to 0.34 mm/h; after 40 h 2 mm: 0.01 to 0.09
    assert pan_evaporation(2, 10).high_mm_h == pytest.approx(1.1 * (2 + 2**1.5 * 0.5) / 10)
    slow = replace(facts, evaporation=pan_evaporation(2, 40))
    fast = replace(facts, evaporation=pan_evaporation(8, 10))
    watched = seen(600, 0.5, noise_mm=0.01)
    assert judge(watched, slow, 0.0, 120).finding is TubFinding.LEAKS
    assert judge(watched, fast, 0.0, 120).finding is not TubFinding.LEAKS


def test_warming_water_hides_a_leak_and_is_reckoned_back(facts, seen):
    # 120 mm of water from 12 to 18 C in an hour swell by 0.11 mm (Tanaka); as much leaked
    def warms(at_h):
        return 12 + 6 * at_h

    flat = judge(seen(60, 0.0, noise_mm=0.005, water_c=warms), facts, 0.0, 120)
    cold = judge(seen(60, 0.0, noise_mm=0.005), facts, 0.0, 120)
    assert flat.leak_high_ml_h - cold.leak_high_ml_h == pytest.approx(0.096 * 120, rel=0.2)
    unknown = judge(seen(60, 0.0, noise_mm=0.005), replace(facts, cold_water=True), 0.0, 120)
    assert unknown.leak_high_ml_h > cold.leak_high_ml_h + 1


def test_the_minutes_still_needed_are_enough_when_they_have_passed(facts, seen):
    first = judge(seen(10, 0.1, noise_mm=0.12), facts, FAINT_WALK, 120)
    assert first.finding is TubFinding.UNKNOWN
    later = 10 + 1.3 * first.more_minutes
    # as many spans, each longer: their noise falls with the root of the time
    noise = 0.12 * np.sqrt(10 / later)
    found = [
        judge(seen(later, 0.1, noise_mm=noise, seed=s), facts, FAINT_WALK, 120).finding
        for s in range(8)
    ]
    assert found.count(TubFinding.HOLDS) >= 7


def test_a_gauge_that_drifts_for_ever_says_so_and_asks_for_a_pan(facts, seen):
    verdict = judge(seen(600, 0.1, noise_mm=0.01, walk=2.0), facts, 2.0, 120)
    assert verdict.finding is TubFinding.UNKNOWN
    assert verdict.more_minutes is None
    assert "pan" in tub_lines(verdict, 10)[-1]


@pytest.mark.parametrize("minutes", [0.0, 1.0])
def test_nothing_is_known_of_a_watch_without_readings(facts, seen, minutes):
    empty = np.array([])
    few = seen(60, at_h=empty, value=empty, water_c=empty, sample_h=empty, sample=empty)
    verdict = judge(replace(few, minutes=minutes), facts, FAINT_WALK, None)
    assert verdict.finding is TubFinding.UNKNOWN
    assert verdict.more_minutes >= 1
    assert until_line(verdict, "09:40", 1, 10).endswith("Watch longer.")


def test_a_gauge_that_flips_between_two_echoes_is_unusable(facts, seen):
    watched = seen(30, 0.1)
    rng = np.random.default_rng(2)
    flipped = watched.sample + np.where(rng.random(800) < 0.35, 35.0, 0.0)
    verdict = judge(replace(watched, sample=flipped), facts, FAINT_WALK, 120)
    assert verdict.finding is TubFinding.UNUSABLE
    assert "flips between two readings 35" in verdict.why


def test_poured_water_is_told_as_a_jump(facts, seen):
    watched = seen(30, 0.1)
    jumped = watched.sample + np.where(watched.sample_h > 0.2, 20.0, 0.0)
    verdict = judge(replace(watched, sample=jumped), facts, FAINT_WALK, 120)
    assert verdict.finding is TubFinding.UNUSABLE
    assert "jumped by 20.0 mm 12 min" in verdict.why


def test_single_wrong_echoes_are_not_two_heights(facts, seen):
    watched = seen(30, 0.1)
    rng = np.random.default_rng(4)
    spiked = watched.sample + np.where(rng.random(800) < 0.05, 100.0, 0.0)
    assert judge(replace(watched, sample=spiked), facts, 0.02, 120).finding is not (
        TubFinding.UNUSABLE
    )


def test_an_even_spread_is_not_two_heights():
    at_h = np.arange(500) / 500
    assert two_heights(at_h, np.random.default_rng(1).uniform(0, 9, 500), 0.0) is None
    assert two_heights(at_h, 30 * at_h, 30.0) is None  # a straight fall is none either


@pytest.mark.parametrize(
    ("changed", "why"), [({"heard": 0.3}, "30%"), ({"sample": np.full(800, 7.0)}, "frozen")]
)
def test_a_deaf_or_frozen_gauge_is_unusable(facts, seen, changed, why):
    verdict = judge(seen(30, 0.1, **changed), facts, FAINT_WALK, 120)
    assert verdict.finding is TubFinding.UNUSABLE
    assert why in verdict.why


def test_will_it_be_good_until_class(facts, seen):
    leaks = judge(seen(30, 4.0, noise_mm=0.05), facts, FAINT_WALK, 120)
    assert leaks.good_for(1.0, 10) is True  # a leak, but a small one for so short a time
    assert leaks.good_for(5.0, 10) is False
    assert until_line(leaks, "09:40", 5.0, 10).startswith("Good until 09:40: no.")
    vague = judge(seen(5, 0.1, noise_mm=0.4), facts, FAINT_WALK, 120)
    assert vague.good_for(12.0, 10) is None
    frozen = judge(seen(30, heard=0.1), facts, FAINT_WALK, 120)
    assert frozen.good_for(0.1, 10) is None
    assert frozen.hours_until_low() == (0.0, inf)


def test_looks_come_at_doubling_times():
    assert list(islice(look_times_min(), 5)) == [3, 6, 12, 24, 48]
