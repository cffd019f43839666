"""Trials worked out by hand with Archimedes' law, and masses that governments publish.

Box 150 x 100 mm, 20 g, in water of 0.9982067 g/ml (Tanaka et al. 2001 at 20 deg C): a gram
lowers it by 1/(15 x 0.9982067) = 0.066786 mm, and raises the water of a tub of 600 cm2 by
0.016697 mm.
"""

import pytest

from rig.trial.events import FreeboardMethod, Held, Outcome

WATER_20C = 0.9982067  # g/ml, Tanaka et al., Metrologia 38 (2001) 301-309, table, 20 deg C
DROP = 1 / (15 * WATER_20C)  # mm of freeboard a gram costs
RISE = 1 / (60 * WATER_20C)  # mm of level a gram gains
EMPTY = 40 - 20 * DROP  # freeboard of the empty boat
CAPACITY = 600 * WATER_20C - 20

COINS = {  # name: (mass [g], source)
    "US cent since 1982": (2.500, "US Mint coin specifications page"),
    "US nickel": (5.000, "31 U.S.C. 5112(a)"),
    "1 euro": (7.50, "Council Regulation (EU) 729/2014, Annex I"),
}


def level(load_g):
    return 100 + RISE * load_g


def rim(load_g):
    return level(load_g) + EMPTY - DROP * load_g


def hold(tape, seconds, load_g):
    tape.rows(seconds, load_g, level(load_g), rim(load_g))


def go_down(tape, load_g, solid_ml):
    """The rim is under at once; 1.5 s later the hull lies on the floor and the level has fallen."""
    fall = (20 + load_g) * RISE - solid_ml / 60
    tape.rows(
        4.0,
        load_g,
        lambda t: level(load_g) - fall * min(t / 1.5, 1),
        lambda t: max(40.0, rim(load_g) - 70 * t),
    )


@pytest.mark.parametrize("layout", ["feed-tray", "tub-on-cell"])
@pytest.mark.parametrize("coin", COINS)
def test_coins_of_published_mass_are_weighed_and_counted(tape, box, layout, coin):
    mass_g, _ = COINS[coin]
    tape = tape(layout=layout, item_g=mass_g, boats=(box,))
    tape.rows(2, 0.0)
    tape.mark("start", "A")
    hold(tape, 4, 0.0)
    for coins in (7, 12, 13):
        hold(tape, 6, coins * mass_g)
    tape.mark("stop")
    (result,) = tape.run()
    assert [addition.items for addition in result.additions] == [7, 5, 1]
    assert [a.mass_g for a in result.additions] == pytest.approx(
        [7 * mass_g, 5 * mass_g, mass_g], abs=0.1
    )
    assert [a.at_s for a in result.additions] == pytest.approx([4, 10, 16], abs=0.11)
    assert (result.outcome, result.held_items, result.sunk_at_s) == (Outcome.AFLOAT, 13, None)
    assert result.held_g == pytest.approx(13 * mass_g, abs=0.1)


@pytest.mark.parametrize(
    ("channels", "method", "close_mm"),
    [
        ("surface rim", FreeboardMethod.RIM_GAUGE, 0.5),
        ("surface", FreeboardMethod.DISPLACEMENT, 1.5),  # a millimetre of level is four of draft
        ("rim", FreeboardMethod.RIM_AND_LOAD, 0.5),
    ],
)
def test_freeboard_falls_as_archimedes_says(tape, box, channels, method, close_mm):
    tape = tape(channels=channels, boats=(box,))
    tape.mark("start", "A")
    loads = [0, 100, 200, 300, 400, 500]
    for load_g in loads:
        hold(tape, 8, load_g)
    tape.mark("stop")
    (result,) = tape.run()
    assert result.predicted_capacity_g == pytest.approx(CAPACITY, abs=0.01)
    assert [point.method for point in result.curve] == [method] * len(loads)
    for point, load_g in zip(result.curve, loads, strict=True):
        assert point.load_g == pytest.approx(load_g, abs=0.2)
        assert point.freeboard_mm == pytest.approx(EMPTY - DROP * load_g, abs=close_mm)
        assert abs(point.freeboard_mm - EMPTY + DROP * load_g) < 4.5 * point.freeboard_mm_sd


@pytest.mark.parametrize("channels", ["surface rim", "surface", "rim"])
@pytest.mark.parametrize("layout", ["feed-tray", "tub-on-cell"])
def test_a_boat_loaded_past_its_capacity_is_swamped(tape, box, layout, channels):
    tape = tape(layout=layout, channels=channels, boats=(box,))
    tape.mark("start", "A")
    hold(tape, 4, 0)
    hold(tape, 6, 250)
    hold(tape, 6, 500)
    hold(tape, 7, 575)  # 3.9 g under the capacity of 578.9 g
    go_down(tape, 582.5, solid_ml=80)  # three items more
    tape.rows(2, 582.5, 100 + RISE * 60, 40)
    (result,) = tape.run()
    assert result.outcome is Outcome.SWAMPED
    assert result.held_g == pytest.approx(575, abs=0.2) and result.held_items == 230
    assert result.additions[-1].items == 3
    assert result.sunk_at_s == pytest.approx(23, abs=0.5)
    assert "over the rim" in result.reason


@pytest.mark.parametrize("channels", ["surface rim", "surface", "rim"])
def test_a_boat_that_goes_down_at_once_with_room_left_has_heeled(tape, box, channels):
    tape = tape(channels=channels, boats=(box,))
    tape.mark("start", "A")
    hold(tape, 4, 0)
    hold(tape, 6, 250)
    go_down(tape, 300, solid_ml=40)
    (result,) = tape.run()
    assert (result.outcome, result.held_items) == (Outcome.HEELED, 100)
    # by the rim gauge 38.7 - 300/14.97 = 18.6 mm, else 578.9 - 300 g
    assert ("19 mm of wall" if "rim" in channels else "279 g") in result.reason


def test_a_leak_lowers_the_rim_but_not_the_level(tape, box):
    """Water inside displaces what it weighs: the level stays, says Archimedes."""
    tape = tape(boats=(box,))
    tape.mark("start", "A")
    hold(tape, 4, 0)
    hold(tape, 6, 250)
    left_mm = EMPTY - 250 * DROP
    tape.rows(20, 250, level(250), lambda t: rim(250) - left_mm * t / 20)
    go_down_from = tape.now_s
    tape.rows(
        4.0,
        250,
        lambda t: level(250) - 3.5 * min(t / 1.5, 1),
        lambda t: max(40.0, level(250) - 70 * t),
    )
    (result,) = tape.run()
    assert (result.outcome, result.held_items) == (Outcome.LEAKED, 100)
    assert result.sunk_at_s == pytest.approx(go_down_from, abs=0.5)


def test_a_leak_without_a_rim_gauge_is_a_sinking_at_constant_load(tape, box):
    tape = tape(channels="surface", boats=(box,))
    tape.mark("start", "A")
    hold(tape, 4, 0)
    hold(tape, 26, 250)
    go_down(tape, 250, solid_ml=40)
    (result,) = tape.run()
    assert (result.outcome, result.held_items) == (Outcome.LEAKED, 100)


def test_a_load_that_was_not_held_does_not_count(tape, box):
    tape = tape(boats=(box,))
    tape.mark("start", "A")
    hold(tape, 4, 0)
    hold(tape, 6, 100)
    hold(tape, 4.5, 150)  # the hold is 5 s
    hold(tape, 3, 200)
    tape.mark("stop")
    (result,) = tape.run()
    assert (result.held_items, [p.held for p in result.curve]) == (40, [True, True, False, False])


def test_what_is_taken_back_is_not_aboard(tape, box):
    tape = tape(boats=(box,))
    tape.mark("start", "A")
    for load_g in (0, 25, 50, 45, 20, 40):
        hold(tape, 6, load_g)
    tape.mark("stop")
    (result,) = tape.run()
    assert [a.items for a in result.additions] == [8, 8]  # 10 + 10 - 2 - 10, then 8
    assert result.held_items == 20  # it did carry them through their hold


def test_a_rig_without_gauges_waits_for_the_tap(tape, box):
    tape = tape(channels="", boats=(box,))
    tape.mark("start", "A")
    for load_g in (0, 300, 575):
        hold(tape, 6, load_g)
    tape.rows(1, 590)
    tape.mark("sunk")
    tape.rows(4, 590)
    (result,) = tape.run()
    assert (result.outcome, result.held_items, result.sunk_at_s) == (Outcome.SWAMPED, 230, 19.0)
    assert [a.items for a in result.additions] == [120, 110, 6]
    assert all(p.freeboard_mm is None for p in result.curve)


def test_void_keeps_the_numbers_and_says_so(tape, box):
    tape = tape(boats=(box,))
    tape.mark("start", "A")
    hold(tape, 4, 0)
    hold(tape, 6, 100)
    tape.mark("void")
    (result,) = tape.run()
    assert (result.outcome, len(result.additions)) == (Outcome.VOID, 1)


def test_several_trials_and_a_board_that_was_switched_off_between(tape, box):
    first = tape(boats=(box,))
    first.mark("start", "A")
    hold(first, 4, 0)
    hold(first, 6, 100)
    first.mark("stop")
    first.first_ms, first.now_s, first.seq = 120, 0.0, 0  # the clock begins anew
    first.rows(1, 0)
    first.mark("start", "nobody measured me")
    hold(first, 4, 0)
    hold(first, 6, 50)
    first.mark("stop")
    one, two = first.run()
    assert (one.boat, one.held_items, one.warnings) == ("A", 40, ())
    assert (two.held_items, two.predicted_capacity_g) == (20, None)
    assert "nobody measured me" in two.warnings[0]
    assert [p.method for p in two.curve] == [FreeboardMethod.RIM_GAUGE] * 2


def test_a_recording_that_just_ends_is_closed_with_a_warning(tape, box):
    tape = tape(boats=(box,))
    tape.mark("start", "A")
    hold(tape, 4, 0)
    hold(tape, 6, 100)
    (result,) = tape.run()
    assert (result.outcome, result.held_items) == (Outcome.AFLOAT, 40)
    assert "ends before" in result.warnings[0]


def test_a_stop_right_after_the_sinking_is_still_a_sinking(tape, box):
    tape = tape(boats=(box,))
    tape.mark("start", "A")
    hold(tape, 4, 0)
    hold(tape, 6, 570)
    tape.rows(0.6, 600, level(580), lambda t: rim(578) - 70 * t)
    tape.mark("stop")
    (result,) = tape.run()
    assert (result.outcome, result.held_items) == (Outcome.SWAMPED, 228)
    assert result.sunk_at_s == pytest.approx(10, abs=0.3)


def test_water_outside_the_formula_is_said_and_taken_as_room_warm(tape, box):
    tape = tape(boats=(box,))
    tape.mark("start", "A")
    tape.rows(4, 0, water_c=85.0)
    tape.mark("stop")
    (result,) = tape.run()
    assert result.predicted_capacity_g == pytest.approx(CAPACITY, abs=0.01)
    assert "85 deg C" in result.warnings[0] and "20 deg C" in result.warnings[0]


def test_warm_water_carries_less(tape, box):
    tape = tape(boats=(box,))
    tape.mark("start", "A")
    tape.rows(4, 0, water_c=30.0)
    tape.mark("stop")
    (result,) = tape.run()
    # 995.6488 kg/m3 at 30 deg C, Tanaka et al. (2001), table
    assert result.predicted_capacity_g == pytest.approx(600 * 0.9956488 - 20, abs=0.001)


@pytest.mark.parametrize("way_s", [2.0, 4.0])
def test_from_the_tray_to_the_boat_a_hand_takes_its_time(tape, box, way_s):
    """The tray is lighter at once, the boat goes down later: the hold begins when it has."""
    tape = tape(boats=(box,), hold_s=3.0)
    tape.mark("start", "A")
    hold(tape, 4, 0)
    before = 0
    for load_g in (200, 400):
        tape.rows(way_s, load_g, level(before), rim(before))
        hold(tape, 6, load_g)
        before = load_g
    tape.rows(way_s, 600, level(400), rim(400))  # longer than the hold, but still in the hand
    go_down(tape, 600, solid_ml=80)
    (result,) = tape.run()
    assert (result.outcome, result.held_items) == (Outcome.SWAMPED, 160)
    for point, load_g in zip(result.curve[1:3], (200, 400), strict=True):
        assert point.freeboard_mm == pytest.approx(EMPTY - DROP * load_g, abs=0.4)


def test_a_wrong_boat_mass_does_not_make_a_full_boat_a_tipped_one(tape, box):
    """The boat is really 60 g heavier than somebody wrote down: the rim gauge knows better."""
    heavier = 60
    tape = tape(boats=(box,))
    tape.mark("start", "A")
    for load_g in (0, 300, 512.5):
        tape.rows(6, load_g, level(load_g), rim(load_g) - heavier * DROP)
    go_down(tape, 530, solid_ml=80)
    (result,) = tape.run()
    assert (result.outcome, result.held_items) == (Outcome.SWAMPED, 205)


def test_a_tap_that_the_gauges_contradict_is_not_explained_away(tape, box):
    tape = tape(boats=(box,))
    tape.mark("start", "A")
    hold(tape, 4, 0)
    hold(tape, 6, 200)
    tape.mark("sunk")
    hold(tape, 8, 200)
    (result,) = tape.run()
    assert "ot sure" in result.reason and "still saw it afloat" in " ".join(result.warnings)


def test_coins_of_one_kind_are_counted_for_sure_and_a_mixed_batch_is_a_range(tape, box):
    """2.500 g: US Mint coin specifications page; 3.11 g: 31 U.S.C. 5112(a)(6)."""
    told = []
    for batches in ((25.0, 50.0), (25 + 3 * 0.61, 50 + 8 * 0.61)):  # 20 coins both times
        one = tape(boats=(box,))
        one.mark("start", "A")
        for load_g in (0, *batches):
            hold(one, 6, load_g)
        one.mark("stop")
        told += one.run()
    pure, mixed = told
    assert (pure.held_items_low, pure.held_items, pure.held_items_high) == (20, 20, 20)
    assert pure.held_items_p > 0.95
    assert mixed.held_items_low < 20 < mixed.held_items_high and mixed.held_items_p < 0.5


def test_every_hold_is_told_though_a_leaning_child_came_between(tape, box):
    """A lean of 1.5 items held as long as a load is forgotten; the next hold must be told."""
    tape = tape(boats=(box,))
    tape.mark("start", "A")
    for seconds, load_g, seen_g in ((4, 0, 0), (6, 50, 50), (7, 50, 53.75), (6, 50, 50)):
        tape.rows(seconds, seen_g, level(load_g), rim(load_g))
    hold(tape, 7, 100)
    tape.mark("stop")
    events = tape.events()
    held = [round(event.point.load_g) for event in events if isinstance(event, Held)]
    assert held[0] == 50 and held[-1] == 100
