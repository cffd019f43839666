"""The tables. Plain types only: the same definitions serve SQLite and PostgreSQL.

A change here needs a migration beside it, in `migrations/versions`; a test compares the two.
"""

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    Column,
    DateTime,
    Dialect,
    Float,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)


class UtcTime(TypeDecorator[datetime]):
    """A moment, always UTC; comes back with its time zone from SQLite too, which keeps none."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Refuse a time without a zone: nobody could say later which hour it was."""
        if value is None:
            return None
        if value.utcoffset() is None:
            raise ValueError("a time in the records needs its time zone")
        return value.astimezone(UTC)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:
        """Give the zone back."""
        if value is None:
            return None
        moment: datetime = value
        return moment.astimezone(UTC) if moment.tzinfo else moment.replace(tzinfo=UTC)


metadata = MetaData(
    naming_convention={  # constraints need names, or a later migration cannot touch them
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)

# SQLite counts by itself only in a column called exactly INTEGER; it is 64 bits wide there anyway.
BlockId = BigInteger().with_variant(Integer(), "sqlite")
Uuid = String(36)

run = Table(  # one start of the program for one rig
    "run",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("rig_name", Text, nullable=False, index=True),
    Column("software_version", Text, nullable=False),
    Column("started_at_utc", UtcTime, nullable=False),
    Column("boot_id", Text),  # which start of the computer; its clock may be set only later
)

wire_block = Table(  # the id is the order
    "wire_block",
    metadata,
    Column("id", BlockId, primary_key=True, autoincrement=True),
    Column("run_id", Uuid, ForeignKey("run.id"), nullable=False),
    Column("received_at_utc", UtcTime, nullable=False),
    Column("data", LargeBinary, nullable=False),
    Index(None, "run_id", "id"),
    sqlite_autoincrement=True,  # an id is never given out twice, even after the newest row went
)

trial = Table(  # ordered by number; the wall clock of a small computer may be wrong
    "trial",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("number", Integer, nullable=False, unique=True),
    Column("run_id", Uuid, ForeignKey("run.id"), nullable=False, index=True),
    Column("boat_label", Text, nullable=False),
    Column("boat", JSON, nullable=False),
    Column("setup", JSON, nullable=False),
    Column("identity", LargeBinary),
    Column("started_at_utc", UtcTime, nullable=False),  # as the clock said then
    Column("mended_start_utc", UtcTime),  # as it really was, where the clock was set later
    Column("first_block_id", BlockId, ForeignKey("wire_block.id"), nullable=False),
    Column("last_block_id", BlockId, ForeignKey("wire_block.id")),
    Column("closed", Boolean, nullable=False),
    Column("outcome", Text),
    Column("held_g", Float(53)),  # 53: PostgreSQL's double precision, no digit lost
    Column("held_items", Integer),
    Column("sunk_at_s", Float(53)),
    Column("predicted_capacity_g", Float(53)),
    Column("result", JSON),  # the first one, for good
    Column("corrected", JSON),  # with the corrections; the columns above say what counts now
)

correction = Table(  # beside the readings, never over them
    "correction",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("trial_id", Uuid, ForeignKey("trial.id"), nullable=False),
    # The order. The id would do where clocks never jump; a rig's may be years behind after a start.
    Column("place", Integer, nullable=False),
    Column("made_at_utc", UtcTime, nullable=False),
    Column("line", LargeBinary, nullable=False),
    UniqueConstraint("trial_id", "place"),
)

lesson_session = Table(  # one block of one class; group labels, never names
    "lesson_session",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("rig_name", Text, nullable=False, index=True),
    Column("school_year", Text, nullable=False),
    Column("class_label", Text, nullable=False),
    Column("block", Text, nullable=False),
    Column("held_on", Text, nullable=False),  # 2026-11-25, as the teacher's calendar says
    Column("plan", JSON, nullable=False),  # goal, item, rules
    Column("begun_at_utc", UtcTime, nullable=False),
    Column("closed", Boolean, nullable=False),
)

session_event = Table(  # what happened, in order; nothing is ever changed
    "session_event",
    metadata,
    Column("id", Uuid, primary_key=True),
    Column("session_id", Uuid, ForeignKey("lesson_session.id"), nullable=False),
    Column("place", Integer, nullable=False),
    Column("made_at_utc", UtcTime, nullable=False),
    Column("event", JSON, nullable=False),
    UniqueConstraint("session_id", "place"),
)
