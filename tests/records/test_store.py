import math
import sqlite3
import time
import uuid
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from datetime import UTC, datetime, timedelta, timezone

import pytest
from sqlalchemy.exc import IntegrityError, StatementError

from rig import __version__
from rig.errors import OutOfPlace, RigError
from rig.records import Block, Store


def rows(path, sql):
    """What is in the file by the standard library's own eyes, past all of our code."""
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(sql).fetchall()


def test_a_block_is_in_the_file_unchanged_with_its_utc_moment(store, path):
    run_id = store.begin_run("Tub 1")
    everything = bytes(range(256))
    store.add_blocks(
        run_id,
        [Block(datetime(2026, 3, 2, 13, 0, 0, 250_000, timezone(timedelta(hours=1))), everything)],
    )
    assert rows(path, "SELECT run_id, received_at_utc, data FROM wire_block") == [
        (run_id, "2026-03-02 12:00:00.250000", everything)
    ]
    assert rows(path, "SELECT rig_name, software_version FROM run") == [("Tub 1", __version__)]


def test_a_recording_runs_from_the_start_mark_to_the_closing(bench):
    run_id = bench.store.begin_run("Tub 1")
    bench.say(run_id, b"before\n")
    trial = bench.begin(run_id, b"start\n", identity=b"identity\r\n")
    bench.say(run_id, b"one\n", b"two\n")
    bench.say(run_id, b"stop\n")
    assert bench.store.recording(trial.id) == b"identity\r\nstart\none\ntwo\nstop\n"
    bench.close(trial.id)
    bench.say(run_id, b"after\n")
    assert bench.store.recording(trial.id) == b"identity\r\nstart\none\ntwo\nstop\n"


def test_an_identity_without_its_line_end_does_not_swallow_the_start_mark(bench):
    trial = bench.begin(bench.store.begin_run("Tub 1"), b"start\n", identity=b"$PTRGI,1*00")
    assert bench.store.recording(trial.id) == b"$PTRGI,1*00\r\nstart\n"
    assert trial.identity == b"$PTRGI,1*00"


def test_a_trial_row_tells_how_it_began_and_how_it_ended(bench):
    run_id = bench.store.begin_run("Tub 1")
    begun = bench.begin(run_id, b"start\n")
    assert (begun.closed, begun.result, begun.outcome, begun.last_block_id) == (
        False,
        None,
        None,
        None,
    )
    assert (begun.rig_name, begun.run_id, begun.boat_label) == ("Tub 1", run_id, "Otters")
    assert begun.started_at_utc == datetime(2026, 3, 2, 12, 0, 0, 100_000, UTC)
    ended = bench.close(begun.id)
    assert ended == bench.store.trial(begun.id)
    assert ended.closed
    assert (ended.outcome, ended.held_g, ended.held_items) == ("swamped", 120.5, 48)
    assert (ended.sunk_at_s, ended.predicted_capacity_g) == (93.25, 131.0)
    assert ended.result["reason"] == "The rim went under."


def test_an_open_trial_has_no_result_in_the_file_either(bench, path):
    bench.begin(bench.store.begin_run("Tub 1"), b"start\n")
    assert rows(path, "SELECT result IS NULL, identity IS NULL FROM trial") == [(1, 1)]


def test_the_number_of_a_block_is_never_given_out_twice(bench, path):
    run_id = bench.store.begin_run("Tub 1")
    bench.say(run_id, b"1\n", b"2\n")
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("DELETE FROM wire_block WHERE id = 2")
    bench.say(run_id, b"3\n")
    assert rows(path, "SELECT id, data FROM wire_block") == [(1, b"1\n"), (3, b"3\n")]


def test_two_rigs_in_one_file_do_not_mix(bench):
    left, right = bench.store.begin_run("Left"), bench.store.begin_run("Right")
    on_left = bench.begin(left, b"L start\n")
    bench.say(right, b"R idle\n")
    on_right = bench.begin(right, b"R start\n")
    for line in (b"1\n", b"2\n"):
        bench.say(left, b"L" + line)
        bench.say(right, b"R" + line)
    closed = bench.close(on_left.id)
    bench.say(left, b"L after\n")
    assert bench.store.recording(on_left.id) == b"L start\nL1\nL2\n"
    assert bench.store.recording(on_right.id) == b"R start\nR1\nR2\n"
    assert closed.last_block_id < on_right.first_block_id + 4  # R2, the newest of all, is not L's
    assert bench.store.open_trial("Left") is None
    assert bench.store.open_trial("Right").id == on_right.id
    assert bench.store.open_trial("Middle") is None


def test_a_trial_goes_on_in_a_later_run_of_the_same_rig(bench):
    before = bench.store.begin_run("Tub 1")
    trial = bench.begin(before, b"start\n")
    bench.say(before, b"before\n")
    after, stranger = bench.store.begin_run("Tub 1"), bench.store.begin_run("Tub 2")
    bench.say(after, b"after\n")
    bench.say(stranger, b"stranger\n")
    assert bench.store.open_trial("Tub 1").id == trial.id
    bench.say(after, b"stop\n")
    bench.close(trial.id)
    assert bench.store.recording(trial.id) == b"start\nbefore\nafter\nstop\n"
    assert bench.store.open_trial("Tub 1") is None


def test_a_trial_left_open_ends_where_the_next_of_its_rig_begins(bench):
    run_id = bench.store.begin_run("Tub 1")
    left_open = bench.begin(run_id, b"first\n")
    bench.say(run_id, b"1\n")
    other_rig = bench.begin(bench.store.begin_run("Tub 2"), b"other\n")
    bench.say(run_id, b"2\n")
    newest = bench.begin(run_id, b"second\n")
    bench.say(run_id, b"3\n")
    assert bench.store.open_trial("Tub 1").id == newest.id
    assert bench.store.recording(left_open.id) == b"first\n1\n2\n"
    bench.close(left_open.id)
    assert bench.store.recording(left_open.id) == b"first\n1\n2\n"
    assert bench.store.recording(newest.id) == b"second\n3\n"
    assert bench.store.recording(other_rig.id) == b"other\n"


def test_trials_are_ordered_by_number_though_the_clock_runs_backwards(store):
    run_id = store.begin_run("Tub 1")
    for day in (3, 2, 1):
        mark = Block(datetime(2026, 3, day, tzinfo=UTC), b"start\n")
        store.begin_trial(run_id, boat={"label": "A"}, setup={}, identity=None, start_mark=mark)
    assert [(row.number, row.started_at_utc.day) for row in store.trials()] == [
        (3, 1),
        (2, 2),
        (1, 3),
    ]
    assert [row.number for row in store.trials(limit=2)] == [3, 2]


def test_a_trial_is_found_by_number_by_written_number_and_by_id(bench):
    trial = bench.begin(bench.store.begin_run("Tub 1"), b"start\n")
    assert bench.store.trial(1) == bench.store.trial("1") == bench.store.trial(trial.id) == trial


@pytest.mark.parametrize("unknown", [0, 2, -1, "2", "no-such-trial", "", "9" * 30])
def test_an_unknown_trial_is_an_error_that_says_what_to_do(bench, unknown):
    bench.begin(bench.store.begin_run("Tub 1"), b"start\n")
    with pytest.raises(RigError, match=f"There is no trial {unknown}"):
        bench.store.trial(unknown)
    with pytest.raises(RigError, match="There is no trial"):
        bench.store.recording(str(unknown))
    with pytest.raises(RigError, match="There is no trial"):
        bench.close(str(unknown))


def test_a_closed_trial_keeps_its_first_result(bench):
    trial = bench.begin(bench.store.begin_run("Tub 1"), b"start\n")
    bench.close(trial.id, held_g=10.0)
    with pytest.raises(OutOfPlace, match="Trial 1 is closed"):
        bench.close(trial.id, held_g=99.0)
    assert bench.store.trial(trial.id).held_g == 10.0


def test_start_mark_and_trial_are_kept_both_or_neither(store, path):
    run_id = store.begin_run("Tub 1")
    with pytest.raises(StatementError, match="not JSON compliant"):
        store.begin_trial(
            run_id,
            boat={"label": "A"},
            setup={"hold_s": math.nan},
            identity=None,
            start_mark=Block(datetime.now(UTC), b"start\n"),
        )
    assert rows(path, "SELECT count(*) FROM wire_block") == [(0,)]
    assert store.trials() == []


def test_blocks_handed_in_together_are_kept_all_or_none(store, path):
    run_id = store.begin_run("Tub 1")
    good = Block(datetime.now(UTC), b"1\n")
    without_a_zone = Block(datetime(2026, 3, 2), b"2\n")
    with pytest.raises(StatementError, match="needs its time zone"):
        store.add_blocks(run_id, [good, without_a_zone])
    with pytest.raises(IntegrityError):  # SQLite's foreign keys are off unless asked for
        store.add_blocks("no such run", [good])
    store.add_blocks(run_id, [])
    assert rows(path, "SELECT count(*) FROM wire_block") == [(0,)]


def test_a_result_that_is_no_number_is_refused_and_the_trial_stays_open(bench):
    trial = bench.begin(bench.store.begin_run("Tub 1"), b"start\n")
    with pytest.raises(StatementError, match="not JSON compliant"):
        bench.close(trial.id, held_g=math.inf)
    assert not bench.store.trial(trial.id).closed


def test_trials_begun_at_the_same_moment_get_different_numbers(store, path):
    mark = Block(datetime.now(UTC), b"start\n")

    def begin(rig_name: str) -> int:
        with Store.open(path) as own:
            run_id = own.begin_run(rig_name)
            return [
                own.begin_trial(
                    run_id, boat={"label": "A"}, setup={}, identity=None, start_mark=mark
                ).number
                for _ in range(5)
            ]

    with ThreadPoolExecutor(4) as pool:
        numbers = [n for some in pool.map(begin, "ABCD") for n in some]
    assert sorted(numbers) == list(range(1, 21))


def test_keys_are_uuid_version_7(bench):
    # RFC 9562, section 5.7: 48 bits of milliseconds since 1970 first; version 7, variant 10.
    earliest_ms = time.time_ns() // 1_000_000
    run_id = bench.store.begin_run("Tub 1")
    trial_id = bench.begin(run_id, b"start\n").id
    latest_ms = time.time_ns() // 1_000_000
    for key in (uuid.UUID(run_id), uuid.UUID(trial_id)):
        assert (key.version, key.variant) == (7, uuid.RFC_4122)
        assert earliest_ms <= key.int >> 80 <= latest_ms
    assert run_id < trial_id


def test_the_file_survives_a_pulled_plug_by_sqlites_own_settings(store):
    # https://www.sqlite.org/pragma.html: synchronous FULL is 2; with it a commit in WAL mode
    # is durable across power loss, with NORMAL (1) it is not.
    with store._database.reading() as connection:
        settings = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys")
        }
    assert settings == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}


def test_how_long_to_wait_for_another_writer_can_be_said(path):
    with Store.open(path, busy_s=0.25) as store, store._database.reading() as connection:
        assert connection.exec_driver_sql("PRAGMA busy_timeout").scalar() == 250


def test_a_store_may_be_closed_twice(store):
    store.close()
    store.close()
