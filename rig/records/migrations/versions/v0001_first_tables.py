"""The first tables: runs, what the wire said, trials."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

# Spelled out, not imported: a step must go on meaning what it meant when it was written.
BLOCK_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
UUID = sa.String(36)
UTC_TIME = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make the three tables."""
    op.create_table(
        "run",
        sa.Column("id", UUID, nullable=False),
        sa.Column("rig_name", sa.Text(), nullable=False),
        sa.Column("software_version", sa.Text(), nullable=False),
        sa.Column("started_at_utc", UTC_TIME, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_run"),
    )
    op.create_index("ix_run_rig_name", "run", ["rig_name"])

    op.create_table(
        "wire_block",
        sa.Column("id", BLOCK_ID, autoincrement=True, nullable=False),
        sa.Column("run_id", UUID, nullable=False),
        sa.Column("received_at_utc", UTC_TIME, nullable=False),
        sa.Column("data", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_wire_block"),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name="fk_wire_block_run_id"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_wire_block_run_id_id", "wire_block", ["run_id", "id"])

    op.create_table(
        "trial",
        sa.Column("id", UUID, nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("run_id", UUID, nullable=False),
        sa.Column("boat_label", sa.Text(), nullable=False),
        sa.Column("boat", sa.JSON(), nullable=False),
        sa.Column("setup", sa.JSON(), nullable=False),
        sa.Column("identity", sa.LargeBinary(), nullable=True),
        sa.Column("started_at_utc", UTC_TIME, nullable=False),
        sa.Column("first_block_id", BLOCK_ID, nullable=False),
        sa.Column("last_block_id", BLOCK_ID, nullable=True),
        sa.Column("closed", sa.Boolean(), nullable=False),
        sa.Column("outcome", sa.Text(), nullable=True),
        sa.Column("held_g", sa.Float(53), nullable=True),
        sa.Column("held_items", sa.Integer(), nullable=True),
        sa.Column("sunk_at_s", sa.Float(53), nullable=True),
        sa.Column("predicted_capacity_g", sa.Float(53), nullable=True),
        sa.Column("result", sa.JSON(), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_trial"),
        sa.UniqueConstraint("number", name="uq_trial_number"),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name="fk_trial_run_id"),
        sa.ForeignKeyConstraint(
            ["first_block_id"], ["wire_block.id"], name="fk_trial_first_block_id"
        ),
        sa.ForeignKeyConstraint(
            ["last_block_id"], ["wire_block.id"], name="fk_trial_last_block_id"
        ),
    )
    op.create_index("ix_trial_run_id", "trial", ["run_id"])
