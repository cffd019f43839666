"""Between two boats: items back, boat out, zero or not; and weighing a boat on the rig."""

import random

import pytest

from rig.errors import OutOfPlace
from rig.lesson.registering import boat_mass
from rig.lesson.reset import BoatThere, Settling, Still, judge_reset
from rig.sensing.readings import Reading
from rig.setup import RigSetup

RIG = {
    "rig": {"name": "test rig", "layout": "feed-tray"},
    "load": {"zero_count": 0, "count_per_g": 430.0, "count_per_g_sd": 0.43},
    "surface": {"height_mm": 400.0},
    "tub": {"area_mm2": 66000.0},
    "item": {"name": "washer", "mass_g": 2.5},
}
BEFORE = Still(435.0, 0.01, 120.0, 0.02)  # tray of 60 g and 150 items


def rig(**sections):
    return RigSetup.model_validate(
        {key: value for key, value in (RIG | sections).items() if value is not None}
    )


def judged(gross_g, level_mm=120.0, used=40, **more):
    setup = more.pop("setup", None) or rig()
    return judge_reset(setup, BEFORE, Still(gross_g, 0.01, level_mm, 0.02), 30.0, used, **more)


def test_all_back_boat_out_ready():
    state = judged(435.0)
    assert state.may_zero and state.at_rest
    assert (state.missing_items, state.boat, state.to_do) == (0, BoatThere.OUT, ())
    assert state.text == "Ready: the next boat can start."


def test_items_still_in_the_tub_are_counted_and_weighed():
    state = judged(435.0 - 7.5)
    assert not state.may_zero
    assert state.text == "3 items, 7.5 g, still in the tub."
    assert judged(432.5).text == "1 item, 2.5 g, still in the tub."


def test_wet_items_that_weigh_more_do_not_stop_the_class():
    # 80 coins with 1.5 % of water on them weigh 3 g more: one item
    assert judged(438.0, used=80).may_zero
    assert "no item" in judged(448.0, used=80).text


def test_a_boat_in_the_tub_lifts_the_level():
    # 30 g in 66 000 mm2: 0.45 mm (Archimedes)
    state = judged(435.0, level_mm=120.45)
    assert (state.boat, state.may_zero) == (BoatThere.IN, False)
    assert state.text == "Take the boat out of the tub."
    assert judged(435.0, level_mm=120.02).boat is BoatThere.OUT


def test_foil_that_went_down_is_not_taken_for_a_boat_that_is_out():
    # 30 g of aluminium, 2.7 g/mL (OpenStax College Physics 2e, densities): 11.1 mL, 0.17 mm
    state = judged(435.0, level_mm=120 + 30 / 2.7 / 66)
    assert (state.boat, state.may_zero) == (BoatThere.UNSEEN, False)


def test_a_tap_does_not_outdo_a_gauge_that_sees_the_boat():
    state = judged(435.0, level_mm=120.45, boat_seen_out=True)
    assert (state.boat, state.may_zero) == (BoatThere.IN, False)


def test_a_boat_that_no_gauge_sees_is_not_weighed_as_items():
    cell = rig(rig={"name": "test rig", "layout": "tub-on-cell"}, surface=None)
    state = judged(435.0 + 30.0, level_mm=None, setup=cell)
    assert (state.missing_items, state.may_zero) == (None, False)
    assert state.text == "Is the boat out? No gauge can tell: say so."
    seen = judged(435.0 + 5.0, level_mm=None, setup=cell, boat_seen_out=True)
    assert seen.text == "2 items, 5.0 g, still in the tub."


def test_a_gauge_too_coarse_for_the_boat_leaves_it_to_eyes():
    coarse = Still(435.0, 0.01, 120.0, 0.2)
    state = judge_reset(rig(), coarse, coarse, 30.0, 40)
    assert (state.boat, state.may_zero) == (BoatThere.UNSEEN, False)
    assert judge_reset(rig(), coarse, coarse, 30.0, 40, boat_seen_out=True).may_zero
    assert judged(435.0, setup=rig(tub=None)).boat is BoatThere.UNSEEN


def test_splashed_water_is_topped_up_first():
    assert judged(435.0, level_mm=116.0).to_do == (
        "The water stands lower than before: top it up.",
    )


def test_while_hands_are_at_it_nothing_is_known():
    state = judge_reset(rig(), BEFORE, None, 30.0, 40)
    assert (state.at_rest, state.may_zero, state.missing_items) == (False, False, None)
    assert state.text == "Hands off for a moment."


def test_a_silent_scale_asks_for_a_count():
    state = judge_reset(rig(), BEFORE, Still(None, 0.0, 120.0, 0.02), 30.0, 40)
    assert state.text == "Count the items: the scale says nothing."
    assert not state.may_zero


@pytest.mark.parametrize("layout", ["feed-tray", "tub-on-cell"])
def test_a_scale_that_was_silent_before_the_trial_never_lets_the_rig_zero(layout):
    setup = rig(rig={"name": "test rig", "layout": layout})
    silent = Still(None, 0.0, 120.0, 0.02)
    state = judge_reset(setup, silent, BEFORE, 30.0, 40)
    assert (state.may_zero, state.text) == (False, "Count the items: the scale says nothing.")


def test_a_tub_on_the_cell_weighs_what_is_left_in_it():
    cell = rig(rig={"name": "test rig", "layout": "tub-on-cell"})
    assert judged(435.0 + 5.0, setup=cell).text == "2 items, 5.0 g, still in the tub."
    with_boat = judged(435.0 + 30.0, 120.45, setup=cell)
    assert (with_boat.missing_items, with_boat.boat) == (0, BoatThere.IN)
    assert judged(435.0 - 4.0, setup=cell).may_zero  # a wet boat took a little water along


# --- at rest -----------------------------------------------------------------------------------


def settled(values, noise=0.05, restarted_at=None):
    rng, settling = random.Random(4), Settling()
    for i, value in enumerate(values):
        gross = None if value is None else rng.gauss(value, noise)
        settling.feed(Reading(100 * i, gross, None, None, None, i == restarted_at))
    return settling.still()


def test_a_still_rig_gives_its_mean():
    still = settled([200.0] * 30)
    assert still.gross_g == pytest.approx(200, abs=0.05)
    assert still.gross_g_sd == pytest.approx(0.05 / 21**0.5, rel=0.4)
    assert still.level_mm is None


@pytest.mark.parametrize(
    "values",
    [
        [200.0] * 15 + [205.0] * 6,  # something was laid down
        [200.0 + i for i in range(30)],  # something is on its way
        [200.0] * 10,  # not long enough yet
    ],
)
def test_what_moves_is_not_at_rest(values):
    assert settled(values) is None


def test_rest_comes_two_seconds_after_the_hand():
    assert settled([205.0] * 15 + [200.0] * 22).gross_g == pytest.approx(200, abs=0.05)


def test_a_board_that_came_up_anew_begins_anew():
    assert settled([200.0] * 30, restarted_at=20) is None


def test_a_slope_of_noise_alone_is_rest_in_999_of_1000():
    # 4 standard errors of a difference; 10 + 11 readings, so a t of 19 degrees: 1 in 1300
    rng = random.Random(8)
    moving = 0
    for _ in range(300):
        settling = Settling()
        for i in range(21):
            settling.feed(Reading(100 * i, rng.gauss(200, 0.5), None, None, None))
        moving += settling.still() is None
    assert moving <= 3


# --- a boat is weighed -------------------------------------------------------------------------


def test_a_boat_on_the_rig_has_its_mass_and_its_doubt():
    found = boat_mass(rig(), Still(435.0, 0.03, None, 0), Still(455.0, 0.04, None, 0))
    assert found.mass_g == 20
    # noise of both weighings 0.05, and 0.1 % of 20 g by the calibration
    assert found.mass_g_sd == pytest.approx((0.05**2 + 0.02**2) ** 0.5)


@pytest.mark.parametrize(
    ("empty", "with_boat", "says"),
    [
        (None, BEFORE, "moving"),
        (BEFORE, None, "moving"),
        (BEFORE, Still(None, 0, None, 0), "type the boat's mass"),
        (BEFORE, Still(435.2, 0.01, None, 0), "no boat"),
        (BEFORE, Still(436.0, 0.5, None, 0), "no boat"),
    ],
)
def test_weighings_that_are_none(empty, with_boat, says):
    with pytest.raises(OutOfPlace, match=says):
        boat_mass(rig(), empty, with_boat)
