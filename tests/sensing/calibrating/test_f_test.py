"""F probabilities against a printed table and scipy."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import f as reference
from scipy.stats import t as student

from rig.errors import RigError
from rig.sensing.calibrating.f_test import critical_f, f_tail

FREE = st.integers(1, 300)


def test_the_handbooks_critical_value():
    # NIST/SEMATECH e-Handbook 4.6.1.5: F(0.05; 18, 20) = 2.15
    assert critical_f(0.05, 18, 20) == pytest.approx(2.15, abs=0.005)


@given(st.floats(1e-6, 1e4), FREE, FREE)
def test_the_tail_is_scipys(f, df1, df2):
    assert f_tail(f, df1, df2) == pytest.approx(reference.sf(f, df1, df2), rel=1e-9, abs=1e-14)


@given(st.floats(1e-6, 0.999), FREE, FREE)
def test_the_critical_value_is_scipys(chance, df1, df2):
    assert critical_f(chance, df1, df2) == pytest.approx(reference.isf(chance, df1, df2), rel=1e-8)


@given(st.floats(0, 50), FREE)
def test_one_degree_above_is_students_t(t, df):
    assert f_tail(t * t, 1, df) == pytest.approx(2 * student.sf(t, df), rel=1e-9, abs=1e-14)


def test_the_ends():
    assert f_tail(0, 3, 4) == 1
    assert f_tail(float("inf"), 3, 4) == 0
    assert f_tail(1e308, 1e3, 4) == 0


@pytest.mark.parametrize("bad", [(-1, 3, 4), (float("nan"), 3, 4), (1, 0, 4), (1, 3, 0)])
def test_what_cannot_be_is_an_error(bad):
    with pytest.raises(RigError):
        f_tail(*bad)


@pytest.mark.parametrize("chance", [0, 1, float("nan"), -0.1])
def test_a_chance_lies_between_nought_and_one(chance):
    with pytest.raises(RigError):
        critical_f(chance, 3, 4)
