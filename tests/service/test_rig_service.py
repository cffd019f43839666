"""The service: taps, records and live feed around one engine. The bytes come from the simulator."""

import json
import threading

import pytest

from rig.cli.replay import replayed
from rig.errors import OutOfPlace, RigError
from rig.sensing.sentences import Identity, encode
from rig.setup import RigSetup, boat_from_dict


def play(desk, tape, name="clean-box"):
    """One whole trial, the taps made at the Desk. Returns the truth."""
    before, during, after, truth = tape(name)
    label = truth["trials"][0]["boat"]
    desk.hear(b"".join(before))
    desk.service.start(label)
    desk.hear(b"".join(during))
    if not desk.service.trial_over():
        desk.service.stop()
    desk.hear(b"".join(after))
    return truth["trials"][0]


def as_kept(results):
    """As JSON gives it back: floats to their last digit, tuples as lists."""
    return json.loads(json.dumps([result.as_dict() for result in results]))


def replay_of(desk, number):
    row = desk.store.trial(number)
    boat = boat_from_dict(row.boat)
    chunks = [desk.service.recordings(number)]
    results, lines = replayed(chunks, RigSetup.model_validate(row.setup), {boat.label: boat})
    return row, results, lines


def test_a_trial_is_kept_with_its_result_and_every_byte(desk, tape):
    truth = play(desk, tape)
    row, results, lines = replay_of(desk, 1)
    assert (row.closed, row.outcome, row.held_items) == (True, "swamped", truth["held_items"])
    assert row.sunk_at_s == pytest.approx(truth["sunk_at_s"], abs=0.6)
    assert len(results) == 1 and not lines.skipped and not lines.lost


@pytest.mark.parametrize(
    "desk", ["clean-box", "tub-on-cell", "leak", "heel", "afloat"], indirect=True
)
def test_replay_gives_the_live_result_to_the_last_digit(desk, tape):
    play(desk, tape, desk.name)
    row, results, _ = replay_of(desk, 1)
    assert as_kept(results) == [row.result]
    assert row.result["curve"], "an empty result would be equal too easily"


def test_the_second_trial_of_a_run_replays_exactly_too(desk, tape):
    play(desk, tape)
    play(desk, tape)  # the board's clock begins anew
    for number in (1, 2):
        row, results, _ = replay_of(desk, number)
        assert as_kept(results) == [row.result]


def test_a_mark_never_lands_inside_a_line(desk, tape):
    before, during, _, truth = tape("clean-box")
    desk.hear(b"".join(before))
    desk.service.arrived(during[0][:20])
    desk.service.start(truth["trials"][0]["boat"])
    desk.service.arrived(during[0][20:] + during[1][:9])
    desk.service.note("the class is very quiet")
    desk.service.arrived(during[1][9:])
    desk.service.void()
    _, _, lines = replay_of(desk, 1)
    assert (lines.data, dict(lines.skipped)) == (2, {})


def test_taps_out_of_place_are_refused_and_change_nothing(desk, tape):
    service = desk.service
    for tap in (service.stop, service.sunk, service.void, lambda: service.note("x")):
        with pytest.raises(OutOfPlace):
            tap()
    with pytest.raises(OutOfPlace, match="not said anything"):
        service.start("Kingfisher")
    before, _, _, truth = tape("clean-box")
    desk.hear(b"".join(before))
    with pytest.raises(RigError, match="no boat called"):
        service.start("Nobody")
    assert desk.store.trials() == []
    service.start(truth["trials"][0]["boat"])
    with pytest.raises(OutOfPlace, match="running"):
        service.start(truth["trials"][0]["boat"])
    with pytest.raises(OutOfPlace, match="running"):
        service.next_boat()
    with pytest.raises(RigError, match="empty"):
        service.note("  ")
    assert len(desk.store.trials()) == 1


def test_the_pages_are_told_what_the_engine_found(desk, tape):
    truth = play(desk, tape)
    trial, now, group = (desk.newest(topic) for topic in ("trial", "now", "class"))
    assert trial["result"]["outcome"] == truth["outcome"] == "swamped"
    assert trial["held_items"] == trial["result"]["held_items"] == truth["held_items"]
    assert [a["items"] for a in trial["additions"]] == [a["items"] for a in truth["additions"]]
    assert trial["prediction"]["capacity_g"] == pytest.approx(truth["capacity_g"], abs=2.5)
    assert len(trial["prediction"]["curve"]) > 20 and trial["hull"]["bodies_mm"]
    assert now["phase"] == "ended" and now["trial_number"] == 1
    assert group["results"][0]["held_items"] == truth["held_items"]
    assert group["boats"][0]["tested"] and group["can"] == ["start", "next"]


def test_boats_are_added_take_turns_and_run_out(desk, tape):
    group = desk.newest("class")
    assert group["next_boat"] == "Kingfisher" and group["safety_due"]
    desk.service.safety_seen()
    boat = {"label": "Swifts", "hull": "dish", "mass_g": 9, "depth_mm": 30}
    boat |= {"diameter_mm": 120, "bottom_diameter_mm": 80}
    desk.service.add_boat(boat)
    with pytest.raises(OutOfPlace, match="already"):
        desk.service.add_boat(boat)
    play(desk, tape)
    group = desk.newest("class")
    assert (group["next_boat"], group["safety_due"]) == ("Swifts", False)
    assert desk.service.next_boat() == "Swifts"  # the only one left: it stays next
    assert [b["tested"] for b in group["boats"]] == [True, False]


def test_the_source_and_the_disk_are_told_in_one_line(desk):
    desk.service.tell_source()
    assert desk.newest("source") == {"ok": True, "text": "playing", "faults": []}


def test_noise_without_a_line_end_is_kept_and_harms_nothing(desk, tape):
    desk.hear(bytes(range(1, 10)) * 2000)
    truth = play(desk, tape)
    assert desk.store.trial(1).held_items == truth["held_items"]


def test_the_identity_known_before_the_start_is_kept_with_the_trial(desk, tape):
    play(desk, tape)
    assert desk.store.trial(1).identity.startswith(b"$PTRGI,1,tub-simulator")
    odd = Identity("b", "2", 12.5, (("load", "count"), ("rim", "us")))
    desk.hear(encode(odd))
    before, _, _, truth = tape("clean-box")
    desk.hear(b"".join(line for line in before if not line.startswith(b"$PTRGI")))
    desk.service.start(truth["trials"][0]["boat"])
    assert desk.store.trial(2).identity == encode(odd)


@pytest.mark.parametrize("share", [0.2, 0.6, 0.88])
def test_a_trial_cut_off_goes_on_after_a_restart(desk, tape, share):
    """The service is dropped without a goodbye; a new one finds the open trial and goes on."""
    before, during, after, truth = tape("clean-box")
    cut = round(len(during) * share)
    desk.hear(b"".join(before))
    desk.service.start(truth["trials"][0]["boat"])
    desk.hear(b"".join(during[:cut]))
    desk.service.close()  # as a power cut leaves it: the trial is open (SIGKILL: see tests/e2e)
    desk.open()
    assert desk.newest("class")["resumed"] == truth["trials"][0]["boat"]
    assert not desk.service.trial_over()
    desk.hear(b"".join(during[cut:]))
    if not desk.service.trial_over():
        desk.service.stop()
    desk.hear(b"".join(after))
    row, results, _ = replay_of(desk, 1)
    assert row.held_items == truth["trials"][0]["held_items"]
    assert as_kept(results) == [row.result]


def test_a_restart_right_after_the_sinking_closes_the_trial(desk, tape):
    """All samples are on the disk, the result is not: it is worked out again."""
    before, during, _, truth = tape("clean-box")
    desk.hear(b"".join(before))
    desk.service.start(truth["trials"][0]["boat"])
    closed, desk.store.close_trial = desk.store.close_trial, _broken
    desk.hear(b"".join(during))
    assert not desk.store.trial(1).closed
    desk.store.close_trial = closed
    desk.service.close()
    desk.open()
    assert desk.store.trial(1).outcome == "swamped" and desk.service.trial_over()


def _broken(*_):
    raise RigError("The disk is full.", "Make room.")


def test_the_reading_loop_ends_when_the_service_closes(desk, tape):
    thread = threading.Thread(target=desk.service.run)
    thread.start()
    desk.source.chunks.extend([b"".join(tape("clean-box")[0])])
    desk.service.close()
    thread.join(timeout=10)
    assert not thread.is_alive() and desk.source.closed
