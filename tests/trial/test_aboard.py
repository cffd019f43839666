"""Steps become additions: what is taken back, what a lean was, what stays as it is."""

from random import Random

import pytest

from rig.setup import Item
from rig.trial.aboard import additions, changes, items_in, total_items
from rig.trial.events import Addition
from rig.trial.leans import explain
from rig.trial.load_track import HAND_S, LoadTrack, Plateau

ITEM = Item(name="piece", mass_g=2.5, mass_sd_g=0.0)


def plateaus(*moves, n=60, way_s=0.1):
    """(at_s, mass_g) moves as plateaus of n readings each, from an empty one on."""
    level, found = 0.0, [Plateau(0.0, 0.0, n=n, total_g=0.0)]
    for at_s, mass_g in moves:
        level += mass_g
        found[-1].end_s = at_s
        found.append(Plateau(at_s + way_s, at_s, n=n, total_g=level * n))
    return found


def told(*moves, item=ITEM, noise_g=0.05, until_s=1e9, n=60, way_s=0.1, presses=1.0):
    seen = plateaus(*moves, n=n, way_s=way_s)
    now_s = seen[-1].start_s + 6
    explained = explain(seen, item, noise_g, presses, now_s) if item else []
    moved = changes(seen, explained, item, noise_g)
    aboard = additions(moved, item.mass_g if item else None, until_s)
    return [(a.at_s, round(a.mass_g, 6), a.items) for a in aboard]


@pytest.mark.parametrize(
    ("mass_g", "items"), [(25.0, 10), (26.2, 10), (26.3, 11), (0.0, 0), (-5.0, -2)]
)
def test_the_nearest_whole_number_of_items(mass_g, items):
    assert items_in(mass_g, 2.5) == items
    assert items_in(mass_g, None) is None


def test_each_step_up_is_an_addition():
    assert told((5, 25), (11, 2.5)) == [(5, 25, 10), (11, 2.5, 1)]
    assert told((5, 25), (11, 2.4), item=None) == [(5, 25, None), (11, 2.4, None)]


def test_only_what_was_aboard_by_then_is_told():
    assert told((5, 25), (11, 2.5), until_s=5) == [(5, 25, 10)]
    assert told((5, 25), (11, 2.5), until_s=4.9) == []


@pytest.mark.parametrize(
    ("changes", "left"),
    [
        ([(5, 25), (25, 10), (45, -5)], [(5, 25, 10), (25, 5, 2)]),
        ([(5, 25), (25, 10), (45, -10)], [(5, 25, 10)]),
        ([(5, 25), (25, 10), (45, -15)], [(5, 20, 8)]),  # the newest, and of the one before
        ([(5, 25), (25, 10), (45, -35)], []),
        ([(5, 25), (25, 10), (45, -50)], []),  # more than there was
        ([(5, 25), (25, -25), (45, 10)], [(45, 10, 4)]),
        ([(5, -10), (25, 10)], []),  # a hand lifted the empty rig and let go: 0 g is nothing
        ([(5, -10), (25, 20)], [(25, 10, 4)]),
        ([(5, 25), (25, -55), (45, 55)], [(5, 25, 10)]),  # lifted by 30 g more than there was
        ([(5, 25), (25, -55), (45, 35), (55, 20)], [(45, 5, 2), (55, 20, 8)]),
    ],
)
def test_what_is_taken_back_comes_off_the_newest(changes, left):
    assert told(*changes) == left


def test_what_was_lifted_beyond_what_was_aboard_comes_back_first():
    assert told((5, 25), (25, -55), (45, 55), item=None) == [(45, 25, None)]
    assert told((5, 25), (25, -55), (45, 30), (55, 7), item=None) == [(55, 7, None)]


@pytest.mark.parametrize("low_g", [-30, -20, -5, 5])
@pytest.mark.parametrize("lifted_s", [2, 4, 6, 8, 12, 20])
def test_however_far_and_long_a_hand_lifts_ten_items_stay_ten(low_g, lifted_s):
    rng, track, at_s = Random(1), LoadTrack(ITEM.mass_g), 0.0
    for load_g, seconds in ((0, 5), (25, 8), (low_g, lifted_s), (25, 8)):
        for _ in range(10 * seconds):
            at_s += 0.1
            track.feed(at_s, load_g + rng.gauss(0, 0.05))
    explained = explain(track.plateaus, ITEM, track.noise_g, 1.0, at_s)
    moved = changes(track.plateaus, explained, ITEM, track.noise_g)
    assert total_items(additions(moved, ITEM.mass_g, at_s)) == 10


def test_less_than_half_an_item_left_is_none():
    assert told((5, 25), (45, -23.8), noise_g=5.0) == []
    assert told((5, 25), (45, -23.7), noise_g=5.0) == [(5, 1.3, 1)]


def test_without_an_item_any_rest_stays():
    assert told((5, 25), (45, -24.9), item=None) == [(5, 0.1, None)]


# --- leans ---------------------------------------------------------------------------------


def test_a_lean_and_its_end_are_nothing():
    assert told((5, 25), (11, 1.2), (16, -1.2)) == [(5, 25, 10)]
    assert told((5, 25), (11, -1.2), (16, 1.2)) == [(5, 25, 10)]


def test_a_lean_that_ends_with_an_addition_is_one_addition_when_the_larger_part_came():
    assert told((5, 25), (11, 1.2), (16, 8.8)) == [(5, 25, 10), (16, 10, 4)]


def test_a_lean_around_an_addition_leaves_the_addition_whole():
    assert told((5, 25), (11, 1.2), (13, 10), (16, -1.2)) == [(5, 25, 10), (13, 10, 4)]


def test_a_lean_can_be_no_longer_than_hands_stay():
    late = told((5, 25), (11, 1.2), (11 + HAND_S, 8.8))
    assert late == [(5, 25, 10), (11 + HAND_S, 10, 4)]
    later = told((5, 25), (11, 1.2), (11.1 + HAND_S, 8.8))
    assert [mass for _, mass, _ in later] == [25, 1.2, 8.8]


def test_a_lean_is_a_few_items_at_the_most():
    """Two odd steps of many items each: no lean, though they are whole together."""
    assert [m for _, m, _ in told((5, 21.2), (11, 26.3))] == [21.2, 26.3]


def test_whole_items_are_left_alone():
    """Together they would be whole as well; each by itself is what was put on."""
    changes = [(5, 2.5), (7, 2.5), (9, 5.0), (11, 2.5)]
    assert told(*changes) == [(5, 2.5, 1), (7, 2.5, 1), (9, 5.0, 2), (11, 2.5, 1)]


def test_odd_steps_that_do_not_fit_together_stay():
    assert [m for _, m, _ in told((5, 1.2), (11, 0.8))] == [1.2, 0.8]


def test_total():
    assert total_items([]) == 0
    assert total_items([Addition(1, 25, 10), Addition(2, 2.5, 1)]) == 11
    assert total_items([Addition(1, 25, 10), Addition(2, 2.5, None)]) is None
