"""An office has a UUID of its own: what it gives away is named by it, as no other office's data are.

The offices that are there get one each.
"""

from __future__ import annotations

from uuid import uuid4

import sqlalchemy as sa
from alembic import op

revision = "r0014"
down_revision = "r0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    on_sqlite = op.get_bind().dialect.name == "sqlite"
    op.add_column("office", sa.Column("uid", sa.String(length=32), nullable=True))
    connection = op.get_bind()
    for (key,) in connection.execute(sa.text("SELECT id FROM office ORDER BY id")).all():
        connection.execute(
            sa.text("UPDATE office SET uid = :uid WHERE id = :id"), {"uid": uuid4().hex, "id": key}
        )
    if on_sqlite:
        with op.batch_alter_table("office", recreate="always", copy_from=_office()) as table:
            table.alter_column("uid", existing_type=sa.String(length=32), nullable=False)
            table.create_unique_constraint(op.f("uq_office_uid"), ["uid"])
        return
    op.alter_column("office", "uid", existing_type=sa.String(length=32), nullable=False)
    op.create_unique_constraint(op.f("uq_office_uid"), "office", ["uid"])


def _office() -> sa.Table:
    """Return the table as it is by now: its checks cannot be read out of SQLite."""
    return sa.Table(
        "office",
        sa.MetaData(),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("prefix", sa.String(length=2), nullable=False),
        sa.Column("station", sa.Integer(), nullable=False),
        sa.Column("next_serial", sa.Integer(), nullable=False),
        sa.Column("next_station", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=True),
        sa.Column("uid", sa.String(length=32), nullable=True),
        sa.CheckConstraint("length(prefix) = 2", name=op.f("ck_office_prefix_two_letters")),
        sa.CheckConstraint("next_serial BETWEEN 0 AND 1048576", name=op.f("ck_office_next_serial_range")),
        sa.CheckConstraint("station BETWEEN 0 AND 1023", name=op.f("ck_office_station_range")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_office")),
        sa.UniqueConstraint("prefix", name=op.f("uq_office_prefix")),
    )
