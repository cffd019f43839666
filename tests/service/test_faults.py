"""A fault in class, from the wire to the pages: told within two seconds of board time."""

import pytest

from rig.errors import OutOfPlace
from rig.physics.hx711 import CODE_HIGH
from rig.sensing.sentences import Data, Identity, decode, encode
from rig.sensing.source import SourceStatus
from rig.service import RigService, rig_service
from tests.sensing.conftest import World

WITHIN_ROWS = 20  # two seconds at ten rows a second
AT = {"load": 3, "surface": 4, "rim": 5}  # where a channel stands in a row


def rows_of(lines):
    return [line for line in lines if line.startswith(b"$PTRGD")]


def with_word(line, channel, word):
    fields = line[1 : line.index(b"*")].decode().split(",")
    fields[AT[channel]] = "" if word is None else str(word)
    row = decode(",".join(fields).encode())
    assert isinstance(row, Data)
    return encode(row)


def begun(desk, tape, rows):
    """A trial that has run for some rows; returns the rows to come."""
    before, during, _, truth = tape("clean-box")
    desk.hear(b"".join(before))
    desk.service.start(truth["trials"][0]["boat"])
    during = rows_of(during)
    desk.hear(b"".join(during[:rows]))
    return during[rows:]


@pytest.mark.parametrize(
    ("channel", "word", "says", "do"),
    [
        ("load", None, "The scale is silent.", "Push its plug in"),
        ("load", CODE_HIGH, "The scale is at the end of its range.", "Take off what presses"),
        ("load", "same", "The scale shows one number and stands still.", "Pull its plug"),
        ("rim", None, "The rim gauge is silent.", "Bring the flag back under it"),
        ("surface", "same", "The surface gauge shows one number", "Pull its plug"),
    ],
)
def test_desk_and_board_are_told_within_two_seconds(desk, tape, channel, word, says, do):
    to_come = begun(desk, tape, 60)
    assert desk.newest("source") == {"ok": True, "text": "playing", "faults": []}
    stuck = decode(to_come[0][1 : to_come[0].index(b"*")])
    stuck_word = {"load": stuck.load, "surface": stuck.surface, "rim": stuck.rim}[channel]
    ill = [with_word(r, channel, stuck_word if word == "same" else word) for r in to_come[:40]]
    desk.hear(b"".join(ill[:8]))
    assert desk.newest("source")["ok"]  # a hiccup is no fault
    desk.hear(b"".join(ill[8:WITHIN_ROWS]))
    source = desk.newest("source")
    assert not source["ok"] and says in source["text"] and do in source["text"]
    assert "\n" not in source["text"]
    assert [fault["channel"] for fault in source["faults"]] == [channel]
    desk.hear(b"".join(ill[WITHIN_ROWS:]) + b"".join(to_come[40:50]))
    assert desk.newest("source") == {"ok": True, "text": "playing", "faults": []}
    desk.hear(b"".join(to_come[50:]))
    (warning,) = [w for w in desk.newest("trial")["warnings"] if channel[:3] in w or "scale" in w]
    assert " from " in warning and " s to " in warning


def test_what_goes_on_is_said_by_what_is_left(desk, tape):
    to_come = begun(desk, tape, 60)
    both = [with_word(with_word(r, "rim", None), "surface", None) for r in to_come[:40]]
    desk.hear(b"".join(with_word(r, "rim", None) for r in to_come[:20]))
    assert desk.newest("source")["text"].endswith("the water level goes on telling.")
    desk.hear(b"".join(both[20:]))
    text = desk.newest("source")["text"]
    assert text.count("tap Sunk yourself, and read the freeboard with a ruler.") == 2


def test_between_trials_nobody_misses_the_flag(desk, tape):
    before, during, _, _ = tape("clean-box")
    rows = [with_word(r, "rim", None) for r in rows_of(during)[:80]]
    hello = [line for line in before if line.startswith(b"$PTRGI")]
    desk.hear(b"".join(hello + rows[:40]))
    assert desk.newest("source")["ok"]
    desk.hear(b"".join(with_word(r, "load", None) for r in rows[40:]))
    text = desk.newest("source")["text"]
    assert text == "The scale is silent. Push its plug in until it clicks."


def test_a_lost_port_is_one_fault_whatever_else_there_was(desk, tape):
    to_come = begun(desk, tape, 60)
    desk.hear(b"".join(with_word(r, "load", None) for r in to_come[:30]))
    desk.source.status = SourceStatus(False, "/dev/ttyACM0 went away. Push the plug in.")
    desk.service.tell_source()
    source = desk.newest("source")
    assert source["text"] == desk.source.status.text
    assert [(f["channel"], f["ailment"]) for f in source["faults"]] == [("board", "silent")]


def test_a_board_that_resets_is_told_for_a_while_and_the_trial_goes_on(desk, tape):
    to_come = begun(desk, tape, 60)
    hello = encode(Identity("tub-simulator", "1", 10.0, ()))
    anew = []
    for n, line in enumerate(to_come):
        row = decode(line[1 : line.index(b"*")])
        anew.append(encode(Data(n, 100 * (n + 1), row.load, row.surface, row.rim, row.water)))
    desk.hear(hello + b"".join(anew[:5]))
    assert desk.newest("source")["faults"][0]["ailment"] == "restarted"
    desk.hear(b"".join(anew[5:110]))
    assert desk.newest("source")["ok"] and not desk.service.trial_over()
    desk.hear(b"".join(anew[110:]))
    if not desk.service.trial_over():
        desk.service.stop()
    _, _, _, truth = tape("clean-box")
    result = desk.newest("trial")["result"]
    assert result["held_items"] == truth["trials"][0]["held_items"]  # the tare holds across it
    assert any("restarted" in warning for warning in result["warnings"])


def test_rows_that_stop_are_told_within_two_seconds_and_withdrawn(desk, tape, monkeypatch):
    """Through the serial source, on a clock that only moves when something waits."""
    before, during, _, truth = tape("clean-box")
    world = World()
    monkeypatch.setattr(rig_service, "monotonic", lambda: world.now_s)
    world.plug("/dev/ttyACM0", [*before, *rows_of(during)[:60]])
    source = world.source()
    service = RigService(desk.scenario.setup, desk.scenario.boats.values(), source, desk.store)

    def told(until):
        """Turn the reading loop until the feed's source says so; how long that took [s]."""
        since_s = world.now_s
        while True:
            (now,) = [m.data for m in service.live.latest() if m.topic == "source"]
            if until(now):
                return world.now_s - since_s
            assert world.now_s - since_s < 60
            service.arrived(source.read())
            service.tick()
            service.tell_source()

    told(lambda now: now["ok"])
    for _ in before:
        service.arrived(source.read())
    service.start(truth["trials"][0]["boat"])
    while world.ports["/dev/ttyACM0"].script:
        service.arrived(source.read())
    assert told(lambda now: not now["ok"]) <= 2.0
    (now,) = [m.data for m in service.live.latest() if m.topic == "source"]
    assert (
        now["text"].startswith("Nothing from the board") and now["faults"][0]["channel"] == "board"
    )
    told(lambda _: any(m.topic == "now" and m.data["counting"] for m in service.live.latest()))
    world.ports["/dev/ttyACM0"].script.extend(rows_of(during)[100:140])
    assert told(lambda now: now["ok"]) <= 2.0
    assert not service.trial_over()
    service.close()


def test_a_tap_that_would_have_to_be_left_out_is_refused(desk, tape):
    to_come = begun(desk, tape, 120)
    desk.hear(b"".join(with_word(r, "load", None) for r in to_come[:20]))
    aboard = desk.newest("now")["items"]
    assert aboard > 0
    with pytest.raises(OutOfPlace, match=f"{aboard} aboard"):
        desk.service.count(-aboard - 1)
    desk.service.count(-aboard)
    assert desk.newest("trial")["additions"] == []


def test_without_an_item_nothing_can_be_counted(desk, tape):
    bare = desk.scenario.setup.model_copy(update={"item": None})
    desk.service.close()
    desk.service = RigService(bare, desk.scenario.boats.values(), desk.source, desk.store)
    to_come = begun(desk, tape, 60)
    desk.hear(b"".join(with_word(r, "load", None) for r in to_come[:20]))
    assert desk.newest("source")["text"].endswith("freeboard goes on, loads do not.")
    with pytest.raises(OutOfPlace, match=r"no \[item\]"):
        desk.service.count(5)
