"""The live forecast: how often it is right, and what moves it.

The physics under it is checked elsewhere (tests/physics). Here the world outside is chance
itself: boats drawn from what is assumed must lie inside 90 % intervals nine times in ten
(binomial law), and where everything is normal, Bayes' rule has a closed form to compare with
(JCGM 101:2008 calls both the propagation of distributions).
"""

import importlib.util
import sys
from math import sqrt
from pathlib import Path
from random import Random

import numpy as np
import pytest

from rig.errors import OutOfRange
from rig.physics.capillarity import held_back_mm
from rig.physics.flotation import capacity_g, float_at
from rig.physics.hulls import FAMILIES, Box, Dish, Tray
from rig.physics.water import water_density
from rig.trial.events import FreeboardMethod
from rig.trial.forecast import OFFSET_MM_SD, SHAPE_MM_SD, Forecast
from rig.trial.possible_boats import CAREFUL, Doubts, PossibleBoats, weighted_quantiles
from rig.trial.prediction_band import prediction_band


def _from_benchmarks(name):
    path = Path(__file__).parents[1] / "benchmarks" / f"{name}.py"
    spec = importlib.util.spec_from_file_location(name, path)
    module = sys.modules[name] = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


invented = _from_benchmarks("invented_boats")
plateau = invented.plateau

HULL, BOAT_G, ITEM_G = Box(150, 100, 40), 20.0, 2.5
WATER = water_density(20)
LEVEL_G = capacity_g(HULL, BOAT_G, WATER)


@pytest.fixture(scope="module")
def boats():
    return PossibleBoats(HULL, BOAT_G)


def true_mm(load_g, hull=HULL, boat_g=BOAT_G):
    return float_at(hull, boat_g, load_g, WATER).freeboard_mm


def fed(boats, loads, seen_mm, seen_mm_sd=0.3, **said):
    forecast = Forecast(boats, ITEM_G)
    for load_g in loads:
        forecast.add(plateau(load_g, seen_mm(load_g), seen_mm_sd, **said))
    return forecast


def width(said):
    return said.high_g - said.low_g


# --- how often it is right --------------------------------------------------------------------


def test_nine_in_ten_boats_lie_inside_the_interval():
    # 360 boats: binomial standard deviation 1.6 %; three of them either way.
    random, hits, sides = Random(7), {0.25: 0, 0.5: 0, 0.75: 0}, [0, 0]
    hulls = [invented.measured_boat(f, random) for f in FAMILIES.values() for _ in range(3)]
    each = 360 // len(hulls)
    for hull, boat_g in hulls:
        drawn = PossibleBoats(hull, boat_g)
        for _ in range(each):
            boat = invented.true_boat(hull, boat_g, random)
            forecast, n, step_g = Forecast(drawn), 0, boat.carries_g / 20
            for stage in hits:
                while n * step_g <= stage * boat.carries_g:
                    forecast.add(boat.plateau(n * step_g, random))
                    n += 1
                said = forecast.say(n * step_g)
                hits[stage] += said.low_g <= boat.carries_g <= said.high_g
                sides[0] += boat.carries_g < said.low_g
                sides[1] += boat.carries_g > said.high_g
    count = each * len(hulls)
    slack = 3 * sqrt(0.9 * 0.1 / count)
    for stage, hit in hits.items():
        assert hit / count == pytest.approx(0.9, abs=slack), stage
    # Those outside lie on both sides: 5 % each, three (correlated) stages together.
    for side in sides:
        assert side / (3 * count) == pytest.approx(0.05, abs=3 * sqrt(0.05 * 0.95 / count))


def test_careful_boats_spread_as_propagation_of_uncertainty_says(boats):
    # GUM (JCGM 100:2008) eq. (10) for length x beam x (depth + rim) x density - mass of a box.
    carries = boats.carries_g[:CAREFUL]
    top_mm = held_back_mm(20, 90)
    rim_mm, rim_sd = top_mm / 3, top_mm / sqrt(18)  # a triangle with its top at one end
    full_g = 150 * 100 * (40 + rim_mm) / 1000 * WATER
    variance = 0.5**2 + full_g**2 * (
        (1 / 150) ** 2 + (1 / 100) ** 2 + (1**2 + rim_sd**2) / (40 + rim_mm) ** 2
    )
    assert carries.mean() == pytest.approx(full_g - 20, rel=2e-3)
    assert carries.std() == pytest.approx(sqrt(variance), rel=0.04)


def test_depth_and_offset_share_what_is_seen_as_the_normal_law_says():
    # One plateau seen 2 mm under the expected one. The depth may be to blame, the offset, or
    # noise, each in proportion to its variance (conditional mean of joint normals); what the
    # depth takes goes off the load, times the rim's area.
    precise = Doubts(ruler_mm_sd=1.0, boat_g_sd=0.0, no_thermometer_c_sd=0.0)
    wide = Box(1500, 1000, 40)  # a millimetre of length or beam hardly matters
    boats = PossibleBoats(wide, 0.0, doubts=precise)
    forecast = Forecast(boats)
    before = forecast.say(0).median_g
    forecast.add(plateau(0.0, 38.0, 0.3, load_g_sd=0.0))
    shift_mm = (before - forecast.say(0).median_g) / (1500 * 1000 / 1000 * WATER)
    blamed = 1.0**2 / (1.0**2 + OFFSET_MM_SD**2 + 0.3**2 + SHAPE_MM_SD**2)
    assert shift_mm == pytest.approx(2 * blamed, abs=0.1)


# --- the drawn boats ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("hull", "within_mm"),
    [
        (HULL, 1e-9),
        (Tray(150, 100, 60, 40, 50), 0.02),
        (Dish(120, 60, 30), 0.02),
        (Dish(150, 4, 60), 0.05),  # all but a cone; still a quarter of SHAPE_MM_SD
    ],
)
def test_the_table_of_volumes_is_as_good_as_the_exact_draft(hull, within_mm):
    boats = PossibleBoats(hull, 10.0, doubts=Doubts(0.0, 0.0, 0.0, 0.0))
    most_g = capacity_g(hull, 10.0, WATER)
    for part in np.linspace(0, 1, 41):
        got, mm_per_g = boats.freeboard_mm(part * most_g)
        exact = true_mm(part * most_g, hull, 10.0)
        assert got == pytest.approx(exact, abs=within_mm)
        area = hull.waterplane(hull.depth_mm - exact).area_mm2
        assert mm_per_g == pytest.approx(1000 / area / WATER, rel=0.12)


def test_over_the_rim_the_freeboard_goes_on_below_zero():
    boats = PossibleBoats(HULL, BOAT_G, doubts=Doubts(0.0, 0.0, 0.0, 0.0))
    got, _ = boats.freeboard_mm(LEVEL_G + 15 * WATER)
    assert got == pytest.approx(-1.0, abs=1e-9)  # 15 ml on 15 000 mm2
    flared = Tray(150, 100, 60, 40, 50)
    boats = PossibleBoats(flared, BOAT_G, doubts=Doubts(0.0, 0.0, 0.0, 0.0))
    _, mm_per_g = boats.freeboard_mm(capacity_g(flared, BOAT_G, WATER) + 1)
    assert mm_per_g == pytest.approx(1 / (15 * WATER))


def test_a_sure_boat_carries_from_level_rim_to_held_back_and_mostly_little():
    boats = PossibleBoats(HULL, BOAT_G, doubts=Doubts(0.0, 0.0, 0.0, 0.0))
    over_mm = (boats.carries_g - LEVEL_G) / (15 * WATER)
    top = held_back_mm(20, 90)
    assert over_mm.min() >= 0
    assert over_mm.max() <= top
    # median and 95 % point of a triangle with its top at 0
    parts = np.quantile(over_mm, [0.5, 0.95]) / top
    assert parts == pytest.approx([1 - sqrt(0.5), 1 - sqrt(0.05)], abs=0.01)


def test_the_same_boat_gives_the_same_forecast_to_the_last_digit():
    seen = [
        fed(PossibleBoats(HULL, BOAT_G), range(0, 300, 50), true_mm).say(250.0) for _ in range(2)
    ]
    assert seen[0] == seen[1]


def test_a_measure_as_small_as_its_error_still_gives_hulls():
    boats = PossibleBoats(Dish(80, 2, 25), 3.0)  # a bottom of 2 mm, measured to 1 (careless: 4) mm
    assert np.isfinite(boats.carries_g).all()


def test_without_a_thermometer_the_water_counts_as_a_room_s():
    assert PossibleBoats(HULL, BOAT_G).density_g_ml == WATER
    assert PossibleBoats(HULL, BOAT_G, 10.0).density_g_ml == water_density(10)
    with pytest.raises(OutOfRange):
        PossibleBoats(HULL, BOAT_G, 41.0)


@pytest.mark.parametrize(("water_c", "varies"), [(20.0, False), (None, True)])
def test_only_a_thermometer_makes_the_water_sure(water_c, varies):
    doubts = Doubts(0.0, 0.0, thermometer_c_sd=0.0, no_thermometer_c_sd=2.0)
    got, _ = PossibleBoats(HULL, BOAT_G, water_c, doubts).freeboard_mm(400)
    assert (got.std() > 1e-6) == varies  # or but rounding


def test_water_near_the_end_of_its_range_stays_inside():
    carries = PossibleBoats(HULL, BOAT_G, 39.9).carries_g
    assert np.isfinite(carries).all()


def test_no_boat_weighs_less_than_nothing():
    boats = PossibleBoats(HULL, 0.0, doubts=Doubts(0.0, 0.5, 0.0, 0.0))
    assert boats.freeboard_mm(-5.0)[0].max() == 40  # noise lifts no keel out of the water
    assert boats.carries_g.max() <= (40 + held_back_mm(20, 90)) * 15 * WATER


def test_weighted_quantiles_of_whole_weights_are_those_of_repeated_values():
    values, repeats = np.array([5.0, 1.0, 3.0]), np.array([1.0, 2.0, 2.0])
    assert weighted_quantiles(values, repeats, (0.2, 0.6, 0.9)) == pytest.approx([1, 3, 5])
    assert weighted_quantiles(values, repeats, (0.0, 0.4, 1.0)) == pytest.approx([1, 2, 5])


# --- what moves it ------------------------------------------------------------------------------


def test_beforehand_it_says_level_rim_and_somewhat_more(boats):
    said = Forecast(boats, ITEM_G).say(0)
    third_mm = held_back_mm(20, 90) / 3
    assert said.median_g == pytest.approx(LEVEL_G + 15 * third_mm, abs=10)
    assert said.low_g < LEVEL_G < said.high_g
    assert (said.median_items, said.room_items) == (int(said.median_g / 2.5),) * 2


def test_more_plateaus_narrow_it(boats):
    few = fed(boats, [0, 50], true_mm).say(50)
    many = fed(boats, range(0, 451, 50), true_mm).say(450)
    assert width(many) < width(few) < width(Forecast(boats).say(0))
    assert many.low_g < LEVEL_G < many.high_g


def test_a_boat_measured_two_millimetres_too_deep_is_corrected(boats):
    really = Box(150, 100, 38)
    # what a boat like that carries with a rim as most rims are
    right_g = capacity_g(really, BOAT_G, WATER) + 15 * held_back_mm(20, 90) / 3
    before = Forecast(boats).say(0)
    after = fed(boats, range(0, 401, 40), lambda load: true_mm(load, really)).say(400)
    assert before.median_g - after.median_g > 6  # of 30: the flag is likelier to blame
    assert after.low_g < right_g < after.high_g
    assert after.fits


def test_a_freeboard_taken_by_another_gauge_has_an_offset_of_its_own(boats):
    # Half way the rim's gauge gives way to rim and load, which reads 4 mm more: no boat is blamed.
    one = fed(boats, range(0, 401, 40), true_mm)
    two = Forecast(boats, ITEM_G)
    for load in range(0, 401, 40):
        late = load > 200
        way = FreeboardMethod.RIM_AND_LOAD if late else FreeboardMethod.RIM_GAUGE
        two.add(plateau(load, true_mm(load) + 4 * late, 0.3, way))
    assert two.say(400).median_g == pytest.approx(one.say(400).median_g, abs=3)
    assert two.say(400).fits


def test_where_the_flag_is_trusted_the_correction_is_whole():
    boats, really = PossibleBoats(HULL, BOAT_G), Box(150, 100, 38)
    forecast = Forecast(boats, offset_mm_sd=0.05)
    before = forecast.say(0).median_g
    for load in range(0, 401, 40):
        forecast.add(plateau(load, true_mm(load, really), 0.3))
    assert before - forecast.say(400).median_g == pytest.approx(2 * 15 * WATER, abs=5)


def test_an_offset_of_all_freeboards_moves_it_less_than_a_slope(boats):
    # Freeboard 1.5 mm too low all along is half forgiven; one that falls ever faster is not.
    loads = range(0, 401, 40)
    plain = fed(boats, loads, true_mm).say(400).median_g
    shifted = fed(boats, loads, lambda load: true_mm(load) - 1.5).say(400).median_g
    leaking = fed(boats, loads, lambda load: true_mm(load) - 3 * load / 400).say(400).median_g
    assert plain - shifted < 15
    assert plain - leaking > 25
    assert leaking < LEVEL_G  # carried on to the rim, the leak costs 10 % of what floats


def test_one_bad_plateau_hardly_matters(boats):
    loads = range(0, 401, 40)
    plain = fed(boats, loads, true_mm).say(400)
    for at in (0, 200, 400):
        bad = fed(boats, loads, lambda load, at=at: true_mm(load) - 12 * (load == at)).say(400)
        assert bad.median_g == pytest.approx(plain.median_g, abs=3)
        assert bad.fits


def test_a_bad_plateau_would_matter_if_it_were_believed(boats, monkeypatch):
    monkeypatch.setattr("rig.trial.common_offset.BAD_SHARE", 1e-300)
    plain = fed(boats, range(0, 401, 40), true_mm).say(400)
    bad = fed(boats, range(0, 401, 40), lambda x: true_mm(x) - 12 * (x == 400)).say(400)
    assert abs(bad.median_g - plain.median_g) > 6


def test_without_a_gauge_only_what_was_held_counts(boats):
    before = Forecast(boats).say(0)
    bare = fed(boats, [0, 100, 200], lambda load: None, seen_mm_sd=None, method=None).say(200)
    assert (bare.low_g, bare.median_g, bare.high_g) == pytest.approx(
        (before.low_g, before.median_g, before.high_g), abs=0.2
    )  # the few boats that carry less than 200 g are out


def test_a_freeboard_worked_out_through_the_measured_hull_says_nothing_of_the_hull(boats):
    before = Forecast(boats).say(0)
    after = fed(boats, range(0, 401, 40), true_mm, method=FreeboardMethod.DISPLACEMENT).say(400)
    assert (after.low_g, after.high_g) == pytest.approx((before.low_g, before.high_g), abs=0.2)


def test_a_rim_read_from_the_measured_hull_s_own_zero_tells_area_but_not_depth(boats):
    # The empty boat's freeboard is the measured hull's by construction: 38 mm deep or 40, the
    # same is seen. A boat 3 mm wider is seen: it sinks more slowly.
    loads, way = range(0, 401, 40), FreeboardMethod.RIM_AND_LOAD

    def median_g(really):
        zero_mm = true_mm(0) - true_mm(0, really)
        seen = fed(boats, loads, lambda x: true_mm(x, really) + zero_mm, 0.1, method=way)
        return seen.say(400).median_g

    assert median_g(Box(150, 100, 38)) == pytest.approx(median_g(HULL), abs=1)
    assert median_g(Box(150, 103, 40)) > median_g(HULL) + 8


def test_such_a_rim_leaves_the_depth_open_however_well_the_flag_was_measured(boats):
    wide = {}
    for way in (FreeboardMethod.RIM_GAUGE, FreeboardMethod.RIM_AND_LOAD):
        forecast = Forecast(boats, offset_mm_sd=0.05)
        for load in range(0, 401, 40):
            forecast.add(plateau(load, true_mm(load), 0.3, way))
        wide[way] = width(forecast.say(400))
    assert wide[FreeboardMethod.RIM_AND_LOAD] > 1.2 * wide[FreeboardMethod.RIM_GAUGE]


def test_a_gauge_that_claims_to_be_perfect_is_not_believed_beyond_the_hull_s_shape(boats):
    said = [
        fed(boats, range(0, 401, 40), true_mm, sd, load_g_sd=0.0).say(400) for sd in (0.0, 0.05)
    ]
    assert width(said[0]) == pytest.approx(width(said[1]), rel=0.02)


def test_what_was_held_is_the_floor(boats):
    forecast = Forecast(boats, ITEM_G)
    for load_g in (0.0, LEVEL_G + 30, 200.0):  # the last: some taken off again
        forecast.add(plateau(load_g, None, None, None))
    said = forecast.say(200.0)
    assert LEVEL_G + 30 <= said.low_g < said.median_g < said.high_g
    assert said.room_low_g == said.low_g - 200.0


def test_a_load_that_was_not_carried_through_its_hold_is_no_floor(boats):
    forecast = Forecast(boats)
    forecast.add(plateau(LEVEL_G + 30, None, None, None, held=False))
    assert forecast.say(0).low_g < LEVEL_G


@pytest.mark.parametrize("held_g", [1.3 * LEVEL_G, 3 * LEVEL_G])
def test_a_boat_that_carries_more_than_can_be_is_said_to_be_measured_wrong(boats, held_g):
    before = Forecast(boats).say(0)
    forecast = fed(boats, [0.0, held_g], lambda load: None, seen_mm_sd=None, method=None)
    said = forecast.say(held_g)
    assert not said.fits
    assert held_g <= said.low_g <= said.median_g <= said.high_g
    assert width(said) > 0.5 * width(before)  # it does not pretend to know


@pytest.mark.parametrize("really", [Box(150, 80, 40), Box(75, 50, 40), Box(200, 140, 40)])
def test_a_curve_of_quite_another_boat_is_said_to_be_one(boats, really):
    right_g = capacity_g(really, BOAT_G, WATER)
    loads = np.linspace(0, 0.6 * right_g, 11).tolist()
    before = Forecast(boats).say(0)
    said = fed(boats, loads, lambda load: true_mm(load, really)).say(loads[-1])
    assert not said.fits
    assert said.low_g <= right_g if right_g < LEVEL_G else said.high_g > before.high_g + 50
    assert width(said) > width(before)  # it does not pretend to know
    assert fed(boats, loads[:6], true_mm).say(loads[5]).fits


@pytest.mark.parametrize("really", [Box(150, 104, 40), Box(152, 102, 40)])
def test_few_boats_left_never_make_it_sure(boats, really):
    # A hundred all but perfect plateaus of a boat at the edge of what was drawn. They tell
    # nothing of the rim: 90 % of its triangle must remain.
    forecast = Forecast(boats, offset_mm_sd=0.05)
    for load in range(0, 400, 4):
        forecast.add(plateau(load, true_mm(load, really), 0.01, load_g_sd=0.0))
    rim_g = (sqrt(0.95) - sqrt(0.05)) * held_back_mm(20, 90) * 15 * WATER
    assert width(forecast.say(396)) > 0.9 * rim_g


# --- at the edges -------------------------------------------------------------------------------


def test_a_boat_too_heavy_to_float_carries_less_than_nothing():
    said = Forecast(PossibleBoats(HULL, 900.0), ITEM_G).say(0)
    assert said.high_g < 0
    assert said.median_g < said.high_g
    assert (said.room_g, said.room_items, said.median_items, said.high_items) == (0, 0, 0, 0)


def test_a_heavy_boat_that_floats_after_all_carries_at_least_nothing():
    heavy = PossibleBoats(HULL, 40 * 15 * WATER + 5)
    forecast = Forecast(heavy, ITEM_G)
    assert forecast.say(0).low_g < 0
    forecast.add(plateau(0.0, 0.5))
    assert forecast.say(0).low_g >= 0


def test_a_boat_without_mass_floats_on_its_keel():
    boats = PossibleBoats(HULL, 0.0)
    forecast = Forecast(boats)
    forecast.add(plateau(-0.05, 40.0))  # noise may weigh nothing as less than nothing
    said = forecast.say(0)
    assert said.low_g < capacity_g(HULL, 0.0, WATER) < said.high_g


def test_room_shrinks_as_items_go_aboard_and_ends_at_nothing(boats):
    forecast = Forecast(boats, ITEM_G)
    start, later, over = (forecast.say(g) for g in (0.0, 250.0, 2 * LEVEL_G))
    assert later.room_g == pytest.approx(start.room_g - 250)
    assert later.room_items == start.room_items - 100
    assert (later.median_items, later.low_items) == (start.median_items, start.low_items)
    assert (over.room_g, over.room_high_g, over.room_high_items) == (0, 0, 0)
    assert later.room_low_g < later.room_g < later.room_high_g
    assert later.room_low_items < later.room_items < later.room_high_items
    assert later.room_high_items == int(later.room_high_g / ITEM_G)


def test_counted_items_lead_over_what_the_load_would_make_of_them(boats):
    said = Forecast(boats, ITEM_G).say(250.0, items=97)  # these items weigh more than the label
    assert said.median_items == 97 + said.room_items


def test_uneven_items_widen_the_count_but_not_the_grams(boats):
    even, uneven = (Forecast(boats, ITEM_G, sd).say(0) for sd in (0.0, 2.0))
    assert (even.low_g, even.high_g) == (uneven.low_g, uneven.high_g)
    assert even.median_items == uneven.median_items
    assert uneven.low_items < even.low_items
    assert uneven.high_items > even.high_items


def test_an_item_without_mass_cannot_be_counted(boats):
    with pytest.raises(OutOfRange):
        Forecast(boats, 0.0).say(0, items=0)


def test_without_a_known_item_there_is_no_count(boats):
    said = Forecast(boats).say(0, items=3)
    assert (said.median_items, said.low_items, said.room_items) == (None, None, None)


# --- the band beforehand ------------------------------------------------------------------------


def test_the_band_has_both_lines(boats):
    band = prediction_band(boats)
    assert band.level_rim_g == pytest.approx(LEVEL_G)
    # 2.7 and 3.9 mm on 150 cm2: tests/reference/capillarity.toml, half as much again.
    assert band.held_back_g - band.level_rim_g == pytest.approx(1.5 * 38.480144, rel=1e-4)
    assert band.held_back_low_g - band.level_rim_g == pytest.approx(15 * 2.72586 * WATER, rel=1e-4)


def test_the_band_holds_the_curve_of_archimedes_and_runs_on_to_the_held_back_rim(boats):
    band = prediction_band(boats)
    assert band.curve[0].load_g == 0
    assert band.curve[-1].load_g == pytest.approx(band.held_back_g)
    assert band.curve[-1].median_mm == pytest.approx(-band.held_back_mm, abs=0.1)
    for point in band.curve:
        assert point.low_mm < point.median_mm < point.high_mm
        if point.load_g <= LEVEL_G:
            assert point.median_mm == pytest.approx(true_mm(point.load_g), abs=0.1)
    empty, full = band.curve[0], band.curve[-1]
    assert empty.high_mm - empty.low_mm == pytest.approx(2 * 1.645, rel=0.1)  # the depth alone
    assert full.high_mm - full.low_mm > empty.high_mm - empty.low_mm


def test_a_boat_that_goes_down_empty_has_no_curve():
    band = prediction_band(PossibleBoats(HULL, 900.0))
    assert band.held_back_g < 0
    assert band.curve == ()
