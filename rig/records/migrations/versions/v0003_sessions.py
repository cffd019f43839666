"""Class sessions, and what happened in them."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

UUID = sa.String(36)
UTC_TIME = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make both tables; trials are not touched."""
    op.create_table(
        "lesson_session",
        sa.Column("id", UUID, nullable=False),
        sa.Column("rig_name", sa.Text(), nullable=False),
        sa.Column("school_year", sa.Text(), nullable=False),
        sa.Column("class_label", sa.Text(), nullable=False),
        sa.Column("block", sa.Text(), nullable=False),
        sa.Column("held_on", sa.Text(), nullable=False),
        sa.Column("plan", sa.JSON(), nullable=False),
        sa.Column("begun_at_utc", UTC_TIME, nullable=False),
        sa.Column("closed", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_lesson_session"),
    )
    op.create_index("ix_lesson_session_rig_name", "lesson_session", ["rig_name"])
    op.create_table(
        "session_event",
        sa.Column("id", UUID, nullable=False),
        sa.Column("session_id", UUID, nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("made_at_utc", UTC_TIME, nullable=False),
        sa.Column("event", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_session_event"),
        sa.UniqueConstraint("session_id", "place", name="uq_session_event_session_id_place"),
        sa.ForeignKeyConstraint(
            ["session_id"], ["lesson_session.id"], name="fk_session_event_session_id"
        ),
    )
