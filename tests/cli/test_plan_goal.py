"""`tubrig plan goal` as a person runs it; which kept trials count."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from math import sqrt

import pytest

from rig.cli.plans.goal import kept_boats
from rig.lesson.earlier_boats import EarlierBoat
from rig.records import TrialRow

NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


def test_a_goal_in_plain_words(tubrig):
    carried = "52 61 80+ 44 95+ 70 66 120 38 101 57 73 90+ 64"
    done = tubrig("plan", "goal", "--carried", carried, "--dry-run", "90", "--goal", "35")
    assert done.returncode == 0, done.stderr
    assert "based on 14 boats, 3 of them never sank" in done.stdout
    assert "A goal of 35 would be reached by 9" in done.stdout
    assert "<- this goal" in done.stdout


def test_the_ceiling_is_the_open_box(told):
    # OpenStax Calculus vol. 1, 4.7: a sheet 24 x 36 gives at most 640 + 448 sqrt(7) cubed units.
    # At 10 mm a unit that is 1825.3 ml, and 998.2067 g a litre at 20 C (Tanaka et al. 2001)
    found = told("plan", "goal", "--sheet-mm", "240x360", "--item-g", "2.5")
    ceiling = (640 + 448 * sqrt(7)) * 0.9982067 / 2.5
    assert found["beforehand"]["ceiling_items"] == pytest.approx(ceiling, rel=1e-6)
    assert found["kaplan_meier"] is None
    assert found["goal_g"] == 2.5 * found["goal_items"]


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--sheet-mm", "300"), "300x200"),
        (("--sheet-mm", "300x200"), "--item-g"),
        (("--carried", "a lot"), "80+"),
        (("--share", "40"), "such as 0.4"),
        (("--groups", "0"), "1 to 60"),
    ],
)
def test_errors_have_one_thing_to_do(tubrig, options, says):
    done = tubrig("plan", "goal", *options)
    assert (done.returncode, done.stdout) == (2, "")
    assert says in done.stderr


def row(number, label, outcome, held_items, held_g, **changed):
    result = {"outcome": outcome, "held_items": held_items, "held_g": held_g}
    made = TrialRow(
        id=str(number),
        number=number,
        run_id="r",
        rig_name="Tub 1",
        boat_label=label,
        boat={},
        setup={},
        identity=None,
        started_at_utc=NOON,
        first_block_id=1,
        last_block_id=2,
        closed=True,
        outcome=outcome,
        held_g=held_g,
        held_items=held_items,
        sunk_at_s=None,
        predicted_capacity_g=None,
        result=result,
        corrected=None,
    )
    return replace(made, **changed)


def test_kept_trials_the_last_of_each_boat_and_day():
    rows = [
        row(6, "Otters", "afloat", 60, 150.0),
        row(5, "Otters", "swamped", 20, 50.0),  # the first try of that day
        row(4, "Herons", "void", 99, 250.0),
        row(3, "Herons", "heeled", 30, 75.0),
        row(2, "Otters", "leaked", 40, 100.0, started_at_utc=NOON - timedelta(days=7)),
        row(1, "Terns", "swamped", None, 0.0, result=None),  # still open
    ]
    in_items = [EarlierBoat(60, False), EarlierBoat(30, True), EarlierBoat(40, True)]
    assert kept_boats(rows, None) == in_items
    assert [boat.items for boat in kept_boats(rows, 5.0)] == [30, 15, 20]
    corrected = {"outcome": "void", "held_items": 60, "held_g": 150.0}
    assert kept_boats([replace(rows[0], corrected=corrected)], None) == []
