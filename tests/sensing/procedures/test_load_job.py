"""Calibrating the load cell: the truth is covered, each fault is named, a sound rig has none."""

from dataclasses import replace
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from rig.errors import OutOfRange
from rig.sensing.procedures.jobs import make_job
from rig.setup import LoadCell
from rig.simulator.true_cell import TrueCell

_spec = spec_from_file_location(
    "calibration_coverage",
    Path(__file__).parents[2] / "benchmarks" / "calibration_coverage.py",
)
_coverage = module_from_spec(_spec)
_spec.loader.exec_module(_coverage)

SOUND = TrueCell(place_sd_g=0.03)


def to_mend(session):
    return [finding.about for finding in session.outcome().findings if not finding.ok]


def instead(**masses):
    """Another mass than was said: `g200=212`."""
    return lambda number, known: masses.get(f"g{known.value:.0f}", known.value)


@pytest.mark.parametrize("seed", range(12))
def test_a_sound_cell_has_nothing_to_mend(played, seed):
    outcome = played(seed=seed, cell=SOUND).outcome()
    assert outcome.ok and not outcome.contradicts
    assert [f.about for f in outcome.findings] == ["hysteresis", "zero return", "bend", "creep"]
    load = outcome.sets["load"]
    assert load["count_per_g"] == pytest.approx(430, abs=4 * load["count_per_g_sd"])
    assert load["zero_count"] == pytest.approx(84_213, abs=4 * load["zero_count_sd"])


def test_intervals_cover_the_truth():
    """Loose, for speed; tests/benchmarks/calibration_coverage.py prints the figure."""
    zero, span = _coverage.covered(120, seed=5)
    # 95 % of 120: 114 +- 2.4; four standard deviations below
    assert zero >= 104 and span >= 104


def test_a_wrong_mass_is_named_with_what_it_seems_to_be(played):
    session = played(true_g=instead(g200=212))
    (found,) = [f for f in session.outcome().findings if not f.ok]
    assert found.about == "wrong known value" and found.known == 200
    assert found.reads_as == pytest.approx(212, abs=0.2)
    assert session.outcome().contradicts


def test_the_largest_mass_put_on_once_can_be_wrong_too(played):
    session = played(true_g=instead(g1000=1010))
    (found,) = [f for f in session.outcome().findings if not f.ok]
    assert found.about == "contradictory point" and found.known == 1000
    assert found.off == pytest.approx(10, abs=1)


@pytest.mark.parametrize("swapped", [{2: 200.0, 3: 100.0}, {4: 1000.0, 5: 500.0}])
def test_swapped_points_are_named(played, swapped):
    session = played(true_g=lambda number, known: swapped.get(number, known.value))
    (found,) = [f for f in session.outcome().findings if not f.ok]
    assert found.about == "swapped points"
    assert found.numbers == tuple(number + 1 for number in swapped)


def test_labels_swapped_both_ways_turn_back(played):
    assert to_mend(played(true_g=instead(g100=200, g200=100))) == ["turns back"]


def test_one_point_that_was_misread(played):
    off = lambda number, known: known.value + 5 * (number == 3)  # noqa: E731
    assert "contradictory point" in to_mend(played(true_g=off))


def test_a_tray_that_rests_is_a_dead_band(played):
    session = played(cell=replace(SOUND, rests_from_g=100, rests_g=150))
    bands = [f for f in session.outcome().findings if f.about == "dead band"]
    assert {(band.before, band.after) for band in bands} == {(100, 200), (200, 100)}
    assert to_mend(session) == ["dead band"] * 2


def test_hysteresis(played):
    assert to_mend(played(cell=replace(SOUND, hysteresis_g=4))) == ["hysteresis"]


def test_creep(played):
    session = played(cell=replace(SOUND, creep_part=0.01))
    assert "creep" in to_mend(session)
    assert not session.outcome().contradicts  # said, and still of use


def test_a_zero_that_wanders_off(played):
    assert to_mend(played(cell=replace(SOUND, drift=3))) == ["zero return"]


@pytest.mark.parametrize("true_g2", [-0.004, 0.004])
def test_a_bend_is_taken_where_the_points_demand_it(played, true_g2):
    outcome = played(cell=replace(SOUND, per_g2=true_g2)).outcome()
    assert outcome.ok
    load = outcome.sets["load"]
    assert load["count_per_g2"] == pytest.approx(true_g2, rel=0.1)
    # the rig then reads right all along, also between the points
    cell = LoadCell(**load)
    for true_g in (0, 75, 350, 750, 1000):
        count = 84_213 + 430 * true_g + true_g2 * true_g**2
        assert cell.mass_g(count) == pytest.approx(true_g, abs=0.25)


def test_a_bend_too_small_to_matter_stays_a_straight_line(played):
    outcome = played(cell=replace(SOUND, per_g2=-0.0003)).outcome()
    assert outcome.ok and outcome.sets["load"]["count_per_g2"] is None


def test_three_values_that_contradict_each_other_blame_no_single_one(played):
    options = {"masses": ["M2 200 g", "M2 500 g"]}
    assert to_mend(played(options=options, true_g=instead(g200=212))) == ["do not fit together"]


def test_stated_doubts_are_no_contradiction(played):
    """Coins may be 1 % off together, and this one is."""
    options = {"masses": ["M2 200 g", "20 x EUR 2 euro", "M2 500 g", "M2 100 g"]}
    session = played(options=options, true_g=instead(g170=171.5))
    assert session.outcome().ok


def test_coins_alone_leave_their_own_doubt(played):
    options = {"masses": [f"{n} x EUR 2 euro" for n in (5, 10, 20, 40)]}
    load = played(options=options).outcome().sets["load"]
    # all off together by 1 % at most: 0.58 % of the span at least (GUM 4.3.7)
    assert load["count_per_g_sd"] / 430 == pytest.approx(0.01 / 3**0.5, rel=0.05)


def test_a_dead_cell_is_told(played):
    with pytest.raises(OutOfRange, match="do not follow the load"):
        played(cell=replace(SOUND, per_g=0.0)).outcome()


@pytest.mark.parametrize(
    ("kind", "options", "needle"),
    [
        ("load", {"masses": ["M2 100 g"]}, "two different masses"),
        ("load", {"masses": ["M2 100 g", "M2 100 g"]}, "two different masses"),
        ("load", {"masses": ["M2 100 g", "M2 200 g"], "rounds": 9}, "too much"),
        ("load", {"masses": [f"{n} g +- 1 g" for n in range(1, 30)]}, "steps are too many"),
        ("load", {"masses": 5}, "no list"),
        ("kettle", {}, 'no "kettle"'),
        ("check", {}, "no known mass"),
        ("check", {"mass": "nothing"}, "needs a known mass"),
        ("tub", {"jug_ml": 1000, "jugs": [1, 2]}, "three pours"),
        ("tub", {"jug_ml": 1000, "jugs": [3, 2, 4]}, "three pours"),
        ("tub", {"jug_ml": "nan", "jugs": [1, 2, 3]}, "no number"),
        ("surface", {"heights": ["20"]}, "two different heights"),
        ("surface", {"heights": ["20", "x"]}, "no number of mm"),
        ("surface", {"heights": ["20", "40"], "air_c": 55}, "0 to 30"),
    ],
)
def test_what_makes_no_procedure_is_told(kind, options, needle):
    with pytest.raises(OutOfRange) as told:
        make_job(kind, options)
    assert needle in str(told.value)
