"""SIGKILL in mid-trial, again and again on one file: what was reported as kept is kept."""

import sqlite3
import subprocess
import sys
from contextlib import closing
from itertools import count
from pathlib import Path

from rig.records import Store
from rig.sensing.sentences import Data, Mark, encode
from rig.trial.events import Outcome, TrialResult

CHILD = Path(__file__).with_name("appending_child.py")
REPORTS_BEFORE_THE_CUT = (1, 40, 7, 150)


def cut_after(reports, path, life):
    """Let the child live until it has reported so often; return the last row it reported."""
    child = subprocess.Popen(
        [sys.executable, CHILD, path, str(life)], stdout=subprocess.PIPE, text=True
    )
    with child:
        assert child.stdout.readline() == "1\n"  # the same trial in every life
        for _ in range(reports):
            last = child.stdout.readline()
        child.kill()
        rest = child.stdout.read().splitlines()  # said before the cut, not yet read
    assert child.returncode == -9
    # The very last line may have been cut in half.
    whole = [line for line in rest if line.isdecimal()][:-1]
    return int(whole[-1] if whole else last)


def rows_of(life, recording):
    """Take the longest run of a life's rows, counted from 0, off the front of a recording."""
    for row in count():
        line = encode(Data(row % 2**16, row, life, None, None, None))
        if not recording.startswith(line):
            return row, recording
        recording = recording.removeprefix(line)


def test_what_was_reported_as_kept_outlives_every_cut(path):
    reported = []
    for life, reports in enumerate(REPORTS_BEFORE_THE_CUT):
        reported.append(cut_after(reports, path, life))
        with closing(sqlite3.connect(path)) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert connection.execute("PRAGMA foreign_key_check").fetchall() == []

        with Store.open(path) as store:
            trial = store.open_trial("Tub 1")
            recording = store.recording(trial.id)
        head = b"$PTRGI,identity\r\n" + encode(Mark(0, "start", "Otters"))
        assert recording.startswith(head)
        left = recording.removeprefix(head)
        for earlier, last_row in enumerate(reported):
            kept, left = rows_of(earlier, left)
            assert kept > last_row
        assert left == b""  # nothing twice, nothing out of order, no half line

    with Store.open(path) as store:
        result = TrialResult(
            "Otters", Outcome.VOID, "The plug was pulled.", 0, 0, *[None] * 7, (), (), ()
        )
        closed = store.close_trial(trial.id, result.as_dict())
        assert (closed.number, closed.outcome) == (1, "void")
        assert store.recording(trial.id) == recording
        assert store.open_trial("Tub 1") is None
