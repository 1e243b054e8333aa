"""A journal of the rows that each write transaction left, chained by hash; what is there already is sealed after it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0012"
down_revision = "r0011"
branch_labels = None
depends_on = None

TRIGGERS = {
    "sqlite": (
        """CREATE TRIGGER journal_is_never_updated BEFORE UPDATE ON journal
        BEGIN SELECT RAISE(ABORT, 'the journal is never changed'); END""",
        """CREATE TRIGGER journal_is_never_deleted BEFORE DELETE ON journal
        BEGIN SELECT RAISE(ABORT, 'the journal is never deleted'); END""",
    ),
    "postgresql": (
        """CREATE TRIGGER journal_is_never_updated BEFORE UPDATE ON journal
        FOR EACH ROW EXECUTE FUNCTION refuse_change('the journal is never changed')""",
        """CREATE TRIGGER journal_is_never_deleted BEFORE DELETE ON journal
        FOR EACH ROW EXECUTE FUNCTION refuse_change('the journal is never deleted')""",
        """CREATE TRIGGER journal_is_never_emptied BEFORE TRUNCATE ON journal
        FOR EACH STATEMENT EXECUTE FUNCTION refuse_change('the journal is never deleted')""",
    ),
}


def upgrade() -> None:
    op.create_table(
        "journal",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("station", sa.String(length=32), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("previous", sa.String(length=64), nullable=False),
        sa.Column("rows", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_journal")),
        sa.UniqueConstraint("hash", name=op.f("uq_journal_hash")),
    )
    for statement in TRIGGERS[op.get_bind().dialect.name]:
        op.execute(statement)
