"""Class sessions in the records: a restart in the middle loses nothing. All groups invented."""

import pytest

from rig.errors import OutOfPlace, RigError
from rig.lesson.session import ClassSession, replayed, turn_order
from rig.lesson.session_events import (
    BoatRegistered,
    Closed,
    GroupAdded,
    Guessed,
    TurnBegan,
    TurnEnded,
    event_as_dict,
    event_from_dict,
)
from rig.records import Store

FIRST = ClassSession("4b", "block 3", "2026-11-25", 60, "cent", 2.5)
BOAT = {"label": "Otters", "hull": "box", "length_mm": 150.0, "mass_g": 20.25}
HALF = [
    GroupAdded("Otters"),
    GroupAdded("Reiher ä"),
    BoatRegistered("Otters", BOAT),
    Guessed("Otters", 41),
    TurnBegan("Otters", 7),
    TurnEnded("Otters", 7, 45, minutes=3.5),
]


def begin(store, rig="Tub 1", session=FIRST):
    return store.sessions.begin(
        rig,
        school_year=session.school_year,
        class_label=session.class_label,
        block=session.block,
        held_on=session.date,
        plan=session.plan(),
    )


def again(store, rig="Tub 1"):
    row = store.sessions.open_session(rig)
    first = ClassSession.from_plan(row.class_label, row.block, row.held_on, row.plan)
    return replayed(first, map(event_from_dict, store.sessions.events(row.id)))


def test_a_session_goes_on_after_a_restart(path):
    with Store.open(path) as store:
        row = begin(store)
        assert row.school_year == "2026/27"
        for event in HALF:
            store.sessions.add(row.id, event_as_dict(event))
    with Store.open(path) as store:
        resumed = again(store)
        assert resumed == replayed(FIRST, HALF)
        assert turn_order(resumed) == [("Reiher ä", "next"), ("Otters", "held 45")]
        assert resumed.group("Otters").boat == BOAT


def test_a_closed_session_takes_nothing_more(store):
    row = begin(store)
    store.sessions.add(row.id, event_as_dict(Closed()), closes=True)
    assert store.sessions.open_session("Tub 1") is None
    with pytest.raises(OutOfPlace, match="closed"):
        store.sessions.add(row.id, event_as_dict(GroupAdded("Otters")))
    assert len(store.sessions.events(row.id)) == 1
    assert [each.closed for each in store.sessions.all()] == [True]


def test_one_open_session_a_rig(store):
    begin(store)
    with pytest.raises(OutOfPlace, match="4b is still open"):
        begin(store)
    other = begin(store, rig="Tub 2")
    assert store.sessions.open_session("Tub 2") == other
    assert store.sessions.all()[0] == other


def test_there_is_no_such_session(store):
    with pytest.raises(RigError, match="no such session"):
        store.sessions.add("nothing", {"kind": "closed"})
    assert store.sessions.events("nothing") == []
