"""Archimedes on the truth itself: the tub's level, the boat's draft, and how it goes down."""

from math import exp
from random import Random

import pytest

from rig.errors import OutOfRange
from rig.physics.flotation import capacity_g
from rig.physics.hulls import Box, Dish, Hull, Tray
from rig.physics.water import water_density
from rig.setup import Boat, RigSetup
from rig.simulator.conditions import Conditions, Fate, Motion
from rig.simulator.world import World

AREA_MM2 = 66000.0
DENSITY = water_density(4.0)
BARE_LEVEL_MM = 120.0


def world_with(
    setup: RigSetup, conditions: Conditions, boat: Boat, fate: Fate | None = None, items: int = 150
) -> World:
    world = World(setup, conditions, Random(1))
    world.place(boat, fate or Fate(), [2.5] * items)
    return world


def load(world: World, items: int) -> None:
    for _ in range(items):
        world.land_next()
    world.step(0.01)


def run(world: World, for_s: float) -> None:
    for _ in range(round(for_s / 0.01)):
        world.step(0.01)


def test_level_rises_by_displaced_volume_over_tub_area(setup, still, boat):
    world = world_with(setup, still, boat)
    assert world.level_mm == pytest.approx(BARE_LEVEL_MM + 15 / DENSITY * 1000 / AREA_MM2)
    load(world, 40)
    assert world.level_mm == pytest.approx(BARE_LEVEL_MM + 115 / DENSITY * 1000 / AREA_MM2)


def test_freeboard_is_what_the_load_leaves(setup, still, boat):
    world = world_with(setup, still, boat)
    load(world, 40)
    draft_mm = 115 / DENSITY * 1000 / (100 * 60)
    assert world.rim_mm - world.level_mm == pytest.approx(30 - draft_mm)


def test_a_tapered_tub_rises_by_its_own_table(setup, still, boat):
    pours = [[0.0, 0.0], [100.0, 5000.0], [200.0, 12000.0]]
    bin_setup = setup.model_validate({**setup.model_dump(), "tub": {"pours": pours}})
    world = world_with(bin_setup, still, boat)
    # 120 mm is 6400 ml; above 100 mm each millimetre holds 70 ml
    assert world.level_mm == pytest.approx(120 + 15 / DENSITY / 70)


def test_the_level_falls_when_a_boat_goes_down(setup, still, boat):
    """By (floating displacement - solid volume) / tub area, whatever the last item was."""
    world = world_with(setup, still, boat, Fate(material_g_ml=2.7, item_g_ml=7.8))
    load(world, 65)
    afloat_mm = world.level_mm
    load(world, 1)
    assert world.vessel.fortune == "swamped"
    run(world, 3.0)
    floated_ml = (15 + 65 * 2.5) / DENSITY
    solid_ml = 15 / 2.7 + 66 * 2.5 / 7.8
    assert afloat_mm - world.level_mm == pytest.approx((floated_ml - solid_ml) * 1000 / AREA_MM2)
    assert afloat_mm - world.level_mm > 2.2  # worked by hand: (177.5 - 26.7) ml / 66 000 mm2


def test_it_fills_then_goes_down_to_the_floor(setup, still, boat):
    world = world_with(setup, still, boat)
    load(world, 66)
    gone_mm = world.level_mm
    run(world, 0.59)  # fill_s is 0.6
    assert world.level_mm < gone_mm - 2  # all the water is in already ...
    assert world.rim_mm == pytest.approx(world.level_mm - 3, abs=0.1)  # ... the rim barely under
    run(world, 1.0)
    assert 30 < world.rim_mm < 100
    run(world, 0.6)
    assert world.rim_mm == pytest.approx(30.0)  # hull on the floor: floor + depth


def test_a_leak_lowers_the_boat_and_not_the_level(setup, still, boat):
    world = world_with(setup, still, boat, Fate(leak_ml_s=2.0, leak_after_s=5.0))
    load(world, 30)
    level_mm, freeboard_mm = world.level_mm, world.rim_mm - world.level_mm
    run(world, 4.9)
    assert world.rim_mm - world.level_mm == pytest.approx(freeboard_mm)  # the seam still holds
    run(world, 20.1)
    assert world.level_mm == pytest.approx(level_mm, abs=1e-9)
    # 20 s of 2 ml/s weigh 40 ml of water: 40 000 mm3 over 6000 mm2
    assert freeboard_mm - (world.rim_mm - world.level_mm) == pytest.approx(40 / 6, abs=0.01)


def test_a_leaking_boat_goes_down_when_it_is_full_to_the_rim(setup, still, boat):
    world = world_with(setup, still, boat, Fate(leak_ml_s=2.0))
    load(world, 30)
    to_fill_ml = 180 - 90 / DENSITY
    run(world, to_fill_ml / 2 - 0.1)
    assert world.vessel.gone_at_s is None
    run(world, 0.2)
    assert world.vessel.fortune == "leaked"
    run(world, 3.0)
    assert world.rim_mm == pytest.approx(30.0)


def test_it_heels_with_freeboard_left_and_is_full_within_a_second(setup, still, boat):
    world = world_with(setup, still, boat, Fate(heels_at_g=80.0))
    load(world, 31)
    assert world.vessel.gone_at_s is None
    load(world, 1)
    assert world.vessel.fortune == "heeled"
    assert world.rim_mm - world.level_mm > 14  # 95 g on 6000 mm2: 15.8 mm of draft
    run(world, 1.0)
    assert world.rim_mm < world.level_mm


@pytest.mark.parametrize("bounce", [0.0, 0.6, 1.0])
@pytest.mark.parametrize(
    "hull", [Box(90.0, 50.0, 25.0), Tray(110.0, 70.0, 80.0, 50.0, 25.0), Dish(100.0, 70.0, 25.0)]
)
def test_the_boat_goes_down_at_the_capacity_physics_gives(
    setup, still, hull: Hull, bounce: float
) -> None:
    moving = still.model_copy(update={"motion": Motion(bounce=bounce)})
    boat = Boat("any", hull, 12.0)
    world = world_with(setup, moving, boat)
    while world.vessel.gone_at_s is None:
        before_g = world.vessel.load_g
        world.land_next()
        run(world, 2.0)
    assert before_g <= capacity_g(hull, 12.0, DENSITY) < world.vessel.load_g


def test_a_swing_overshoots_as_a_damped_oscillator_does(setup, still, boat):
    """Half a period after the push the swing stands at -exp(-T / 2 decay) of it (any textbook
    on vibrations, from memory)."""
    swinging = Motion(bounce=1.0, heave_hz=2.0, heave_decay_s=0.4, wave_mm=0)
    world = world_with(setup, still.model_copy(update={"motion": swinging}), boat)
    before_mm = world.vessel.draft_mm
    for _ in range(10):
        world.land_next()
    assert world.vessel.draft_mm == pytest.approx(before_mm)  # inertia: not there yet
    run(world, 0.25)
    step_mm = 25 / DENSITY / 6
    overshoot_mm = world.vessel.draft_mm - (before_mm + step_mm)
    assert overshoot_mm == pytest.approx(step_mm * exp(-0.25 / 0.4), rel=1e-3)
    run(world, 6.0)
    assert world.vessel.draft_mm == pytest.approx(before_mm + step_mm, abs=1e-4)


def test_waves_pass_under_the_gauge_and_die_down(setup, still, boat):
    wavy = still.model_copy(update={"motion": Motion(bounce=0, wave_mm=5.0, wave_decay_s=0.7)})
    world = world_with(setup, wavy, boat)
    load(world, 5)
    heights = []
    for _ in range(100):
        world.step(0.01)
        heights.append(world.surface_mm - world.level_mm)
    assert max(heights) > 0.1
    assert min(heights) < -0.1
    run(world, 9.0)
    assert abs(world.surface_mm - world.level_mm) < 1e-3


@pytest.mark.parametrize(
    ("hull", "mass_g", "words"),
    [
        (Box(100.0, 60.0, 30.0), 181.0, "goes down empty"),
        (Box(400.0, 300.0, 30.0), 50.0, "wider than the tub"),
        (Box(100.0, 60.0, 125.0), 50.0, "too shallow"),
    ],
)
def test_a_boat_that_cannot_be_played_is_refused(setup, still, hull, mass_g, words):
    with pytest.raises(OutOfRange, match=words):
        world_with(setup, still, Boat("any", hull, mass_g))


def test_the_cell_sees_the_tray_lose_what_the_boat_gains(setup, still, boat):
    world = world_with(setup, still, boat, items=20)
    assert world.gross_g == pytest.approx(60 + 20 * 2.5)
    load(world, 4)
    assert world.gross_g == pytest.approx(60 + 16 * 2.5)
    assert world.vessel.load_g == pytest.approx(10.0)


def test_under_the_tub_the_cell_sees_everything(setup, still, boat):
    data = setup.model_dump()
    data["rig"]["layout"] = "tub-on-cell"
    world = world_with(setup.model_validate(data), still, boat, Fate(leak_ml_s=5.0))
    bare_g = 400 + 7920 * DENSITY  # the empty tub and 120 mm over 66 000 mm2
    assert world.gross_g == pytest.approx(bare_g + 15)
    load(world, 4)
    run(world, 2.0)
    assert world.gross_g == pytest.approx(bare_g + 15 + 10)  # a leak weighs nothing here
    world.take_out()
    assert world.gross_g == pytest.approx(bare_g)
