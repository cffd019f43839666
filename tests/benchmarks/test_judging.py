"""The judge itself: right is called right, wrong is called wrong, open is left open."""

import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import SimpleNamespace

import pytest

_spec = spec_from_file_location("judging", Path(__file__).with_name("judging.py"))
judging = module_from_spec(_spec)
sys.modules["judging"] = judging  # a dataclass looks its own module up
_spec.loader.exec_module(judging)

ITEM_G = 5.0
TRUTH = {
    "number": 3,
    "kinds": ["press"],
    "gauges": "rim",
    "layout": "feed-tray",
    "outcome": "swamped",
    "outcome_also": [],
    "held_g": 15.0,
    "held_items": 3,
    "held_also": [(15.0, 3)],
    "sunk_at_s": 30.0,
    "ends_s": 40.0,
    "additions": [
        {"at_s": 5.0, "last_s": 5.2, "mass_g": 15.0, "items": 3},
        {"at_s": 29.8, "last_s": 30.0, "mass_g": 10.0, "items": 2},
    ],
    "lent": [],
    "dropped": [],
    "track": [
        (t / 10, 0.0 if t < 51 else 15.0 if t < 299 else 25.0, 20.0 if t < 51 else 10.0)
        for t in range(400)
    ],
}


def addition(at_s, items):
    return SimpleNamespace(at_s=at_s, mass_g=items * ITEM_G, items=items)


def point(at_s, lasted_s, load_g, freeboard_mm=10.0, load_g_sd=0.1, freeboard_mm_sd=0.3):
    return SimpleNamespace(
        at_s=at_s,
        lasted_s=lasted_s,
        load_g=load_g,
        load_g_sd=load_g_sd,
        freeboard_mm=freeboard_mm,
        freeboard_mm_sd=freeboard_mm_sd,
        method=SimpleNamespace(value="rim gauge"),
    )


def result(**changes):
    told = {
        "outcome": SimpleNamespace(value="swamped"),
        "reason": "It was full.",
        "held_g": 15.1,
        "sunk_at_s": 30.3,
        "additions": (addition(5.1, 3), addition(29.9, 2)),
        "curve": (point(0.1, 5.0, 0.0, 20.0), point(5.4, 24.0, 15.05)),
    }
    return SimpleNamespace(**{**told, **changes})


def judged(truth=TRUTH, **changes):
    return judging.judge(truth, result(**changes), ITEM_G)


def test_a_right_result_is_right_in_everything():
    verdict = judged()
    assert verdict.held and verdict.additions and verdict.additions_strict and verdict.outcome
    assert verdict.moment and not verdict.false_sinking and not verdict.not_sure
    assert (verdict.load_covered, verdict.freeboard_covered) == ([True], [True])


@pytest.mark.parametrize(
    ("told", "right"),
    [
        ([(5.1, 3), (29.9, 2)], True),
        ([(5.1, 3)], False),
        ([(5.1, 3), (29.9, 3)], False),
        ([(5.1, 2), (29.9, 3)], False),  # the sum alone is not enough
        ([(5.1, 3), (18.0, 1), (29.9, 2)], False),  # an addition nobody made
        ([(5.1, 3), (29.0, 1), (29.9, 1)], False),  # one addition told as two
        ([(5.1, 3), (29.9, 2), (29.9, 0)], False),
    ],
)
def test_additions(told, right):
    assert judged(additions=[addition(*a) for a in told]).additions is right


@pytest.mark.parametrize("told", [[(5.1, 5), (29.9, 2)], [(5.1, 3), (5.8, 2), (29.9, 2)]])
def test_two_within_a_second_may_be_one_or_two(told):
    first, last = TRUTH["additions"]
    second = {"at_s": 5.8, "last_s": 5.9, "mass_g": 10.0, "items": 2}
    truth = {**TRUTH, "additions": [first, second, last]}
    assert judged(truth, additions=[addition(*a) for a in told]).additions
    assert not judged(truth).additions


@pytest.mark.parametrize(("layout", "into"), [("feed-tray", "floor"), ("tub-on-cell", "water")])
def test_a_dropped_item_may_be_counted_where_no_gauge_can_tell(layout, into):
    drop = {"at_s": 15.0, "mass_g": 5.0, "into": into}
    truth = {**TRUTH, "layout": layout, "dropped": [drop]}
    more = [addition(5.1, 3), addition(15.1, 1), addition(29.9, 2)]
    verdict = judged(truth, additions=more, held_g=20.0, curve=(None, point(16.0, 10.0, 20.0)))
    assert verdict.additions and verdict.held and verdict.load_covered == [True]
    assert not verdict.additions_strict
    assert judged(truth).additions_strict
    floor = {**truth, "layout": "tub-on-cell", "dropped": [{**drop, "into": "floor"}]}
    assert not judged(floor, additions=more).additions


def test_held_is_right_within_half_an_item_of_any_open_answer():
    assert judged(held_g=17.4).held
    assert not judged(held_g=17.6).held
    assert not judged(held_g=0.0).held
    assert judged({**TRUTH, "held_also": [(0.0, 0), (15.0, 3)]}, held_g=0.0).held


@pytest.mark.parametrize(
    ("told_s", "moment", "false"),
    [(30.9, True, False), (31.2, False, False), (28.0, False, False), (26.0, False, True)],
)
def test_the_moment_of_sinking(told_s, moment, false):
    verdict = judged(sunk_at_s=told_s)
    assert (verdict.moment, verdict.false_sinking) == (moment, false)


def test_a_sinking_missed_and_a_sinking_invented():
    missed = judged(sunk_at_s=None)
    assert (missed.moment, missed.false_sinking) == (False, False)
    invented = judged({**TRUTH, "sunk_at_s": None, "outcome": "afloat"})
    assert (invented.moment, invented.false_sinking, invented.outcome) == (None, True, False)


def test_outcomes_right_open_and_not_sure():
    heeled = SimpleNamespace(value="heeled")
    assert not judged(outcome=heeled).outcome
    assert judged({**TRUTH, "outcome_also": ["heeled"]}, outcome=heeled).outcome
    assert judged(reason="Not sure: it may have tipped.").not_sure


def test_intervals_cover_or_not():
    tare = point(0.1, 5.0, 3.0)  # nought by definition: not judged
    verdict = judged(curve=(tare, point(5.4, 24.0, 15.3), point(5.4, 24.0, 15.1, 10.7)))
    assert verdict.load_covered == [False, True]
    assert verdict.freeboard_covered == [True, False]
    late = judged(curve=(tare, point(31.0, 8.0, 99.0)))  # after the sinking: no plateau
    assert late.load_covered == []
    assert judged(curve=(tare, point(5.4, 24.0, 15.1, None, 0.0))).load_covered == [False]


def test_the_freeboard_of_a_leaking_boat_is_judged_only_with_a_rim_gauge():
    leaking = {**TRUTH, "kinds": ["leaked"]}
    assert judged(leaking).freeboard_covered == [True]
    assert judged({**leaking, "gauges": "surface"}).freeboard_covered == []
    assert judged({**TRUTH, "gauges": "surface"}).freeboard_covered == [True]


def test_no_result_is_wrong_in_everything():
    verdict = judging.judge(TRUTH, None, ITEM_G)
    assert verdict.error and not (verdict.held or verdict.additions or verdict.outcome)
    assert verdict.moment is False
