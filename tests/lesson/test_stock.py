"""How many weights; beside order statistics and the chi-square table."""

import numpy as np
import pytest
from scipy.stats import lognorm

from rig.errors import OutOfRange
from rig.lesson.stock import Boats, fits_in, heap_ml, plan_stock
from rig.lesson.weigh_twenty import own_mass, weighings_from_text
from rig.physics.hulls import Box
from rig.setup.everyday import find_item

ALIKE = Boats(groups=6, capacity_g=201.0, spread=0.0)


def test_boats_all_alike_take_one_item_more_than_they_carry():
    stock = plan_stock(ALIKE, 2.5)  # 80.4 items: 80 aboard, the 81st sinks it
    assert (stock.needed, stock.needed_g) == (81, 202.5)
    assert (stock.have, stock.boats_between) == (81, 1)
    assert (stock.short_boats, stock.short_class) == (0, 0)


def test_without_resets_they_are_used_up():
    assert plan_stock(ALIKE, 2.5, reset_every=3).needed == 3 * 81
    assert plan_stock(ALIKE, 2.5, reset_every=60).needed == 6 * 81
    assert plan_stock(ALIKE, 2.5, have=250).boats_between == 3
    tight = plan_stock(ALIKE, 2.5, have=200, reset_every=3)
    assert (tight.short_boats, tight.short_class) == (2.0, 1.0)  # each third boat finds 38


def test_two_tubs_want_two_heaps():
    assert plan_stock(ALIKE, 2.5, tubs=2).needed == 162
    assert plan_stock(ALIKE, 2.5, tubs=2, have=160).short_boats == 6


def test_the_largest_of_seven_boats():
    # the largest of n lognormals lies below x with F(x)^n: its 95 % point is F^-1(0.95^(1/7))
    boats = Boats(groups=7, capacity_g=200.0, spread=0.5)
    point = lognorm(0.5, scale=80).ppf(0.95 ** (1 / 7))
    assert plan_stock(boats, 2.5).needed == pytest.approx(point + 1, rel=0.03)


def test_what_a_shortage_does():
    boats = Boats(groups=7, capacity_g=200.0, spread=0.5)
    stock = plan_stock(boats, 2.5, have=120)
    alone = lognorm(0.5, scale=80).sf(120)
    assert stock.short_boats == pytest.approx(7 * alone, rel=0.06)
    assert stock.short_class == pytest.approx(1 - (1 - alone) ** 7, abs=0.03)


def test_the_assurance_is_kept_in_other_classes():
    boats = Boats()
    needed = plan_stock(boats, 2.5, seed=1).needed
    assert plan_stock(boats, 2.5, have=needed, seed=2).short_class == pytest.approx(0.05, abs=0.015)


@pytest.mark.parametrize(
    "wrong", [{"item_g": 0.0}, {"have": -1}, {"reset_every": 0}, {"assurance": 1.0}, {"tubs": 0}]
)
def test_numbers_that_cannot_be(wrong):
    with pytest.raises(OutOfRange):
        plan_stock(ALIKE, **({"item_g": 2.5} | wrong))


def test_boats_that_cannot_be():
    with pytest.raises(OutOfRange):
        Boats(groups=0)
    with pytest.raises(OutOfRange):
        Boats(capacity_g=-1)


def test_the_heap_against_the_hulls_room():
    # box of 180 ml and 20 g carries 160 g of water's density 1: cents (7.2 x 0.55) take 40 ml
    cent, marble = find_item("US cent"), find_item("glass marble 16")
    hull = Box(100.0, 60.0, 30.0)
    assert heap_ml(160.0, cent) == pytest.approx(160 / (7.2 * 0.55))
    assert fits_in(hull, 20.0, 1.0, cent) == pytest.approx(160 / (7.2 * 0.55) / 180)
    assert fits_in(hull, 20.0, 1.0, marble) < 1
    with pytest.raises(OutOfRange):
        fits_in(hull, 200.0, 1.0, cent)


# --- weigh twenty and divide -------------------------------------------------------------------


def test_twenty_at_once_give_the_mass_and_no_spread():
    own = own_mass([(20, 56.8)], 0.1)
    assert own.mass_g == pytest.approx(2.84)
    # 3 % of 2.84 over sqrt(20), and 0.1 / 20
    assert own.mass_g_sd == pytest.approx(np.hypot(0.03 * 2.84 / np.sqrt(20), 0.005))
    assert own.spread_g is None


def test_the_interval_of_the_spread_is_chi_squares():
    # five single items without weighing noise: sd of 2, 4, 4, 4, 6 is sqrt(2); chi-square with 4
    # degrees of freedom: 0.484 and 11.143 (NIST/SEMATECH e-Handbook, 1.3.6.7.4)
    own = own_mass([(1, 2.0), (1, 4.0), (1, 4.0), (1, 4.0), (1, 6.0)], 0.0)
    assert own.spread_g == pytest.approx(np.sqrt(2))
    assert own.spread_low_g == pytest.approx(np.sqrt(8 / 11.143), rel=1e-3)
    assert own.spread_high_g == pytest.approx(np.sqrt(8 / 0.484), rel=2e-3)


def test_what_the_scale_alone_explains_is_no_spread():
    own = own_mass([(5, 14.0), (5, 14.1), (5, 14.0), (5, 14.1)], 0.2)
    assert own.spread_g == own.spread_low_g == 0.0


def test_95_percent_of_intervals_hold_mass_and_spread():
    # 5 batches of 4, spread 0.08 g, scale 0.03 g; 400 draws tell a share to 1.1 % (one sd)
    rng, mass_held, spread_held = np.random.default_rng(3), 0, 0
    for _ in range(400):
        batches = [
            (4, float(2.5 * 4 + 0.08 * rng.normal(size=4).sum() + 0.03 * rng.normal()))
            for _ in range(5)
        ]
        own = own_mass(batches, 0.03)
        mass_held += abs(own.mass_g - 2.5) <= 2.776 * own.mass_g_sd  # Student's t, 4 degrees
        spread_held += own.spread_low_g <= 0.08 <= own.spread_high_g
    assert 0.93 - 0.022 <= mass_held / 400 <= 0.97 + 0.022
    assert 0.93 - 0.022 <= spread_held / 400 <= 0.97 + 0.022


def test_weighings_are_written_as_items_and_grams():
    assert weighings_from_text("5=14.1, 20=56.8g") == [(5, 14.1), (20, 56.8)]
    with pytest.raises(OutOfRange, match='"5:14"'):
        weighings_from_text("5:14")
    with pytest.raises(OutOfRange):
        own_mass([(0, 3.0)], 0.1)
