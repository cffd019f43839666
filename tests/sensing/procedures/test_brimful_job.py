"""Filling a boat on the rig's own scale: what was on it is known, so is what must come out."""

import pytest

from rig.errors import OutOfRange
from rig.physics.hulls import Brimful
from rig.sensing.procedures.jobs import make_job
from rig.sensing.procedures.session import Session

WATER_20C = 0.9982067  # g/ml, Tanaka et al., Metrologia 38 (2001) 301-309, table, 20 deg C
AIR, STEEL = 0.0012, 8.0  # g/ml, conventional mass, OIML D 28:2004
READS = WATER_20C * (1 - AIR / WATER_20C) / (1 - AIR / STEEL)  # g a scale shows of 1 ml of water
BOAT_G, HELD_ML, RICE = 16.2, 480.0, 0.85


def filled(played, true_g, **options):
    session = played("brimful", options, true_g=lambda number, known: true_g[number])
    return session.outcome()


def test_water_gives_the_volume_by_its_density(played):
    found = filled(played, [0.0, BOAT_G, BOAT_G + HELD_ML * READS], water_c=20)
    (row,) = found.rows
    assert row["held_ml"] == pytest.approx(HELD_ML, abs=4 * row["held_ml_sd"])
    assert row["boat_g"] == pytest.approx(BOAT_G, abs=4 * row["boat_g_sd"])
    assert 0 < row["held_ml_sd"] < 0.5 and 0 < row["boat_g_sd"] < 0.5
    assert found.says[0].startswith("Full to the rim it holds 48") and found.ok


def test_warm_water_is_lighter(played):
    """0.9957 g/ml at 30 deg C: the same grams are more millilitres, by 2.6 in a thousand."""
    rows = [
        filled(played, [0.0, BOAT_G, 500.0], water_c=celsius).rows[0]["held_ml"]
        for celsius in (20, 30)
    ]
    assert rows[1] / rows[0] == pytest.approx(WATER_20C / 0.9956511, rel=1e-5)


def test_rice_gives_the_volume_by_the_same_rice_in_a_cup(played):
    """The cup's mark is the reference: neither rice's density nor the scale's span matters."""
    true_g = [0.0, BOAT_G, BOAT_G + HELD_ML * RICE, 60.0, 60.0 + 250 * RICE]
    found = filled(played, true_g, cup_ml="250", cup_off_ml="5")
    (row,) = found.rows
    assert row["held_ml"] == pytest.approx(HELD_ML, abs=2.0)
    # 5 ml at most, evenly: 2.9 ml of 250, a part of 480 ml
    assert row["held_ml_sd"] == pytest.approx(480 * 5 / 3**0.5 / 250, rel=0.02)
    assert row["filling"] == "rice"


def test_the_result_is_a_hull(played):
    (row,) = filled(played, [0.0, BOAT_G, BOAT_G + HELD_ML * READS]).rows
    hull = Brimful(170, 110, 40, held_ml=row["held_ml"])
    assert hull.volume_ml(40) == pytest.approx(HELD_ML, abs=1.0)


@pytest.mark.parametrize(
    "true_g",
    [
        [500.0, BOAT_G, BOAT_G + 480],  # begun with the full boat on
        [0.0, 496.0, BOAT_G],  # full and empty mixed up
        [0.0, BOAT_G, BOAT_G],  # nothing was filled in
    ],
)
def test_steps_in_another_order_are_told(played, true_g):
    with pytest.raises(OutOfRange, match="Begin again"):
        filled(played, true_g)


def test_an_empty_cup_is_told(played):
    with pytest.raises(OutOfRange, match="cup"):
        filled(played, [0.0, BOAT_G, 400.0, 60.0, 60.0], cup_ml=250)


def test_half_way_there_is_no_result(setup):
    with pytest.raises(OutOfRange, match="Not all steps"):
        Session(make_job("brimful", {}), setup).outcome()


@pytest.mark.parametrize(
    "options",
    [{"cup_ml": 0}, {"cup_ml": -5}, {"cup_ml": "much"}, {"cup_ml": 100, "cup_off_ml": 100},
     {"water_c": 80}],
)  # fmt: skip
def test_no_such_filling(options):
    with pytest.raises(OutOfRange):
        make_job("brimful", options)
