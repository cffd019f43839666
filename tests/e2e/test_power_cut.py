"""The plug is pulled in mid-trial: what was committed is there, and the trial goes on."""

import sqlite3
import time

import pytest

from rig.simulator import DemoClass

SPEED = 10.0
DEADLINE_S = 60.0  # against hanging only


def wait_for(condition, what):
    until = time.monotonic() + DEADLINE_S
    while not (found := condition()):
        assert time.monotonic() < until, f"still no {what}"
        time.sleep(0.05)
    return found


@pytest.fixture
def bench(tmp_path):
    """A simulated rig on a pseudo-terminal that outlives the program, and its files."""
    group = DemoClass()
    with group.board(SPEED) as board:
        setup, boats = tmp_path / "rig.toml", tmp_path / "boats.toml"
        port = tmp_path / "board"  # a name that stays, as under /dev/serial/by-id
        port.symlink_to(board.path)
        source = f'source = "serial:{port}"'
        setup.write_text(group.scenario.setup_toml().replace('source = "demo"', source))
        assert source in setup.read_text()
        boats.write_text(group.scenario.boats_toml())
        yield group, board, ("--setup", str(setup), "--boats", str(boats))


def additions(rig):
    return rig.latest()["trial"].get("additions", [])


def test_a_trial_survives_the_plug(run, bench):
    group, board, files = bench
    trial = group.scenario.trials[0]
    rig = run("serve", *files)
    assert rig.pin is None  # this machine only
    board.place_boat(group.scenario.boats[trial.boat], trial.fate, trial.items)
    wait_for(lambda: rig.latest()["source"]["ok"], "word from the board")
    wait_for(lambda: board.now_s > 3, "boat in the tub")
    rig.tap("start", label=trial.boat)
    board.load_with(trial.plan)
    wait_for(lambda: len(additions(rig)) >= 2, "second addition")
    rig.kill()

    with sqlite3.connect(rig.folder / "records.sqlite3") as database:
        assert database.execute("pragma integrity_check").fetchone() == ("ok",)
        kept = b"".join(
            row[0] for row in database.execute("select data from wire_block order by id")
        )
        assert database.execute("select closed from trial").fetchall() == [(0,)]
    database.close()
    assert kept.count(b"$PTRGD") > 50 and kept.endswith(b"\r\n")

    again = run("serve", *files)
    assert again.latest()["class"]["resumed"] == trial.boat
    # what was aboard before is still known; the last quarter of a second may have to be seen anew
    wait_for(lambda: len(additions(again)) >= 2, "second addition")
    result = wait_for(lambda: again.latest()["trial"].get("result"), "result")
    assert result["outcome"] == "swamped"
    assert result["held_items"] == pytest.approx(result["predicted_capacity_items"], abs=6)
    wait_for(lambda: again.latest()["class"]["results"], "row in the list")
    assert again.end() == 0
    (replayed,) = again.replay(1)["trials"]
    assert replayed["held_g"] == result["held_g"] and replayed["sunk_at_s"] == result["sunk_at_s"]


def test_the_board_is_unplugged_and_plugged_in_again(run, bench, tmp_path):
    """Found by another name: tests/sensing, where the list of ports can be handed in."""
    group, board, files = bench
    trial, port = group.scenario.trials[0], tmp_path / "board"
    rig = run("serve", *files)
    board.place_boat(group.scenario.boats[trial.boat], trial.fate, trial.items)
    wait_for(lambda: rig.latest()["source"]["ok"], "word from the board")
    wait_for(lambda: board.now_s > 3, "boat in the tub")
    rig.tap("start", label=trial.boat)
    board.load_with(trial.plan)
    wait_for(lambda: additions(rig), "addition")
    port.unlink()
    board.unplug()
    wait_for(lambda: not rig.latest()["source"]["ok"], "word of the trouble")
    said = rig.latest()["source"]["text"]
    assert len(said.splitlines()) == 1 and str(port) in said
    before = len(additions(rig))
    board.plug_in()
    port.symlink_to(board.path)
    wait_for(lambda: rig.latest()["source"]["ok"], "word from the board again")
    wait_for(lambda: len(additions(rig)) > before, "another addition")
    rig.tap("void")
    wait_for(lambda: rig.latest()["trial"].get("result"), "result")
    assert "restarted" in " ".join(rig.latest()["trial"]["warnings"])
