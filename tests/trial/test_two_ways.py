"""Rim gauge and displacement together: silent while they agree, one sentence when they do not.

Box 150 x 100 mm: a gram lowers it by 1/(15 x 0.9982067) mm and raises the water of a tub of
600 cm2 by 1/(60 x 0.9982067) mm (Archimedes; density: Tanaka et al. 2001 at 20 deg C).
"""

import re

import pytest

WATER_20C = 0.9982067  # g/ml, Tanaka et al., Metrologia 38 (2001) 301-309, table, 20 deg C
DROP, RISE = 1 / (15 * WATER_20C), 1 / (60 * WATER_20C)


def level(load_g):
    return 100 + RISE * load_g


def rim(load_g, off_mm=0.0):
    return level(load_g) + 40 - 20 * DROP - DROP * load_g + off_mm


def warnings(tape, box, off_mm, loads=(0, 50, 100, 150), leak_mm_s=0.0):
    tape = tape(boats=(box,))
    tape.mark("start", "A")
    for load_g in loads:
        off = off_mm if load_g else 0.0
        tape.rows(8, load_g, level(load_g), lambda t, g=load_g, o=off: rim(g, o) - leak_mm_s * t)
    tape.mark("stop")
    (result,) = tape.run()
    return [warning for warning in result.warnings if "Two ways" in warning]


@pytest.mark.parametrize("off_mm", [0.0, 1.0, -1.0])
def test_two_ways_that_agree_within_their_uncertainty_say_nothing(tape, box, off_mm):
    assert warnings(tape, box, off_mm) == []


@pytest.mark.parametrize("off_mm", [12.0, -12.0])
def test_two_ways_that_differ_are_told_once_in_millimetres(tape, box, off_mm):
    (told,) = warnings(tape, box, off_mm)
    rim_mm, level_mm = 40 - 170 * DROP + off_mm, 40 - 170 * DROP
    by_rim, by_level = re.findall(r"(\d+) mm by the", told)
    assert float(by_rim) == pytest.approx(rim_mm, abs=1)
    assert float(by_level) == pytest.approx(level_mm, abs=2)  # the gauge's noise, times four


def test_one_odd_plateau_is_not_enough(tape, box):
    assert warnings(tape, box, 12.0, loads=(0, 50)) == []


def test_water_that_leaks_in_is_no_quarrel_of_the_gauges(tape, box):
    """It lowers the rim and leaves the level: `leaked` says that, not this."""
    assert warnings(tape, box, 0.0, leak_mm_s=1.0) == []
