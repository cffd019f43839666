"""Whole recordings by hand in which gauges are in trouble, or a boat goes down oddly.

The box of the other hand-written trials: 150 x 100 x 40 mm, 20 g, water of 20 deg C, tub of
600 cm2; figures by Archimedes' law. It carries 578.9 g.
"""

from random import Random

import pytest

from rig.trial.events import Ended, FreeboardMethod, Outcome, Sunk

WATER_20C = 0.9982067  # g/ml, Tanaka et al., Metrologia 38 (2001) 301-309, table, 20 deg C
DROP = 1 / (15 * WATER_20C)  # mm of freeboard a gram costs
RISE = 1 / (60 * WATER_20C)  # mm of level a gram gains
EMPTY = 40 - 20 * DROP  # freeboard of the empty boat
SURFACE_MM, RIM_MM, FLAG_MM = 300.0, 420.0, 60.0  # where the recording's gauges hang
BOTH = "surface rim"


def level(load_g):
    return 100 + RISE * load_g


def rim(load_g):
    return level(load_g) + EMPTY - DROP * load_g


def hold(tape, seconds, load_g, **other):
    heights = {"level_mm": level(load_g), "rim_mm": rim(load_g), **other}
    tape.rows(seconds, load_g, **heights)


def begun(tape, box, channels=BOTH, **other):
    tape = tape(channels=channels, boats=(box,), **other)
    tape.mark("start", "A")
    hold(tape, 4, 0)
    return tape


def finished(tape):
    """The result, and whether a sinking was ever told."""
    events = tape.events()
    (result,) = [event.result for event in events if isinstance(event, Ended)]
    return result, any(isinstance(event, Sunk) for event in events)


def assert_afloat(tape, loads, close_mm, held_items=None):
    """Stopped afloat; every plateau's freeboard is Archimedes', and no sinking was ever told."""
    tape.mark("stop")
    result, sunk = finished(tape)
    assert not sunk and result.outcome is Outcome.AFLOAT and result.sunk_at_s is None
    assert [p.load_g for p in result.curve] == pytest.approx(loads, abs=0.2)
    found = [p.freeboard_mm for p in result.curve]
    assert found == pytest.approx([EMPTY - DROP * g for g in loads], abs=close_mm)
    assert result.held_items == (round(max(loads) / 2.5) if held_items is None else held_items)
    return result


# --- hands and echoes ------------------------------------------------------------------------

LOADS = [0, 100, 200, 300, 400]


@pytest.mark.parametrize("channels", [BOTH, "surface"])
@pytest.mark.parametrize("hand_mm", [130, 200, 280])
def test_a_hand_in_the_surface_beam_for_two_seconds(tape, box, channels, hand_mm):
    tape = begun(tape, box, channels)
    for load_g in LOADS[1:]:
        hold(tape, 3, load_g)
        hold(tape, 2, load_g, level_mm=hand_mm)
        hold(tape, 5, load_g)
    assert_afloat(tape, LOADS, 0.6 if channels == BOTH else 1.5)


@pytest.mark.parametrize("channels", [BOTH, "rim"])
@pytest.mark.parametrize("hand_mm", [250, 340])
def test_a_hand_in_the_rim_beam_for_two_seconds(tape, box, channels, hand_mm):
    tape = begun(tape, box, channels)
    for load_g in LOADS[1:]:
        hold(tape, 3, load_g)
        hold(tape, 2, load_g, rim_mm=hand_mm - FLAG_MM)
        hold(tape, 5, load_g)
    assert_afloat(tape, LOADS, 0.6)


@pytest.mark.parametrize("channels", [BOTH, "rim"])
def test_a_rim_that_seems_lower_for_two_seconds(tape, box, channels):
    """A mast that is bent aside: 15 mm lower, under 400 g even 3 mm below the water."""
    tape = begun(tape, box, channels)
    for load_g in LOADS[1:]:
        hold(tape, 3, load_g)
        hold(tape, 2, load_g, rim_mm=rim(load_g) - 15)
        hold(tape, 6, load_g)
    assert_afloat(tape, LOADS, 0.6)


@pytest.mark.parametrize("load_g", [50, 100, 400])
def test_a_boat_that_drifts_out_of_the_rim_beam_for_two_seconds(tape, box, load_g):
    """The gauge sees the water in place of the flag: the rim seems a flag's length below it."""
    tape = begun(tape, box)
    hold(tape, 6, load_g)
    hold(tape, 2, load_g, rim_mm=level(load_g) - FLAG_MM)
    hold(tape, 6, load_g)
    assert_afloat(tape, [0, load_g], 0.6)


@pytest.mark.parametrize("channels", [BOTH, "surface", "rim"])
@pytest.mark.parametrize("echo", [0.5, 2.0])
def test_half_and_double_echoes(tape, box, channels, echo):
    """One reading in twelve of each gauge."""
    random = Random(4)
    tape = begun(tape, box, channels)

    def seen(mm, from_mm):
        return lambda t: from_mm - (from_mm - mm) * (echo if random.random() < 1 / 12 else 1)

    for load_g in LOADS[1:]:
        hold(
            tape,
            8,
            load_g,
            level_mm=seen(level(load_g), SURFACE_MM),
            rim_mm=seen(rim(load_g), RIM_MM - FLAG_MM),
        )
    assert_afloat(tape, LOADS, 1.5 if channels == "surface" else 0.6)


@pytest.mark.parametrize("word", ["doubled", "halved", "sign flip"])
def test_wrong_words_of_the_amplifier(tape, box, word):
    """One row in fifteen, of a tray that weighs 900 g less what is aboard."""
    random, factor = Random(6), {"doubled": 2, "halved": 0.5, "sign flip": -1}[word]
    tape = begun(tape, box)
    for load_g in LOADS[1:]:
        heights = {"level_mm": level(load_g), "rim_mm": rim(load_g)}
        told_g = 900 - factor * (900 - load_g)
        tape.rows(8, lambda t, g=load_g, w=told_g: w if random.random() < 1 / 15 else g, **heights)
    result = assert_afloat(tape, LOADS, 0.6)
    assert [a.items for a in result.additions] == [40] * 4
    assert [p.at_s for p in result.curve[1:]] == pytest.approx([4, 12, 20, 28], abs=0.3)
    assert [p.load_g_sd < 0.3 for p in result.curve] == [True] * 5


@pytest.mark.parametrize("channels", [BOTH, "surface", "rim"])
def test_echoes_missing_in_bursts(tape, box, channels):
    """Up to two seconds with neither gauge, then one, then the other."""
    tape = begun(tape, box, channels)
    for load_g in LOADS[1:]:
        hold(tape, 2, load_g)
        hold(tape, 2, load_g, level_mm=None, rim_mm=None)
        hold(tape, 2, load_g)
        hold(tape, 2, load_g, rim_mm=None)
        hold(tape, 1, load_g, level_mm=None)
        hold(tape, 2, load_g)
    assert_afloat(tape, LOADS, 1.5 if channels == "surface" else 0.6)


@pytest.mark.parametrize("channels", [BOTH, "rim"])
@pytest.mark.parametrize("dies_with_an_addition", [False, True])
def test_a_rim_gauge_that_dies_for_good_is_no_sinking(tape, box, channels, dies_with_an_addition):
    tape = begun(tape, box, channels)
    hold(tape, 8, 100)
    hold(tape, 8, 200)
    if not dies_with_an_addition:
        hold(tape, 8, 200, rim_mm=None)
    hold(tape, 8, 300, rim_mm=None)
    hold(tape, 8, 400, rim_mm=None)
    tape.mark("stop")
    result, sunk = finished(tape)
    assert not sunk and (result.outcome, result.held_items) == (Outcome.AFLOAT, 160)
    after = [p for p in result.curve if p.load_g > 250]
    if channels == BOTH:  # the level goes on telling
        assert [p.method for p in after] == [FreeboardMethod.DISPLACEMENT] * 2
        expected = [EMPTY - DROP * 300, EMPTY - DROP * 400]
        assert [p.freeboard_mm for p in after] == pytest.approx(expected, abs=1.5)
    else:
        assert [p.freeboard_mm for p in after] == [None, None]


@pytest.mark.parametrize("channels", [BOTH, "surface"])
@pytest.mark.parametrize("sticks_at", ["the old height", "both ways"])
def test_a_float_that_sticks_by_a_millimetre(tape, box, channels, sticks_at):
    """It moves when the water has left it by 1 mm: 60 g in this tub."""
    tape = begun(tape, box, channels)
    loads = [25, 50, 75, 100, 150, 200] + ([140, 90, 60] if sticks_at == "both ways" else [])
    shown = level(0)
    for load_g in loads:
        if abs(level(load_g) - shown) >= 1:
            shown = level(load_g)
        hold(tape, 6, load_g, level_mm=shown)
    tape.mark("stop")
    result, sunk = finished(tape)
    assert not sunk and (result.outcome, result.held_items) == (Outcome.AFLOAT, 80)


@pytest.mark.parametrize("channels", [BOTH, "surface"])
def test_a_float_that_slips_down_by_a_millimetre(tape, box, channels):
    """Under 80 g a sinking would take 1.3 mm: a fine gauge sees the slip, but it is no sinking."""
    tape = begun(tape, box, channels, noise_mm=0.1)
    hold(tape, 6, 60)
    hold(tape, 8, 60, level_mm=level(60) - 1)
    tape.mark("stop")
    result, sunk = finished(tape)
    assert not sunk and (result.outcome, result.held_items) == (Outcome.AFLOAT, 24)


def test_a_float_that_sticks_fast_lags_behind_but_does_not_fall(tape, box):
    """250 g should have lifted it by 4.2 mm; what lacks is as much as a sinking would take."""
    tape = begun(tape, box, "surface", noise_mm=0.1)
    for load_g in (50, 150, 250):
        hold(tape, 8, load_g, level_mm=level(0))
    tape.mark("stop")
    result, sunk = finished(tape)
    assert not sunk and (result.outcome, result.held_items) == (Outcome.AFLOAT, 100)


# --- going down --------------------------------------------------------------------------------


def sinks(tape, load_g, solid_ml, seconds=1.5, rest=3.0, **other):
    """The level falls to what the solids leave; the rim to the floor, 70 mm in `seconds`."""
    fall = (20 + load_g) * RISE - solid_ml / 60
    heights = {
        "level_mm": lambda t: level(load_g) - fall * min(t / seconds, 1),
        "rim_mm": lambda t: max(40.0, level(load_g) - 0.01 - 70 * t / seconds),
        **other,
    }
    tape.rows(seconds + rest, load_g, **heights)


@pytest.mark.parametrize(("load_g", "outcome"), [(582.5, Outcome.SWAMPED), (300.0, Outcome.HEELED)])
def test_the_flag_is_lost_at_once_and_the_level_falls(tape, box, load_g, outcome):
    tape = begun(tape, box)
    hold(tape, 6, 200)
    before_g = min(load_g - 50, 575)
    hold(tape, 7, before_g)
    begins_s = tape.now_s
    sinks(tape, load_g, solid_ml=60, rest=6, rim_mm=None)
    result, sunk = finished(tape)
    assert sunk and result.outcome is outcome
    assert result.sunk_at_s == pytest.approx(begins_s, abs=1.0)
    assert result.held_g == pytest.approx(before_g, abs=0.2)


def test_the_flag_is_lost_and_the_level_falls_by_a_quarter(tape, box):
    """Air under a capsized hull: 1.5 mm of the 5.3 mm that a boat of 320 g displaces.

    By the level alone that is no sinking; with the flag gone as well it is.
    """
    tape = begun(tape, box)
    hold(tape, 8, 250)
    begins_s = tape.now_s
    tape.rows(8, 300, lambda t: level(300) - 1.5 * min(t, 1), None)
    result, sunk = finished(tape)
    assert sunk and (result.outcome, result.held_items) == (Outcome.HEELED, 100)
    assert result.sunk_at_s == pytest.approx(begins_s, abs=1.0)


def test_a_flag_that_is_lost_while_it_falls_is_a_sinking(tape, box):
    """With a rim gauge alone: 35 mm down within half a second, and never seen again."""
    tape = begun(tape, box, "rim")
    hold(tape, 8, 250)
    begins_s = tape.now_s
    tape.rows(0.5, 300, 0, lambda t: rim(300) - 70 * t)
    tape.rows(8, 300, 0, None)
    result, sunk = finished(tape)
    assert sunk and (result.outcome, result.held_items) == (Outcome.HEELED, 100)
    assert result.sunk_at_s == pytest.approx(begins_s, abs=1.0)


def test_by_the_level_alone_it_went_under_before_the_level_fell(tape, box):
    """It fills for two seconds after the addition, and only then goes down."""
    tape = begun(tape, box, "surface")
    hold(tape, 6, 300)
    hold(tape, 6, 560)
    added_s = tape.now_s
    hold(tape, 2, 590)
    falls_s = tape.now_s
    sinks(tape, 590, solid_ml=80, rest=5)
    result, _ = finished(tape)
    assert (result.outcome, result.held_items) == (Outcome.SWAMPED, 224)
    assert added_s < result.sunk_at_s < falls_s - 0.2


@pytest.mark.parametrize("gauge", ["rim", "surface"])
def test_a_hand_in_a_beam_just_before_it_goes_down(tape, box, gauge):
    tape = begun(tape, box)
    hold(tape, 6, 300)
    hold(tape, 6, 575)
    hold(tape, 2, 575, **{"rim_mm" if gauge == "rim" else "level_mm": 280.0})
    begins_s = tape.now_s
    sinks(tape, 590, solid_ml=80, rest=5)
    result, _ = finished(tape)
    assert (result.outcome, result.held_items) == (Outcome.SWAMPED, 230)
    assert result.sunk_at_s == pytest.approx(begins_s, abs=1.0)


@pytest.mark.parametrize("channels", [BOTH, "surface"])
def test_a_capsized_boat_that_floats_upside_down(tape, box, channels):
    """Pushed under it takes the water down; up again, the level comes back part of the way.

    300 g of steel (7.8 g/ml, handbook value from memory) lie on the floor, 38 ml; the boat floats
    keel up with its 20 g, its bottom 35 mm above the water, where the rim gauge finds it.
    """
    tape = begun(tape, box, channels)
    hold(tape, 6, 150)
    begins_s = tape.now_s
    after_mm = 100 + 38 / 60
    dip_mm = after_mm - 20 * RISE
    tape.rows(
        9,
        300,
        lambda t: level(300) + (dip_mm - level(300)) * t if t < 1 else after_mm,
        lambda t: max(after_mm + 35 - FLAG_MM, rim(300) - 90 * t),
    )
    result, sunk = finished(tape)
    assert sunk and (result.outcome, result.held_items) == (Outcome.HEELED, 60)
    assert result.sunk_at_s == pytest.approx(begins_s, abs=1.0)


@pytest.mark.parametrize("seconds", [5, 15])
def test_a_boat_that_sinks_slowly_went_under_when_its_rim_did(tape, box, seconds):
    tape = begun(tape, box)
    hold(tape, 6, 300)
    hold(tape, 6, 560)
    begins_s = tape.now_s
    sinks(tape, 590, solid_ml=80, seconds=seconds, rest=6)
    result, sunk = finished(tape)
    assert sunk and (result.outcome, result.held_items) == (Outcome.SWAMPED, 224)
    assert result.sunk_at_s == pytest.approx(begins_s, abs=1.0)


@pytest.mark.parametrize("rate_hz", [10.0, 80.0])
def test_at_either_rate_the_moment_is_the_same(tape, box, rate_hz):
    tape = begun(tape, box, rate_hz=rate_hz)
    hold(tape, 6, 300)
    hold(tape, 6, 560)
    begins_s = tape.now_s
    sinks(tape, 590, solid_ml=80)
    result, _ = finished(tape)
    assert (result.outcome, result.held_items) == (Outcome.SWAMPED, 224)
    assert result.sunk_at_s == pytest.approx(begins_s, abs=0.5)


def test_a_rim_under_for_a_second_is_no_sinking(tape, box):
    """A wave, or a thumb on the wall: under by 10 mm, and up again; the level stays."""
    tape = begun(tape, box)
    hold(tape, 6, 300)
    hold(tape, 1.2, 300, rim_mm=level(300) - 10)
    hold(tape, 8, 300)
    tape.mark("stop")
    result, sunk = finished(tape)
    assert not sunk and (result.outcome, result.held_items) == (Outcome.AFLOAT, 120)


def test_a_dry_rim_may_stand_a_little_below_the_water(tape, box):
    """A wall's edge can hold back some 3.9 mm of water: 3 mm under for long is not yet down."""
    tape = begun(tape, box)
    hold(tape, 6, 300)
    hold(tape, 6, 575)
    heavy_g = 600 * WATER_20C - 20 + 3 / DROP  # 3 mm more than level with the rim
    hold(tape, 8, heavy_g)
    tape.mark("stop")
    result, sunk = finished(tape)
    assert not sunk and result.outcome is Outcome.AFLOAT
    assert result.curve[-1].freeboard_mm == pytest.approx(-3, abs=0.5)


@pytest.mark.parametrize("layout", ["feed-tray", "tub-on-cell"])
def test_a_hand_that_lifts_after_the_flag_was_lost_is_no_sinking(tape, box, layout):
    """As if all were out again: the boat had lain lower by 250 g than then, and that is no fall."""
    tape = begun(tape, box, layout=layout)
    hold(tape, 1.5, 250)
    hold(tape, 1.2, 250, rim_mm=None)
    tape.rows(3.0, 0, level(250), None)
    hold(tape, 8, 250)
    assert_afloat(tape, [0, 250], 0.6)


@pytest.mark.parametrize("channels", [BOTH, "surface"])
def test_a_surface_gauge_that_wakes_after_the_tare_still_tells_the_sinking(tape, box, channels):
    """No echo while the boat is empty; the flag, where there is one, is gone at once."""
    tape = tape(channels=channels, boats=(box,))
    tape.mark("start", "A")
    hold(tape, 5, 0, level_mm=None)
    hold(tape, 3, 100, level_mm=None)
    hold(tape, 8, 100)
    hold(tape, 8, 300)
    begins_s = tape.now_s
    sinks(tape, 400, solid_ml=60, rest=8, rim_mm=None)
    result, sunk = finished(tape)
    assert sunk and (result.outcome, result.held_items) == (Outcome.HEELED, 120)
    assert result.sunk_at_s == pytest.approx(begins_s, abs=1.0)
    assert result.curve[-1].freeboard_mm == pytest.approx(EMPTY - DROP * 300, abs=2.0)


def test_a_rim_held_back_for_a_while_goes_down_when_it_gives_way(tape, box):
    """A leak has cost it 2.4 mm. The last 78 g put its rim 1 mm under, a dry rim bears that for
    three seconds; then the flag is lost on the way down: the level tells that it is gone."""
    tape = begun(tape, box, layout="tub-on-cell")
    hold(tape, 6, 300)
    hold(tape, 6, 480, rim_mm=lambda t: rim(480) - 0.4 * t)
    hold(tape, 3, 558, rim_mm=rim(558) - 2.4)
    begins_s = tape.now_s

    def falling(t):
        return rim(558) - 2.4 - 70 * t if t < 0.5 else None

    sinks(tape, 558, solid_ml=60, rest=6, rim_mm=falling)
    result, sunk = finished(tape)
    assert sunk
    assert result.sunk_at_s == pytest.approx(begins_s, abs=0.6)


def test_a_leaking_boat_whose_flag_is_lost_is_still_afloat(tape, box):
    """It lay 8 mm deeper than its load explains; displacement alone does not know of that."""
    tape = begun(tape, box)
    hold(tape, 6, 100)
    hold(tape, 10, 200, rim_mm=lambda t: rim(200) - 0.8 * t)
    hold(tape, 1, 205, rim_mm=rim(205) - 8)
    hold(tape, 12, 205, rim_mm=None)
    tape.mark("stop")
    result, sunk = finished(tape)
    assert not sunk and result.outcome is Outcome.AFLOAT
