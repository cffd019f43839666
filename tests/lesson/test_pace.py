"""Will every group get its turn? Beside arithmetic, a distribution, and common practice."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import lognorm

from rig.errors import OutOfRange
from rig.lesson.pace import Lesson, plan_pace, play, with_results
from rig.lesson.running_clock import OnTime, running_clock

ALIKE = replace(Lesson(), spread=0.0, capacity_items=52.0, groups=6)


def test_boats_all_alike_are_plain_arithmetic():
    # 52 items by fives: the 11th addition sinks it; 11 x (2 + 3 + 5) + 10 s, six boats with five
    # resets between them
    pace = play(ALIKE, 5, by_forecast=False, classes=10)
    assert pace.finish_min * 60 == pytest.approx(6 * (11 * 10.0 + 10) + 5 * 45)
    assert pace.finish_95_min == pytest.approx(pace.finish_min)
    assert pace.trial_min * 60 == pytest.approx(11 * 10 + 10 + 45)
    assert pace.all_tested == 1


def test_two_tubs_take_half_the_turns():
    one = play(ALIKE, 5, by_forecast=False, classes=10).finish_min * 60 + 45
    two = play(replace(ALIKE, tubs=2), 5, by_forecast=False, classes=10).finish_min * 60 + 45
    assert two == pytest.approx(one / 2)
    five = replace(ALIKE, tubs=2, groups=5)  # three turns, not two and a half
    assert play(five, 5, False, classes=10).finish_min * 60 + 45 == pytest.approx(one / 2)


@pytest.mark.parametrize("items", [1, 5, 20])
def test_the_mean_trial_agrees_with_the_lognormals_tail(items):
    # additions = floor(c / items) + 1; the mean of a count N is the sum of P(N > k), here scipy's
    # survival function at each whole addition; 2 % for 14 000 boats
    lesson = Lesson()
    tail = lognorm(lesson.spread, scale=lesson.capacity_items).sf(np.arange(0, 2000, items))
    each_s = tail.sum() * lesson.addition_s(items) + lesson.start_s + lesson.reset_s
    assert play(lesson, items, by_forecast=False).trial_min * 60 == pytest.approx(each_s, rel=0.02)


def test_common_practice_one_at_a_time_overran_and_five_at_a_time_fitted():
    # common practice, no source: a block of 45 minutes
    plan = plan_pace(Lesson())
    one = plan.tried[0]
    assert one.items == 1 and one.finish_min > 45 and one.all_tested < 0.01
    assert plan.fixed is not None and plan.fixed.items == 5
    assert plan.fixed.all_tested >= 0.95


def test_loading_by_forecast_is_finer_and_quicker():
    plan = plan_pace(Lesson())
    assert plan.by_forecast is not None and plan.by_forecast.items == 1
    assert plan.by_forecast.overshoot < 0.05  # the low end of a 90 % interval
    same = play(Lesson(), 5, by_forecast=True)
    assert plan.saved_min == pytest.approx(plan.fixed.finish_min - same.finish_min)
    assert plan.saved_min > 5


def test_a_poor_forecast_costs_minutes_and_overshoots_no_more_than_it_says():
    rough = play(replace(Lesson(), forecast_spread=0.3), 1, by_forecast=True)
    fine = play(replace(Lesson(), forecast_spread=0.03), 1, by_forecast=True)
    assert rough.finish_min > fine.finish_min + 3
    assert rough.overshoot <= 0.05 + 0.01


def test_a_stated_95_percent_is_95_percent_of_other_classes():
    # another seed is another 2000 classes: the share within the stated time, known to 0.5 %
    stated = play(Lesson(), 5, by_forecast=False, seed=1).finish_95_min
    lesson = replace(Lesson(), block_min=stated + 10)
    assert play(lesson, 5, by_forecast=False, seed=2).all_tested == pytest.approx(0.95, abs=0.02)


def test_the_same_seed_gives_the_same_plan():
    assert plan_pace(Lesson(), seed=4) == plan_pace(Lesson(), seed=4)
    assert play(Lesson(), 5, False, seed=4) != play(Lesson(), 5, False, seed=5)


def test_a_block_that_is_too_short_for_anything_says_so():
    plan = plan_pace(replace(Lesson(), block_min=14.0, groups=20))
    assert plan.fixed is None and plan.by_forecast is None
    assert plan.saved_min > 0


@pytest.mark.parametrize(
    "wrong",
    [
        {"groups": 0},
        {"tubs": 0},
        {"capacity_items": 0.0},
        {"hold_s": -1.0},
        {"talk_min": 60.0},
        {"spread": 2.1},
        {"block_min": float("nan")},
    ],
)
def test_a_lesson_that_cannot_be(wrong):
    with pytest.raises(OutOfRange):
        replace(Lesson(), **wrong)


def test_not_even_one_at_a_time_is_an_error():
    with pytest.raises(OutOfRange):
        play(Lesson(), 0, by_forecast=False)
    with pytest.raises(OutOfRange):
        plan_pace(Lesson(), assurance=1.0)


def test_earlier_boats_give_capacity_and_spread():
    lesson = with_results(Lesson(), [40.0, 80.0, 160.0])
    assert lesson.capacity_items == pytest.approx(80)
    assert lesson.spread == pytest.approx(np.log(2))
    with pytest.raises(OutOfRange):
        with_results(Lesson(), [40.0, 80.0])


# --- the running clock -----------------------------------------------------------------------

PLANNED = play(Lesson(), 1, by_forecast=True)


def test_a_class_that_keeps_to_its_plan_is_on_time():
    clock = running_clock(Lesson(), PLANNED, 5.0, 7, [])
    assert (clock.on_time, clock.minutes_left, clock.fine) == (OnTime.YES, 35.0, None)
    assert clock.needed_min == pytest.approx(PLANNED.finish_min, rel=0.05)
    assert clock.needed_95_min == pytest.approx(PLANNED.finish_95_min, rel=0.05)
    assert clock.text == "35 minutes left, 7 boats to go: on time."


def test_a_slow_class_is_told_to_put_more_on_at_a_time():
    clock = running_clock(Lesson(), PLANNED, 25.0, 4, [5.5, 5.0, 6.0])
    assert clock.on_time is OnTime.NO
    assert clock.fine is not None and clock.fine > 1
    assert f"Put {clock.fine} on at a time" in clock.text
    wait = running_clock(Lesson(), PLANNED, 38.0, 4, [5.5, 5.0, 6.0])
    assert wait.fine is None
    assert "next lesson" in wait.text


def test_tight_is_told_from_hopeless():
    needed = running_clock(Lesson(), PLANNED, 5.0, 4, [])
    between = (needed.needed_min + needed.needed_95_min) / 2
    assert running_clock(Lesson(), PLANNED, 40 - between, 4, []).on_time is OnTime.TIGHT


def test_nobody_left_is_done_whatever_the_clock_says():
    clock = running_clock(Lesson(), PLANNED, 50.0, 0, [4.0] * 7)
    assert (clock.on_time, clock.text) == (OnTime.DONE, "Every boat has had its turn.")


@pytest.mark.parametrize(("elapsed", "left", "spent"), [(-1, 3, []), (1, -1, []), (1, 1, [-2.0])])
def test_times_that_cannot_be(elapsed, left, spent):
    with pytest.raises(OutOfRange):
        running_clock(Lesson(), PLANNED, elapsed, left, spent)
