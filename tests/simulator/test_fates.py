"""How boats go down besides plainly: rims that hold back, air that leaves slowly, keel up."""

from random import Random
from statistics import fmean, stdev

import pytest

from rig.physics.hulls import Dish
from rig.physics.water import water_density
from rig.setup import Boat
from rig.simulator.conditions import Fate
from rig.simulator.ruler import true_boat
from rig.simulator.scenario import read_scenario
from rig.simulator.tape import simulate
from rig.simulator.troubles import RulerPart
from rig.simulator.world import World

DENSITY = water_density(4.0)
AREA_MM2 = 66000.0


def loaded(setup, still, boat, fate, items):
    world = World(setup, still, Random(1))
    world.place(boat, fate, [2.5] * 150)
    for _ in range(items):
        world.land_next()
    run(world, 0.01)
    return world


def run(world, for_s):
    for _ in range(round(for_s / 0.01)):
        world.step(0.01)


def test_a_dry_rim_holds_back_its_water_and_no_more(setup, still, boat):
    """3 mm on 6000 mm2 are 18 ml: 7 items of 2.5 g more than the level rim's 66."""
    fate = Fate(rim_holds_mm=3.0)
    world = loaded(setup, still, boat, fate, 73)
    assert world.vessel.capacity_g == pytest.approx(180 * DENSITY - 15)
    assert world.vessel.true_capacity_g == pytest.approx(198 * DENSITY - 15)
    assert world.vessel.gone_at_s is None
    assert world.rim_mm - world.level_mm == pytest.approx(30 - (15 + 182.5) / DENSITY / 6)
    assert world.rim_mm < world.level_mm - 2.9
    # Archimedes holds above the rim as well
    assert world.level_mm == pytest.approx(120 + 197.5 / DENSITY / AREA_MM2 * 1000)
    world.land_next()
    run(world, 0.01)
    assert world.vessel.fortune == "swamped"
    run(world, 3.0)
    assert world.rim_mm == pytest.approx(30.0)


def test_a_leak_into_a_boat_with_a_dry_rim_is_still_a_leak(setup, still, boat):
    world = loaded(setup, still, boat, Fate(leak_ml_s=4.0, rim_holds_mm=3.0), 67)
    run(world, 10.0)
    assert world.vessel.load_g > world.vessel.capacity_g
    assert world.vessel.fortune == "leaked"


def test_a_capsized_boat_that_floats_leaves_the_level_between(setup, still, boat):
    """Afloat it displaced hull and load; keel up the hull floats, the items lie on the floor."""
    floated = loaded(setup, still, boat, Fate(), 40).level_mm
    fates = {up: Fate(heels_at_g=100.0, floats_upside_down=up) for up in (False, True)}
    ended, lowest, worlds = {}, {}, {}
    for up, fate in fates.items():
        world = loaded(setup, still, boat, fate, 40)
        assert world.vessel.fortune == "heeled"
        levels = []
        for _ in range(400):
            run(world, 0.01)
            levels.append(world.level_mm)
        ended[up], lowest[up], worlds[up] = levels[-1], min(levels), world
    assert ended[False] < ended[True] < floated
    assert ended[True] == pytest.approx(120 + (15 / DENSITY + 100 / 7.8) * 1000 / AREA_MM2)
    assert ended[True] - lowest[True] > 0.1  # it fell further and came back part of the way
    # 15 g of hull are 15 ml afloat and 15 / 2.7 as foil alone
    assert ended[True] - ended[False] == pytest.approx((15 - 15 / 2.7) * 1000 / 66000, abs=1e-4)
    assert worlds[True].vessel.flag_lost and not worlds[False].vessel.flag_lost
    assert 60 < worlds[True].rim_mm < worlds[True].level_mm - 20  # hanging, not on the floor
    assert worlds[True].vessel.at_rest_s is not None


def test_an_air_pocket_makes_it_slow(setup, still, boat):
    quick = loaded(setup, still, boat, Fate(heels_at_g=100.0), 40)
    slow = loaded(setup, still, boat, Fate(heels_at_g=100.0, air_pocket_s=12.0), 40)
    afloat_mm = 120 + 115 / DENSITY / AREA_MM2 * 1000
    sunk_mm = 120 + (15 / 2.7 + 100 / 7.8) / AREA_MM2 * 1000
    assert quick.vessel.gone_at_s == slow.vessel.gone_at_s
    levels, rims = [], []
    for _ in range(16):
        run(slow, 1.0)
        levels.append(slow.level_mm)
        rims.append(slow.rim_mm)
    run(quick, 1.0)
    assert quick.level_mm == pytest.approx(sunk_mm)
    assert levels == sorted(levels, reverse=True)
    assert levels[3] - sunk_mm > 0.5 * (afloat_mm - sunk_mm)  # much air left after 4 s ...
    assert levels[13] == pytest.approx(sunk_mm)  # ... and none after 13
    assert rims[0] < levels[0] - 2  # though the rim was under within the second
    assert rims[7] > 40 and rims[-1] == pytest.approx(30.0)
    assert slow.vessel.at_rest_s - slow.vessel.gone_at_s == pytest.approx(0.6 + 1.5 + 12)


def test_true_boats_scatter_about_the_measured_one():
    measured = Boat("Ibis", Dish(110.0, 80.0, 32.0), 14.0, 50)
    ruler = RulerPart(measure_mm_sd=1.0, boat_g_sd=0.5)
    boats = [true_boat(measured, ruler, Random(i)) for i in range(2000)]
    assert {(b.label, b.guess_items, b.hull.family) for b in boats} == {("Ibis", 50, "dish")}
    for key, centre, sd in [("diameter_mm", 110, 1), ("bottom_diameter_mm", 80, 1)]:
        values = [getattr(b.hull, key) for b in boats]
        assert fmean(values) == pytest.approx(centre, abs=4 * sd / 2000**0.5)
        assert stdev(values) == pytest.approx(sd, rel=4 / 4000**0.5)
    assert stdev(b.mass_g for b in boats) == pytest.approx(0.5, rel=4 / 4000**0.5)
    assert true_boat(measured, RulerPart(), Random(1)) is measured


SCENARIO = """
seed = 3
[rig]
name = "test"
layout = "feed-tray"
[load]
zero_count = 0
count_per_g = 400
[rim]
height_mm = 400
flag_mm = 50
[item]
name = "washer"
mass_g = 2.5
[ruler]
measure_mm_sd = 1.0
[[boat]]
label = "Pipit"
hull = "box"
length_mm = 50
beam_mm = 40
depth_mm = 20
mass_g = 5
[[trial]]
boat = "Pipit"
then = [6.0, 3]
[[trial.disturb]]
kind = "loan"
at_s = 9.0
for_s = 1.5
[[trial.disturb]]
kind = "press"
at_s = 14.0
by_g = 80.0
[[trial]]
boat = "Pipit"
then = [6.0, 3]
"""


def test_the_boats_file_has_the_measured_boat_and_the_water_the_true_one(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(SCENARIO, encoding="utf-8")
    scenario = read_scenario(path)
    assert "length_mm = 50" in scenario.boats_toml()
    _recording, truth = simulate(scenario)
    first, second = truth["trials"]
    measured_g = 40 * water_density(20.0) - 5
    assert abs(first["capacity_g"] - measured_g) > 0.1
    assert first["capacity_g"] == second["capacity_g"]  # the same boat both times
    # the loan and the press of the first trial are no additions
    assert [a["items"] for a in first["additions"]] == [a["items"] for a in second["additions"]]
