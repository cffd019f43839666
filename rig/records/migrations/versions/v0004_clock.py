"""When a clock was set late: which start of the computer, and the time as it really was."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

UTC_TIME = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Add columns; the times as they were kept stay."""
    op.add_column("run", sa.Column("boot_id", sa.Text(), nullable=True))
    op.add_column("trial", sa.Column("mended_start_utc", UTC_TIME, nullable=True))
