"""Plateaus and steps in loads written down by hand, with hands, leans and noise."""

from random import Random

import pytest

from rig.trial.load_track import DIP_S, HAND_S, LoadTrack

ITEM_G = 2.5


def play(parts, item_g=ITEM_G, rate_hz=10, noise_g=0.05, seed=1):
    """A track fed with (seconds, grams) parts; grams may be a function of the part's seconds."""
    track, random, row = LoadTrack(item_g), Random(seed), 0
    for seconds, load_g in parts:
        begun = row
        for _ in range(round(seconds * rate_hz)):
            true_g = load_g((row - begun) / rate_hz) if callable(load_g) else load_g
            track.feed(row / rate_hz, true_g + random.gauss(0, noise_g))
            row += 1
    return track


def masses(track):
    return [step.mass_g for step in track.steps]


@pytest.mark.parametrize("rate_hz", [10, 80])
@pytest.mark.parametrize("item_g", [ITEM_G, None])
def test_steps_are_found_with_their_mass_and_moment(rate_hz, item_g):
    track = play([(5, 0), (6, 25), (6, 27.5), (6, 20)], item_g, rate_hz)
    assert masses(track) == pytest.approx([25, 2.5, -7.5], abs=0.06)
    assert [s.at_s for s in track.steps] == pytest.approx([5, 11, 17], abs=1.5 / rate_hz)
    assert [p.mean_g for p in track.plateaus] == pytest.approx([0, 25, 27.5, 20], abs=0.05)
    assert [p.end_s for p in track.plateaus[:3]] == pytest.approx([5, 11, 17], abs=1.5 / rate_hz)
    assert track.plateaus[-1].end_s is None and not track.moving


@pytest.mark.parametrize("rate_hz", [10, 80])
def test_it_moves_while_load_runs_in_and_comes_to_rest_within_a_second(rate_hz):
    track = play([(5, 0), (3, lambda t: 100 * t / 3)], rate_hz=rate_hz)
    assert track.moving and len(track.plateaus) == 1
    track = play([(5, 0), (3, lambda t: 100 * t / 3), (1.0, 100)], rate_hz=rate_hz)
    assert not track.moving
    (step,) = track.steps
    assert step.mass_g == pytest.approx(100, abs=0.3)
    assert step.at_s == pytest.approx(6.5, abs=0.1)  # half-way there


def test_a_plateau_counts_all_its_readings_and_no_others():
    track = play([(5, 0), (6, 25), (6, 50)])
    assert [p.n for p in track.plateaus] == [50, 60, 60]
    assert all(p.n == sum(b - a for a, b in p.spans) for p in track.plateaus)


def test_mean_since_is_of_the_readings_from_then_on():
    track = play([(5, 0), (1, 10)], noise_g=0)
    assert track.mean_since(5.0) == pytest.approx(10)
    assert track.mean_since(4.95) == pytest.approx(10)
    assert track.mean_since(4.0) == pytest.approx(5)
    assert track.mean_since(6.0) is None


def test_noise_is_a_hundredth_of_an_item_at_least():
    assert play([(5, 0)], noise_g=0).noise_g == ITEM_G / 100
    assert play([(5, 0)], None, noise_g=0).noise_g == 0.02
    assert play([(60, 0)], noise_g=0.3).noise_g == pytest.approx(0.3, rel=0.15)


# --- hands -----------------------------------------------------------------------------------


@pytest.mark.parametrize("rate_hz", [10, 80])
@pytest.mark.parametrize("seconds", [0.3, 1.0, 2.0, 3.0])
@pytest.mark.parametrize("hand_g", [20, 300, -20, -300])
def test_a_hand_that_presses_or_lifts_leaves_no_step(hand_g, seconds, rate_hz):
    track = play([(5, 0), (6, 25), (seconds, 25 + hand_g), (6, 25)], rate_hz=rate_hz)
    assert masses(track) == pytest.approx([25], abs=0.06)
    plateau = track.plateaus[-1]
    assert plateau.end_s is None and plateau.mean_g == pytest.approx(25, abs=0.05)
    assert plateau.n <= 12 * rate_hz  # none of the hand's own rows


@pytest.mark.parametrize("seconds", [0.3, 1.0, 2.0, 3.0])
@pytest.mark.parametrize("hand_g", [60, 300, -21.2, -300])
def test_items_that_go_aboard_under_a_hand_are_one_step(hand_g, seconds):
    track = play([(5, 0), (6, 25), (seconds, 25 + hand_g), (6, 50)])
    assert masses(track) == pytest.approx([25, 25], abs=0.06)
    # weight that came with the hand came at 11 s, weight that showed when it went came then
    at_s = 11 if hand_g > 0 else 11 + seconds
    assert track.steps[-1].at_s == pytest.approx(at_s, abs=0.11)


def test_an_item_lent_for_no_longer_than_a_hand_stays_leaves_the_plateau_whole():
    track = play([(5, 0), (6, 25), (DIP_S - 1, 27.5), (6, 25)])
    assert masses(track) == pytest.approx([25], abs=0.06)
    assert track.plateaus[-1].start_s == pytest.approx(5, abs=0.2)


@pytest.mark.parametrize("seconds", [DIP_S + 1, HAND_S - 3, HAND_S + 3])
def test_items_that_stayed_longer_were_aboard(seconds):
    track = play([(5, 0), (6, 25), (seconds, 27.5), (6, 25)])
    assert masses(track) == pytest.approx([25, 2.5, -2.5], abs=0.06)


def test_a_few_whole_items_taken_out_before_more_go_aboard_are_no_hand():
    """Two items out for 2 s, then ten more: nobody presses with 5 g."""
    track = play([(5, 0), (6, 25), (2, 20), (6, 50)])
    assert masses(track) == pytest.approx([25, -5, 30], abs=0.1)


def test_what_leans_for_longer_than_hands_stay_is_a_load():
    track = play([(5, 0), (6, 25), (HAND_S + 3, 28.7), (6, 25)])
    assert masses(track) == pytest.approx([25, 3.7, -3.7], abs=0.06)


def test_the_step_back_is_told_when_it_happens():
    track = LoadTrack(ITEM_G)
    told = []
    for i in range(200):
        load_g = 0 if i < 50 else 25 if i < 100 else 27.5 if i < 150 else 25
        step = track.feed(i / 10, float(load_g))
        told += [(step.at_s, step.mass_g)] if step else []
    assert told == [(5.0, 25.0), (10.0, 2.5), (15.0, -2.5)]


@pytest.mark.parametrize("lean_g", [1.0, 3.0, 6.0, -4.0])
def test_a_lean_leaves_no_step(lean_g):
    """Slowly a few grams, a while, and slowly back."""
    lean = [
        (2, lambda t: 25 + lean_g * t / 2),
        (5, 25 + lean_g),
        (2, lambda t: 25 + lean_g * (1 - t / 2)),
    ]
    track = play([(5, 0), (6, 25), *lean, (6, 25)])
    # what is less than half an item is taken for the same load, and stays in its mean
    close_g = 0.15 if abs(lean_g) > ITEM_G / 2 else lean_g / 2
    assert masses(track) == pytest.approx([25], abs=close_g)


def test_a_climb_in_short_stops_is_no_hand():
    """A short plateau between the load before and the load after is an addition."""
    track = play([(5, 0), (1.5, 25), (6, 50)])
    assert masses(track) == pytest.approx([25, 25], abs=0.1)


def test_two_additions_half_a_second_apart_are_one():
    track = play([(5, 0), (0.5, 25), (6, 50)])
    assert masses(track) == pytest.approx([50], abs=0.06)


def test_two_additions_two_seconds_apart_are_two():
    track = play([(5, 0), (2, 25), (6, 30)])
    assert masses(track) == pytest.approx([25, 5], abs=0.1)


# --- noise -----------------------------------------------------------------------------------


@pytest.mark.parametrize("rate_hz", [10, 80])
@pytest.mark.parametrize("seed", range(8))
def test_one_item_is_found_in_noise_of_a_quarter_item(seed, rate_hz):
    track = play([(8, 0), (8, ITEM_G), (8, 2 * ITEM_G)], rate_hz=rate_hz, noise_g=0.625, seed=seed)
    # the mean of 80 rows scatters by 0.07 g, a difference of two by 0.10 g
    assert masses(track) == pytest.approx([ITEM_G, ITEM_G], abs=0.5)
    assert [s.at_s for s in track.steps] == pytest.approx([8, 16], abs=0.7)


@pytest.mark.parametrize("item_g", [ITEM_G, None])
def test_an_hour_of_noise_holds_no_step(item_g):
    track = play([(3600, 0)], item_g, noise_g=0.625, seed=11)
    assert track.steps == [] and len(track.plateaus) == 1
    assert track.plateaus[0].n > 35_000
    assert track.plateaus[0].mean_g == pytest.approx(0, abs=4 * 0.625 / 190)


def test_a_zero_that_wanders_makes_no_step():
    """0.3 g a minute for ten minutes, more than an item in all: a warming room."""
    track = play([(600, lambda t: 0.3 * t / 60)], noise_g=0.1, seed=2)
    assert track.steps == []
    assert track.plateaus[0].spans == [(0, 6000)]  # it never seemed to move


def test_without_noise_a_step_of_an_item_is_still_found():
    assert masses(play([(5, 0), (5, ITEM_G)], noise_g=0)) == [ITEM_G]


def test_too_few_readings_make_no_plateau():
    track = play([(0.4, 0)])
    assert track.plateaus == [] and track.moving and track.steps == []
