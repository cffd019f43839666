"""A class session: turns, guesses, absent groups, second tries, and a restart in the middle."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rig.errors import OutOfPlace, OutOfRange, RigError
from rig.lesson.session import ClassSession, Rules, Turn, replayed, school_year, turn_order
from rig.lesson.session_events import (
    AnotherTry,
    BoatRegistered,
    CameBack,
    Closed,
    GoalSet,
    GroupAdded,
    Guessed,
    Moved,
    TurnBegan,
    TurnEnded,
    WentAway,
    event_as_dict,
    event_from_dict,
)

LABELS = ("Otters", "Herons", "Terns")
BOX = {"hull": "box", "length_mm": 150, "beam_mm": 100, "depth_mm": 40, "mass_g": 20}


@pytest.fixture
def begun():
    """Three groups with boats and guesses, nobody tested. All invented."""
    events = []
    for label in LABELS:
        events += [GroupAdded(label), BoatRegistered(label, BOX | {"label": label})]
        events += [Guessed(label, 40)]
    session = ClassSession("4b", "block 3", "2026-11-25", 60, "cent", 2.5)
    return replayed(session, events)


def was_tested(session, label, items, trial=1, minutes=4.0):
    return replayed(
        session, [TurnBegan(label, trial), TurnEnded(label, trial, items, minutes=minutes)]
    )


def test_turns_come_in_their_order(begun):
    for label in LABELS:
        assert begun.next_group.label == label
        begun = was_tested(begun, label, 50)
    assert begun.next_group is None
    assert begun.boats_left == 0
    assert begun.spent_min == (4.0, 4.0, 4.0)


def test_the_board_shows_who_is_next(begun):
    session = begun.after(TurnBegan("Otters", 1))
    assert turn_order(session) == [
        ("Otters", "in the tub now"),
        ("Herons", "next"),
        ("Terns", "waits"),
    ]
    session = session.after(TurnEnded("Otters", 1, 62)).after(WentAway("Herons"))
    assert turn_order(session) == [
        ("Terns", "next"),
        ("Herons", "not here"),
        ("Otters", "held 62"),
    ]


def test_an_absent_group_is_passed_over_and_keeps_its_place(begun):
    session = begun.after(WentAway("Otters"))
    assert session.next_group.label == "Herons"
    assert session.boats_left == 2
    with pytest.raises(OutOfPlace, match="away"):
        session.after(TurnBegan("Otters", 1))
    assert session.after(CameBack("Otters")).next_group.label == "Otters"


def test_a_second_try_comes_after_all_first_ones(begun):
    session = was_tested(begun, "Otters", 30).after(AnotherTry("Otters"))
    assert session.next_group.label == "Herons"
    session = was_tested(was_tested(session, "Herons", 45), "Terns", 70)
    assert session.next_group.label == "Otters"
    assert turn_order(session)[0] == ("Otters", "next (one more try)")
    session = was_tested(session, "Otters", 66)
    assert session.group("Otters").best_items == 66
    assert session.reached() == (2, 3)
    with pytest.raises(OutOfPlace, match="2 tries"):
        session.after(AnotherTry("Otters"))


def test_a_void_trial_gives_the_turn_back(begun):
    session = begun.after(TurnBegan("Otters", 1)).after(TurnEnded("Otters", 1, 12, counts=False))
    assert session.group("Otters").results == ()
    assert session.next_group.label == "Otters"
    assert session.after(Guessed("Otters", 55)).group("Otters").guess_items == 55


def test_a_guess_comes_before_the_test(begun):
    session = begun.after(GroupAdded("Gulls")).after(BoatRegistered("Gulls", BOX))
    with pytest.raises(OutOfPlace, match="guess"):
        session.after(TurnBegan("Gulls", 1))
    free = replace(session, rules=replace(Rules(), guess_first=False))
    assert free.after(TurnBegan("Gulls", 1)).testing.label == "Gulls"
    with pytest.raises(OutOfPlace, match="before the test"):
        was_tested(session, "Otters", 30).after(Guessed("Otters", 30))


def test_the_order_can_be_changed(begun):
    session = begun.after(Moved("Terns", 0))
    assert [g.label for g in session.groups] == ["Terns", "Otters", "Herons"]
    assert [g.label for g in session.after(Moved("Terns", 99)).groups][-1] == "Terns"


@pytest.mark.parametrize(
    ("events", "says"),
    [
        ([TurnBegan("Owls", 1)], "no group"),
        ([GroupAdded("Otters")], "already"),
        ([TurnBegan("Otters", 1), TurnBegan("Herons", 2)], "in the tub"),
        ([TurnBegan("Otters", 1), WentAway("Otters")], "in the tub"),
        ([TurnBegan("Otters", 1), Closed()], "in the tub"),
        ([TurnEnded("Otters", 1, 3)], "not in the tub"),
        ([CameBack("Otters")], "is here"),
        ([AnotherTry("Otters")], "still has its turn"),
        ([GroupAdded("Gulls"), TurnBegan("Gulls", 1)], "no boat"),
        ([Closed(), GoalSet(5)], "closed"),
        ([Guessed("Otters", -1)], "whole number"),
        ([GroupAdded(" ")], "short label"),
    ],
)
def test_what_makes_no_sense_is_refused(begun, events, says):
    with pytest.raises(RigError, match=says):
        replayed(begun, events)


def test_a_group_that_is_done_cannot_start_or_go(begun):
    session = was_tested(begun, "Otters", 30)
    for event in (TurnBegan("Otters", 2), WentAway("Otters")):
        with pytest.raises(OutOfPlace, match="had its turn"):
            session.after(event)


def test_the_goal_may_change(begun):
    session = was_tested(begun, "Otters", 50)
    assert session.reached() == (0, 1)
    assert session.after(GoalSet(50)).reached() == (1, 1)


@pytest.mark.parametrize(
    ("date", "year"),
    [
        ("2026-11-25", "2026/27"),
        ("2027-07-31", "2026/27"),
        ("2026-08-01", "2026/27"),
        ("2099-12-31", "2099/00"),
    ],
)
def test_school_years(date, year):
    assert school_year(date) == year


@pytest.mark.parametrize("date", ["25.11.2026", "2026-13-01", "2026-11-32"])
def test_dates_that_are_none(date):
    with pytest.raises(OutOfRange):
        school_year(date)


@pytest.mark.parametrize(
    "wrong", [{"class_label": ""}, {"goal_items": -1}, {"item_g": 0.0}, {"block": "x" * 31}]
)
def test_sessions_that_cannot_be(begun, wrong):
    with pytest.raises(OutOfRange):
        replace(begun, **wrong)


any_event = st.one_of(
    *(
        st.builds(made, st.sampled_from((*LABELS, "Gulls")))
        for made in (GroupAdded, WentAway, CameBack, AnotherTry)
    ),
    st.builds(Guessed, st.sampled_from(LABELS), st.integers(0, 200)),
    st.builds(TurnBegan, st.sampled_from(LABELS), st.integers(1, 9)),
    st.builds(
        TurnEnded,
        st.sampled_from(LABELS),
        st.integers(1, 9),
        st.none() | st.integers(0, 200),
        st.booleans(),
    ),
    st.builds(Moved, st.sampled_from(LABELS), st.integers(-2, 9)),
)


@settings(max_examples=60)
@given(st.lists(any_event, max_size=25))
def test_a_session_comes_back_from_what_was_kept_and_never_tests_two_boats(events):
    session = first = replayed(
        ClassSession("4b", "3", "2026-11-25", 60, "cent", 2.5),
        [e for label in LABELS for e in (GroupAdded(label), BoatRegistered(label, BOX))],
    )
    kept = []
    for event in events:
        try:
            session = session.after(event)
        except RigError:
            continue
        kept.append(event_as_dict(event))
        assert sum(g.turn is Turn.IN_THE_TUB for g in session.groups) <= 1
        assert len(turn_order(session)) == len(session.groups)
        assert session.boats_left >= (session.next_group is not None)
    assert replayed(first, [event_from_dict(each) for each in kept]) == session


def test_an_event_of_a_newer_program_is_told():
    with pytest.raises(OutOfRange, match="newest tubrig"):
        event_from_dict({"kind": "song", "label": "Otters"})
