"""How many packages a shipment goes in; shipments that are there say nothing and count as one package, as before."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0003"
down_revision = "r0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("shipment", sa.Column("n_packages", sa.Integer(), nullable=True))
