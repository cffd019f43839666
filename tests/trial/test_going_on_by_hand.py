"""The scale dies in mid-trial: items by taps, freeboard by ruler, and the scale when it is back.

The loads are worked out by hand: so many items of 2.5 g each; the items' spread, which nobody
has measured here, is taken as a hundredth of an item.
"""

import re
from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rig.physics.hx711 import CODE_HIGH
from rig.sensing.sentences import Data, Mark, decode, encode
from rig.sensing.stream import Stream
from rig.trial.engine import TrialEngine
from rig.trial.events import FreeboardMethod, Held, LoadSource, Outcome, TakenBack
from tests.trial.conftest import Tape
from tests.trial.test_by_hand import DROP, EMPTY, hold, level, rim
from tests.trial.test_faults import spoil

SPREAD_G = 0.025
SCALE, COUNT = LoadSource.SCALE, LoadSource.COUNT


def begun(tape, box, **kind):
    """Twenty items weighed by 12 s; the scale dies at 14 s and is out from 16 s on."""
    tape = tape(boats=(box,), **kind)
    tape.mark("start", "A")
    hold(tape, 6, 0)
    hold(tape, 11, 50)
    return tape


def result_of(tape, until_s=999, word=None):
    return spoil(tape, 14, until_s, load=word).run()[0]


def items_and_sources(result):
    return [(a.items, a.source) for a in result.additions]


@pytest.mark.parametrize("word", [None, CODE_HIGH, "frozen"])
@pytest.mark.parametrize("layout", ["feed-tray", "tub-on-cell"])
def test_the_load_goes_on_from_where_the_scale_left_it(tape, box, layout, word):
    tape = begun(tape, box, layout=layout)
    for items in (30, 35):
        tape.mark("count", str(items - (20 if items == 30 else 30)))
        hold(tape, 7, 2.5 * items)
    tape.mark("stop")
    result = result_of(tape, word=word)
    assert items_and_sources(result) == [(20, SCALE), (10, COUNT), (5, COUNT)]
    assert [a.mass_g for a in result.additions[1:]] == pytest.approx([25, 12.5])
    sds = [SPREAD_G * sqrt(10), SPREAD_G * sqrt(5)]
    assert [a.mass_g_sd for a in result.additions[1:]] == pytest.approx(sds)
    assert (result.held_items, result.held_items_low, result.held_items_high) == (35, 35, 35)
    assert result.held_g == pytest.approx(87.5, abs=0.2)
    assert [(p.items, p.load_source, p.held) for p in result.curve] == [
        (0, SCALE, True),
        (20, SCALE, True),
        (30, COUNT, True),
        (35, COUNT, True),
    ]
    assert result.held_g_sd >= SPREAD_G * sqrt(15)  # of all items that were only counted
    for point in result.curve:
        assert point.freeboard_mm == pytest.approx(EMPTY - DROP * point.load_g, abs=0.6)


def test_a_hold_begins_with_the_tap(tape, box):
    tape = begun(tape, box)
    tape.mark("count", "4")
    hold(tape, 4.8, 60)  # the hold is 5 s
    tape.mark("count", "4")
    hold(tape, 5.3, 70)
    tape.mark("stop")
    events = spoil(tape, 14, 999, load=None).events()
    held = [event.point.items for event in events if isinstance(event, Held)]
    assert held == [20, 28] and events[-1].result.held_items == 28


def test_quick_taps_are_one_addition_and_may_take_each_other_back(tape, box):
    tape = begun(tape, box)
    for items in (5, 2, -1):
        tape.mark("count", str(items))
        hold(tape, 0.5, 50)
    hold(tape, 6, 65)
    tape.mark("count", "10")
    hold(tape, 0.5, 65)
    tape.mark("count", "-10")  # the wrong button
    hold(tape, 6, 65)
    tape.mark("count", "-2")  # and two really taken out, later
    hold(tape, 6, 60)
    tape.mark("stop")
    events = spoil(tape, 14, 999, load=None).events()
    result = events[-1].result
    assert items_and_sources(result) == [(20, SCALE), (4, COUNT)]
    assert result.held_items == 26  # they were carried through their hold
    told = [event for event in events if isinstance(event, TakenBack)]
    assert [round(e.mass_g / 2.5) for e in told] == [1, 10, 2]


def test_more_cannot_be_taken_out_than_is_aboard(tape, box):
    tape = begun(tape, box)
    tape.mark("count", "-21")
    hold(tape, 6, 50)
    tape.mark("count", "-20")
    hold(tape, 6, 0)
    tape.mark("stop")
    result = result_of(tape)
    assert result.additions == () and result.held_items == 20
    assert [w for w in result.warnings if "left out" in w]


def test_taps_while_the_scale_works_count_for_nothing(tape, box):
    tape = begun(tape, box)
    tape.mark("count", "5")
    hold(tape, 6, 50)
    tape.mark("stop")
    (result,) = tape.run()
    assert items_and_sources(result) == [(20, SCALE)]
    assert result.warnings == ("Items were tapped while the scale worked: the scale counts.",)


@pytest.mark.parametrize("text", ["", "three", "1e3", "99999", "٣", "0"])
def test_a_count_that_is_no_count_is_left_out(tape, box, text):
    tape = begun(tape, box)
    tape.mark("count", text)
    tape.mark("ruler", text)
    hold(tape, 6, 50)
    tape.mark("stop")
    assert items_and_sources(result_of(tape)) == [(20, SCALE)]


# --- the scale is back -------------------------------------------------------------------------


def test_a_scale_that_agrees_with_the_count_takes_over_without_a_word(tape, box):
    tape = begun(tape, box)
    tape.mark("count", "10")
    hold(tape, 7, 75)  # back at 20 s, in the middle of this
    hold(tape, 7, 100)
    tape.mark("stop")
    result = result_of(tape, until_s=20)
    assert items_and_sources(result) == [(20, SCALE), (10, COUNT), (10, SCALE)]
    assert [p.load_source for p in result.curve] == [SCALE] * 4  # the same zero: weighed again
    assert [p.load_g for p in result.curve] == pytest.approx([0, 50, 75, 100], abs=0.2)
    assert len(result.warnings) == 1 and "from 14 s to 20 s" in result.warnings[0]


@pytest.mark.parametrize(("really", "word"), [(12, "more"), (9, "less")])
def test_a_scale_that_disagrees_is_believed_and_it_is_said(tape, box, really, word):
    tape = begun(tape, box)
    tape.mark("count", "10")
    hold(tape, 14, 50 + 2.5 * really)
    tape.mark("stop")
    result = result_of(tape, until_s=22)
    assert sum(a.items for a in result.additions) == 20 + really
    assert result.curve[-1].load_g == pytest.approx(50 + 2.5 * really, abs=0.2)
    (said,) = [w for w in result.warnings if "than was counted" in w]
    assert f" g {word} than was counted ({abs(really - 10)}.0 items)" in said


def test_half_an_item_is_where_the_count_and_the_scale_part(tape, box):
    for off_g, warned in ((1.0, False), (1.5, True)):
        again = begun(tape, box)
        again.mark("count", "10")
        hold(again, 14, 75 + off_g)
        again.mark("stop")
        result = result_of(again, until_s=22)
        assert any("than was counted" in w for w in result.warnings) is warned, off_g


def test_a_scale_that_was_dead_from_the_start_gets_its_zero_from_the_count(tape, box):
    tape = tape(boats=(box,))
    tape.mark("start", "A")
    hold(tape, 6, 0)
    tape.mark("count", "10")
    hold(tape, 12, 25)  # the scale comes to life at 12 s
    hold(tape, 7, 50)
    tape.mark("stop")
    result = spoil(tape, 0, 12, load=None).run()[0]
    assert items_and_sources(result) == [(10, COUNT), (10, SCALE)]
    assert result.held_g == pytest.approx(50, abs=0.3)
    assert not any("than was counted" in w for w in result.warnings)
    assert result.held_g_sd >= SPREAD_G * sqrt(10)  # the count is in every load from then on


# --- ruler -------------------------------------------------------------------------------------


def test_without_a_gauge_the_ruler_tells_the_freeboard(tape, box):
    tape = begun(tape, box, channels="")
    tape.mark("ruler", "35.5")
    hold(tape, 1, 50)
    tape.mark("count", "20")
    hold(tape, 6, 100)
    tape.mark("ruler", "32")
    tape.mark("ruler", "31")
    hold(tape, 2, 100)
    tape.mark("stop")
    result = result_of(tape)
    told = [(p.freeboard_mm, p.method) for p in result.curve]
    assert told == [
        (None, None),
        (35.5, FreeboardMethod.RULER),
        (31.5, FreeboardMethod.RULER),
    ]
    assert [p.freeboard_mm_sd for p in result.curve[1:]] == pytest.approx([1.0, 1 / sqrt(2)])


def test_a_good_gauge_leads_before_the_ruler(tape, box):
    tape = begun(tape, box)
    tape.mark("ruler", "30")
    hold(tape, 2, 50)
    tape.mark("stop")
    (result,) = tape.run()
    assert [p.method for p in result.curve] == [FreeboardMethod.RIM_GAUGE] * 2


# --- the board is silent -----------------------------------------------------------------------


def cut_off(tape, from_s, to_s, reset):
    """No rows for a while, the host's ticks instead; the board comes back, perhaps anew."""
    lines, ticked = [], False
    for line in tape.lines:
        fields = line[1 : line.index(b"*")].decode().split(",")
        if fields[0] not in ("PTRGD", "PTRGM"):
            lines.append(line)
            continue
        ms = int(fields[2] if fields[0] == "PTRGD" else fields[1])
        at_s = ((ms - tape.first_ms) % 2**32) / 1000
        if fields[0] == "PTRGM" or at_s < from_s:
            lines.append(line)
        elif at_s < to_s:
            if round(at_s * 10) % 5 == 0 and at_s > from_s + 1:
                lines.append(encode(Mark(ms, "tick")))
                ticked = True
        else:
            row = decode(line[1 : line.index(b"*")])
            seq, ms = row.seq, row.ms
            if reset:
                ms = round(1000 * (at_s - to_s)) + 100
                seq = ms // 100
            lines.append(encode(Data(seq, ms, row.load, row.surface, row.rim, row.water)))
    assert ticked
    tape.lines = lines
    return tape


def events_of(tape, boats):
    stream, engine, events = Stream(), TrialEngine(tape.setup, boats), []
    for item in [*stream.feed(b"".join(tape.lines)), *stream.finish()]:
        events += engine.feed(item)
    return events + engine.finish()


@pytest.mark.parametrize("reset", [False, True])
def test_a_lost_port_costs_no_time_and_no_load(tape, box, reset):
    tape = tape(boats=(box,), first_ms=5000)
    tape.mark("start", "A")
    for load_g in (0, 50, 100, 150):
        hold(tape, 8, load_g)
    if not reset:
        tape.mark("stop")
    events = events_of(cut_off(tape, 11, 15, reset), {"A": box})
    result = events[-1].result
    assert [a.items for a in result.additions] == [20, 20, 20]
    assert [a.at_s for a in result.additions] == pytest.approx([8, 16, 24], abs=0.6)  # a tick
    assert result.held_items == 60 and result.outcome is Outcome.AFLOAT
    assert any(re.search("board was silent from 11 s to 1[45] s", w) for w in result.warnings)
    assert any("restarted" in w for w in result.warnings) is reset


def test_a_boat_lowered_just_before_the_port_went_has_not_sunk(tape, box):
    """The last rows show it 20 mm lower, and no load to explain that came through."""
    tape = tape(boats=(box,), first_ms=5000, channels="rim")
    tape.mark("start", "A")
    hold(tape, 8, 0)
    tape.rows(0.4, 0, level(0), rim(300))  # the boat is lower, the weights' step is yet to come
    hold(tape, 12, 300)
    tape.mark("stop")
    events = events_of(cut_off(tape, 8.4, 16, False), {"A": box})
    assert events[-1].result.sunk_at_s is None
    assert events[-1].result.outcome is Outcome.AFLOAT


# --- anything ----------------------------------------------------------------------------------

_TAPS = st.lists(
    st.tuples(st.sampled_from([1, 2, 5, 10, -1]), st.sampled_from([0.2, 0.8, 2.0, 6.0])), max_size=8
)


@given(_TAPS)
def test_whatever_is_tapped_the_count_is_their_sum(taps):
    tape = Tape(channels="", boats=())
    tape.mark("start", "A")
    tape.rows(4, 0)
    expected = 0
    tape.rows(4, 0)
    for items, pause_s in taps:
        tape.mark("count", str(items))
        expected += items if expected + items >= 0 else 0
        tape.rows(pause_s, 0)
    tape.mark("stop")
    result = spoil(tape, 4, 999, load=None).run()[0]
    assert sum(a.items for a in result.additions) == expected
    assert sum(a.mass_g for a in result.additions) == pytest.approx(2.5 * expected)
    assert all(a.items > 0 and a.source is COUNT for a in result.additions)
    assert all(p.load_g == pytest.approx(2.5 * p.items, abs=1e-6) for p in result.curve)
    assert all(p.load_g_sd >= 0 for p in result.curve)
