"""A reading can be taken back, a result knows the file that replaced it, a lab its usual days, a shipment its shuffle.

Results replaced so far are given the file of the next later result of their vial: that is how a file replaces.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "r0005"
down_revision = "r0004"
branch_labels = None
depends_on = None

ONE_READING = "uq_return_file_shipment_id_sha256"
TAKEN_BACK = ("withdrawn_at", "withdrawn_by", "withdrawn_why")
HAS_ITS_REASON = "(withdrawn_at IS NULL) = (withdrawn_why IS NULL)"
REPLACED_BY = """
UPDATE result SET replaced_by_id = (
    SELECT return_row.return_file_id FROM return_row JOIN result AS later ON later.return_row_id = return_row.id
    WHERE later.id = (SELECT min(id) FROM result AS next WHERE next.vial_id = result.vial_id AND next.id > result.id)
) WHERE standing = 'superseded'
"""


def upgrade() -> None:
    op.add_column("lab", sa.Column("usual_days", sa.Integer(), nullable=True))
    op.add_column("shipment", sa.Column("shuffle_seed", sa.String(16), nullable=True))
    op.add_column("result", sa.Column("replaced_by_id", sa.Integer(), nullable=True))
    columns: list[sa.Column[Any]] = [
        sa.Column("withdrawn_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("withdrawn_by", sa.Text(), nullable=True),
        sa.Column("withdrawn_why", sa.Text(), nullable=True),
    ]
    if op.get_bind().dialect.name == "sqlite":
        with op.batch_alter_table("return_file", recreate="always") as table:
            table.drop_constraint(op.f(ONE_READING), type_="unique")
            for column in columns:
                table.add_column(column)
            table.create_check_constraint(op.f("ck_return_file_withdrawn_has_a_reason"), HAS_ITS_REASON)
    else:
        op.drop_constraint(op.f(ONE_READING), "return_file", type_="unique")
        for column in columns:
            op.add_column("return_file", column)
        op.create_check_constraint(
            op.f("ck_return_file_withdrawn_has_a_reason"), "return_file", HAS_ITS_REASON
        )
    in_force = sa.text("withdrawn_at IS NULL")
    op.create_index(
        "ix_return_file_shipment_id_sha256", "return_file", ["shipment_id", "sha256"], unique=True,
        sqlite_where=in_force, postgresql_where=in_force,
    )  # fmt: skip
    op.create_index("ix_result_replaced_by_id", "result", ["replaced_by_id"])
    op.execute(REPLACED_BY)
