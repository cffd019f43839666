"""The goal a wanted share reaches: with many boats Kaplan-Meier's, with none what was thought."""

import csv
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import lognorm

from rig.errors import OutOfRange
from rig.lesson.earlier_boats import EarlierBoat, kaplan_meier
from rig.lesson.goal import (
    OVER_CEILING,
    Beforehand,
    plan_goal,
    thought_beforehand,
)

with open(Path(__file__).parents[1] / "reference" / "remission.csv", encoding="utf-8") as file:
    # E.J. Freireich et al., Blood 21 (1963) 699-716, 6-MP arm
    REMISSION = [
        EarlierBoat(float(row["time_weeks"]), row["relapse"] == "1") for row in csv.DictReader(file)
    ]
NOTHING = Beforehand(boats=1e-9)
USUAL = lognorm(0.5, scale=80)


def test_without_anything_thought_beforehand_it_is_kaplan_meier():
    # the published remission data as if they were items: share that reaches t + 1 is S(t)
    plan, curve = plan_goal(REMISSION, NOTHING), kaplan_meier(REMISSION)
    for at, share in zip(curve.items, curve.share, strict=True):
        if at < 23:  # after that each draw is decided by three boats: 1 % of noise
            assert plan.passing(at + 1)[0] == pytest.approx(share, abs=0.012)


def test_without_boats_it_is_what_was_thought():
    plan = plan_goal([])
    for goal in (20, 35, 60, 100, 150):
        assert plan.passing(goal)[0] == pytest.approx(USUAL.sf(goal), abs=0.03)
    assert plan.goal_items == pytest.approx(USUAL.isf(0.4), abs=6)


def test_common_practice_a_goal_of_35_was_passed_by_nearly_all():
    # common practice, no source: many boats carried over 100
    plan = plan_goal([])
    assert plan.passing(35)[0] > 0.9
    assert plan.passing(100)[0] > 0.3
    assert plan.goal_items > 2 * 35


def test_many_boats_outvote_what_was_thought():
    boats = [EarlierBoat(float(i), True) for i in range(20, 40)] * 3
    plan = plan_goal(boats)
    # of 20 to 39 evenly, 40 % reach 32 and more
    assert plan.goal_items == pytest.approx(32, abs=1)
    assert plan.low_items <= 31 <= plan.high_items


def test_boats_that_never_sank_count_as_more_than_they_carried():
    sank = [EarlierBoat(50.0, True)] * 8
    plain = plan_goal([*sank, *[EarlierBoat(60.0, True)] * 6])
    open_end = plan_goal([*sank, *[EarlierBoat(60.0, False)] * 6])
    assert open_end.passing(61)[0] > plain.passing(61)[0] + 0.2
    assert open_end.passing(60)[0] == pytest.approx(plain.passing(60)[0], abs=0.02)


def test_more_boats_narrow_the_goal():
    rng = np.random.default_rng(4)
    boats = [EarlierBoat(float(x), True) for x in np.floor(80 * np.exp(0.5 * rng.normal(size=60)))]
    few, many = plan_goal(boats[:6]), plan_goal(boats)
    assert many.high_items - many.low_items < (few.high_items - few.low_items) / 1.5


@pytest.mark.parametrize("n", [6, 20])
def test_a_95_percent_interval_holds_the_truth(n):
    # classes as thought beforehand: their true curve drawn from the same beta process would be
    # exact; here each class is lognormal about the usual median, spread 20 %, some boats stopped
    # at 100 items. The goal is 93 to 97 %; 80 classes tell it to 2.4 % (one sd).
    rng, held, classes = np.random.default_rng(7), 0, 80
    for _ in range(classes):
        median = 80 * np.exp(0.2 * rng.normal())
        carried = np.floor(median * np.exp(0.5 * rng.normal(size=n)))
        stopped = rng.random(n) < 0.3
        boats = [
            EarlierBoat(min(x, 100.0) if stop else x, not (stop and x > 100))
            for x, stop in zip(carried, stopped, strict=True)
        ]
        _, low, high = plan_goal(boats).passing(80)
        held += low <= lognorm(0.5, scale=median).sf(80) <= high
    assert held / classes >= 0.93 - 0.048


def test_a_dry_run_and_a_ceiling_say_where_to_begin():
    assert thought_beforehand(None, 120).median_items == 90
    assert thought_beforehand(200, None).median_items == 100
    both = thought_beforehand(200, 120)
    assert (both.median_items, both.ceiling_items) == (90, 200)
    assert thought_beforehand() == Beforehand()


def test_nothing_beyond_the_ceiling_is_expected_until_it_was_seen():
    thought = thought_beforehand(ceiling_items=60)
    assert plan_goal([], thought).passing(60 * OVER_CEILING + 2)[1:] == (0.0, 0.0)
    seen = plan_goal([EarlierBoat(90.0, True)] * 4, thought)
    assert seen.passing(90)[0] > 0.3


def test_the_share_falls_as_the_goal_rises_and_the_goal_as_the_share_rises():
    plan = plan_goal(REMISSION)
    shares = [plan.passing(goal)[0] for goal in range(0, 300, 5)]
    assert shares[0] == 1 and shares == sorted(shares, reverse=True)
    assert plan.passing(1e6) == (0, 0, 0)
    goals = [plan_goal(REMISSION, wanted_share=share).goal_items for share in (0.2, 0.4, 0.8)]
    assert goals == sorted(goals, reverse=True) and len(set(goals)) == 3


def test_how_many_groups_of_a_class():
    low, high = plan_goal([]).groups(plan_goal([]).goal_items, 7)
    assert 0 <= low < 0.4 * 7 < high <= 7
    assert plan_goal([]).groups(0, 7) == (7, 7)


def test_the_same_seed_gives_the_same_goal():
    assert plan_goal([], seed=3).passing(80) == plan_goal([], seed=3).passing(80)


@pytest.mark.parametrize("share", [0.0, 1.0, -0.1])
def test_shares_that_cannot_be(share):
    with pytest.raises(OutOfRange):
        plan_goal([], wanted_share=share)


def test_loads_that_cannot_be():
    with pytest.raises(OutOfRange):
        plan_goal([EarlierBoat(-1.0, True)])
    with pytest.raises(OutOfRange):
        thought_beforehand(0.0, None)
    with pytest.raises(OutOfRange):
        plan_goal([]).passing(-1)
