"""What several processes that serve the pages share: the card that is open on each device, and files dropped."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0015"
down_revision = "r0014"
branch_labels = None
depends_on = None

MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    op.create_table(
        "shown_card",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("survey_id", sa.Integer(), nullable=False),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("shown_at", MOMENT, nullable=False),
        sa.ForeignKeyConstraint(
            ["survey_id"], ["survey.id"], name=op.f("fk_shown_card_survey_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shown_card")),
        sa.UniqueConstraint("survey_id", "device", name=op.f("uq_shown_card_survey_id_device")),
    )
    op.create_table(
        "dropped_file",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(32), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("shipments", sa.Text(), nullable=False),
        sa.Column("answers", sa.Text(), nullable=False),
        sa.Column("dropped_at", MOMENT, nullable=False),
        sa.Column("dropped_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_dropped_file")),
        sa.UniqueConstraint("key", name=op.f("uq_dropped_file_key")),
    )
