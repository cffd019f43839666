"""Corrections stand beside a trial: its bytes and its first result are never touched."""

import math
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from alembic import command
from sqlalchemy import Connection
from sqlalchemy.exc import StatementError

from rig.errors import OutOfPlace, RigError
from rig.records import Block, Store, migrate
from rig.records.database import Database
from rig.records.schema import trial as trial_table
from rig.sensing.sentences import Mark, encode

CHILD = Path(__file__).with_name("correcting_child.py")
NOON = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


def rows(path, query):
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(query).fetchall()


def line(text, moment=NOON):
    return Block(moment, encode(Mark(9, "fix", text)))


@pytest.fixture
def closed(bench):
    """A closed trial of three lines."""
    run_id = bench.store.begin_run("Tub 1")
    trial = bench.begin(run_id, b"start\n")
    bench.say(run_id, b"1\n", b"2\n")
    return bench.close(trial.id)


def corrected(row, held_items, *corrections):
    return {**row.result, "held_items": held_items, "corrections": list(corrections)}


def test_the_first_result_and_the_bytes_stay(bench, closed, path):
    blocks = rows(path, "SELECT * FROM wire_block")
    row = bench.store.add_correction(closed.id, line("count,1,40"), corrected(closed, 40, "x"))
    assert row.result == closed.result and row.result["held_items"] == 48
    assert row.corrected == row.standing_result == corrected(closed, 40, "x")
    assert (row.held_items, row.held_g) == (40, closed.held_g)
    assert rows(path, "SELECT * FROM wire_block") == blocks
    said = b"start\n1\n2\n" + line("count,1,40").data
    assert bench.store.recording(closed.id) == said
    assert bench.store.trial(1) == row == bench.store.trials()[0]


def test_all_taken_back_is_the_first_result_again(bench, closed, path):
    bench.store.add_correction(closed.id, line("void"), {**closed.result, "outcome": "void"})
    row = bench.store.add_correction(closed.id, line("back"), None)
    assert (row, row.standing_result) == (closed, closed.result)
    assert rows(path, "SELECT corrected IS NULL FROM trial") == [(1,)]  # and no JSON null
    both = line("void").data + line("back").data
    assert bench.store.recording(closed.id).endswith(b"2\n" + both)


def test_corrections_stay_in_order_though_the_clock_runs_backwards(bench, closed, path):
    for day, text in ((3, "merge,1"), (2, "merge,2"), (1, "merge,3")):
        moment = datetime(2026, 3, day, tzinfo=UTC)
        bench.store.add_correction(closed.id, line(text, moment), corrected(closed, 1))
    texts = b"".join(line(text).data for text in ("merge,1", "merge,2", "merge,3"))
    assert bench.store.recording(closed.id).endswith(b"2\n" + texts)
    assert rows(path, "SELECT place FROM correction ORDER BY place") == [(1,), (2,), (3,)]


def test_each_trial_has_its_own(bench, closed):
    run_id = bench.store.begin_run("Tub 1")
    other = bench.begin(run_id, b"other\n")
    other = bench.close(other.id)
    bench.store.add_correction(closed.id, line("merge,1"), corrected(closed, 7))
    assert bench.store.trial(other.id) == other
    assert bench.store.recording(other.id) == b"other\n"


def test_an_open_trial_takes_none(bench, path):
    trial = bench.begin(bench.store.begin_run("Tub 1"), b"start\n")
    with pytest.raises(OutOfPlace, match="Trial 1 is still open"):
        bench.store.add_correction(trial.id, line("void"), None)
    with pytest.raises(RigError, match="There is no trial"):
        bench.store.add_correction("nobody", line("void"), None)
    assert rows(path, "SELECT * FROM correction") == []


def test_correction_and_result_are_kept_both_or_neither(bench, closed, path):
    """The result comes second: what JSON cannot say stops it half-way."""
    with pytest.raises(StatementError, match="not JSON compliant"):
        bench.store.add_correction(
            closed.id, line("void"), {**closed.result, "held_g_sd": math.nan}
        )
    assert rows(path, "SELECT * FROM correction") == []
    assert bench.store.trial(closed.id) == closed


def test_a_plug_pulled_between_the_two_leaves_neither(bench, closed, path, monkeypatch):
    execute = Connection.execute

    def pulled(self, statement, *args, **named):
        if statement.is_update and statement.table is trial_table:
            kept = self.exec_driver_sql("SELECT count(*) FROM correction").scalar()
            assert kept == 1  # written already, not committed
            raise KeyboardInterrupt
        return execute(self, statement, *args, **named)

    with monkeypatch.context() as patch:
        patch.setattr(Connection, "execute", pulled)
        with pytest.raises(KeyboardInterrupt):
            bench.store.add_correction(closed.id, line("void"), corrected(closed, 1))
    assert rows(path, "SELECT * FROM correction") == []
    assert bench.store.trial(closed.id) == closed


def test_whatever_was_reported_outlives_sigkill_row_and_result_together(bench, closed, path):
    reported = 0
    for reports in (3, 17, 1):
        child = subprocess.Popen(
            [sys.executable, CHILD, path, closed.id, str(reported)],
            stdout=subprocess.PIPE,
            text=True,
        )
        with child:
            for _ in range(reports):
                last = int(child.stdout.readline())
            child.kill()
            child.stdout.read()
        assert child.returncode == -9
        ((reported, newest),) = rows(
            path, "SELECT (SELECT count(*) FROM correction), held_items FROM trial"
        )
        assert reported == newest >= last
        assert bench.store.trial(1).corrected["held_items"] == reported
        assert rows(path, "PRAGMA integrity_check") == [("ok",)]


def test_trials_kept_before_there_were_corrections_come_along(path):
    path.parent.mkdir()
    database = Database(path)
    with database.writing() as connection:
        config = migrate._config()
        config.attributes.update(connection=connection, metadata=trial_table.metadata)
        command.upgrade(config, "0001")
        for statement in (
            "INSERT INTO run VALUES ('r', 'Tub 1', '0.1', '2026-01-02 03:04:05')",
            "INSERT INTO wire_block VALUES (1, 'r', '2026-01-02 03:04:05', X'7374617274')",
            "INSERT INTO trial VALUES ('t', 1, 'r', 'Otters', '{}', '{}', NULL, "
            "'2026-01-02 03:04:05', 1, 1, 1, 'afloat', 5.0, 2, NULL, NULL, "
            """'{"outcome": "afloat", "held_g": 5.0, "held_items": 2}')""",
        ):
            connection.exec_driver_sql(statement)
    database.close()
    with Store.open(path) as store:
        row = store.trial(1)
        assert (row.corrected, row.held_items, row.outcome) == (None, 2, "afloat")
        assert row.standing_result == {"outcome": "afloat", "held_g": 5.0, "held_items": 2}
        assert store.recording("t") == b"start"
        result = {**dict.fromkeys(("sunk_at_s", "predicted_capacity_g")), **row.result}
        row = store.add_correction("t", line("count,1,3"), {**result, "held_items": 3})
        assert row.held_items == 3
