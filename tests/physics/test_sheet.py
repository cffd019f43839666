"""The best tray of a sheet: the open-box problem."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from rig.errors import OutOfRange
from rig.physics.flotation import capacity_g
from rig.physics.sheet import best_wall_mm, plan_sheet

MM = st.floats(40, 800)


def test_the_book_example():
    # OpenStax Calculus volume 1, 4.7: 24 x 36 in, cut 10 - 2 sqrt 7, 1825 cubic inches
    assert best_wall_mm(24, 36) == pytest.approx(10 - 2 * 7**0.5, rel=1e-12)
    assert 1000 * plan_sheet(24, 36, 0, 1.0).best.volume_ml == pytest.approx(1825, abs=0.5)


@given(MM, MM, st.floats(0, 0.02), st.booleans())
def test_the_closed_form_is_the_top_of_the_curve(length, beam, g_per_mm2, cut):
    sheet_g = g_per_mm2 * length * beam / 100

    def carries(wall: float) -> float:
        gone = 4 * wall**2 / (length * beam) if cut else 0
        return (length - 2 * wall) * (beam - 2 * wall) * wall / 1000 - sheet_g * (1 - gone)

    most = min(length, beam) / 2
    found = minimize_scalar(
        lambda w: -carries(w), bounds=(0, most), method="bounded", options={"xatol": 1e-7 * most}
    )
    plan = plan_sheet(length, beam, sheet_g, 1.0, corners_cut=cut)
    assert plan.best.capacity_g == pytest.approx(-found.fun, rel=1e-9, abs=1e-9)
    assert plan.best.wall_mm == pytest.approx(found.x, rel=1e-4)


def test_a_foil_sheet_of_the_class():
    # 200 x 150 mm of 0.05 mm foil at 2.7 g/ml weighs 4.05 g; corners folded in
    plan = plan_sheet(200, 150, 4.05, 0.998)
    wall = (350 - (200**2 - 200 * 150 + 150**2) ** 0.5) / 6  # the closed form of the schoolbooks
    assert plan.best.wall_mm == pytest.approx(wall)
    assert plan.box.depth_mm == plan.best.wall_mm
    assert capacity_g(plan.box, 4.05, 0.998) == pytest.approx(plan.best.capacity_g)
    assert max(fold.capacity_g for fold in plan.folds) <= plan.best.capacity_g
    walls = [fold.wall_mm for fold in plan.folds]
    assert walls == sorted(walls)
    assert 0 < walls[0] < plan.best.wall_mm < walls[-1] < 75
    # too low and too high both carry less
    assert plan.folds[0].capacity_g < 0.4 * plan.best.capacity_g
    assert plan.folds[-1].capacity_g < 0.2 * plan.best.capacity_g


def test_cutting_the_corners_off_makes_higher_walls_pay():
    folded, cut = (plan_sheet(200, 150, 60, 1.0, corners_cut=c) for c in (False, True))
    assert cut.best.wall_mm > folded.best.wall_mm
    assert cut.best.capacity_g > folded.best.capacity_g


@pytest.mark.parametrize(
    ("length", "beam", "grams"),
    [(0, 100, 5), (100, -1, 5), (float("nan"), 100, 5), (100, 100, -1), (100, 100, 5000)],
)
def test_no_tray_of_what_is_no_sheet(length, beam, grams):
    with pytest.raises(OutOfRange):
        plan_sheet(length, beam, grams, 1.0, corners_cut=True)


@pytest.mark.parametrize("cut", [True, False])
@pytest.mark.parametrize("sheet_g", [1100, 90_000])
def test_a_sheet_that_goes_down_however_it_is_folded_is_refused(cut, sheet_g):
    """The best tray of 300 x 200 mm holds 1056 ml."""
    with pytest.raises(OutOfRange, match="too heavy"):
        plan_sheet(300, 200, sheet_g if not cut else 20 * sheet_g, 1.0, corners_cut=cut)
