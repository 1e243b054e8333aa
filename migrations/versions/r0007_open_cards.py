"""A survey's order of work, and the fish that are being entered. Surveys that are there take parts in any order."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0007"
down_revision = "r0006"
branch_labels = None
depends_on = None

ORDERS = "'any', 'vial,length', 'vial,length,weight', 'length,vial', 'length,weight,vial'"


def upgrade() -> None:
    op.execute(
        "ALTER TABLE survey ADD COLUMN order_of_work TEXT DEFAULT 'any' NOT NULL"
        f" CONSTRAINT ck_survey_order_of_work CHECK (order_of_work IN ({ORDERS}))"
    )
    op.create_table(
        "open_card",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("survey_id", sa.Integer(), nullable=False),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("kept_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("kept_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["survey_id"], ["survey.id"], name=op.f("fk_open_card_survey_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_open_card")),
        sa.UniqueConstraint("survey_id", "device", name=op.f("uq_open_card_survey_id_device")),
    )
