"""Threads wait for events here, never for time; DEADLINE_S only ends a test that hangs."""

import threading
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import event

from rig.errors import RecordsUnusable
from rig.records import RawWriter, Store, raw_writer

DEADLINE_S = 20.0
NEVER_S = 3600.0


class Shelf:
    """Stands in for a store: remembers batches, and fails or stalls when told to."""

    def __init__(self):
        self.batches = []
        self.tried = threading.Semaphore(0)
        self.kept = threading.Event()
        self.gate = threading.Event()
        self.gate.set()
        self.fault = None

    def add_blocks(self, run_id, blocks):
        self.tried.release()
        assert self.gate.wait(DEADLINE_S)
        if self.fault:
            raise self.fault
        if blocks:
            self.batches.append([block.data for block in blocks])
            self.kept.set()

    def wait_for_a_try(self):
        assert self.tried.acquire(timeout=DEADLINE_S)


FULL = RecordsUnusable("There is no room left.", "Free some space.")


@pytest.fixture
def shelf():
    return Shelf()


@pytest.fixture
def run_id(store):
    return store.begin_run("Tub 1")


def said(store, path):
    """The blocks that another connection finds, in order."""
    with Store.open(path) as other, other._database.reading() as connection:
        return [
            row.data
            for row in connection.exec_driver_sql("SELECT data FROM wire_block ORDER BY id")
        ]


def test_what_was_put_is_committed_by_itself(store, path, run_id):
    committed = threading.Event()
    event.listen(store._database.engine, "commit", lambda connection: committed.set())
    writer = RawWriter(store, run_id, flush_s=0.01)
    writer.put(b"1\n")
    assert committed.wait(DEADLINE_S)
    writer.flush()  # the event comes just before the commit itself
    assert said(store, path) == [b"1\n"]
    writer.close()


def test_a_flush_commits_all_that_was_put_in_order(store, path, run_id):
    writer = RawWriter(store, run_id, flush_s=NEVER_S)
    for line in (b"1\n", b"2\n", b"3\n"):
        writer.put(line)
    assert said(store, path) == []
    writer.flush()
    assert said(store, path) == [b"1\n", b"2\n", b"3\n"]
    writer.flush()
    writer.close()


def test_blocks_of_one_moment_share_one_transaction(shelf):
    writer = RawWriter(shelf, "run", flush_s=NEVER_S)
    for line in (b"1\n", b"2\n", b"3\n"):
        writer.put(line)
    writer.flush()
    assert shelf.batches == [[b"1\n", b"2\n", b"3\n"]]
    writer.close()


def test_a_block_carries_the_moment_it_arrived(store, path, run_id):
    moments = [datetime(2026, 3, 2, 12, 0, second, tzinfo=UTC) for second in (5, 4)]
    clock = iter(moments)
    writer = RawWriter(store, run_id, flush_s=NEVER_S, now=lambda: next(clock))
    writer.put(b"1\n")
    writer.put(b"2\n")
    writer.close()
    with store._database.reading() as connection:
        kept = connection.exec_driver_sql("SELECT received_at_utc FROM wire_block ORDER BY id")
        assert [row[0] for row in kept] == [
            "2026-03-02 12:00:05.000000",
            "2026-03-02 12:00:04.000000",
        ]


def test_a_real_clock_is_in_utc(shelf):
    writer = RawWriter(shelf, "run", flush_s=NEVER_S)
    writer.put(b"1\n")
    moment = writer._waiting[0][1].received_at
    assert moment.utcoffset() == timedelta(0)
    writer.close()


def test_the_wire_is_not_held_up_by_a_disk_that_stalls(shelf):
    shelf.gate.clear()
    writer = RawWriter(shelf, "run", flush_s=0.0)
    writer.put(b"1\n")
    shelf.wait_for_a_try()  # the disk now has the first block and does not answer
    for line in (b"2\n", b"3\n"):
        writer.put(line)
    assert shelf.batches == []
    shelf.gate.set()
    writer.flush()
    assert shelf.batches == [[b"1\n"], [b"2\n", b"3\n"]]
    writer.close()


def test_a_buffer_used_again_by_its_reader_does_not_change_what_is_kept(shelf):
    writer = RawWriter(shelf, "run", flush_s=NEVER_S)
    buffer = bytearray(b"1\n")
    writer.put(buffer)
    buffer[0:1] = b"9"
    writer.close()
    assert shelf.batches == [[b"1\n"]]


def test_a_full_disk_is_told_and_lived_through(store, path, run_id):
    writer = RawWriter(store, run_id, flush_s=NEVER_S, retry_s=NEVER_S)
    writer.put(b"1\n")
    writer.flush()

    def no_more_room(connection):
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")

    engine = store._database.engine
    event.listen(engine, "begin", no_more_room)
    big = b"x" * 100_000 + b"\n"
    writer.put(big)
    with pytest.raises(RecordsUnusable, match="no room left"):
        writer.flush()
    assert writer.trouble.startswith("Readings not kept: 1. There is no room left on the disk or")
    assert "\n" not in writer.trouble
    writer.put(b"3\n")
    with pytest.raises(RecordsUnusable, match=r"Readings not kept: 2\."):
        writer.flush()
    assert said(store, path) == [b"1\n"]

    event.remove(engine, "begin", no_more_room)
    with store._database.reading() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count = 1000000")
    writer.flush()
    assert writer.trouble is None
    assert said(store, path) == [b"1\n", big, b"3\n"]
    writer.close()


def test_a_failed_try_is_repeated_without_being_asked(shelf):
    shelf.fault = FULL
    writer = RawWriter(shelf, "run", flush_s=0.0, retry_s=0.0)
    writer.put(b"1\n")
    shelf.wait_for_a_try()
    shelf.wait_for_a_try()
    shelf.fault = None
    assert shelf.kept.wait(DEADLINE_S)
    assert shelf.batches == [[b"1\n"]]
    writer.close()


def test_a_failing_disk_is_left_alone_for_a_while(shelf):
    shelf.fault = FULL
    writer = RawWriter(shelf, "run", flush_s=0.0, retry_s=NEVER_S)
    writer.put(b"1\n")
    shelf.wait_for_a_try()
    assert not shelf.tried.acquire(timeout=0.05)  # a writer that hammers is seen at once
    shelf.fault = None
    writer.close()
    assert shelf.batches == [[b"1\n"]]


def test_a_fault_of_ours_does_not_end_the_writer(shelf):
    shelf.fault = KeyError("slip")
    writer = RawWriter(shelf, "run", flush_s=NEVER_S, retry_s=NEVER_S)
    writer.put(b"1\n")
    with pytest.raises(RecordsUnusable, match="slip"):
        writer.flush()
    assert "KeyError('slip')" in writer.trouble
    shelf.fault = None
    writer.flush()
    assert (shelf.batches, writer.trouble) == ([[b"1\n"]], None)
    writer.close()


def test_a_flush_ends_though_the_disk_never_answers(shelf, monkeypatch):
    monkeypatch.setattr(raw_writer, "PATIENCE_S", 0.01)
    shelf.gate.clear()
    writer = RawWriter(shelf, "run", flush_s=0.0)
    assert writer.trouble is None
    writer.put(b"1\n")
    with pytest.raises(RecordsUnusable, match="does not answer"):
        writer.flush()
    assert "The disk or card does not answer." in writer.trouble
    with pytest.raises(RecordsUnusable, match="does not answer"):
        writer.close()
    shelf.gate.set()


def test_closing_writes_what_waits_and_may_be_done_twice(shelf):
    writer = RawWriter(shelf, "run", flush_s=NEVER_S)
    writer.put(b"1\n")
    writer.close()
    writer.close()
    assert shelf.batches == [[b"1\n"]]
    with pytest.raises(RuntimeError, match="after close"):
        writer.put(b"2\n")


def test_closing_on_a_failing_disk_ends_and_says_what_is_lost(shelf):
    shelf.fault = FULL
    writer = RawWriter(shelf, "run", flush_s=NEVER_S, retry_s=NEVER_S)
    writer.put(b"1\n")
    writer.put(b"2\n")
    with pytest.raises(RecordsUnusable, match=r"Readings not kept: 2\. There is no room left"):
        writer.close()
    assert not writer._thread.is_alive()
