"""Surface tension against the IAPWS table, two other sources and a library; heights at a rim.

Sources of every figure: tests/reference/capillarity.toml and surface_tension.csv.
"""

import csv
import tomllib
from pathlib import Path

import pytest
from iapws import IAPWS95

from rig.errors import OutOfRange
from rig.physics.capillarity import (
    DRY_RIM_DEG,
    capillary_length_mm,
    held_back_mm,
    surface_tension_mn_m,
)
from rig.physics.water import water_density

REFERENCE = Path(__file__).parents[1] / "reference"
PUBLISHED = tomllib.loads((REFERENCE / "capillarity.toml").read_text())
with (REFERENCE / "surface_tension.csv").open(newline="") as table:
    ROWS = [{key: float(cell) for key, cell in row.items()} for row in csv.DictReader(table)]
NBS, OVERFILL = PUBLISHED["nbs_nrc_1984"], PUBLISHED["overfill"]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['water_c']:g} C")
def test_every_row_of_the_iapws_table_to_the_last_digit(row):
    assert surface_tension_mn_m(row["water_c"]) == pytest.approx(row["iapws_r1_76_mn_m"], abs=5e-4)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['water_c']:g} C")
def test_heights_of_the_table_to_the_last_digit(row):
    c = row["water_c"]
    assert capillary_length_mm(c) == pytest.approx(row["capillary_length_mm"], abs=5.1e-5)
    assert held_back_mm(c, 90) == pytest.approx(row["held_back_90_mm"], abs=5.1e-5)


@pytest.mark.parametrize(
    ("water_c", "printed"), list(zip(NBS["water_c"], NBS["mn_m"], strict=True))
)
def test_the_steam_tables_of_1984_agree_to_their_last_digit(water_c, printed):
    assert surface_tension_mn_m(water_c) == pytest.approx(printed, abs=NBS["tolerance_mn_m"])


@pytest.mark.parametrize("water_c", [0.02, 5, 20, 25, 40, 60, 100])
def test_the_iapws_package_gives_the_same(water_c):
    package_n_m = IAPWS95(T=273.15 + water_c, x=0).sigma
    assert surface_tension_mn_m(water_c) == pytest.approx(1000 * package_n_m, rel=1e-9)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['water_c']:g} C")
def test_other_fits_lie_where_they_are_known_to_lie(row):
    ours = surface_tension_mn_m(row["water_c"])
    least, most = PUBLISHED["other_program"]["above_iapws_mn_m"]
    assert least - 1e-3 <= row["other_program_mn_m"] - ours <= most + 1e-3
    gap = PUBLISHED["patek2016"]["largest_gap_to_iapws_mn_m"]
    assert ours == pytest.approx(row["patek2016_mn_m"], abs=gap)
    assert gap < PUBLISHED["iapws"]["tolerance_relative"] * ours


def test_what_a_dry_rim_holds_back_at_20_degrees():
    wetted, dry = (held_back_mm(20, angle) for angle in DRY_RIM_DEG)
    assert wetted == pytest.approx(OVERFILL["at_60_degrees_mm"], rel=1e-6)
    assert dry == pytest.approx(OVERFILL["at_90_degrees_mm"], rel=1e-6)
    assert (round(wetted, 1), round(dry, 1)) == (2.7, 3.9)


def test_what_that_weighs_on_a_deck_of_100_square_centimetres():
    extra_g = 10_000 * held_back_mm(20, 90) / 1000 * water_density(20)
    # The published figure took the density as 998.2 kg/m3, four digits.
    assert extra_g == pytest.approx(OVERFILL["extra_g_on_100_cm2_at_90_degrees"], rel=1e-5)


def test_a_puddle_at_90_degrees_is_as_high_as_water_climbs_a_wetted_wall():
    # Both are sqrt(2) capillary lengths: two formulas of the same book.
    assert held_back_mm(20, 90) == pytest.approx(PUBLISHED["wall"]["wetted_mm"], rel=1e-6)


def test_water_that_wets_the_rim_is_not_held_back():
    assert held_back_mm(20, 0) == 0


@pytest.mark.parametrize("water_c", [0.01, 100])
def test_the_limits_of_surface_tension_are_inside(water_c):
    assert 58 < surface_tension_mn_m(water_c) < 76


@pytest.mark.parametrize("water_c", [0.0099, 100.0001, float("nan"), -5])
def test_surface_tension_just_outside_is_refused(water_c):
    with pytest.raises(OutOfRange, match=r"0\.01 to 100"):
        surface_tension_mn_m(water_c)


@pytest.mark.parametrize("water_c", [0.0099, 40.0001, float("nan")])
def test_a_length_just_outside_is_refused(water_c):
    assert 2.6 < capillary_length_mm(40) < capillary_length_mm(0.01) < 2.8
    with pytest.raises(OutOfRange):
        capillary_length_mm(water_c)


@pytest.mark.parametrize("contact_deg", [-0.001, 180.001, float("nan")])
def test_an_angle_that_cannot_be_is_refused(contact_deg):
    assert held_back_mm(20, 180) == pytest.approx(2 * capillary_length_mm(20))
    with pytest.raises(OutOfRange, match="degrees"):
        held_back_mm(20, contact_deg)
