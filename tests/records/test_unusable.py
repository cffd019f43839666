"""Every trouble with disk or file is one line that names the place and says what to do."""

import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from rig.errors import RecordsUnusable
from rig.records import Block, Store

NOBODY = 65534
OPEN = """
import os, resource, sys, pathlib
from rig.errors import RecordsUnusable
from rig.records import Store
{first}
try:
    Store.open(pathlib.Path(sys.argv[1]))
except RecordsUnusable as err:
    print(err)
"""


def refusal(path, first="", **how):
    """What a program of its own is told when it opens the file."""
    run = subprocess.run(
        [sys.executable, "-c", OPEN.format(first=first), path],
        capture_output=True,
        text=True,
        check=True,
        **how,
    )
    return run.stdout.strip()


def refused(path):
    with pytest.raises(RecordsUnusable) as caught:
        Store.open(path, busy_s=0.0)
    line = str(caught.value)
    assert str(path) in line or str(path.parent) in line
    assert "\n" not in line
    assert caught.value.exit_code == 2
    return line


def test_a_file_that_is_no_database(tmp_path):
    path = tmp_path / "records.sqlite3"
    path.write_bytes(b"a letter to the parents\n" * 400)
    assert "is not a file of kept trials. Move it away" in refused(path)
    assert path.read_bytes().startswith(b"a letter")


def test_a_folder_where_the_file_should_be(tmp_path):
    assert "cannot be opened" in refused(tmp_path)


def test_a_folder_that_cannot_be_made(tmp_path):
    (tmp_path / "file").write_text("")
    line = refused(tmp_path / "file" / "data" / "records.sqlite3")
    assert "cannot be made: Not a directory. Check whose folder it is" in line


@pytest.fixture
def public():
    """A folder that other users may enter; pytest's own are private."""
    with TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        yield Path(name)


# Root may write anywhere, so the child first becomes an ordinary user.
AS_NOBODY = f"if os.getuid() == 0: os.setuid({NOBODY})"


def test_somebody_elses_folder(public):
    (public / "theirs").mkdir(mode=0o555)
    assert "theirs/data cannot be made: Permission denied." in refusal(
        public / "theirs" / "data" / "records.sqlite3", AS_NOBODY
    )
    line = refusal(public / "theirs" / "records.sqlite3", AS_NOBODY)
    assert "cannot be opened. Check that its folder may be written to" in line


def test_somebody_elses_file(public):
    path = public / "records.sqlite3"
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE recipes (name TEXT)")
    path.chmod(0o444)
    assert "may not be written to. Check whose folder it is" in refusal(path, AS_NOBODY)


def test_a_disk_that_takes_no_more(path):
    # A limit on file size stands in for the full card: writing fails half-way, as it would.
    limit = "resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, 10_000))"
    assert "The disk or card failed at" in refusal(path, limit)
    Store.open(path).close()  # once there is room, nothing is in the way


def test_a_damaged_file(path):
    with Store.open(path) as store:
        run_id = store.begin_run("Tub 1")
        store.add_blocks(run_id, [Block(datetime.now(UTC), b"x" * 4000)] * 20)
    damaged = bytearray(path.read_bytes())
    damaged[100:20_000] = os.urandom(19_900)
    path.write_bytes(damaged)
    assert "is damaged. Copy it to a safe place" in refused(path)


def test_another_program_holds_the_file(path):
    with Store.open(path, busy_s=0.0) as store, closing(sqlite3.connect(path)) as other:
        run_id = store.begin_run("Tub 1")
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(RecordsUnusable, match=r"held by another program\. Close it"):
            store.add_blocks(run_id, [Block(datetime.now(UTC), b"1\n")])
        assert store.trials() == []  # reading goes on meanwhile
        other.rollback()
        store.add_blocks(run_id, [Block(datetime.now(UTC), b"1\n")])


def test_a_file_that_lost_its_tables(path):
    with Store.open(path) as store, closing(sqlite3.connect(path)) as other:
        other.executescript("PRAGMA foreign_keys = OFF; DROP TABLE trial")
        with pytest.raises(RecordsUnusable, match="cannot be used: no such table: trial"):
            store.trials()
