"""Coins, weights of a class, air buoyancy and error bands against their published figures."""

import csv
import tomllib
from pathlib import Path

import pytest

from rig.errors import OutOfRange
from rig.physics.buoyancy import reads_as_part, water_reads_g
from rig.physics.coins import COINS, coin_sd
from rig.physics.error_bands import interval_at_least, interval_at_most, largest_error_g
from rig.physics.mass_classes import LARGEST_ERRORS_MG
from rig.physics.mass_classes import largest_error_g as of_class

REFERENCE = Path(__file__).parents[1] / "reference"


def rows(name):
    with open(REFERENCE / name, newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_coins_weigh_what_their_specification_says():
    published = {(row["region"], row["coin"].split(" (")[0]): float(row["mass_g"])
                 for row in rows("coin_masses.csv")
                 if "1864" not in row["coin"] and "round" not in row["coin"]}  # fmt: skip
    assert len(published) == len(COINS) == 22
    for (region, coin), mass_g in published.items():
        assert COINS[f"{region} {coin}"] == mass_g


def test_a_coin_is_doubted_by_less_than_its_own_striking_allows():
    """Tolerances of single coins, where published; ours is for the mean of a handful."""
    tolerances = {f"{r['region']} {r['coin'].split(' (')[0]}": float(r["mass_tolerance_g"])
                  for r in rows("coin_masses.csv") if r["mass_tolerance_g"]}  # fmt: skip
    for name in ("US cent", "US nickel"):
        assert 0 < coin_sd(COINS[name]) < tolerances[name]


def test_weights_of_a_class_by_r_111():
    checked = 0
    for row in rows("weight_classes.csv"):
        nominal_g = float(row["nominal_g"])
        if 1 <= nominal_g <= 10_000:
            for name in ("M1", "M2", "M3"):
                assert of_class(name, nominal_g) * 1000 == pytest.approx(
                    float(row[f"{name}_mpe_mg"])
                )
                checked += 1
    assert checked == 3 * len(LARGEST_ERRORS_MG) == 39
    for wrong in (("M2", 300.0), ("F1", 100.0)):
        with pytest.raises(OutOfRange, match="no weight"):
            of_class(*wrong)


# 8000 kg/m3 weights in air of 1.2 kg/m3; computed from the formula by another program
@pytest.mark.parametrize(
    ("density", "part"),
    [
        (1.0, 0.9989498424763714),
        (2.7, 0.9997055113822628),
        (8.4, 1.0000071439287321),
        (0.03, 0.9601440216032404),
        (8.0, 1.0),
    ],
)
def test_air_carries_its_part(density, part):
    assert reads_as_part(density) == pytest.approx(part, rel=1e-12)


def test_a_litre_of_water_reads_less_than_a_kilogram():
    """998.2067 g/l at 20 deg C (Tanaka 2001, in water_density.csv), less 0.105 % for air."""
    published = {float(row["water_c"]): row for row in rows("water_density.csv")}
    for water_c in (5.0, 20.0, 30.0):
        kg_m3 = float(published[water_c]["tanaka2001_kg_m3"])
        expected_g = kg_m3 * (1 - 1.2 / kg_m3) / (1 - 1.2 / 8000)
        assert water_reads_g(1000, water_c) == pytest.approx(expected_g, abs=0.002)
    assert water_reads_g(1000, 20.0) == pytest.approx(997.156, abs=0.002)


def test_error_bands_by_r_76():
    table = tomllib.loads((REFERENCE / "error_bands.toml").read_text())["class_III"]
    (example,) = table["example"]
    e_g = example["e_g"]
    for load_g, error_g in zip(example["loads_g"], example["errors_g"], strict=True):
        assert largest_error_g(load_g, e_g) == error_g
        assert largest_error_g(-load_g, e_g) == error_g
    for up_to, errors in zip(table["up_to_e"], table["errors_e"], strict=True):
        assert largest_error_g(up_to * 0.2, 0.2) == pytest.approx(errors * 0.2)
    with pytest.raises(OutOfRange, match="10000 intervals"):
        largest_error_g(10_001, 1)
    with pytest.raises(OutOfRange, match="interval"):
        largest_error_g(1, 0)


@pytest.mark.parametrize(
    ("limit_g", "least", "most"),
    [(0.12, 0.2, 0.1), (1.25, 2, 1), (5, 5, 5), (0.05, 0.05, 0.05), (0.99, 1, 0.5), (60, 100, 50)],
)
def test_intervals_are_one_two_or_five(limit_g, least, most):
    assert (interval_at_least(limit_g), interval_at_most(limit_g)) == (least, most)
