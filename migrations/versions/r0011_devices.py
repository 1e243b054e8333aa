"""Devices paired with the served pages, and the one-time tokens that pair them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0011"
down_revision = "r0010"
branch_labels = None
depends_on = None

MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    op.create_table(
        "pairing",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("token", sa.String(64), nullable=False),
        sa.Column("writes", sa.Boolean(), nullable=False),
        sa.Column("offered_at", MOMENT, nullable=False),
        sa.Column("offered_by", sa.Text(), nullable=False),
        sa.Column("ends_at", MOMENT, nullable=False),
        sa.Column("used_at", MOMENT, nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pairing")),
        sa.UniqueConstraint("token", name=op.f("uq_pairing_token")),
    )
    op.create_table(
        "device",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(32), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("writes", sa.Boolean(), nullable=False),
        sa.Column("secret", sa.String(64), nullable=False),
        sa.Column("paired_at", MOMENT, nullable=False),
        sa.Column("used_at", MOMENT, nullable=False),
        sa.Column("ends_at", MOMENT, nullable=False),
        sa.Column("revoked_at", MOMENT, nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_device")),
        sa.UniqueConstraint("uid", name=op.f("uq_device_uid")),
        sa.UniqueConstraint("secret", name=op.f("uq_device_secret")),
    )
