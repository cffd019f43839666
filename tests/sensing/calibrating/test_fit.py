"""Fits against numpy.polyfit and scipy on drawn points, both ways; what cannot be fitted."""

from math import hypot, sqrt

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.stats import linregress

from rig.errors import OutOfRange, RigError
from rig.sensing.calibrating import Point, fit_as_needed, fit_line, fit_parabola

GRAMS = st.floats(0, 20_000).map(lambda g: round(g, 1))
NOISE = st.integers(-2000, 2000)
KNOWN = st.lists(GRAMS, min_size=5, max_size=15, unique=True)


@st.composite
def cells(draw, sds=False):
    """Counts of a cell wired either way, a little bent, noisy."""
    known = draw(KNOWN)
    zero, per_g = draw(st.integers(-150_000, 150_000)), draw(st.sampled_from((-430, -40, 107, 859)))
    bend = draw(st.floats(-1e-6, 1e-6))
    spread = [draw(st.floats(1, 500)) if sds else None for _ in known]
    return [
        Point(g, zero + per_g * g * (1 + bend * g) + draw(NOISE), sd)
        for g, sd in zip(known, spread, strict=True)
    ]


def far_apart(points):
    known = sorted(p.known for p in points)
    return (known[-1] - known[0]) > 100 and min(np.diff(known)) > 1


@given(cells(), st.sampled_from((1, 2)))
def test_unweighted_is_numpys_polyfit(points, degree):
    assume(far_apart(points))
    found = (fit_line if degree == 1 else fit_parabola)(points)
    x, y = np.array([(p.known, p.raw) for p in points]).T
    middle = x.mean()
    theirs, covariance = np.polyfit((x - middle) / 1000, y, degree, cov=True)
    assert found.residual_sd**2 * found.dof == pytest.approx(
        float(((np.polyval(theirs, (x - middle) / 1000) - y) ** 2).sum()), rel=1e-6, abs=1e-6
    )
    for g in (float(x.min()), middle, 1.2 * float(x.max())):
        powers = ((g - middle) / 1000) ** np.arange(degree, -1, -1)
        assert found.raw_at(g).value == pytest.approx(float(theirs @ powers), rel=1e-9, abs=1e-4)
        sd = sqrt(float(powers @ covariance @ powers))
        assert found.raw_at(g).sd == pytest.approx(sd, rel=1e-5, abs=1e-5)


@given(cells())
def test_a_line_is_scipys_linregress(points):
    assume(far_apart(points))
    found, theirs = fit_line(points), linregress(*np.array([(p.known, p.raw) for p in points]).T)
    assert found.coefficients == pytest.approx((theirs.intercept, theirs.slope), rel=1e-8, abs=1e-3)
    sds = (theirs.intercept_stderr, theirs.stderr)
    assert found.sds == pytest.approx(sds, rel=1e-4, abs=1e-6)


@given(cells(sds=True), st.sampled_from((1, 2)))
def test_weighted_is_numpys_polyfit_with_weights(points, degree):
    assume(far_apart(points))
    found = (fit_line if degree == 1 else fit_parabola)(points)
    x, y, sd = np.array([(p.known, p.raw, p.raw_sd) for p in points]).T
    u = (x - x.mean()) / 1000
    theirs, covariance = np.polyfit(u, y, degree, w=1 / sd, cov="unscaled")
    chi2 = float((((np.polyval(theirs, u) - y) / sd) ** 2).sum())
    assert found.residual_sd**2 * found.dof == pytest.approx(chi2, rel=1e-5, abs=1e-5)
    # a scatter beyond the stated uncertainties widens them, a smaller one changes nothing
    covariance *= max(1.0, chi2 / found.dof)
    for i, g in enumerate(x):
        powers = u[i] ** np.arange(degree, -1, -1)
        assert found.raw_at(g).value == pytest.approx(float(theirs @ powers), rel=1e-8, abs=1e-3)
        sd_there = sqrt(float(powers @ covariance @ powers))
        assert found.raw_at(g).sd == pytest.approx(sd_there, rel=1e-5)


@given(cells(), st.sampled_from((fit_line, fit_parabola)), st.floats(0, 1))
def test_known_at_turns_raw_at_round(points, fit, part):
    assume(far_apart(points))
    found = fit(points)
    known = found.middle + found.half * (2 * part - 1)
    try:
        back = found.known_at(found.raw_at(known).value)
    except OutOfRange:
        slopes = np.diff([found.raw_at(g).value for g in ends_and_middle(found)])
        turns = min(slopes) <= 0 <= max(slopes)
        # or as good as flat: at one end no steeper than what is uncertain about the whole
        assert turns or min(abs(slopes)) * 100 < 9 * max(found.raw_at(g).sd for g in ends(found))
        return
    assert back.value == pytest.approx(known, abs=1e-5 * found.half)


def ends(fit):
    return (fit.middle - fit.half, fit.middle + fit.half)


def ends_and_middle(fit):
    return np.linspace(fit.middle - fit.half, fit.middle + fit.half, 101).tolist()


@pytest.mark.parametrize("per_g", [430.0, -430.0])
@pytest.mark.parametrize("bend", [0.0, 2e-5, -2e-5])
def test_inverse_uncertainty_against_drawing_it(per_g, bend):
    """Redraw the calibration 4000 times: the values read from one count scatter as stated."""
    random = np.random.default_rng(7)
    known, sd = np.array([0.0, 0, 250, 500, 500, 1000, 1000]), 300.0
    true = -8000 + per_g * known * (1 + bend * known)
    fit = fit_line if bend == 0 else fit_parabola
    points = [Point(g, c, sd) for g, c in zip(known, true, strict=True)]
    raw = -8000 + per_g * 700 * (1 + bend * 700)
    stated = fit(points).known_at(raw, raw_sd=100.0)
    assert stated.value == pytest.approx(700, abs=1e-6)
    drawn = []
    for _ in range(4000):
        noisy = true + random.normal(0, sd, len(known))
        u = known / 1000
        c = np.polyfit(u, noisy, 1 if bend == 0 else 2)
        at = raw + random.normal(0, 100)
        roots = np.roots([*c[:-1], c[-1] - at])
        drawn.append(1000 * min(roots.real, key=lambda root: abs(root - 0.7)))
    # 4000 draws tell a standard deviation to 1.1 %
    assert stated.sd == pytest.approx(float(np.std(drawn)), rel=0.05)


def test_beyond_says_where_no_known_value_was():
    fit = fit_line([Point(g, 430 * g + d) for g in (0, 500, 1000) for d in (0, 1)])
    assert [fit.raw_at(g).beyond for g in (-1, 0, 1000, 1001)] == [True, False, False, True]
    assert [fit.known_at(430 * g).beyond for g in (-1, 1, 999, 1001)] == [True, False, False, True]


# --- known values that are uncertain themselves ----------------------------------------------


def test_uncertain_weights_count_as_much_less_as_the_slope_makes_them():
    """Effective variance for a line: raw_sd^2 + (slope known_sd)^2, here 3-4-5 triangles."""
    known, slope = (0.0, 100.0, 200.0, 300.0), 2.0
    raw = [slope * g + d for g, d in zip(known, (0.5, -1.0, 0.7, -0.2), strict=True)]
    both = fit_line([Point(g, c, 3.0, 2.0) for g, c in zip(known, raw, strict=True)])
    plain = fit_line([Point(g, c, hypot(3.0, 2 * 2.0)) for g, c in zip(known, raw, strict=True)])
    assert both.coefficients == pytest.approx(plain.coefficients, rel=1e-3)
    assert both.sds == pytest.approx(plain.sds, rel=1e-2)


@pytest.mark.parametrize("seed", range(5))
def test_effective_variance_against_the_whole_minimum(seed):
    """Minimise sum (raw - line)^2 / (raw_sd^2 + slope^2 known_sd^2) in both coefficients.

    York, Can. J. Phys. 44 (1966) 1079: the full problem. With errors of a thousandth of the span
    the effective variance is the same to far less than the uncertainty.
    """
    random = np.random.default_rng(seed)
    true = np.array([0.0, 100, 250, 500, 750, 1000])
    known_sd, raw_sd = random.uniform(0.2, 1.5, 6), random.uniform(20, 400, 6)
    known, raw = true + random.normal(0, known_sd), 430 * true + random.normal(0, raw_sd)
    points = [Point(*row) for row in zip(known, raw, raw_sd, known_sd, strict=True)]
    found = fit_line(points)

    def misfit(c):
        off = raw - 430 * known - c[0] * 100 - c[1] * known
        return float((off**2 / (raw_sd**2 + ((430 + c[1]) * known_sd) ** 2)).sum())

    best = minimize(misfit, [0.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-9}).x
    assert abs(found.coefficients[0] - 100 * best[0]) < 0.05 * found.sds[0]
    assert abs(found.coefficients[1] - 430 - best[1]) < 0.05 * found.sds[1]


# --- lack of fit -----------------------------------------------------------------------------


def test_lack_of_fit_by_hand():
    """Two readings each at 0, 1, 2: repeats differ by 2, means are 0, 4, 2 off a line of slope 1.

    Line through the means 0, 4, 2: 1 + x, residuals -1, 2, -1; each twice: lack = 12 with 1
    degree of freedom; repeats: 6 x 1^2 = 6 with 3; F = 12 / 2 = 6.
    """
    data = [Point(x, y + d) for x, y in ((0, 0), (1, 4), (2, 2)) for d in (1, -1)]
    lack = fit_line(data).lack_of_fit()
    assert (lack.f, lack.df_lack, lack.df_repeats) == (pytest.approx(6.0), 1, 3)
    weighted = fit_line([Point(p.known, p.raw, 0.5) for p in data]).lack_of_fit()
    assert weighted.f == pytest.approx(6.0)  # the same weight for all changes nothing
    assert fit_parabola(data).lack_of_fit() is None  # it goes through all means
    assert fit_line(data[::2]).lack_of_fit() is None  # nothing repeated


def test_repeats_that_agree_to_the_last_count():
    bent = [Point(x, 1000 * x + 10 * x * x) for x in (0, 1, 2, 3) for _ in range(2)]
    assert fit_line(bent).lack_of_fit().p == 0
    assert len(fit_as_needed(bent).coefficients) == 3
    straight = [Point(x, 1000 * x) for x in (0, 1, 2, 3) for _ in range(2)]
    assert fit_line(straight).lack_of_fit().p == 1
    assert len(fit_as_needed(straight).coefficients) == 2


def test_a_sound_line_lacks_fit_as_often_as_p_says():
    random, seen = np.random.default_rng(3), 0
    for _ in range(1000):
        data = [Point(x, 5 * x + random.normal()) for x in (0.0, 1, 2, 3) for _ in range(3)]
        seen += fit_line(data).lack_of_fit().p < 0.1
    assert seen == pytest.approx(100, abs=4 * sqrt(90))


# --- what cannot be fitted -------------------------------------------------------------------

NAN, INF = float("nan"), float("inf")


@pytest.mark.parametrize(
    ("fit", "points", "word"),
    [
        (fit_line, [], "2 different known values, not 0"),
        (fit_line, [Point(1, 2)], "2 different"),
        (fit_line, [Point(5, 2), Point(5, 3), Point(5, 4)], "2 different known values, not 1"),
        (fit_line, [Point(0, 2), Point(5, 3)], "do not tell their own scatter"),
        (fit_parabola, [Point(0, 2), Point(5, 3), Point(5, 4)], "3 different known values, not 2"),
        (fit_parabola, [Point(0, 2), Point(5, 3), Point(9, 4)], "do not tell their own scatter"),
        (fit_line, [Point(0, 2), Point(5, NAN), Point(9, 4)], "nan for 5"),
        (fit_line, [Point(0, 2), Point(INF, 1), Point(9, 4)], "1 for inf"),
        (fit_line, [Point(0, 2, 1), Point(5, 3, -1), Point(9, 4, 1)], "3 for 5"),
        (fit_line, [Point(0, 2, 1), Point(5, 3), Point(9, 4, 1)], "Only some"),
        (fit_line, [Point(0, 2), Point(5, 3, None, 0.1), Point(9, 4)], "no raw number"),
        (fit_line, [Point(0, 2, 0.0), Point(5, 3, 1), Point(9, 4, 1)], "no uncertainty at all"),
        (fit_parabola, [Point(0, 2, 1), Point(1e-30, 3, 1), Point(9, 4, 1)], "too close"),
        (fit_line, [Point(0, 2, 1), Point(5e-324, 3, 1)], "too close"),
        (fit_line, [Point(0, -1e308, 1), Point(1e-5, 1e308, 1)], "too large"),
    ],
)
def test_what_cannot_be_fitted_says_what_to_do(fit, points, word):
    with pytest.raises(OutOfRange) as raised:
        fit(points)
    assert word in raised.value.what
    assert raised.value.try_this.endswith(".") and raised.value.try_this.count(".") == 1


@given(
    st.lists(
        st.builds(
            Point,
            st.floats(),
            st.floats(),
            st.none() | st.floats(),
            st.just(0.0) | st.floats(),
        ),
        max_size=6,
    )
)
def test_any_points_give_finite_figures_or_a_remedy(points):
    for fit in (fit_line, fit_parabola, fit_as_needed):
        try:
            found = fit(points)
        except RigError:
            continue
        assert np.isfinite([*found.coefficients, *found.sds]).all()


def test_two_points_with_uncertainties_make_a_line():
    """Zero and one known mass: a quick calibration. Worked by hand: u(slope) = sqrt(2) 30 / 500."""
    fit = fit_line([Point(0, -8000, 30), Point(500, 207_000, 30)])
    assert fit.coefficients == pytest.approx((-8000, 430))
    assert fit.sds == pytest.approx((30, sqrt(2) * 30 / 500))
    assert fit.residual_sd is None and fit.dof == 0
    assert fit.bend_p() == 1 and fit.lack_of_fit() is None


def test_a_flat_line_reads_nothing():
    flat = fit_line([Point(0, 5, 1), Point(10, 5, 1), Point(20, 5, 1)])
    with pytest.raises(OutOfRange, match="rise or fall"):
        flat.known_at(5)
    with pytest.raises(OutOfRange, match="do not follow the load"):
        flat.load_cell()


def test_a_parabola_that_turns_reads_nothing_and_makes_no_rig_file():
    turning = fit_parabola([Point(x, x * (10 - x), 0.1) for x in range(11)])
    with pytest.raises(OutOfRange, match="rise or fall"):
        turning.known_at(20)
    with pytest.raises(OutOfRange, match="straight line"):
        turning.load_cell()
    late = fit_parabola([Point(x, x * (16 - x), 0.1) for x in range(11)])  # it turns at 8
    with pytest.raises(OutOfRange, match="rise or fall"):
        late.known_at(20)
    half = fit_parabola([Point(x, x * (10 - x), 0.1) for x in range(5)])
    assert half.known_at(9).value == pytest.approx(1)  # not the 9 on the other side
    with pytest.raises(OutOfRange, match="never comes to 26"):
        half.known_at(26)
