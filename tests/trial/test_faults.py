"""Channels that fail in mid-trial: said with from and to, and the rest of the trial goes on."""

import random

import pytest

from rig.physics.hx711 import CODE_HIGH
from rig.sensing.health import Ailment
from rig.sensing.sentences import Data, encode
from rig.sensing.stream import Stream
from rig.trial.engine import TrialEngine
from rig.trial.events import FaultBegan, FaultOver, FreeboardMethod, Outcome
from tests.trial.test_by_hand import CAPACITY, DROP, EMPTY, go_down, hold, level, rim


def spoil(tape, from_s, to_s, **words):
    """Change words of the rows in a stretch of the recording: a value, or "frozen"."""
    rows, stuck = [], {}
    first_ms = tape.first_ms
    for line in tape.lines:
        if not line.startswith(b"$PTRGD"):
            rows.append(line)
            continue
        fields = line[1 : line.index(b"*")].decode().split(",")
        at_s = ((int(fields[2]) - first_ms) % 2**32) / 1000
        names = ("load", "surface", "rim")
        values = {n: int(v) if v else None for n, v in zip(names, fields[3:6], strict=True)}
        if from_s <= at_s < to_s:
            for name, word in words.items():
                values[name] = stuck.setdefault(name, values[name]) if word == "frozen" else word
        water = int(fields[6]) if fields[6] else None
        rows.append(encode(Data(int(fields[1]), int(fields[2]), *values.values(), water)))
    tape.lines[:] = rows
    return tape


def begun(tape, box, **kind):
    tape = tape(boats=(box,), **kind)
    tape.mark("start", "A")
    hold(tape, 6, 0)
    return tape


def told(events):
    began = [(e.channel, e.ailment) for e in events if isinstance(e, FaultBegan)]
    over = [(e.channel, e.ailment) for e in events if isinstance(e, FaultOver)]
    return began, over


FAULTS = [
    ("load", None, Ailment.SILENT, "The scale was silent from"),
    ("load", CODE_HIGH, Ailment.SATURATED, "The scale was at the end of its range from"),
    ("load", "frozen", Ailment.FROZEN, "The scale stood still from"),
    ("surface", None, Ailment.SILENT, "The surface gauge was silent from"),
    ("surface", "frozen", Ailment.FROZEN, "The surface gauge stood still from"),
    ("rim", None, Ailment.SILENT, "The rim gauge was silent from"),
    ("rim", "frozen", Ailment.FROZEN, "The rim gauge stood still from"),
]


@pytest.mark.parametrize(("channel", "word", "ailment", "line"), FAULTS)
def test_a_fault_is_over_and_the_trial_goes_on_as_if_nothing_had_been(
    tape, box, channel, word, ailment, line
):
    tape = begun(tape, box)
    for load_g in (100, 200, 300):
        hold(tape, 8, load_g)
    tape.mark("stop")
    spoil(tape, 16, 20, **{channel: word})
    events = tape.events()
    result = events[-1].result
    assert told(events) == ([(channel, ailment)], [(channel, ailment)])
    (warning,) = result.warnings
    assert warning.startswith(line) and warning.endswith("from 16 s to 20 s.")
    assert (result.outcome, result.held_items) == (Outcome.AFLOAT, 120)
    assert [a.items for a in result.additions] == [40, 40, 40]
    expected = [EMPTY - DROP * g for g in (0, 100, 200, 300)]
    assert [p.freeboard_mm for p in result.curve] == pytest.approx(expected, abs=0.6)
    assert {p.method for p in result.curve} == {FreeboardMethod.RIM_GAUGE}


@pytest.mark.parametrize(
    ("channel", "word", "method", "close_mm"),
    [
        ("surface", None, FreeboardMethod.RIM_AND_LOAD, 0.6),
        ("surface", "frozen", FreeboardMethod.RIM_AND_LOAD, 0.6),
        ("rim", None, FreeboardMethod.DISPLACEMENT, 1.5),
        ("rim", "frozen", FreeboardMethod.DISPLACEMENT, 1.5),
    ],
)
def test_a_gauge_that_dies_in_mid_trial_leaves_its_place_to_the_other(
    tape, box, channel, word, method, close_mm
):
    """And nothing sinks by it; a boat that then really goes down is still seen."""
    tape = begun(tape, box)
    for load_g in (100, 200, 300, 400):
        hold(tape, 8, load_g)
    hold(tape, 8, CAPACITY - 4)
    go_down_s = tape.now_s
    go_down(tape, 582.5, solid_ml=80)
    tape.rows(4, 582.5, 100 + 60 / 60, 40)
    spoil(tape, 18, 999, **{channel: word})
    events = tape.events()
    result = events[-1].result
    assert told(events)[0][0][0] == channel
    before, after = result.curve[:2], result.curve[3:]
    assert {p.method for p in before} == {FreeboardMethod.RIM_GAUGE}
    assert {p.method for p in after} == {method} and len(after) >= 3
    for point in after:
        assert point.freeboard_mm == pytest.approx(EMPTY - DROP * point.load_g, abs=close_mm)
    assert result.outcome is Outcome.SWAMPED
    assert result.sunk_at_s == pytest.approx(go_down_s, abs=1.0)
    assert result.warnings[0].endswith("from 18 s to the end.")


def test_with_no_gauge_left_nothing_sinks_until_it_is_tapped(tape, box):
    tape = begun(tape, box)
    hold(tape, 8, 100)
    hold(tape, 8, 200)
    hold(tape, 8, 300)
    tape.mark("sunk")
    hold(tape, 8, 300)
    spoil(tape, 16, 999, rim=None, surface="frozen")
    result = tape.events()[-1].result
    assert result.sunk_at_s == pytest.approx(30, abs=0.1)
    assert [p.freeboard_mm is None for p in result.curve] == [False, False, False, True]


def test_the_flag_that_goes_down_with_the_boat_is_no_fault_of_the_gauge(tape, box):
    tape = begun(tape, box)
    hold(tape, 8, 300)
    hold(tape, 8, 575)
    begins_s = tape.now_s
    tape.rows(8, 590, lambda t: level(590) - 8 * min(t / 1.5, 1), None)
    result = tape.run()[0]
    assert result.sunk_at_s == pytest.approx(begins_s, abs=1.0)
    assert result.warnings == ()


def test_many_short_spells_are_one_line(tape, box):
    tape = begun(tape, box)
    for n in range(6):
        hold(tape, 4, 100)
        tape.rows(3, 100, level(100), None if n else rim(100))
    tape.mark("stop")
    (warning,) = tape.run()[0].warnings
    assert warning == "The rim gauge was silent 5 times between 17 s and the end."


def test_scattered_losses_are_no_fault(tape, box):
    tape = begun(tape, box)
    hold(tape, 20, 100)
    tape.mark("stop")
    lost = random.Random(3)
    tape.lines = [line for line in tape.lines if b"PTRGD" not in line or lost.random() > 0.1]
    engine, events = TrialEngine(tape.setup, {"A": box}), []
    for item in Stream().feed(b"".join(tape.lines)):
        events += engine.feed(item)
    assert events[-1].result.warnings == ()


@pytest.mark.parametrize("after_s", [0.3, 0.8, 1.5, 3.0])
@pytest.mark.parametrize("channels", ["surface rim", "rim"])
def test_a_rim_gauge_that_dies_just_after_a_large_addition_is_no_sinking(
    tape, box, channels, after_s
):
    """The rim has fallen by 20 mm when it was last seen: by the load, not by going down."""
    tape = begun(tape, box, channels=channels)
    hold(tape, 8, 300)
    hold(tape, 12, 400)
    tape.mark("stop")
    result = spoil(tape, 6 + after_s, 999, rim=None).run()[0]
    assert (result.outcome, result.held_items, result.sunk_at_s) == (Outcome.AFLOAT, 160, None)
