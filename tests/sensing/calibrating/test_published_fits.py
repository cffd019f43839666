"""Calibration fits against certified data: NIST StRD, the e-Handbook, and GUM H.3.

Figures and sources: tests/reference/calibration.toml.
"""

import csv
import tomllib
from pathlib import Path

import numpy as np
import pytest

from rig.sensing.calibrating import Point, fit_as_needed, fit_line, fit_parabola

REFERENCE = Path(__file__).parents[2] / "reference"
PUBLISHED = tomllib.loads((REFERENCE / "calibration.toml").read_text())
NINE_DIGITS = 1e-9  # "15 significant digits certified"; a sound fit in double precision keeps 9


def points(name, known="x", raw="y"):
    with open(REFERENCE / name, newline="") as file:
        return [Point(float(row[known]), float(row[raw])) for row in csv.DictReader(file)]


NORRIS, PONTIUS = points("nist_norris.csv"), points("nist_pontius.csv")
CERTIFIED = [("norris", NORRIS, fit_line), ("pontius", PONTIUS, fit_parabola)]


@pytest.mark.parametrize(("name", "data", "fit"), CERTIFIED)
def test_nist_certified_to_nine_digits(name, data, fit):
    certified, found = PUBLISHED[name], fit(data)
    assert found.coefficients == pytest.approx(certified["B"], rel=NINE_DIGITS, abs=0)
    assert found.sds == pytest.approx(certified["sd_B"], rel=NINE_DIGITS, abs=0)
    assert found.residual_sd == pytest.approx(certified["residual_sd"], rel=NINE_DIGITS, abs=0)
    assert found.dof == certified["residual_df"]


@pytest.mark.parametrize(("name", "data", "fit"), CERTIFIED)
@pytest.mark.parametrize("shift", [0.0, 1e7])
def test_digits_hold_in_any_unit_and_far_from_nought(name, data, fit, shift):
    """Pontius in kilograms instead of pounds, on a zero far away: spread and slope remain."""
    certified = PUBLISHED[name]
    moved = fit([Point((p.known + shift) * 0.45, p.raw) for p in data])
    last = len(certified["B"]) - 1
    assert moved.coefficients[-1] * 0.45**last == pytest.approx(certified["B"][-1], rel=1e-7)
    assert moved.residual_sd == pytest.approx(certified["residual_sd"], rel=1e-7)


def test_the_handbooks_straight_line_and_its_lack_of_fit():
    printed, line = PUBLISHED["handbook_line"], fit_line(PONTIUS)
    assert line.coefficients == pytest.approx(printed["B"], rel=1e-5)
    assert line.sds == pytest.approx(printed["sd_B"], rel=1e-4)
    assert line.residual_sd == pytest.approx(printed["residual_sd"], rel=1e-5)
    assert line.residual_sd == pytest.approx(printed["exact_residual_sd"], rel=1e-9)
    lack = line.lack_of_fit()
    assert lack.f == pytest.approx(printed["lack_of_fit_F"], rel=1e-5)
    assert lack.f == pytest.approx(printed["exact_lack_of_fit_F"], rel=1e-9)
    assert (lack.df_lack, lack.df_repeats) == (18, 20)
    assert lack.f > printed["F_05_18_20"] and lack.p < 0.05


def test_the_handbooks_parabola_fits_and_turns_round():
    figures, curve = PUBLISHED["handbook_parabola"], fit_parabola(PONTIUS)
    lack = curve.lack_of_fit()
    assert lack.f == pytest.approx(figures["lack_of_fit_F"], rel=1e-9)
    assert [lack.df_lack, lack.df_repeats] == figures["lack_of_fit_df"]
    assert lack.p > 0.5
    load = curve.known_at(figures["inverse_deflection"])
    assert load.value == pytest.approx(figures["inverse_load"], rel=1e-10)
    assert not load.beyond


def test_only_data_that_demand_it_get_a_parabola():
    assert len(fit_as_needed(PONTIUS).coefficients) == 3
    assert len(fit_as_needed(NORRIS).coefficients) == 2  # nothing is repeated: nothing demands it
    small = [p for p in PONTIUS if p.known <= 600_000]  # over so short a part the bend is noise
    assert len(fit_as_needed(small).coefficients) == 2
    straight = [Point(x, 3 + 5 * x + d) for x in (0, 1, 2, 5) for d in (-0.1, 0.05, 0.04)]
    assert len(fit_as_needed(straight).coefficients) == 2


def test_a_line_that_does_not_fit_for_another_reason_gets_no_parabola():
    """A wave about the line: repeats agree among themselves, and no parabola is any better."""
    wave = (0.5, -0.5, -0.5, 0.5, 0.5, -0.5, 0.5)
    data = [Point(x, 10 * x + up + d) for x, up in enumerate(wave) for d in (0.01, -0.01)]
    assert fit_line(data).lack_of_fit().p < 1e-6
    assert len(fit_as_needed(data).coefficients) == 2


def test_gum_h3():
    """As printed: y1, y2, their uncertainties, correlation, and the correction at 30 deg C."""
    gum = PUBLISHED["gum_h3"]
    data = [Point(p.known - 20, p.raw) for p in points("gum_h3.csv", "t_k_C", "b_k_C")]
    found = fit_line(data)
    assert found.coefficients[0] == pytest.approx(gum["y1"], abs=0.5e-4)
    assert found.coefficients[1] == pytest.approx(gum["y2"], abs=0.5e-5)
    assert found.sds[0] == pytest.approx(gum["u_y1"], abs=0.5e-4)
    assert found.sds[1] == pytest.approx(gum["u_y2"], abs=0.5e-5)
    correlation = found.covariance[0][1] / (found.sds[0] * found.sds[1])
    assert correlation == pytest.approx(gum["r"], abs=0.5e-2)
    assert found.residual_sd == pytest.approx(gum["s"], abs=0.5e-4)
    assert found.dof == gum["dof"]
    at_30 = found.raw_at(10)
    assert at_30.value == pytest.approx(gum["b30"], abs=0.5e-4)
    assert at_30.sd == pytest.approx(gum["u_b30"], abs=0.5e-4)
    assert at_30.beyond  # the thermometer was compared up to 26.5 deg C
    # one new reading adds its own scatter in quadrature (GUM 5.1.2)
    new = found.raw_at(10, found.residual_sd)
    assert new.sd == pytest.approx(np.hypot(gum["u_b30"], gum["s"]), abs=1e-4)


def test_the_rig_file_follows_from_a_line():
    """Norris, as if it were a load cell: mass = (count - zero_count) / count_per_g."""
    certified, fit = PUBLISHED["norris"], fit_line(NORRIS)
    cell = fit.load_cell()
    assert (cell.zero_count, cell.count_per_g) == pytest.approx(certified["B"], rel=NINE_DIGITS)
    sds = (cell.zero_count_sd, cell.count_per_g_sd)
    assert sds == pytest.approx(certified["sd_B"], rel=NINE_DIGITS)
    for p in NORRIS[:10]:
        mass = (p.raw - cell.zero_count) / cell.count_per_g
        assert mass == pytest.approx(fit.known_at(p.raw).value, abs=1e-9)
    # a scale that may be half a per cent off comes on top of the scatter
    both = fit.load_cell(known_part_sd=0.005).count_per_g_sd
    assert both == pytest.approx(np.hypot(certified["sd_B"][1], 0.005 * certified["B"][1]))
