"""Why it went down: a table of cases, worked out from the rules in plain numbers."""

from dataclasses import replace

import pytest

from rig.trial.events import Outcome
from rig.trial.fate import LastMoments, fate_of

# Capacity 500 g, items of 2.5 g; a tenth of that is missing and it went down with the addition.
BASE = LastMoments(
    load_g=300.0,
    capacity_g=500.0,
    item_g=2.5,
    since_addition_s=0.5,
    left_mm=None,
    left_mm_sd=None,
    slid_mm=None,
    slid_sure=False,
    missing_mm=None,
    unseen=False,
)
FULL, LEAK, TIPPED = "over the rim", "nobody added a thing", "tipped over"

CASES = {
    # by capacity: within 8 %, or one and a half items, it was full
    "room left, at once": ({}, Outcome.HEELED, "200 g"),
    "room left, later": ({"since_addition_s": 3.1}, Outcome.LEAKED, LEAK),
    "three seconds are still at once": ({"since_addition_s": 3.0}, Outcome.HEELED, TIPPED),
    "past its capacity": ({"load_g": 510.0}, Outcome.SWAMPED, FULL),
    "past its capacity, later": ({"load_g": 510.0, "since_addition_s": 9}, Outcome.SWAMPED, FULL),
    "8 % are left": ({"load_g": 460.0}, Outcome.SWAMPED, FULL),
    "8.1 % are left": ({"load_g": 459.5}, Outcome.HEELED, TIPPED),
    "1.5 large items are left": ({"load_g": 350.0, "item_g": 100.0}, Outcome.SWAMPED, FULL),
    "1.6 large items are left": ({"load_g": 340.0, "item_g": 100.0}, Outcome.HEELED, TIPPED),
    "no item, room left": ({"item_g": None}, Outcome.HEELED, "200 g"),
    # nobody measured the boat: not sure
    "unmeasured, at once": ({"capacity_g": None}, Outcome.SWAMPED, "Not sure"),
    "unmeasured, later": (
        {"capacity_g": None, "since_addition_s": 8.0},
        Outcome.LEAKED,
        "Not sure",
    ),
    # by the rim gauge: what the last load should have left
    "wall left": ({"left_mm": 19.2, "left_mm_sd": 0.5}, Outcome.HEELED, "19 mm of wall"),
    "no wall left": ({"left_mm": -2.0, "left_mm_sd": 0.5}, Outcome.SWAMPED, FULL),
    "no wall left, whatever the capacity": (
        {"left_mm": 1.5, "left_mm_sd": 0.5, "load_g": 100.0},
        Outcome.SWAMPED,
        FULL,
    ),
    "wall left, whatever the capacity": (
        {"left_mm": 19.0, "left_mm_sd": 0.5, "load_g": 510.0},
        Outcome.HEELED,
        "19 mm",
    ),
    "the gauge cannot tell, capacity says full": (
        {"left_mm": 2.5, "left_mm_sd": 0.5, "load_g": 495.0},
        Outcome.SWAMPED,
        FULL,
    ),
    "the gauge cannot tell, capacity says room": (
        {"left_mm": 2.5, "left_mm_sd": 0.5},
        Outcome.HEELED,
        "200 g",
    ),
    "the gauge can just tell": (
        {"left_mm": 2.6, "left_mm_sd": 0.5, "load_g": 495.0},
        Outcome.HEELED,
        "3 mm of wall",
    ),
    # water inside
    "slid": (
        {"since_addition_s": 9.0, "slid_mm": 7.4, "slid_sure": True},
        Outcome.LEAKED,
        "7 mm lower while nobody",
    ),
    "slid, though it was nearly full": (
        {"since_addition_s": 9.0, "slid_mm": 7.4, "slid_sure": True, "load_g": 495.0},
        Outcome.LEAKED,
        "7 mm lower",
    ),
    "slid within noise": (
        {"since_addition_s": 9.0, "slid_mm": 7.4, "slid_sure": False, "load_g": 495.0},
        Outcome.SWAMPED,
        FULL,
    ),
    "slid by a millimetre": (
        {"since_addition_s": 9.0, "slid_mm": 1.0, "slid_sure": True, "load_g": 495.0},
        Outcome.SWAMPED,
        FULL,
    ),
    "slid before, but an addition sank it": (
        {"slid_mm": 7.4, "slid_sure": True, "load_g": 495.0},
        Outcome.SWAMPED,
        FULL,
    ),
    "lay too deep": ({"missing_mm": 4.4}, Outcome.LEAKED, "4 mm deeper"),
    "lay too deep by 3 mm": ({"missing_mm": 3.0, "load_g": 495.0}, Outcome.SWAMPED, FULL),
    # only a tap, and a gauge saw it afloat
    "tapped, seen afloat": ({"unseen": True}, Outcome.HEELED, "Not sure"),
    "tapped, seen afloat, full": (
        {"unseen": True, "load_g": 495.0},
        Outcome.SWAMPED,
        "Not sure",
    ),
    "tapped, seen afloat, slid": (
        {"unseen": True, "since_addition_s": 9, "slid_mm": 7.0, "slid_sure": True},
        Outcome.LEAKED,
        "still saw it afloat",
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_fate(case):
    changes, outcome, words = CASES[case]
    told, reason = fate_of(replace(BASE, **changes))
    assert told is outcome
    assert words.lower() in reason.lower()


SURE = [case for case, (_, _, words) in CASES.items() if words != "Not sure"]


@pytest.mark.parametrize("case", SURE)
def test_doubt_is_told_only_where_there_is_some(case):
    changes = CASES[case][0]
    unsure = changes.get("unseen", False) or changes.get("capacity_g", 1) is None
    assert ("not sure" in fate_of(replace(BASE, **changes))[1].lower()) == unsure
