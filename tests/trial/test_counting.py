"""Counts against coins of published mass, and against simulation."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.setup import Item
from rig.trial.counting import Weighed, count, fits

# US Mint coin specifications page (cent since 1982), 31 U.S.C. 5112(a)(6) (95 % copper cent)
ZINC_CENT_G, COPPER_CENT_G = 2.500, 3.11
CENT = Item(name="cent", mass_g=ZINC_CENT_G, mass_sd_g=0.03)


@given(st.lists(st.integers(1, 40), min_size=1, max_size=12))
def test_pure_coins_are_counted_exactly_and_surely(batches):
    weighed = [Weighed(n * ZINC_CENT_G, 0.03) for n in batches]
    found = count(weighed, CENT)
    assert (found.items, found.low, found.high) == (sum(batches),) * 3
    assert 0.95 <= found.p <= 1


def test_nothing_aboard_is_surely_nothing():
    assert count([], CENT).items == 0 and count([], CENT).p == 1


def test_a_coarse_scale_is_honest_about_single_items():
    found = count([Weighed(5 * ZINC_CENT_G, 1.5)], CENT)
    assert found.p < 0.8 and found.low < 5 < found.high


@pytest.mark.parametrize("seed", range(20))
def test_two_alloys_give_a_range_that_holds_the_truth_and_no_false_certainty(seed):
    """Cents of both alloys circulate together; both were struck in 1982."""
    draw = random.Random(seed)
    batches = [draw.choice((5, 10)) for _ in range(8)]
    weighed = [
        Weighed(sum(draw.choice((ZINC_CENT_G, COPPER_CENT_G)) for _ in range(n)), 0.03)
        for n in batches
    ]
    assert not all(fits(each, CENT) for each in weighed)
    found = count(weighed, CENT)
    assert found.low <= sum(batches) <= found.high
    assert found.p < 0.5 and found.low < found.high


def test_the_probability_means_what_it_says():
    """Of counts called right with probability p, a share p is right: 4000 draws, fixed seed."""
    draw = random.Random(11)
    item = Item(name="pebble", mass_g=4.0, mass_sd_g=0.3)
    right = expected = covered = 0.0
    trials = 4000
    for _ in range(trials):
        n = draw.randint(1, 25)
        mass_g = sum(draw.gauss(4.0, 0.3) for _ in range(n)) + draw.gauss(0, 0.4)
        found = count([Weighed(mass_g, 0.4)], item)
        right += found.items == n
        expected += found.p
        covered += found.low <= n <= found.high
    spread = (expected * (1 - expected / trials)) ** 0.5
    assert abs(right - expected) < 4 * spread
    assert covered / trials >= 0.93
