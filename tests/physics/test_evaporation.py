"""Drying beside published rates and tables; warming beside the density of water."""

import csv
import tomllib
from pathlib import Path

import pytest
from iapws import IAPWS97

from rig.errors import OutOfRange
from rig.physics.evaporation import (
    UNDISTURBED,
    carrier_kg_h_m2,
    latent_kj_kg,
    mm_per_day,
    saturated_kpa,
    shah_kg_h_m2,
    still_water,
)
from rig.physics.warming import swelling

REFERENCE = Path(__file__).parents[1] / "reference"
PUBLISHED = tomllib.loads((REFERENCE / "evaporation.toml").read_text(encoding="utf-8"))
with open(REFERENCE / "vapour_pressure.csv", encoding="utf-8") as file:
    VAPOUR = list(csv.DictReader(file))


@pytest.mark.parametrize("row", VAPOUR, ids=lambda row: f"{row['t_C']} C")
def test_vapour_pressure_is_the_wmo_formula_and_near_iapws(row):
    t = float(row["t_C"])
    # the WMO column has six figures; the formula itself is 0.10 to 0.31 % low against IAPWS
    assert 10 * saturated_kpa(t) == pytest.approx(float(row["magnus_wmo_hPa"]), abs=6e-5)
    steam_kpa = 1000 * IAPWS97(T=t + 273.15, x=1).P  # IAPWS-IF97 by the iapws package
    assert 0.996 < saturated_kpa(t) / steam_kpa < 1.0


@pytest.mark.parametrize("row", VAPOUR, ids=lambda row: f"{row['t_C']} C")
def test_latent_heat_is_iapws_95(row):
    known = float(row["latent_heat_kJ_kg_pkg_CoolProp"])
    assert latent_kj_kg(float(row["t_C"])) == pytest.approx(known, abs=0.7)


def shah_cases():
    shah = PUBLISHED["shah"]
    return list(zip(shah["table_water_C"], shah["table_air_C"], shah["table_E0"], strict=True))


@pytest.mark.parametrize(("water_c", "air_c", "rate"), shah_cases())
def test_shah_gives_his_published_look_up_values(water_c, air_c, rate):
    # ASHRAE Trans. 120 (2014) pt 2, SE-14-001, at half humidity; kg/(h m2), to 1 % (three figures
    # and another vapour table)
    assert shah_kg_h_m2(water_c, air_c, 0.5) == pytest.approx(rate, rel=0.01)


@pytest.mark.parametrize(
    "case", PUBLISHED["room_case"], ids=lambda c: f"{c['water_C']}/{c['air_C']}"
)
def test_rooms_by_all_three_versions(case):
    # computed with CoolProp's humid air; Magnus is up to 0.3 % below it, and the lift of moist air
    # (a small difference of densities) makes 1.5 % of that
    water_c, air_c, humidity = case["water_C"], case["air_C"], case["RH"]
    carrier = carrier_kg_h_m2(water_c, air_c, humidity, case["air_speed_m_s"])
    assert carrier == pytest.approx(case["carrier_kg_h_m2"], rel=0.01)
    assert mm_per_day(UNDISTURBED * carrier) == pytest.approx(
        case["carrier_x_0p74_mm_per_day"], rel=0.015
    )
    assert mm_per_day(shah_kg_h_m2(water_c, air_c, humidity)) == pytest.approx(
        case["shah_mm_per_day"], rel=0.015
    )


@pytest.mark.parametrize(
    "case", PUBLISHED["room_case"], ids=lambda c: f"{c['water_C']}/{c['air_C']}"
)
def test_the_allowance_spans_the_versions(case):
    dries = still_water(case["water_C"], case["air_C"], case["RH"], case["RH"])
    assert dries.low_mm_h * 24 == pytest.approx(case["shah_mm_per_day"], rel=0.015)
    if case["air_speed_m_s"] == 0:
        assert dries.high_mm_h * 24 == pytest.approx(case["carrier_mm_per_day"], rel=0.01)
    assert dries.high_mm_h > 1.4 * dries.low_mm_h


def test_cold_water_in_damp_air_dries_nothing():
    assert shah_kg_h_m2(10, 25, 0.9) == 0
    assert carrier_kg_h_m2(10, 25, 0.9) < 0
    dries = still_water(10, 25, 0.9, 0.9)
    assert (dries.low_mm_h, dries.high_mm_h) == (0, 0)


@pytest.mark.parametrize(("t", "humidity"), [(-0.1, 0.5), (40.1, 0.5), (20, 1.01), (20, -0.01)])
def test_beyond_the_formula_is_an_error(t, humidity):
    with pytest.raises(OutOfRange):
        carrier_kg_h_m2(t, t, humidity)


def test_warming_lifts_a_stiff_tub_by_the_waters_own_expansion():
    # Tanaka et al. (2001): 999.1026 kg/m3 at 15 C, 998.2067 at 20 C; 120 mm then rise by 0.108 mm,
    # glass walls (2 x 1e-5 x 5) take 0.012 mm off
    stiff = swelling(120.0, 15.0, 20.0).high_mm
    assert stiff == pytest.approx(120 * (999.1026 / 998.2067 - 1) - 0.012, abs=2e-4)


def test_a_soft_tub_may_let_the_level_fall_as_it_warms():
    warmed = swelling(120.0, 15.0, 20.0)
    assert warmed.low_mm == pytest.approx(0.1077 - 120 * 2 * 2e-4 * 5, abs=2e-3)
    cooled = swelling(120.0, 20.0, 15.0)
    assert cooled.low_mm < 0 < cooled.high_mm
    assert swelling(120.0, 18.0, 18.0) == swelling(200.0, 18.0, 18.0)  # nothing at all
