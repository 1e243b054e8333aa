"""Tries of pairing codes, so that several processes that serve the pages count them together."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0017"
down_revision = "r0016"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "pairing_try",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("tried_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pairing_try")),
    )
