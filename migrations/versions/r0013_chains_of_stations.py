"""One chain of the journal a station: what a boat carried in brings its own chain along, beside that of this database."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0013"
down_revision = "r0012"
branch_labels = None
depends_on = None

TRIGGERS = (
    """CREATE TRIGGER journal_is_never_updated BEFORE UPDATE ON journal
    BEGIN SELECT RAISE(ABORT, 'the journal is never changed'); END""",
    """CREATE TRIGGER journal_is_never_deleted BEFORE DELETE ON journal
    BEGIN SELECT RAISE(ABORT, 'the journal is never deleted'); END""",
)


def upgrade() -> None:
    if op.get_bind().dialect.name == "postgresql":
        op.add_column("journal", sa.Column("carried_by", sa.String(length=64)))
        op.drop_constraint("pk_journal", "journal")
        op.create_primary_key("pk_journal", "journal", ["station", "number"])
        return
    op.create_table(
        "journal_anew",
        sa.Column("station", sa.String(length=32), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("previous", sa.String(length=64), nullable=False),
        sa.Column("rows", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.Column("carried_by", sa.String(length=64), nullable=True),
        sa.PrimaryKeyConstraint("station", "number", name="pk_journal"),
        sa.UniqueConstraint("hash", name="uq_journal_hash"),
    )
    names = "station, number, at, previous, rows, note, hash"
    op.execute(f"INSERT INTO journal_anew ({names}) SELECT {names} FROM journal ORDER BY number")
    op.drop_table("journal")
    op.rename_table("journal_anew", "journal")
    for statement in TRIGGERS:
        op.execute(statement)
