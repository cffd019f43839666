"""Corrections through the running service; what it says must be what a replay says."""

import json

import pytest
from sqlalchemy import update

from rig.cli.replay import replayed
from rig.errors import CorrectionUnfit, OutOfPlace, RigError
from rig.records import Store
from rig.records.schema import trial
from rig.sensing.sentences import Mark, decode
from rig.service import RigService
from rig.setup import RigSetup, boat_from_dict


def play(desk, tape, label=None):
    before, during, after, truth = tape(desk.name)
    desk.hear(b"".join(before))
    desk.service.start(label or truth["trials"][0]["boat"])
    desk.hear(b"".join(during))
    if not desk.service.trial_over():
        desk.service.stop()
    desk.hear(b"".join(after))
    return truth["trials"][0]


def replay_of(desk, number):
    """The row, and the one result of its recording; as JSON gives both back."""
    row = desk.store.trial(number)
    boat = boat_from_dict(row.boat)
    chunks = [desk.service.recordings(number)]
    (result,), lines = replayed(chunks, RigSetup.model_validate(row.setup), {boat.label: boat})
    assert not lines.skipped and not lines.lost
    return row, json.loads(json.dumps(result.as_dict()))


def another_boat(desk, label="Swifts"):
    desk.service.add_boat(
        {"label": label, "hull": "dish", "mass_g": 9, "depth_mm": 30}
        | {"diameter_mm": 120, "bottom_diameter_mm": 80}
    )


TAPS = ["merge,2", "count,1,19", "split,2,4", "sunk,84.5", "back", "count,3,7", "void", "back"]


@pytest.mark.parametrize("desk", ["clean-box", "leak", "afloat"], indirect=True)
def test_replay_gives_the_corrected_result_to_the_last_digit(desk, tape):
    play(desk, tape)
    first = desk.store.trial(1).result
    for text in [text.replace("84.5", "41.5") for text in TAPS]:
        told = desk.service.correct(1, text)
        row, replayed_result = replay_of(desk, 1)
        assert replayed_result == row.standing_result
        assert told["additions"][0]["items"] == row.corrected["additions"][0]["items"]
        assert told["corrections"] == row.corrected["corrections"]
    assert row.result == first and row.standing_result != first
    # the same with every trial read again from the disk, none left in memory
    desk.service.close()
    desk.open()
    desk.service.correct(1, "merge,1")
    row, replayed_result = replay_of(desk, 1)
    assert replayed_result == row.corrected
    for _ in row.corrected["corrections"]:
        desk.service.correct(1, "back")
    row, replayed_result = replay_of(desk, 1)
    assert replayed_result == row.standing_result == first and row.corrected is None
    with pytest.raises(CorrectionUnfit):
        desk.service.correct(1, "back")


def test_the_pages_are_told(desk, tape):
    truth = play(desk, tape)
    row = desk.newest("class")["results"][0]
    assert (row["held_items"], row["corrected"]) == (truth["held_items"], False)
    told = desk.service.correct(1, "count,1,18")
    shown, group = desk.newest("trial"), desk.newest("class")
    assert truth["additions"][0]["items"] == 20
    row = group["results"][0]
    assert (row["held_items"], row["corrected"]) == (truth["held_items"] - 2, True)
    assert group["boats"][0]["held_items"] == truth["held_items"] - 2
    assert shown["result"]["held_items"] == shown["held_items"] == truth["held_items"] - 2
    assert shown["additions"][0]["items"] == told["additions"][0]["items"] == 18
    assert shown["curve"][-1]["items"] == truth["held_items"] - 2
    assert desk.service.correcting(1) == told
    assert told["corrections"] == ["Teacher: addition 1 was 18, not 20."]
    assert told["sunk_at_s"] == pytest.approx(truth["sunk_at_s"], abs=0.6)
    desk.service.close()
    desk.open()  # the same after a restart
    assert desk.newest("class")["results"] == [row]


def test_a_void_trial_frees_its_boat(desk, tape):
    another_boat(desk)
    play(desk, tape)
    assert desk.newest("class")["next_boat"] == "Swifts"
    desk.service.correct(1, "void")
    group = desk.newest("class")
    assert [boat["tested"] for boat in group["boats"]] == [False, False]
    assert group["next_boat"] == "Swifts"  # it keeps its turn; the other comes round again
    assert group["results"][0]["outcome"] == "void"
    assert desk.newest("trial")["result"]["outcome"] == "void"
    play(desk, tape, "Swifts")
    assert desk.newest("class")["next_boat"] == "Kingfisher"
    desk.service.correct(1, "back")
    group = desk.newest("class")
    assert group["next_boat"] is None and all(boat["tested"] for boat in group["boats"])
    desk.service.correct(2, "void")
    assert desk.newest("class")["next_boat"] == desk.newest("trial")["next_boat"] == "Swifts"
    assert [row["number"] for row in desk.newest("class")["results"]] == [2, 1]


def test_an_earlier_trial_is_corrected_while_the_next_one_runs(desk, tape):
    another_boat(desk)
    play(desk, tape)
    before, during, _, truth = tape(desk.name)
    desk.hear(b"".join(before))
    desk.service.start("Swifts")
    desk.hear(b"".join(during[:300]))
    desk.service.correct(1, "count,1,18")
    assert desk.newest("trial")["boat"] == "Swifts" and not desk.service.trial_over()
    desk.hear(b"".join(during[300:]))
    if not desk.service.trial_over():
        desk.service.stop()
    first, second = (replay_of(desk, number) for number in (1, 2))
    for row, result in (first, second):
        assert result == row.standing_result
    assert (
        second[1]["corrections"] == []
        and first[1]["held_items"] == truth["trials"][0]["held_items"] - 2
    )


def test_what_is_refused_is_not_kept(desk, tape):
    play(desk, tape)
    recording = desk.service.recordings(1)
    told = [desk.newest(topic) for topic in ("trial", "class")]
    for text in ("merge,10", "count,1,x", "split,1,99", "sunk,999", "back", "", "note", "void,1"):
        with pytest.raises(CorrectionUnfit):
            desk.service.correct(1, text)
    for number, error in ((2, "no trial 2"), (-1, "no trial -1")):
        with pytest.raises(RigError, match=error):
            desk.service.correct(number, "void")
    assert desk.service.recordings(1) == recording
    assert [desk.newest(topic) for topic in ("trial", "class")] == told


def test_a_running_trial_is_not_corrected(desk, tape):
    before, _, _, truth = tape(desk.name)
    desk.hear(b"".join(before))
    desk.service.start(truth["trials"][0]["boat"])
    with pytest.raises(OutOfPlace, match="still open"):
        desk.service.correct(1, "void")
    with pytest.raises(OutOfPlace, match="still open"):
        desk.service.correcting(1)
    assert not desk.service.trial_over()


def test_a_disk_that_fails_changes_nothing(desk, tape, monkeypatch):
    play(desk, tape)
    told = [desk.newest(topic) for topic in ("trial", "class")]

    def broken(*_):
        raise RigError("The disk is full.", "Make room.")

    with monkeypatch.context() as patch:
        patch.setattr(Store, "add_correction", broken)
        with pytest.raises(RigError, match="disk is full"):
            desk.service.correct(1, "count,1,18")
    assert [desk.newest(topic) for topic in ("trial", "class")] == told
    desk.service.correct(1, "count,1,19")
    assert replay_of(desk, 1)[1]["corrections"] == ["Teacher: addition 1 was 19, not 20."]


def test_a_trial_of_another_rig_is_left_to_it(desk, tape):
    play(desk, tape)
    rig = desk.scenario.setup.rig.model_copy(update={"name": "Tub by the door"})
    setup = desk.scenario.setup.model_copy(update={"rig": rig})
    other = RigService(setup, [], desk.source, desk.store)
    try:
        with pytest.raises(RigError, match="made on the rig"):
            other.correct(1, "void")
    finally:
        other.close()
    assert desk.store.trial(1).corrected is None


def test_numbers_mean_what_this_program_sees_in_an_older_ones_trial(desk, tape):
    """Another program had read the same bytes otherwise: the Desk shows what k will mean."""
    truth = play(desk, tape)
    with desk.store._database.writing() as connection:
        older = {**desk.store.trial(1).result, "additions": []}
        connection.execute(update(trial).values(result=older))
    desk.service.close()
    desk.open()
    seen = [a["items"] for a in desk.service.correcting(1)["additions"]]
    assert seen == [a["items"] for a in truth["additions"]]
    desk.service.correct(1, "count,1,18")
    assert replay_of(desk, 1)[1]["held_items"] == truth["held_items"] - 2
    assert desk.store.trial(1).result["additions"] == []


def test_the_line_carries_the_trials_own_last_moment(desk, tape):
    """Another trial may follow in the same file: its clock must not look as if it ran back."""
    play(desk, tape)
    desk.service.correct(1, "void")
    *_, last_row, line = desk.service.recordings(1).splitlines(keepends=True)
    mark, row = decode(line[1:-5]), decode(last_row[1:-5])
    assert mark == Mark(row.ms, "fix", "void")
