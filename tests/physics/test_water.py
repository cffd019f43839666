"""Water density against four published formulas, a measurement, and IAPWS-95 run beside it.

Sources of every figure: tests/reference/water_density.toml and .csv.
"""

import csv
import tomllib
from pathlib import Path

import pytest
from iapws import IAPWS95

from rig.errors import OutOfRange
from rig.physics.water import water_density

REFERENCE = Path(__file__).parents[1] / "reference"
PUBLISHED = tomllib.loads((REFERENCE / "water_density.toml").read_text())
with (REFERENCE / "water_density.csv").open(newline="") as table:
    ROWS = [{key: float(cell) for key, cell in row.items()} for row in csv.DictReader(table)]


def density_kg_m3(water_c: float) -> float:
    return 1000 * water_density(water_c)


def celsius_of_t68(t68_c: float) -> float:
    """The 1968 scale runs 0.024 % ahead of today's (BIPM, ITS-90 approximation)."""
    return t68_c / 1.00024


def test_the_table_covers_the_whole_range_of_the_formula():
    assert [ROWS[0]["water_c"], ROWS[-1]["water_c"]] == PUBLISHED["tanaka2001"]["valid_c"]
    assert len(ROWS) == 37


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['water_c']:g} C")
def test_every_row_of_tanaka_to_the_last_digit(row):
    # Half a unit of the fourth decimal, and a hair for a row that falls on the half.
    assert density_kg_m3(row["water_c"]) == pytest.approx(row["tanaka2001_kg_m3"], abs=5.1e-5)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['water_c']:g} C")
def test_iapws_95_agrees(row):
    # IAPWS-95, not the industrial IF97, which is eight times further off below 40 C.
    largest_gap = PUBLISHED["iapws95"]["largest_gap_to_tanaka"] + 5e-5
    kelvin = 273.15 + row["water_c"]
    ours = density_kg_m3(row["water_c"])
    assert ours == pytest.approx(IAPWS95(T=kelvin, P=0.101325).rho, abs=largest_gap)
    assert ours == pytest.approx(row["iapws95_second_program_kg_m3"], abs=largest_gap)


def test_masui_measured_16_degrees_and_the_largest_density():
    masui = PUBLISHED["masui1995"]
    # Twice the stated standard uncertainty.
    assert density_kg_m3(16) == pytest.approx(masui["at_16_c"], abs=2 * masui["at_16_c_u"])
    largest = max(density_kg_m3(c / 1000) for c in range(3900, 4100))
    assert largest == pytest.approx(masui["largest"], abs=2 * masui["largest_u"])


@pytest.mark.parametrize("check", [0, 1])
def test_unesco_check_values_at_salinity_0(check):
    unesco = PUBLISHED["unesco1983"]
    ours = density_kg_m3(celsius_of_t68(unesco["t68_c"][check]))
    assert ours == pytest.approx(unesco["rho"][check], abs=unesco["largest_gap_to_tanaka"])


def kell(t68_c: float, denominator: float) -> float:
    terms = PUBLISHED["kell1975"]["numerator"]
    return sum(a * t68_c**n for n, a in enumerate(terms)) / (1 + denominator * t68_c)


@pytest.mark.parametrize("water_c", range(0, 41, 5))
def test_kell_agrees_and_its_misprint_would_be_seen(water_c):
    source, t68_c = PUBLISHED["kell1975"], 1.00024 * water_c
    gap = source["largest_gap_to_tanaka"] + 5e-5
    assert density_kg_m3(water_c) == pytest.approx(kell(t68_c, source["denominator"]), abs=gap)
    if water_c:
        wrong = kell(t68_c, source["denominator_misprinted"])
        assert density_kg_m3(water_c) != pytest.approx(wrong, abs=gap)


@pytest.mark.parametrize("row", [r for r in ROWS if r["water_c"] >= 5], ids=lambda r: r["water_c"])
def test_jones_and_harris_for_air_saturated_water_lies_just_below(row):
    # The NIST formula is for water with air in it: it must come out lower, by so much.
    least, most = PUBLISHED["jones_harris1992"]["below_tanaka"]
    c = PUBLISHED["jones_harris1992"]["coefficients"]
    nist = sum(a * row["water_c"] ** n for n, a in enumerate(c))
    assert nist == pytest.approx(row["jones_harris1992_air_saturated_kg_m3"], abs=5.1e-5)
    assert least - 1e-4 <= density_kg_m3(row["water_c"]) - nist <= most + 1e-4


def test_water_is_densest_near_4_degrees():
    # 3.98 C: common knowledge of physics books, here from memory.
    densest = max(range(0, 1001), key=lambda c: density_kg_m3(c / 100)) / 100
    assert densest == pytest.approx(3.98, abs=0.01)


def test_ten_degrees_more_lower_the_density_by_a_quarter_of_a_percent():
    # What the note beside ROOM_C promises; the two rows are Tanaka's.
    assert 1 - water_density(30) / water_density(20) == pytest.approx(0.0026, abs=0.0001)


@pytest.mark.parametrize("water_c", [0, 40])
def test_the_limits_themselves_are_inside(water_c):
    assert 0.99 < water_density(water_c) < 1


@pytest.mark.parametrize("water_c", [-1e-9, 40.000001, float("nan"), float("inf"), -273.15])
def test_just_outside_the_limits_is_refused(water_c):
    with pytest.raises(OutOfRange, match="0 to 40"):
        water_density(water_c)
