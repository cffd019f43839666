"""Freeboard and level against Archimedes' law, worked out by hand for a box.

Box 150 x 100 x 40 mm of 20 g in water of 0.9982067 g/ml: a gram is 1/0.9982067 ml, sinks the box by
1/(15 x 0.9982067) mm, and lifts a tub of 600 cm2 by 1/(60 x 0.9982067) mm.
"""

from math import sqrt

import pytest

from rig.physics.hulls import Box, Tray
from rig.setup import Boat
from rig.setup.rigfile import RigSetup
from rig.trial.doubts import freeboard_sd_by_ruler
from rig.trial.events import FreeboardMethod
from rig.trial.floating import EmptyRest, Floating
from rig.trial.gauge_track import GaugeTrack, Mean

WATER_20C = 0.9982067  # g/ml, Tanaka et al., Metrologia 38 (2001) 301-309, table, 20 deg C
DROP, RISE = 1 / (15 * WATER_20C), 1 / (60 * WATER_20C)
EMPTY = 40 - 20 * DROP
STRAIGHT = {"area_mm2": 60_000}
TAPERED = {"pours": [[0, 0], [90, 5000], [110, 6500], [130, 8300]]}  # 750, then 900 cm2 above 110


def setup(tub=STRAIGHT, gauges="surface rim", unit="um", **heights):
    sections = {
        "rig": {"name": "by hand", "layout": "feed-tray"},
        "load": {"zero_count": 0, "count_per_g": 400},
    }
    if tub:
        sections["tub"] = tub
    if "surface" in gauges:
        sections["surface"] = {"height_mm": 300, "unit": unit, **heights}
    if "rim" in gauges:
        sections["rim"] = {"height_mm": 420, "flag_mm": 60, "unit": unit, **heights}
    return RigSetup.model_validate(sections)


BOX = Boat("A", Box(150, 100, 40), 20)


def floating(*, level=100.0, rim=140.0, boat=BOX, **kinds):
    """A boat that lay empty at a level and a rim known without noise."""
    found = Floating(setup(**kinds), boat, WATER_20C)
    found.rest = EmptyRest(
        None if level is None else Mean(level, 0.0, 40), None if rim is None else Mean(rim, 0.0, 40)
    )
    return found


def track(level=None, rim=None, wobble=0.0):
    """Forty rows about a height; every other one is a wobble above, the next one below."""
    gauges = GaugeTrack()
    for i in range(40):
        off = wobble if i % 2 else -wobble
        gauges.feed(i / 10, None if level is None else level + off, rim, None)
    gauges.finish()
    return gauges


# --- three ways to a freeboard ---------------------------------------------------------------


def test_by_rim_gauge_it_is_rim_less_level():
    found = floating().freeboard(track(101.5, 131.25), 0, 4, 0)
    assert found.method is FreeboardMethod.RIM_GAUGE
    assert found.freeboard_mm == pytest.approx(29.75)


@pytest.mark.parametrize("load_g", [0, 100, 300, 570])
def test_by_displacement_in_a_straight_tub(load_g):
    found = floating(gauges="surface").freeboard(track(100 + RISE * load_g), 0, 4, load_g)
    assert found.method is FreeboardMethod.DISPLACEMENT
    assert found.freeboard_mm == pytest.approx(EMPTY - DROP * load_g)


@pytest.mark.parametrize(
    ("from_mm", "load_g", "to_mm"),
    [
        (100, 300, 100 + 300 / WATER_20C / 75),
        (108, 400, 110 + (400 / WATER_20C - 150) / 90),  # 150 ml fit below the bend at 110 mm
    ],
)
def test_a_tapered_tub_rises_by_its_table(from_mm, load_g, to_mm):
    boat = floating(tub=TAPERED, gauges="surface", level=from_mm, rim=None)
    assert boat.level_mm(load_g) == pytest.approx(to_mm)
    found = boat.freeboard(track(to_mm), 0, 4, load_g)
    assert found.freeboard_mm == pytest.approx(EMPTY - DROP * load_g)


@pytest.mark.parametrize("load_g", [0, 300])
def test_by_rim_and_load_the_level_is_worked_out(load_g):
    boat = floating(gauges="rim", level=None, rim=100 + EMPTY)
    rim_mm = 100 + EMPTY + (RISE - DROP) * load_g
    found = boat.freeboard(track(rim=rim_mm), 0, 4, load_g)
    assert found.method is FreeboardMethod.RIM_AND_LOAD
    assert found.freeboard_mm == pytest.approx(EMPTY - DROP * load_g)
    assert boat.level_mm(load_g) == pytest.approx(100 + RISE * load_g)


def test_by_rim_and_load_in_a_tapered_tub():
    boat = floating(tub=TAPERED, gauges="rim", level=None, rim=108 + EMPTY)
    assert boat.level_mm(400) == pytest.approx(110 + (400 / WATER_20C - 150) / 90)


def test_by_rim_and_load_without_a_tub_the_level_stands_still():
    boat = floating(tub=None, gauges="rim", level=None, rim=100 + EMPTY)
    assert boat.level_mm(300) == pytest.approx(100)


def test_a_level_heard_late_is_the_empty_boats_by_archimedes():
    boat = floating(level=None, rim=140.0, gauges="rim surface")
    assert boat.sinking_drop_mm(300) is None
    boat.level_heard_late(Mean(100 + RISE * 300, 0.1, 20), 300)
    assert boat.rest.level == Mean(pytest.approx(100), 0.1, 20) and boat.rest.rim.value == 140.0
    assert boat.level_mm(100) == pytest.approx(100 + RISE * 100)
    assert boat.sinking_drop_mm(300) == pytest.approx(320 * RISE)


def test_a_level_heard_late_needs_a_tub_that_reaches_so_far():
    for tub, level in ((None, 120.0), (TAPERED, 900.0)):
        boat = floating(level=None, rim=None, tub=tub, gauges="surface")
        boat.level_heard_late(Mean(level, 0.1, 20), 300)
        assert boat.rest.level is None


@pytest.mark.parametrize(
    "boat",
    [
        floating(gauges="surface", boat=None),
        floating(gauges="surface", tub=None),
        floating(gauges="surface", level=None),
    ],
)
def test_displacement_needs_hull_tub_and_rest(boat):
    assert boat.freeboard(track(101), 0, 4, 0) is None


def test_a_level_outside_the_tubs_table_tells_nothing():
    boat = floating(tub=TAPERED, gauges="surface", level=129.0)
    assert boat.level_mm(1000) is None
    assert boat.freeboard(track(131.0), 0, 4, 0) is None


def test_with_no_reading_in_the_stretch_there_is_none():
    assert floating().freeboard(track(100, 140), 5, 6, 0) is None


def test_past_the_rim_it_goes_on_with_the_rims_waterplane():
    load_g = 600 * WATER_20C - 20 + 45  # 45 g too much
    found = floating(gauges="surface").freeboard(track(100 + RISE * load_g), 0, 4, load_g)
    assert found.freeboard_mm == pytest.approx(-45 * DROP)


def test_noise_below_nothing_displaced_has_the_keel_at_the_surface():
    found = floating(gauges="surface").freeboard(track(99.0), 0, 4, 0)
    assert found.freeboard_mm == 40


def test_a_gram_costs_freeboard_by_the_rims_waterplane():
    assert floating().freeboard_cost_mm(60) == pytest.approx(60 * DROP)
    tray = Boat("T", Tray(200, 100, 150, 60, 40), 20)
    assert floating(boat=tray).freeboard_cost_mm(60) == pytest.approx(60 / WATER_20C / 20)
    assert floating(boat=None).freeboard_cost_mm(60) == 0


def test_a_sinking_gives_back_all_that_was_displaced():
    """By the tub's surface at the empty boat's level: 750 cm2 below the bend."""
    assert floating().sinking_drop_mm(300) == pytest.approx(320 * RISE)
    drop = floating(tub=TAPERED).sinking_drop_mm(300)
    assert drop == pytest.approx(320 / WATER_20C / 75)
    assert floating(tub=None).sinking_drop_mm(300) is None


# --- how sure ----------------------------------------------------------------------------------


def by_partials(length, beam, displaced_ml, depth_sd=1.0):
    """GUM (JCGM 100:2008) 5.1.2 for f = D - V/(L B), 1 mm in each measure and 0.5 ml in V.

    df/dD = 1, df/dL = V/(L^2 B), df/dB = V/(L B^2), df/dV = -1/(L B).
    """
    mm3 = 1000 * displaced_ml
    by_length, by_beam = mm3 / (length**2 * beam), mm3 / (length * beam**2)
    return sqrt(depth_sd**2 + by_length**2 + by_beam**2 + (500 / (length * beam)) ** 2)


@pytest.mark.parametrize(
    ("length", "beam", "depth", "displaced_ml", "close"),
    [
        (150, 100, 40, 320, 0.001),
        (200, 100, 300, 5000, 0.01),  # length and width weigh more than the wall's height
        (100, 200, 300, 5000, 0.01),
        (10, 10, 50, 0.5, 0.02),  # the mass weighs most
        (150, 100, 40, 615, 0.003),  # past the rim
    ],
)
def test_what_a_ruler_leaves_open_by_the_partial_derivatives(
    length, beam, depth, displaced_ml, close
):
    """The code steps a whole millimetre, which is not quite the derivative: hence the tolerance."""
    found = freeboard_sd_by_ruler(Box(length, beam, depth), displaced_ml)
    assert found == pytest.approx(by_partials(length, beam, displaced_ml), rel=close)


def test_less_than_nothing_displaced_is_nothing():
    assert freeboard_sd_by_ruler(Box(150, 100, 40), -3.0) == pytest.approx(1.0)


def level_part(area_mm2, wobble):
    """The part of a displacement's sd that the level makes [mm]."""
    load_g = 200
    level = 100 + load_g / WATER_20C * 1000 / area_mm2
    boat = floating(tub={"area_mm2": area_mm2}, gauges="surface")
    found = boat.freeboard(track(level, wobble=wobble), 0, 4, load_g)
    return sqrt(found.freeboard_mm_sd**2 - by_partials(150, 100, 220 / WATER_20C) ** 2)


def test_the_sd_by_displacement_grows_with_the_tub():
    """A millimetre of level is A/(L B) of draft: 4 in 600 cm2, 8 in 1200 cm2."""
    one, two = level_part(60_000, 1.5), level_part(120_000, 1.5)
    # differences of 3 mm throughout: noise 3/(0.6745 sqrt 2) mm (median of a normal), 40 rows
    level_sd = 3 / (0.6745 * sqrt(2)) / sqrt(40)
    assert one == pytest.approx(4 * level_sd, rel=0.03)
    assert two / one == pytest.approx(2, rel=0.02)


def test_the_empty_boats_level_counts_as_much_as_todays():
    boat = floating(gauges="surface")
    level = track(101, wobble=1.5)
    sd = boat.freeboard(level, 0, 4, 60).freeboard_mm_sd
    boat.rest = EmptyRest(Mean(100.0, 0.5, 40), None)
    more = boat.freeboard(level, 0, 4, 60).freeboard_mm_sd
    assert more**2 - sd**2 == pytest.approx((4 * 0.5) ** 2)


def test_heights_of_both_gauges_count_by_rim_gauge():
    found = floating(height_mm_sd=0.6).freeboard(track(100, 140), 0, 4, 0)
    assert found.freeboard_mm_sd == pytest.approx(sqrt(2) * 0.6)


def test_the_empty_boats_rim_counts_by_rim_and_load():
    boat = floating(gauges="rim", level=None, rim=100 + EMPTY)
    rim = track(rim=100 + EMPTY)
    sd = boat.freeboard(rim, 0, 4, 0).freeboard_mm_sd
    boat.rest = EmptyRest(None, Mean(100 + EMPTY, 0.4, 40))
    assert boat.freeboard(rim, 0, 4, 0).freeboard_mm_sd ** 2 - sd**2 == pytest.approx(0.16)


# air 1.5 deg C off, 0.0018 a degree (0.6 m/s in 343 m/s): 0.0027 of a distance


def test_echoes_by_rim_gauge_are_off_by_what_their_beams_differ():
    """300 - 100 = 200 mm to the water, 420 - 60 - 140 = 220 mm to the flag: 20 mm apart."""
    found = floating(unit="us").freeboard(track(100, 140), 0, 4, 0)
    assert found.freeboard_mm_sd == pytest.approx(0.0027 * 20)


def test_echoes_by_displacement_are_off_by_the_rise():
    plain = floating(gauges="surface").freeboard(track(105), 0, 4, 300).freeboard_mm_sd
    echo = floating(gauges="surface", unit="us").freeboard(track(105), 0, 4, 300).freeboard_mm_sd
    assert echo**2 - plain**2 == pytest.approx((4 * 0.0027 * 5) ** 2)


def test_echoes_by_rim_and_load_are_off_by_the_fall():
    def sd(unit):
        boat = floating(gauges="rim", unit=unit, level=None, rim=100 + EMPTY)
        return boat.freeboard(track(rim=100 + EMPTY - 20), 0, 4, 300).freeboard_mm_sd

    assert sd("us") ** 2 - sd("um") ** 2 == pytest.approx((0.0027 * 20) ** 2)
