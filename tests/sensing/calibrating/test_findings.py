"""Contradictory points, hysteresis, a zero that stays away: made up with known faults."""

from random import Random

import pytest

from rig.sensing.calibrating import Point, findings, fit_line, fit_parabola
from rig.sensing.calibrating.findings import Hysteresis, PointOff, TurnsBack, ZeroReturn

UP_AND_DOWN = (0, 200, 500, 1000, 500, 200, 0)


def cell(loads=UP_AND_DOWN, noise=20.0, seed=1, changes=None, raw_sd=None):
    """430 counts a gram; `changes`: by number from 1, what is added to the count."""
    random = Random(seed)
    changes = changes or {}
    return [
        Point(g, 84_000 + 430 * g + random.gauss(0, noise) + changes.get(i, 0), raw_sd)
        for i, g in enumerate(loads, start=1)
    ]


def the(kind, found):
    return next((finding for finding in found if isinstance(finding, kind)), None)


@pytest.mark.parametrize("seed", range(30))
def test_a_sound_cell_has_nothing_to_mend(seed):
    found = findings(fit_line(cell(seed=seed)))
    assert [type(finding) for finding in found] == [Hysteresis, ZeroReturn]
    assert all(finding.ok for finding in found)


@pytest.mark.parametrize("number", [1, 2, 4, 6])
@pytest.mark.parametrize("off_g", [3.0, -40.0])
@pytest.mark.parametrize("raw_sd", [None, 20.0])
def test_one_wrong_point_is_named_with_how_far_it_is_off(number, off_g, raw_sd):
    points = cell(changes={number: 430 * off_g}, raw_sd=raw_sd)
    found = the(PointOff, findings(fit_line(points)))
    assert (found.number, found.known) == (number, points[number - 1].known)
    assert found.off == pytest.approx(off_g, abs=0.5)
    assert not found.ok and f"Point {number} (" in found.says and "again" in found.do


def test_sound_points_are_called_off_no_more_often_than_said():
    wrong = sum(the(PointOff, findings(fit_line(cell(seed=s)))) is not None for s in range(600))
    # one set in a hundred: 6 +- 2.4
    assert wrong <= 16


def test_a_point_among_points_without_any_scatter():
    exact = [Point(g, 430 * g) for g in (0, 100, 200, 300, 400)]
    assert the(PointOff, findings(fit_line(exact))) is None
    odd = [*exact, Point(500, 430 * 500 + 7)]
    assert the(PointOff, findings(fit_line(odd))).number == 6


def test_swapped_weights_turn_back():
    swapped = [Point(0, 0), Point(200, 430 * 500), Point(500, 430 * 200), Point(1000, 430_000)]
    found = the(TurnsBack, findings(fit_line(swapped)))
    assert (found.low, found.high) == (200, 500)
    assert not found.ok and "between 200 and 500 g" in found.says and "swapped" in found.do


def test_noise_smaller_than_said_turns_nothing_back():
    """Two weights a hair apart: their counts may come the wrong way round."""
    near = [
        Point(0, 0, 40),
        Point(500, 215_050, 40),
        Point(500.1, 215_000, 40),
        Point(1000, 430e3, 40),
    ]
    assert the(TurnsBack, findings(fit_line(near))) is None
    sure = [Point(p.known, p.raw, 4) for p in near]
    assert the(TurnsBack, findings(fit_line(sure))) is not None


@pytest.mark.parametrize("per_g", [430, -430])
@pytest.mark.parametrize(("lag_g", "ok"), [(0.5, True), (1.6, False), (-1.6, False)])
def test_hysteresis_is_down_less_up_as_a_part_of_the_span(per_g, lag_g, ok):
    """0.1 % of 1000 g is the limit; the lag is largest in the middle."""
    lags = (0, 0, 0, 0, lag_g, lag_g / 2, 0)
    points = [Point(g, per_g * (g + lag)) for g, lag in zip(UP_AND_DOWN, lags, strict=True)]
    found = the(Hysteresis, findings(fit_line(points)))
    assert found.known == 500 and found.ok is ok
    assert found.part == pytest.approx(lag_g / 1000, rel=0.01)
    assert "at 500 g" in found.says and "rubs" in found.do


@pytest.mark.parametrize(("back_g", "ok"), [(0.4, True), (0.7, False), (-0.7, False)])
def test_the_zero_comes_back_or_stays_away(back_g, ok):
    """0.05 % of 1000 g is the limit (OIML R 60: 0.5 v, 1000 intervals)."""
    points = cell(noise=0, changes={7: 430 * back_g})
    found = the(ZeroReturn, findings(fit_line(points)))
    assert found.ok is ok
    assert found.part == pytest.approx(back_g / 1000, rel=0.01)
    assert f"{back_g / 10:+.3f} %" in found.says and "ten minutes" in found.do
    lag = the(Hysteresis, findings(fit_line(points)))
    assert lag.known > 0 and lag.part == pytest.approx(0, abs=1e-9)  # the zero is no hysteresis


def test_noise_that_was_told_is_allowed_for():
    lags = {5: 430 * 1.6, 7: 430 * 0.7}
    assert all(f.ok for f in findings(fit_line(cell(noise=0, changes=lags, raw_sd=430.0))))


def test_only_what_was_measured_is_told():
    up_only = findings(fit_line(cell(loads=(0, 200, 500, 1000))))
    assert up_only == []
    no_zero = findings(fit_line(cell(loads=(200, 500, 1000, 500, 200))))
    assert [type(f) for f in no_zero] == [Hysteresis, ZeroReturn]  # the least load is the zero
    repeated = findings(fit_line(cell(loads=(0, 0, 500, 500, 1000, 1000))))
    assert repeated == []


def test_a_parabola_has_findings_too_and_units_are_the_callers():
    points = [Point(mm, 900 * mm + 0.1 * mm * mm + d) for mm in (0, 50, 99, 150) for d in (1, -1)]
    points[3] = Point(points[3].known, points[3].raw + 900)
    found = the(PointOff, findings(fit_parabola(points), unit="mm"))
    assert found.number == 4 and "(50 mm)" in found.says


def test_a_flat_line_has_no_span_to_be_a_part_of():
    flat = [Point(g, 5.0) for g in UP_AND_DOWN]
    assert findings(fit_line(flat)) == []
