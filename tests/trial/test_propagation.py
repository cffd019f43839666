"""Stated uncertainties against the `uncertainties` package, which carries them through by itself.

Each figure is built again from what was measured: counts, distances, ruler, scale, the room's air,
as numbers with uncertainties (linear propagation with all correlations; GUM, JCGM 100:2008, 5.1.2
and 5.2.2). Hull volumes come from the prismoidal and the frustum formula, drafts from a root
finder: none of the engine's own arithmetic. What the engine leaves out stands in the test that
shows how much that is.
"""

import csv
from math import exp, pi, sqrt
from pathlib import Path
from random import Random

import numpy as np
import pytest
from scipy.optimize import brentq
from uncertainties import correlated_values, ufloat, wrap

from rig.physics.capillarity import DRY_RIM_DEG, held_back_mm
from rig.physics.hulls import Box, Dish, Tray
from rig.setup import Boat, Item, RigSetup
from rig.trial.aboard import additions, changes
from rig.trial.counting import Weighed, count, fits
from rig.trial.curve import Curve
from rig.trial.doubts import (
    AIR_C_SD,
    BOAT_G_SD,
    CREEP_PART_SD,
    ECHO_PART_PER_C,
    RULER_MM_SD,
    ZERO_WANDER,
    freeboard_sd_by_ruler,
)
from rig.trial.events import FreeboardMethod
from rig.trial.floating import EmptyRest, Floating
from rig.trial.gauge_track import GaugeTrack, Mean
from rig.trial.possible_boats import PossibleBoats

REFERENCE = Path(__file__).parents[1] / "reference"
WATER = 0.9982067  # g/ml, Tanaka et al., Metrologia 38 (2001) 301-309, table, 20 deg C
TUB_MM2 = 60_000.0
SURFACE_MM, RIM_MM, FLAG_MM = 330.0, 420.0, 60.0

BOX = Boat("box", Box(150, 100, 40), 20)
TRAY = Boat("tray", Tray(210, 140, 170, 100, 45), 35)
DISH = Boat("dish", Dish(180, 120, 50), 25)
BOATS = pytest.mark.parametrize("boat", [BOX, TRAY, DISH], ids=lambda boat: boat.label)


def setup(gauges="surface rim", units=("us", "us"), height_sds=(0.5, 0.5), per_g=429.4967296):
    sections = {
        "rig": {"name": "test", "layout": "feed-tray"},
        "load": {
            "zero_count": -8000,
            "count_per_g": per_g,
            "zero_count_sd": 500,
            "count_per_g_sd": 0.4,
        },
        "tub": {"area_mm2": TUB_MM2},
        "item": {"name": "piece", "mass_g": 2.5, "mass_sd_g": 0.05},
    }
    if "surface" in gauges:
        sections["surface"] = {"height_mm": SURFACE_MM, "unit": units[0]}
        sections["surface"]["height_mm_sd"] = height_sds[0]
    if "rim" in gauges:
        sections["rim"] = {"height_mm": RIM_MM, "flag_mm": FLAG_MM, "unit": units[1]}
        sections["rim"]["height_mm_sd"] = height_sds[1]
    return RigSetup.model_validate(sections)


# --- hulls, built again --------------------------------------------------------------------------


def volume_ml(boat, draft, measures):
    """Up to a draft: the prismoidal formula h/6 (A0 + 4 Am + A1), and pi h/3 (R^2 + R r + r^2)."""
    part = draft / measures[-1]
    match boat.hull:
        case Box():
            return measures[0] * measures[1] * draft / 1000
        case Tray():
            length, beam, low_length, low_beam, _ = measures

            def area(share):
                across = low_beam + (beam - low_beam) * share
                return (low_length + (length - low_length) * share) * across

            return draft / 6 * (area(0.0) + 4 * area(part / 2) + area(part)) / 1000
        case Dish():
            top = (measures[1] + (measures[0] - measures[1]) * part) / 2
            low = measures[1] / 2
            return pi * draft / 3 * (top**2 + top * low + low**2) / 1000


def freeboard_of(boat):
    """(displaced_ml, *measures) -> freeboard_mm, for numbers with uncertainties."""

    def plain(displaced_ml, *measures):
        depth = measures[-1]

        def too_much(draft):
            return volume_ml(boat, draft, measures) - displaced_ml

        return depth - brentq(too_much, 0.0, 2 * depth, xtol=1e-12, rtol=1e-14)

    return wrap(plain)


def ruler(boat):
    return [ufloat(getattr(boat.hull, m.key), RULER_MM_SD) for m in boat.hull.measures]


def full_ml(boat):
    measures = [getattr(boat.hull, m.key) for m in boat.hull.measures]
    return volume_ml(boat, measures[-1], measures)


@BOATS
@pytest.mark.parametrize("part", [0.1, 0.5, 0.9])
def test_what_ruler_and_scale_leave_open(boat, part):
    """The engine puts each measure a whole millimetre off: no derivative, hence 2 %."""
    displaced = ufloat(part * full_ml(boat), BOAT_G_SD)  # 1 g is taken as 1 ml here
    expected = freeboard_of(boat)(displaced, *ruler(boat))
    stated = freeboard_sd_by_ruler(boat.hull, displaced.n)
    assert stated == pytest.approx(expected.s, rel=0.02)


def test_the_scale_counts_most_for_a_narrow_boat():
    boat = Boat("straw", Box(20, 20, 60), 1)
    expected = freeboard_of(boat)(ufloat(1.2, BOAT_G_SD), *ruler(boat))
    assert expected.s > 1.5  # without the scale it would be 1.02
    assert freeboard_sd_by_ruler(boat.hull, 1.2) == pytest.approx(expected.s, rel=0.02)


# --- load ----------------------------------------------------------------------------------------


def loaded(per_g, steps=((5, 0), (8, 100.0), (20, 400.0)), noise_g=0.1):
    """A curve fed with (seconds, load_g) plateaus at 10 readings a second, as a tray loses load."""
    curve, random, row = Curve(setup(per_g=per_g)), Random(3), 0
    for seconds, load_g in steps:
        for _ in range(round(10 * seconds)):
            curve.load.feed(row / 10, load_g + random.gauss(0, noise_g))
            row += 1
    return curve


@pytest.mark.parametrize("per_g", [429.4967296, -429.4967296])
def test_load_sd(per_g):
    """Noise of both means, span, creep and a wandering zero; the zero count drops out."""
    curve = loaded(per_g)
    cell, noise, tare = setup(per_g=per_g).load, curve.load.noise_g, curve.load.plateaus[0]
    zero = ufloat(cell.zero_count, cell.zero_count_sd)
    span = ufloat(cell.count_per_g, cell.count_per_g_sd)
    assert len(curve.load.plateaus) == 3
    for plateau in curve.load.plateaus[1:]:
        before = ufloat(
            cell.zero_count + per_g * (900 - tare.mean_g), abs(per_g) * noise / sqrt(tare.n)
        )
        after = ufloat(
            cell.zero_count + per_g * (900 - plateau.mean_g), abs(per_g) * noise / sqrt(plateau.n)
        )
        lost = (before - zero) / span - (after - zero) / span
        load = lost * ufloat(1, CREEP_PART_SD) + ufloat(0, ZERO_WANDER * noise)
        assert curve.load_g(plateau) == pytest.approx(load.n)
        assert curve.load_sd(plateau) == pytest.approx(load.s, rel=1e-6)


def test_an_additions_sd_is_of_the_noise_alone():
    """Left out: span, creep and the zero's wandering, which an addition has as a load has.

    With a span known to 0.1 % they are the larger part of a large addition; the count hangs on
    the items' own spread, which grows as the root and is larger up to some dozens of items.
    """
    per_g = 429.4967296
    curve = loaded(per_g)
    noise = curve.load.noise_g
    span = ufloat(1, 0.4 / per_g)
    told = additions(changes(curve.load.plateaus, [], None, noise), 2.5, 60.0)
    for addition, step in zip(told, curve.load.steps, strict=True):
        before = ufloat(step.before.mean_g, noise / sqrt(step.before.n))
        after = ufloat(step.after.mean_g, noise / sqrt(step.after.n))
        assert addition.mass_g_sd == pytest.approx((after - before).s, rel=1e-9)
        whole = (after - before) * span * ufloat(1, CREEP_PART_SD) + ufloat(0, ZERO_WANDER * noise)
        left_out = sqrt(whole.s**2 - addition.mass_g_sd**2)
        by_span = addition.mass_g * sqrt((0.4 / per_g) ** 2 + CREEP_PART_SD**2)
        assert left_out == pytest.approx(sqrt(by_span**2 + (ZERO_WANDER * noise) ** 2))


# --- freeboard -----------------------------------------------------------------------------------


def gauges(level_mm=None, rim_mm=None, floating_mm=None, noise_mm=0.8, seed=5):
    track, random = GaugeTrack(), Random(seed)
    for row in range(60):
        level = None if level_mm is None else level_mm + random.gauss(0, noise_mm)
        rim = None if rim_mm is None else rim_mm + random.gauss(0, noise_mm)
        track.feed(row / 10, level, rim, floating_mm)
    track.finish()
    return track


def heard(down_mm, unit, air):
    """A distance as the set-up's air makes it from an echo; `air`: the part the room's differs."""
    return down_mm * (1 + air) if unit == "us" else down_mm


def room():
    return ufloat(0, AIR_C_SD * ECHO_PART_PER_C)


def test_how_far_a_degree_moves_an_echo():
    """Against Cramer's speeds (J. Acoust. Soc. Am. 93 (1993) 2510), 15 to 25 deg C at 50 %."""
    with open(REFERENCE / "speed_of_sound.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    key = next(k for k in rows[0] if "50" in k)
    at = {float(row["air_c"]): float(row[key]) for row in rows}
    part = (at[25.0] - at[15.0]) / 10 / at[20.0]
    assert part == pytest.approx(ECHO_PART_PER_C, rel=0.04)


@pytest.mark.parametrize("units", [("us", "us"), ("um", "us"), ("us", "um"), ("um", "um")])
def test_freeboard_by_rim_gauge(units):
    """One room for both beams: what the air does to one it does to the other.

    Left out: the flag's own height, for which a rig file has no uncertainty.
    """
    rig, level_mm, rim_mm = setup(units=units, height_sds=(0.6, 0.4)), 104.0, 131.0
    track = gauges(level_mm, rim_mm)
    level, mean = track.level.between(0, 6), track.freeboard.between(0, 6)
    air, noise = room(), ufloat(0, mean.sd)
    rim = (
        ufloat(RIM_MM, 0.4)
        - FLAG_MM
        - heard(RIM_MM - FLAG_MM - mean.value - level.value, units[1], air)
    )
    water = ufloat(SURFACE_MM, 0.6) - heard(SURFACE_MM - level.value, units[0], air)
    expected = rim - water + noise
    found = Floating(rig, BOX, WATER).freeboard(track, 0, 6, 100.0)
    assert found.method is FreeboardMethod.RIM_GAUGE
    assert found.freeboard_mm == pytest.approx(expected.n)
    assert found.freeboard_mm_sd == pytest.approx(expected.s, rel=1e-6)


def test_a_mean_of_rim_less_level_has_the_noise_of_both():
    """Whatever the gauges' noise is, the mean of 60 rows has sqrt(s1^2 + s2^2) / sqrt(60)."""
    sds = [gauges(104, 131, seed=seed).freeboard.between(0, 6).sd for seed in range(200)]
    expected = ((ufloat(131, 0.8) - ufloat(104, 0.8)) / sqrt(60)).s
    assert float(np.median(sds)) == pytest.approx(expected, rel=0.1)


def by_displacement(boat, unit, part):
    """What is said, and what it should be, of a boat that displaces a part of all it can."""
    displaced_ml = part * full_ml(boat)
    rise_mm = 1000 * (displaced_ml - boat.mass_g / WATER) / TUB_MM2
    found = Floating(setup("surface", units=(unit, unit)), boat, WATER)
    found.rest = EmptyRest(Mean(100.0, 0.15, 40), None)
    track = gauges(100.0 + rise_mm)
    level, air, height = track.level.between(0, 6), room(), ufloat(SURFACE_MM, 0.5)
    now = height - heard(SURFACE_MM - level.value, unit, air) + ufloat(0, level.sd)
    empty = height - heard(SURFACE_MM - 100.0, unit, air) + ufloat(0, 0.15)
    water = (now - empty) * TUB_MM2 / 1000 + ufloat(boat.mass_g, BOAT_G_SD) / WATER
    return found.freeboard(track, 0, 6, 0.0), freeboard_of(boat)(water, *ruler(boat))


@BOATS
@pytest.mark.parametrize("unit", ["us", "um"])
@pytest.mark.parametrize("part", [0.3, 0.8])
def test_freeboard_by_displacement(boat, unit, part):
    """Rise times tub, and the hull gives the draft. The gauge's own height drops out, as a rise
    is a difference. Left out on purpose: the tub's area, which is taken as right, and the water's
    density in the boat's own displacement (0.4 g/l, a warmth off by 2 deg C, in 20 g)."""
    said, expected = by_displacement(boat, unit, part)
    assert said.method is FreeboardMethod.DISPLACEMENT
    assert said.freeboard_mm == pytest.approx(expected.n, abs=1e-6)
    assert said.freeboard_mm_sd == pytest.approx(expected.s, rel=0.01)  # whole millimetres again


@BOATS
def test_what_the_air_adds_by_displacement(boat):
    (echo, echo_s), (light, light_s) = (by_displacement(boat, unit, 0.8) for unit in ("us", "um"))
    added = echo.freeboard_mm_sd**2 - light.freeboard_mm_sd**2
    assert added == pytest.approx(echo_s.s**2 - light_s.s**2, rel=0.01)


@BOATS
@pytest.mark.parametrize("unit", ["us", "um"])
def test_freeboard_by_rim_and_load(boat, unit):
    """Without a surface gauge: the rim's fall, the level's rise by the load, and where the empty
    boat's rim was by hull and mass. The flag's and the gauge's height drop out.

    Left out on purpose: the load's own uncertainty, since the level rises by 1/60 mm a gram; half
    a gram, more than `load_sd` gives, adds less than a hundredth.
    """
    load_g, rim_mm, empty_mm = 150.0, 118.0, 126.0
    found = Floating(setup("rim", units=(unit, unit)), boat, WATER)
    found.rest = EmptyRest(None, Mean(empty_mm, 0.12, 40))
    track = gauges(rim_mm=rim_mm)
    rim, air = track.rim.between(0, 6), room()
    height = ufloat(RIM_MM, 0.5) - FLAG_MM
    now = height - heard(RIM_MM - FLAG_MM - rim.value, unit, air) + ufloat(0, rim.sd)
    empty = height - heard(RIM_MM - FLAG_MM - empty_mm, unit, air) + ufloat(0, 0.12)
    own_ml = ufloat(boat.mass_g, BOAT_G_SD) / WATER

    def with_load(load):
        rise = 1000 * load / WATER / TUB_MM2
        return now - empty - rise + freeboard_of(boat)(own_ml, *ruler(boat))

    said, expected = found.freeboard(track, 0, 6, load_g), with_load(load_g)
    assert said.method is FreeboardMethod.RIM_AND_LOAD
    assert said.freeboard_mm == pytest.approx(expected.n, abs=1e-6)
    assert said.freeboard_mm_sd == pytest.approx(expected.s, rel=0.01)
    assert with_load(ufloat(load_g, 0.5)).s == pytest.approx(expected.s, rel=0.01)


@BOATS
@pytest.mark.parametrize("units", [("us", "us"), ("um", "us"), ("um", "um")])
@pytest.mark.parametrize("height_sds", [(0.1, 0.1), (2.0, 1.0)])
def test_freeboard_where_the_surface_gauge_has_fallen_silent(boat, units, height_sds):
    """The level is that of the empty boat, which was measured, and its rise by the load: ruler and
    scale have no part in it, both gauges' heights do."""
    load_g, rim_mm, level_mm = 150.0, 118.0, 101.0
    found = Floating(setup(units=units, height_sds=height_sds), boat, WATER)
    found.rest = EmptyRest(Mean(level_mm, 0.15, 40), Mean(126.0, 0.12, 40))
    track = gauges(rim_mm=rim_mm)
    rim, air = track.rim.between(0, 6), room()
    down = RIM_MM - FLAG_MM - rim.value
    now = ufloat(RIM_MM, height_sds[1]) - FLAG_MM - heard(down, units[1], air) + ufloat(0, rim.sd)
    empty = ufloat(SURFACE_MM, height_sds[0]) - heard(SURFACE_MM - level_mm, units[0], air)
    expected = now - (empty + ufloat(0, 0.15) + 1000 * load_g / WATER / TUB_MM2)
    said = found.freeboard(track, 0, 6, load_g)
    assert said.method is FreeboardMethod.RIM_AND_LOAD
    assert said.freeboard_mm == pytest.approx(expected.n, abs=1e-6)
    assert said.freeboard_mm_sd == pytest.approx(expected.s, rel=0.01)


# --- prediction ----------------------------------------------------------------------------------


def density(water_c):
    """Straight between the rows of Tanaka's table."""
    with open(REFERENCE / "water_density.csv", newline="") as file:
        rows = [(float(r["water_c"]), float(r["tanaka2001_kg_m3"])) for r in csv.DictReader(file)]
    return float(np.interp(water_c, *np.array(rows).T)) / 1000


@BOATS
@pytest.mark.parametrize(("water_c", "water_sd"), [(None, 2.0), (15.5, 0.5)])
def test_what_the_possible_boats_carry(boat, water_c, water_sd):
    """Those drawn with a careful ruler: V(measures) x density - mass, and what the rim holds back.

    That has a triangular distribution from 0 to h with its top at 0: mean h/3, variance h^2/18.
    1500 boats tell a standard deviation to 2 %.
    """
    boats = PossibleBoats(boat.hull, boat.mass_g, water_c)
    warm = ufloat(20.0 if water_c is None else water_c, water_sd)
    most_mm = held_back_mm(warm.n, DRY_RIM_DEG[1])
    held_mm = ufloat(most_mm / 3, most_mm / sqrt(18))
    rim_mm2 = boat.hull.waterplane(boat.hull.depth_mm).area_mm2
    measures = ruler(boat)
    full = volume_ml(boat, measures[-1], measures) + held_mm * rim_mm2 / 1000
    expected = full * wrap(density)(warm) - ufloat(boat.mass_g, BOAT_G_SD)
    careful = boats.carries_g[boats.careful]
    assert float(careful.mean()) == pytest.approx(expected.n, abs=0.1 * expected.s)
    assert float(careful.std()) == pytest.approx(expected.s, rel=0.05)


@BOATS
def test_how_the_possible_boats_float(boat):
    boats, load_g = PossibleBoats(boat.hull, boat.mass_g), 0.5 * full_ml(boat)
    warm = ufloat(20.0, 2.0)
    water = (load_g + ufloat(boat.mass_g, BOAT_G_SD)) / wrap(density)(warm)
    expected = freeboard_of(boat)(water, *ruler(boat))
    careful = boats.freeboard_mm(load_g)[0][boats.careful]
    assert float(careful.mean()) == pytest.approx(expected.n, abs=0.1 * expected.s)
    assert float(careful.std()) == pytest.approx(expected.s, rel=0.05)


# --- counting ------------------------------------------------------------------------------------

ITEM = Item(name="washer", mass_g=2.5, mass_sd_g=0.08)


def together(n, scale_sd):
    """n items, each off on its own, on a scale."""
    return sum((ufloat(ITEM.mass_g, ITEM.mass_sd_g) for _ in range(n)), ufloat(0, scale_sd))


@pytest.mark.parametrize("n", [1, 4, 20])
@pytest.mark.parametrize("scale_sd", [0.001, 0.05, 0.2])
@pytest.mark.parametrize("side", [-1, 1])
def test_items_fit_within_four_and_a_half_of_their_spread(n, scale_sd, side):
    weight = together(n, scale_sd)
    edge_g = min(4.5 * weight.s, 0.499 * ITEM.mass_g)
    assert fits(Weighed(weight.n + side * 0.999 * edge_g, scale_sd), ITEM)
    if edge_g < 0.499 * ITEM.mass_g:
        assert not fits(Weighed(weight.n + side * 1.001 * edge_g, scale_sd), ITEM)


@pytest.mark.parametrize("n", [3, 10, 25])
@pytest.mark.parametrize("off_g", [0.0, 0.6, -0.9])
def test_the_odds_of_a_count_are_those_of_its_spread(n, off_g):
    """Bayes with every number alike beforehand: normal densities of the spreads, side by side."""
    mass_g, scale_sd = n * ITEM.mass_g + off_g, 0.6

    def likely(items):
        weight = together(items, scale_sd)
        return exp(-((mass_g - weight.n) ** 2) / weight.s**2 / 2) / weight.s

    everything = sum(likely(items) for items in range(n + 12))
    assert count([Weighed(mass_g, scale_sd)], ITEM).p == pytest.approx(
        likely(n) / everything, rel=1e-6
    )


def test_an_error_that_all_items_share_is_left_to_the_range():
    """Left out on purpose: how well the items' mean mass is known. Off all the same way, masses
    spread with n and not with its root. Where the items are alike enough the misfit speaks up,
    and the count is a range; where they are not (4.5 sd sqrt(n) over half an item) it cannot."""
    n, off = 20, 0.1
    even = Item(name="bead", mass_g=2.5, mass_sd_g=0.02)
    alike = sum(correlated_values([even.mass_g] * n, np.full((n, n), off**2)))
    apart = sum(ufloat(even.mass_g, off) for _ in range(n))
    assert alike.s == pytest.approx(sqrt(n) * apart.s) and alike.s == pytest.approx(n * off)
    heavy = Weighed(alike.n + alike.s, 0.02)
    assert not fits(heavy, even)
    found = count([heavy], even)
    assert found.low <= n <= found.high and found.low < found.high
