"""Reports that went out are kept, with what they rested on. None of before is known.

A report that went out is never changed or deleted: whoever was told a number must be found again.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0009"
down_revision = "r0008"
branch_labels = None
depends_on = None

TRIGGERS = {
    "sqlite": (
        """CREATE TRIGGER kept_report_is_never_updated BEFORE UPDATE ON kept_report
        BEGIN SELECT RAISE(ABORT, 'a report that went out is never changed'); END""",
        """CREATE TRIGGER kept_report_is_never_deleted BEFORE DELETE ON kept_report
        BEGIN SELECT RAISE(ABORT, 'a report that went out is never deleted'); END""",
    ),
    "postgresql": (
        """CREATE TRIGGER kept_report_is_never_updated BEFORE UPDATE ON kept_report
        FOR EACH ROW EXECUTE FUNCTION refuse_change('a report that went out is never changed')""",
        """CREATE TRIGGER kept_report_is_never_deleted BEFORE DELETE ON kept_report
        FOR EACH ROW EXECUTE FUNCTION refuse_change('a report that went out is never deleted')""",
    ),
}


def upgrade() -> None:
    op.create_table(
        "kept_report",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(32), nullable=False),
        sa.Column("lake_id", sa.Integer(), nullable=False),
        sa.Column("survey", sa.Text(), nullable=True),
        sa.Column("written_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("written_by", sa.Text(), nullable=False),
        sa.Column("fingerprint", sa.Text(), nullable=False),
        sa.Column("told", sa.Text(), nullable=False),
        sa.Column("basis", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["lake_id"], ["lake.id"], name=op.f("fk_kept_report_lake_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_kept_report")),
        sa.UniqueConstraint("uid", name=op.f("uq_kept_report_uid")),
    )
    op.create_index("ix_kept_report_lake_id", "kept_report", ["lake_id"])
    for trigger in TRIGGERS[op.get_bind().dialect.name]:
        op.execute(trigger)
