"""Kaplan-Meier on the published remission data; words about boats."""

import csv
from pathlib import Path

import pytest

from rig.errors import OutOfRange
from rig.lesson.earlier_boats import EarlierBoat, based_on, boats_from_text, kaplan_meier

REFERENCE = Path(__file__).parents[1] / "reference"


def rows(name):
    with open(REFERENCE / name, encoding="utf-8") as file:
        return list(csv.DictReader(file))


# E.J. Freireich et al., Blood 21 (1963) 699-716, 6-MP arm: 21 patients, 9 relapses
REMISSION = [
    EarlierBoat(float(row["time_weeks"]), row["relapse"] == "1") for row in rows("remission.csv")
]


@pytest.mark.parametrize("row", rows("remission_expected.csv"), ids=lambda r: r["time_weeks"])
def test_the_published_survival_of_the_remission_data(row):
    # Klein and Moeschberger, Survival Analysis, Example 4.1: three figures; exact fractions
    found = kaplan_meier(REMISSION)
    place = found.items.index(float(row["time_weeks"]))
    numerator, denominator = row["S_exact"].split("/")
    assert found.share[place] == pytest.approx(int(numerator) / int(denominator), abs=1e-12)
    assert found.share[place] == pytest.approx(float(row["published_S"]), abs=6e-4)
    # the interval is log(-log): S to the power exp(-+1.96 se / (S ln S)), with the published se
    from math import exp, log

    share, se = float(row["published_S"]), float(row["published_se"])
    step = 1.959964 * se / (share * -log(share))
    assert found.low[place] == pytest.approx(share ** exp(step), abs=2e-3)
    assert found.high[place] == pytest.approx(share ** exp(-step), abs=2e-3)


def test_the_published_median():
    # 23 weeks: the first time at which less than half remain
    found = kaplan_meier(REMISSION)
    below = [t for t, share in zip(found.items, found.share, strict=True) if share < 0.5]
    assert below[0] == 23


def test_a_boat_that_sank_last_leaves_nothing_and_no_warning():
    found = kaplan_meier([EarlierBoat(40, True), EarlierBoat(60, True)])
    assert found.share == (0.5, 0.0)
    assert (found.low[-1], found.high[-1]) == (0.0, 1.0)


def test_without_a_sinking_there_is_no_curve():
    with pytest.raises(OutOfRange, match="sank"):
        kaplan_meier([EarlierBoat(40, False)])


def test_results_are_written_as_people_write_them():
    assert boats_from_text(" 52, 61 80+;44.5 ") == [
        EarlierBoat(52, True),
        EarlierBoat(61, True),
        EarlierBoat(80, False),
        EarlierBoat(44.5, True),
    ]
    with pytest.raises(OutOfRange, match='"x3"'):
        boats_from_text("52 x3")


@pytest.mark.parametrize(
    ("sank", "afloat", "words"),
    [
        (11, 3, "based on 14 boats, 3 of them never sank"),
        (5, 0, "based on 5 boats, all of them sank"),
        (0, 4, "based on 4 boats, none of them ever sank"),
        (1, 0, "based on 1 boat"),
        (0, 1, "based on 1 boat, and it never sank"),
        (0, 0, "based on no boats yet"),
    ],
)
def test_what_it_is_based_on(sank, afloat, words):
    boats = [EarlierBoat(50, True)] * sank + [EarlierBoat(80, False)] * afloat
    assert based_on(boats) == words
