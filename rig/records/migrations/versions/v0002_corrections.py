"""Corrections beside a trial, and its result with them."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

UUID = sa.String(36)
UTC_TIME = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the table; trials get a column, empty where nothing was put right."""
    op.add_column("trial", sa.Column("corrected", sa.JSON(), nullable=True))
    op.create_table(
        "correction",
        sa.Column("id", UUID, nullable=False),
        sa.Column("trial_id", UUID, nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("made_at_utc", UTC_TIME, nullable=False),
        sa.Column("line", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_correction"),
        sa.UniqueConstraint("trial_id", "place", name="uq_correction_trial_id_place"),
        sa.ForeignKeyConstraint(["trial_id"], ["trial.id"], name="fk_correction_trial_id"),
    )
