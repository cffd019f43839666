"""Whatever a stream gives, in whatever order: the engine never raises, and always ends a trial."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rig.sensing.sentences import MARK_WORDS, Fault, Identity
from rig.sensing.stream import OperatorMark, Sample
from rig.setup import boat_from_dict
from rig.setup.rigfile import RigSetup
from rig.trial.engine import TrialEngine
from rig.trial.events import Ended, Started, Sunk, Tared

BOATS = {
    "A": {"hull": "box", "length_mm": 150, "beam_mm": 100, "depth_mm": 40, "mass_g": 20},
    "heavy": {"hull": "box", "length_mm": 50, "beam_mm": 50, "depth_mm": 10, "mass_g": 90},
    "dish": {"hull": "dish", "diameter_mm": 120, "bottom_diameter_mm": 80, "depth_mm": 30},
}
WORD = st.integers(-(2**23), 2**23 - 1)  # HX711 data sheet: 24-bit two's complement
RAW = st.integers(-(2**31), 2**31 - 1)  # the widest number a data sentence may hold


def boats():
    known = {}
    for label, measures in BOATS.items():
        known[label] = boat_from_dict({"label": label, "mass_g": 15.0, **measures})
    return known


KNOWN = boats()


@st.composite
def setups(draw):
    unit = draw(st.sampled_from(["um", "us"]))
    sections = {
        "rig": {"name": "any", "layout": draw(st.sampled_from(["feed-tray", "tub-on-cell"]))},
        "load": {"zero_count": 0, "count_per_g": draw(st.sampled_from([400.0, -400.0, 0.5]))},
        "surface": {"height_mm": 300, "unit": unit},
        "rim": {"height_mm": 420, "flag_mm": 60, "unit": unit},
        "tub": draw(st.sampled_from([{"area_mm2": 60_000}, {"pours": [[90, 5000], [110, 6500]]}])),
        "item": {"name": "piece", "mass_g": 2.5},
    }
    for absent in draw(st.sets(st.sampled_from(["surface", "rim", "tub", "item"]))):
        del sections[absent]
    return RigSetup.model_validate(sections)


def around(base, spread):
    """A steady raw number with a little noise, whole numbers only."""
    return st.none() | st.integers(base - spread, base + spread)


@st.composite
def stretches(draw):
    """Ten rows a second for a while, as a rig at rest gives them: the way into every branch."""
    load = draw(st.none() | st.integers(-1000, 1000).map(lambda g: 400 * g) | WORD)
    surface = draw(st.none() | st.integers(180_000, 220_000))
    rim = draw(st.none() | st.integers(200_000, 340_000))
    water = draw(st.sampled_from([20_000, 85_000, None, -5000]))
    jitter = draw(st.lists(st.integers(-300, 300), min_size=4, max_size=9))
    rows = []
    for i in range(draw(st.integers(5, 45))):
        off = jitter[i % len(jitter)]
        numbers = [None if n is None else n + off for n in (load, surface, rim)]
        if numbers[0] is not None:
            numbers[0] = max(-(2**23), min(2**23 - 1, numbers[0]))
        rows.append((100, (*numbers, water), False))
    return rows


wild = st.lists(
    st.tuples(
        st.sampled_from([0, 1, 12, 100, 5000, 2**31]),
        st.tuples(*(st.none() | n for n in (WORD, RAW, RAW, RAW))),
        st.booleans(),
    ),
    min_size=1,
    max_size=8,
)
marks = st.tuples(
    st.integers(-2000, 2000),
    st.sampled_from(["start", "start", "sunk", *MARK_WORDS]),
    st.sampled_from(["A", "A", "heavy", "dish", "nobody", "", "count,1,3", "sunk,2", "afloat"]),
)
units = st.sampled_from(["us", "um"])
others = st.builds(
    lambda unit: Identity("b", "1", 10.0, (("surface", unit), ("rim", unit))), units
) | st.builds(Fault, st.sampled_from(["E01", "E03", ""]), st.text(max_size=5))


@st.composite
def streams(draw):
    """Items in any order on a time line that, as the stream's, never runs backwards for rows."""
    items, at_ms = [], draw(st.sampled_from([0, 7, 2**33]))
    if draw(st.booleans()):
        items.append(OperatorMark(at_ms, "start", draw(st.sampled_from(["A", "dish", "x"]))))
    for part in draw(st.lists(stretches() | stretches() | wild | marks | others, max_size=9)):
        if isinstance(part, tuple):
            off_ms, word, text = part
            items.append(OperatorMark(max(0, at_ms + off_ms), word, text))
        elif isinstance(part, list):
            for after_ms, numbers, restarted in part:
                at_ms += after_ms
                items.append(Sample(at_ms, *numbers, restarted))
        else:
            items.append(part)
    return items


def play(setup, items):
    engine = TrialEngine(setup, KNOWN)
    events = [event for item in items for event in engine.feed(item)]
    return events + engine.finish(), engine


@settings(max_examples=100)
@given(setup=setups(), items=streams())
def test_anything_in_never_raises_and_every_trial_ends_once(setup, items):
    events, engine = play(setup, items)
    starts = sum(isinstance(i, OperatorMark) and i.word == "start" for i in items)
    open_trials = 0
    for event in events:
        if isinstance(event, Started):
            open_trials += 1
        if isinstance(event, Ended):
            open_trials -= 1
        assert open_trials in (0, 1)
    assert open_trials == 0 and not engine.running
    assert sum(isinstance(e, Started) for e in events) == starts
    for event in events:
        if isinstance(event, Ended):
            event.result.as_dict()
            assert event.result.held_g_sd >= 0
            assert all(p.lasted_s >= 0 for p in event.result.curve)
    # the same items again give the same events: nothing is drawn, nothing reads a clock
    assert repr(play(setup, items)[0]) == repr(events)


def test_the_streams_above_reach_the_middle_of_a_trial():
    """Else the property would say little: some are tared, some told as sunk."""
    seen = set()

    @settings(max_examples=25, database=None)
    @given(setup=setups(), items=streams())
    def look(setup, items):
        seen.update(type(event) for event in play(setup, items)[0])

    look()
    assert {Started, Tared, Sunk, Ended} <= seen


@pytest.mark.parametrize("word", ["stop", "sunk", "void", "note", "fix"])
def test_a_mark_without_a_trial_is_nothing(word):
    engine = TrialEngine(RigSetup.model_validate(BARE), KNOWN)
    assert engine.feed(OperatorMark(5, word)) == [] and engine.finish() == []


def test_after_its_end_a_trial_takes_nothing_more():
    engine = TrialEngine(RigSetup.model_validate(BARE), KNOWN)
    engine.feed(OperatorMark(0, "start", "A"))
    (ended,) = [e for e in engine.feed(OperatorMark(9000, "stop")) if isinstance(e, Ended)]
    later = [Sample(9100, 400, None, None, None), Fault("E01", "x")]
    later += [OperatorMark(9200, word) for word in ("stop", "sunk", "void")]
    assert [event for item in later for event in engine.feed(item)] == []
    assert engine.trial.result is ended.result


BARE = {
    "rig": {"name": "bare", "layout": "feed-tray"},
    "load": {"zero_count": 0, "count_per_g": 400},
}
