"""Class sessions: begun, followed event by event, found again after a restart."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Row, func, insert, select, update
from uuid6 import uuid7

from rig.errors import OutOfPlace, RigError
from rig.records.database import Database
from rig.records.schema import lesson_session, session_event


@dataclass(frozen=True, slots=True)
class SessionRow:
    """One kept session. `plan`: goal, item and rules, as whoever began it gave them."""

    id: str
    rig_name: str
    school_year: str
    class_label: str
    block: str
    held_on: str
    plan: Mapping[str, Any]
    begun_at_utc: datetime
    closed: bool


class Sessions:
    """The sessions of a store. Every method raises RecordsUnusable when the disk fails."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def begin(
        self,
        rig_name: str,
        *,
        school_year: str,
        class_label: str,
        block: str,
        held_on: str,
        plan: Mapping[str, Any],
    ) -> SessionRow:
        """Keep a new session. Raises OutOfPlace if the rig has one that is open."""
        session_id = str(uuid7())
        with self._database.writing() as connection:
            other = _open(connection, rig_name)
            if other is not None:
                raise OutOfPlace(
                    f"The session of {other.class_label} is still open.", "Close it, or go on."
                )
            connection.execute(
                insert(lesson_session).values(
                    id=session_id,
                    rig_name=rig_name,
                    school_year=school_year,
                    class_label=class_label,
                    block=block,
                    held_on=held_on,
                    plan=dict(plan),
                    begun_at_utc=datetime.now(UTC),
                    closed=False,
                )
            )
            return _row(connection, session_id)

    def add(self, session_id: str, event: Mapping[str, Any], *, closes: bool = False) -> None:
        """Keep what happened next. Raises OutOfPlace if the session is closed, RigError if none.

        Args:
            event: a flat JSON object.
            closes: whether the session is over with it; both are kept, or neither.
        """
        with self._database.writing() as connection:
            kept = _row(connection, session_id)
            if kept.closed:
                raise OutOfPlace(
                    f"The session of {kept.class_label} is closed.", "Begin a new one."
                )
            earlier = select(func.count()).where(session_event.c.session_id == session_id)
            connection.execute(
                insert(session_event).values(
                    id=str(uuid7()),
                    session_id=session_id,
                    place=connection.execute(earlier).scalar_one() + 1,
                    made_at_utc=datetime.now(UTC),
                    event=dict(event),
                )
            )
            if closes:
                connection.execute(
                    update(lesson_session)
                    .where(lesson_session.c.id == session_id)
                    .values(closed=True)
                )

    def open_session(self, rig_name: str) -> SessionRow | None:
        """Return the session a rig was in the middle of, or None."""
        with self._database.reading() as connection:
            return _open(connection, rig_name)

    def events(self, session_id: str) -> list[dict[str, Any]]:
        """Return what happened, in order."""
        ordered = (
            select(session_event.c.event)
            .where(session_event.c.session_id == session_id)
            .order_by(session_event.c.place)
        )
        with self._database.reading() as connection:
            return [dict(event) for event in connection.scalars(ordered)]

    def all(self, limit: int = 200) -> list[SessionRow]:
        """Return the newest sessions of all rigs, newest first."""
        newest = select(lesson_session).order_by(lesson_session.c.id.desc()).limit(limit)
        with self._database.reading() as connection:
            return [_made(row) for row in connection.execute(newest)]


def _open(connection: Connection, rig_name: str) -> SessionRow | None:
    newest = (
        select(lesson_session)
        .where(lesson_session.c.rig_name == rig_name, ~lesson_session.c.closed)
        .order_by(lesson_session.c.id.desc())
        .limit(1)
    )
    row = connection.execute(newest).one_or_none()
    return None if row is None else _made(row)


def _row(connection: Connection, session_id: str) -> SessionRow:
    found = select(lesson_session).where(lesson_session.c.id == session_id)
    row = connection.execute(found).one_or_none()
    if row is None:
        raise RigError("There is no such session.", "Begin a new one.")
    return _made(row)


def _made(row: Row[Any]) -> SessionRow:
    return SessionRow(**row._mapping)
