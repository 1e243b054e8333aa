"""A lab's file keeps its account: what became of each column, line, word, mark and sheet. Files read so far have none."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0010"
down_revision = "r0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("return_file", sa.Column("account", sa.Text(), nullable=True))
