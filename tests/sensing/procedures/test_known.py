"""What a person may type as a known value, and how sure that is."""

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.errors import OutOfRange
from rig.sensing.procedures.known import height, mass, poured

# Rectangular for a largest error: JCGM 100:2008 (GUM), 4.3.7.


@pytest.mark.parametrize(
    ("text", "grams", "sd"),
    [
        ("200 g +- 0.3 g", 200, 0.3 / sqrt(3)),
        ("200 g ± 300 mg", 200, 0.3 / sqrt(3)),
        ("1,5 kg +-2 g", 1500, 2 / sqrt(3)),
        ("M2 500 g", 500, 0.080 / sqrt(3)),  # OIML R 111-1:2004, Table 1: 80 mg
        ("m1 1 kg", 1000, 0.050 / sqrt(3)),
        ("EUR 2 euro", 8.50, 0.085 / sqrt(3)),  # (EU) 729/2014; our 1 % for wear
        ("10 x US nickel", 50, 0.5 / sqrt(3)),  # 31 U.S.C. 5112: 5.000 g
        ("2 x 100 g +- 1 g", 200, 2 / sqrt(3)),  # alike: off together
        ("100 g +- 1 g + 50 g +- 1 g", 150, sqrt(2) / sqrt(3)),  # two others: each on its own
        ("M2 200 g+M2 100 g", 300, sqrt(0.030**2 + 0.016**2) / sqrt(3)),
        ("nothing", 0, 0),
        # 998.2067 kg/m3 (Tanaka 2001) less air's part: see tests/physics/test_known_masses.py
        ("1000 ml +- 10 ml water at 20 C", 997.156, 9.97156 / sqrt(3)),
        ("1 l ± 10 ml of water", 997.156, 9.97156 / sqrt(3)),
    ],
)
def test_a_mass_in_words(text, grams, sd):
    known = mass(text)
    assert known.value == pytest.approx(grams, abs=0.002)
    assert known.sd == pytest.approx(sd, rel=1e-4)


@pytest.mark.parametrize(
    ("text", "needle"),
    [
        ("500 g", "500 g +- 1 g"),
        ("1000 ml water", "+- 10 ml"),
        ("a brick", "Write it like one of these"),
        ("0 x EUR 2 euro", "no known mass"),
        ("M2 300 g", "no weight M2 of 300 g"),
        ("-5 g +- 1 g", "no known mass"),
        ("1000 ml +- 5 ml water at 60 C", "0 to 40"),
        ("", "no known mass"),
    ],
)
def test_what_is_no_known_mass_is_told_how_to_be_one(text, needle):
    with pytest.raises(OutOfRange) as told:
        mass(text)
    assert needle in str(told.value)


@given(st.text(max_size=60))
def test_any_text_is_a_mass_or_an_error_that_can_be_mended(text):
    try:
        known = mass(text)
    except OutOfRange:
        return
    assert known.value >= 0 and known.sd >= 0


def test_a_ruler_is_half_its_own_and_half_each_looks_doubt():
    known = height(60, 0.5)
    assert known.value == 60
    assert known.own_sd == pytest.approx(0.5 / sqrt(3) / sqrt(2))
    assert known.sd == pytest.approx(0.5 / sqrt(3))


def test_jugs_are_off_together():
    assert poured(6, 1000, 10).sd == pytest.approx(6 * 10 / sqrt(3))
