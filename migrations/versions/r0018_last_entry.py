"""Indexes for what is asked with every fish: the last entry of the own chain, and what was undone."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0018"
down_revision = "r0017"
branch_labels = None
depends_on = None


def upgrade() -> None:
    for name, table, columns, condition in (
        ("ix_journal_own", "journal", ["number"], "carried_by IS NULL"),
        ("ix_event_undone", "event", ["verb", "subject_kind"], "verb = 'undone'"),
    ):
        op.create_index(
            name, table, columns, sqlite_where=sa.text(condition), postgresql_where=sa.text(condition)
        )
