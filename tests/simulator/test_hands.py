"""Hands keep to their plan, and to what the boat and the tray allow."""

from random import Random
from statistics import fmean, stdev

import pytest

from rig.setup import Item
from rig.simulator.bench import Bench
from rig.simulator.conditions import Fate
from rig.simulator.hands import Landed, Plan, lay_out
from rig.simulator.tape import held


def run(bench: Bench, for_s: float) -> None:
    for _ in range(round(for_s * 10)):
        bench.row()


def test_items_land_at_their_time_within_the_spread(setup, still, boat):
    bench = Bench(setup, still)
    bench.place_boat(boat)
    bench.load_with(Plan(((2.0, 10), (3.0, 4)), (1.5, 1), landing_s=0.4))
    run(bench, 8.1)
    additions = bench.hands.additions
    assert [a.items for a in additions] == [10, 4, 1, 1]
    assert [a.at_s for a in additions] == pytest.approx([2.0, 5.0, 6.5, 8.0], abs=0.02)
    assert 0.1 < additions[0].last_s - additions[0].at_s <= 0.41
    assert bench.world.vessel.load_g == pytest.approx(16 * 2.5)
    assert sum(a.mass_g for a in additions) == pytest.approx(16 * 2.5)


def test_hands_stop_when_the_tray_is_empty(setup, still, boat):
    bench = Bench(setup, still)
    bench.place_boat(boat, items=7)
    bench.load_with(Plan(then=(1.0, 3)))
    run(bench, 10.0)
    assert [a.items for a in bench.hands.additions] == [3, 3, 1]
    assert bench.hands.done
    assert bench.idle_s > 6


def test_hands_stop_when_the_boat_goes_down(setup, still, boat):
    bench = Bench(setup, still)
    bench.place_boat(boat, Fate(heels_at_g=30.0))
    bench.load_with(Plan(then=(1.0, 5)))
    run(bench, 10.0)
    assert sum(a.items for a in bench.hands.additions) == 15  # the third addition heels it
    assert bench.hands.done
    # fill_s and sink_s, 2.1 s after the third second (and a step or two)
    assert bench.idle_s == pytest.approx(10.0 - 3.3 - 2.1, abs=0.35)


def test_nothing_is_idle_while_water_comes_in(setup, still, boat):
    bench = Bench(setup, still)
    bench.place_boat(boat, Fate(leak_ml_s=0.5))
    bench.load_with(Plan(((1.0, 5),)))
    run(bench, 60.0)
    assert bench.hands.done
    assert bench.idle_s == 0


def test_item_masses_have_the_items_spread():
    masses = lay_out(Item(name="washer", mass_g=2.5, mass_sd_g=0.1), 2000, Random(3))
    assert fmean(masses) == pytest.approx(2.5, abs=4 * 0.1 / 2000**0.5)
    assert stdev(masses) == pytest.approx(0.1, rel=4 / 4000**0.5)
    assert min(lay_out(Item(name="grain", mass_g=0.1, mass_sd_g=0.2), 500, Random(3))) > 0


ADDITIONS = [Landed(5.0, 5.3, 50.0, 20), Landed(14.0, 14.3, 25.0, 10), Landed(18.0, 18.2, 5.0, 2)]


@pytest.mark.parametrize(
    ("end_s", "expected"),
    [
        (30.0, (80.0, 32)),
        (23.3, (80.0, 32)),  # 18.2 + 5 is 23.2
        (23.1, (50.0, 20)),  # the second had no full hold: 14.3 to 18.0
        (15.0, (50.0, 20)),
        (10.2, (0.0, 0)),
    ],
)
def test_held_is_the_largest_load_carried_through_a_hold(end_s, expected):
    assert held([a for a in ADDITIONS if a.at_s < end_s], end_s, 5.0) == expected
