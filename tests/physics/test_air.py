"""Speed of sound against Cramer's equation worked out elsewhere, another program and a textbook.

Sources of every figure: tests/reference/speed_of_sound.toml and .csv.
"""

import csv
import tomllib
from math import sqrt
from pathlib import Path

import pytest

from rig.errors import OutOfRange
from rig.physics import air
from rig.physics.air import echo_distance_mm, speed_of_sound

REFERENCE = Path(__file__).parents[1] / "reference"
PUBLISHED = tomllib.loads((REFERENCE / "speed_of_sound.toml").read_text())
CRAMER, ECHO, BOOK = PUBLISHED["cramer1993"], PUBLISHED["echo"], PUBLISHED["openstax"]
with (REFERENCE / "speed_of_sound.csv").open(newline="") as table:
    ROWS = [{key: float(cell) for key, cell in row.items()} for row in csv.DictReader(table)]
LAST_DIGIT = 5.1e-4  # the figures have three decimals


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['air_c']:g} C")
@pytest.mark.parametrize("percent", [0, 25, 50, 75, 100])
def test_every_cell_of_the_cramer_table(row, percent):
    ours = speed_of_sound(row["air_c"], percent / 100)
    assert ours == pytest.approx(row[f"rh{percent}_m_s"], abs=LAST_DIGIT)


@pytest.mark.parametrize(
    ("key", "conditions"),
    [
        ("dry_0c", (0, 0)),
        ("dry_20c", (20, 0)),
        ("rh50_20c", (20, 0.5)),
        ("rh50_23c", (23, 0.5)),
        ("rh65_20c_80kpa", (20, 0.65, 80_000)),
    ],
)
def test_cramer_check_values(key, conditions):
    assert speed_of_sound(*conditions) == pytest.approx(CRAMER[key], abs=LAST_DIGIT)


def test_cramer_with_the_carbon_dioxide_of_his_day(monkeypatch):
    monkeypatch.setattr(air, "CO2_FRACTION", 314e-6)
    assert speed_of_sound(0, 0) == pytest.approx(CRAMER["dry_0c_co2_314ppm"], abs=LAST_DIGIT)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['air_c']:g} C")
def test_another_program_for_dry_air_agrees(row):
    gap = PUBLISHED["other_program"]["largest_gap_to_cramer_dry"] + 5e-4
    ours = speed_of_sound(row["air_c"], 0)
    assert ours == pytest.approx(row["dry_other_program_m_s"], abs=gap)
    assert gap < CRAMER["tolerance_relative"] * ours  # well inside what Cramer states


@pytest.mark.parametrize("air_c", [0, 20, 30])
def test_the_textbook_value_is_met_within_its_tolerance(air_c):
    printed = BOOK[f"at_{air_c}c"]
    assert 331 * sqrt((air_c + 273) / 273) == pytest.approx(printed, abs=0.1)
    assert speed_of_sound(air_c, 0) == pytest.approx(printed, rel=BOOK["tolerance_relative"])


def test_an_echo_of_30_cm():
    echo_us = 30 * ECHO["us_per_cm_20c_rh50"]
    assert echo_distance_mm(echo_us, 20) == pytest.approx(300, abs=0.005)
    # What the round 340 m/s of the data sheets would make of the same echo.
    assert echo_us * 340 / 2000 == pytest.approx(ECHO["reading_of_300_mm_with_340"], abs=0.05)


def test_the_divisor_58_of_the_data_sheets_stands_for_a_warm_room():
    # 58 us/cm is 344.8 m/s: the speed at about 21.4 C, not the 340 m/s printed beside it.
    us_per_10_cm = 10 * ECHO["us_per_cm_printed"]
    assert 2000 * 100 / us_per_10_cm == pytest.approx(ECHO["speed_that_58_means"], abs=0.05)
    assert echo_distance_mm(us_per_10_cm, 21) < 100 < echo_distance_mm(us_per_10_cm, 22)


def test_no_echo_time_is_no_distance():
    assert echo_distance_mm(0, 20) == 0


@pytest.mark.parametrize(
    "conditions", [(0, 0, 75_000), (30, 1, 102_000), (0, 1, 75_000), (30, 1, 75_000)]
)
def test_the_limits_themselves_are_inside(conditions):
    assert 330 < speed_of_sound(*conditions) < 353


@pytest.mark.parametrize(
    "conditions",
    [
        (-1e-9,),
        (30.000001,),
        (float("nan"),),
        (20, -1e-9),
        (20, 1.000001),
        (20, 0.5, 74_999.9),
        (20, 0.5, 102_000.1),
        (20, 0.5, float("nan")),
    ],
)
def test_just_outside_the_limits_is_refused(conditions):
    with pytest.raises(OutOfRange, match="0 to 30 deg C"):
        speed_of_sound(*conditions)


def test_an_echo_in_air_too_cold_is_refused():
    with pytest.raises(OutOfRange):
        echo_distance_mm(1000, -0.1)
