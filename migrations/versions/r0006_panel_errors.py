"""How often a panel misreads an allele: its stated rate, and vials of fish whose kind is known.

Panels that are there state nothing, so the assumed rate speaks until one is stated or measured.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0006"
down_revision = "r0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("panel", sa.Column("miscall_rate", sa.Double(), nullable=True))
    op.add_column("panel", sa.Column("miscall_high", sa.Double(), nullable=True))
    op.create_table(
        "known_vial",
        sa.Column("vial_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("said_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("said_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["vial_id"], ["vial.id"], name=op.f("fk_known_vial_vial_id")),
        sa.PrimaryKeyConstraint("vial_id", name=op.f("pk_known_vial")),
    )
