"""Which heights can be, worked out by hand for the box of 20 g at 300 g in a tub of 600 cm2."""

import pytest

from rig.setup.rigfile import RigSetup
from rig.trial.floating import EmptyRest, Floating
from rig.trial.gauge_track import GaugeTrack, Mean
from rig.trial.plausible import NOISE, UNKNOWN_MM, WAVE_MM, Plausible

WATER_20C = 0.9982067  # g/ml, Tanaka et al., Metrologia 38 (2001) 301-309, table, 20 deg C
RISE = 1 / (60 * WATER_20C)
LOAD_G = 300
HAIR = 0.01


@pytest.fixture
def plausible(box):
    def made(tub=True, boat=box, rest=True):
        sections = {
            "rig": {"name": "by hand", "layout": "feed-tray"},
            "load": {"zero_count": 0, "count_per_g": 400},
            "surface": {"height_mm": 300},
            "rim": {"height_mm": 420, "flag_mm": 60},
        }
        if tub:
            sections["tub"] = {"area_mm2": 60_000}
        setup = RigSetup.model_validate(sections)
        floating = Floating(setup, boat, WATER_20C)
        if rest:
            floating.rest = EmptyRest(Mean(100.0, 0.0, 40), Mean(138.0, 0.0, 40))
        return Plausible(setup, floating)

    return made


def track(wobble=0.0):
    gauges = GaugeTrack()
    for i in range(40):
        off = wobble if i % 2 else -wobble
        gauges.feed(i / 10, 100.0 + off, 138.0 + off, None)
    gauges.finish()
    return gauges


def level_kept(plausible, mm, load_g=LOAD_G, wobble=0.0):
    plausible.at(load_g, track(wobble))
    assert plausible.level_mm(mm) in (mm, None)
    return plausible.level_mm(mm) is not None


def rim_kept(plausible, mm, load_g=LOAD_G, wobble=0.0):
    plausible.at(load_g, track(wobble))
    assert plausible.rim_mm(mm) in (mm, None)
    return plausible.rim_mm(mm) is not None


def test_water_stands_no_higher_than_the_load_lifts_it(plausible):
    top = 100 + LOAD_G * RISE + WAVE_MM
    assert level_kept(plausible(), top - HAIR)
    assert not level_kept(plausible(), top + HAIR)


def test_water_stands_no_lower_than_when_the_empty_boat_is_down(plausible):
    bottom = 100 - 20 * RISE - WAVE_MM
    assert level_kept(plausible(), bottom + HAIR)
    assert not level_kept(plausible(), bottom - HAIR)


def test_a_press_on_the_tray_does_not_lower_the_top(plausible):
    """By the load cell less than nothing is aboard; the water stands as with the empty boat."""
    assert level_kept(plausible(), 100 + WAVE_MM - HAIR, load_g=-250)


def test_the_rim_is_no_higher_than_empty_but_for_the_waters_rise(plausible):
    top = 138 + LOAD_G * RISE + WAVE_MM
    assert rim_kept(plausible(), top - HAIR)
    assert not rim_kept(plausible(), top + HAIR)


def test_the_rim_is_no_lower_than_with_the_flag_on_the_floor(plausible):
    """The flag stands 60 mm above the rim: a capsized boat's lies 60 mm below, at the least."""
    assert rim_kept(plausible(), -60 - WAVE_MM + HAIR)
    assert not rim_kept(plausible(), -60 - WAVE_MM - HAIR)


@pytest.mark.parametrize("kept", [level_kept, rim_kept])
def test_noise_widens_what_can_be(plausible, kept):
    """Every reading 3 mm from the last: by the normal's median 3.145 mm of noise."""
    noise = 3.0 / (0.6745 * 2**0.5)
    top = (100 if kept is level_kept else 138) + LOAD_G * RISE + WAVE_MM + NOISE * noise
    assert kept(plausible(), top - 0.1, wobble=1.5)
    assert not kept(plausible(), top + 0.1, wobble=1.5)


@pytest.mark.parametrize("echo", [0.5, 2.0])
def test_half_and_double_echoes_cannot_be(plausible, echo):
    """200 mm down to the water, 222 mm to the flag."""
    assert not level_kept(plausible(), 300 - echo * 200)
    assert not rim_kept(plausible(), 420 - 60 - echo * 222)


def test_without_tub_or_hull_forty_millimetres_are_allowed(plausible):
    for unknown in (plausible(tub=False), plausible(tub=False, boat=None)):
        assert level_kept(unknown, 100 + UNKNOWN_MM + WAVE_MM - HAIR)
        assert not level_kept(unknown, 100 + UNKNOWN_MM + WAVE_MM + HAIR)
        assert level_kept(unknown, 100 - UNKNOWN_MM - WAVE_MM + HAIR)
        assert not level_kept(unknown, 100 - UNKNOWN_MM - WAVE_MM - HAIR)
        assert not rim_kept(unknown, 138 + UNKNOWN_MM + WAVE_MM + HAIR)
    assert UNKNOWN_MM == 40


def test_nothing_stays_nothing_and_before_the_tare_all_can_be(plausible):
    judge = plausible()
    judge.at(0, track())
    assert judge.level_mm(None) is None and judge.rim_mm(None) is None
    assert level_kept(plausible(rest=False), 9999) and rim_kept(plausible(rest=False), 9999)


def test_it_says_where_the_level_must_stand(plausible):
    judge = plausible()
    assert judge.floating_mm is None  # before any load was looked at
    judge.at(LOAD_G, track())
    assert judge.floating_mm == pytest.approx(100 + LOAD_G * RISE)
