"""One SQLite file: how it is opened, and what its complaints mean to a teacher."""

import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import URL, Connection, create_engine, event
from sqlalchemy.exc import DBAPIError, IntegrityError, ProgrammingError

from rig.errors import RecordsUnusable

BUSY_S = 5.0  # how long to wait for another writer; a commit takes milliseconds

# By the start of SQLite's own result codes, https://www.sqlite.org/rescode.html
_COMPLAINTS = {
    "SQLITE_FULL": (
        "There is no room left on the disk or card for {}.",
        "Free some space; nothing that was kept is lost.",
    ),
    "SQLITE_READONLY": (
        "{} may not be written to.",
        "Check whose folder it is and whether the card's lock is on.",
    ),
    "SQLITE_CANTOPEN": (
        "{} cannot be opened.",
        "Check that its folder may be written to, or name another one in TUBRIG_DATA.",
    ),
    "SQLITE_NOTADB": (
        "{} is not a file of kept trials.",
        "Move it away, or name another folder in TUBRIG_DATA.",
    ),
    "SQLITE_CORRUPT": (
        "{} is damaged.",
        "Copy it to a safe place, then move it away: a new one is made at the next start.",
    ),
    "SQLITE_BUSY": ("{} is held by another program.", "Close it, then try again."),
    "SQLITE_IOERR": (
        "The disk or card failed at {}.",
        "Check that it has room and sits firmly; copy the folder to another card soon.",
    ),
}


class Database:
    """Connections to one file, for reading and for writing, from any thread."""

    def __init__(self, path: Path, busy_s: float = BUSY_S) -> None:
        self.path = path
        self._busy_s = busy_s
        self.engine = create_engine(
            URL.create("sqlite", database=str(path)),
            creator=self._connect,
            json_serializer=_as_json,
        )
        event.listen(self.engine, "begin", _begin)
        self._for_writing = self.engine.execution_options(writes=True)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """One consistent view. Raises RecordsUnusable."""
        with self._said_plainly(), self.engine.connect() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """One transaction, on the disk when the block is left. Raises RecordsUnusable."""
        with self._said_plainly(), self._for_writing.begin() as connection:
            yield connection

    def close(self) -> None:
        """Close every connection; may be called twice."""
        self.engine.dispose()

    def _connect(self) -> sqlite3.Connection:
        connection = sqlite3.connect(
            self.path,
            timeout=self._busy_s,
            isolation_level=None,  # transactions begin where _begin says, tables included
            check_same_thread=False,  # the pool hands one connection to one thread at a time
        )
        try:
            # Where a file system cannot do WAL, SQLite stays with its journal: slower, as safe.
            connection.execute("PRAGMA journal_mode = WAL")
            connection.execute("PRAGMA synchronous = FULL")  # rigs are switched off at the plug
            connection.execute("PRAGMA foreign_keys = ON")
        except BaseException:
            connection.close()
            raise
        return connection

    @contextmanager
    def _said_plainly(self) -> Iterator[None]:
        try:
            yield
        except (IntegrityError, ProgrammingError):
            raise  # a fault of ours, and must look like one
        except DBAPIError as err:  # also what goes wrong while connecting
            raise _unusable(self.path, err.orig) from err


def cannot_make(folder: Path, err: OSError) -> RecordsUnusable:
    """Return the error for a data folder that cannot be made."""
    return RecordsUnusable(
        f"The folder {folder} cannot be made: {err.strerror}.",
        "Check whose folder it is and that the disk has room, or name another in TUBRIG_DATA.",
    )


def _unusable(path: Path, err: BaseException | None) -> RecordsUnusable:
    code = getattr(err, "sqlite_errorname", "")
    for start, (what, try_this) in _COMPLAINTS.items():
        if code.startswith(start):
            return RecordsUnusable(what.format(path), try_this)
    return RecordsUnusable(
        f"{path} cannot be used: {err}.", "Move it away, or name another folder in TUBRIG_DATA."
    )


def _begin(connection: Connection) -> None:
    """Take the writer's place at once, so that what is read in a writing block stays true."""
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _as_json(value: object) -> str:
    # NaN and Infinity are not JSON; PostgreSQL would refuse what SQLite took.
    return json.dumps(value, allow_nan=False, ensure_ascii=False)
