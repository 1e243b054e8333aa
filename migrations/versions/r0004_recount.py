"""A further decision on a finding, recount: the value counted from the genotypes. Decisions that are there stay."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0004"
down_revision = "r0003"
branch_labels = None
depends_on = None

DECISIONS = "decision IN ('accept', 'recount', 'reject', 'match', 'resample', 'close')"


def upgrade() -> None:
    if op.get_bind().dialect.name != "sqlite":
        op.drop_constraint(op.f("ck_finding_decision"), "finding", type_="check")
        op.create_check_constraint(op.f("ck_finding_decision"), "finding", DECISIONS)
        return
    # SQLite makes the table anew; written out, since not every version of the library reads checks back
    with op.batch_alter_table("finding", recreate="always", copy_from=_finding()):
        pass


def _finding() -> sa.Table:
    return sa.Table(
        "finding",
        sa.MetaData(),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("shipment_id", sa.Integer(), nullable=True),
        sa.Column("survey_id", sa.Integer(), nullable=True),
        sa.Column("vial_id", sa.Integer(), nullable=True),
        sa.Column("fish_id", sa.Integer(), nullable=True),
        sa.Column("return_file_id", sa.Integer(), nullable=True),
        sa.Column("rows", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("data", sa.Text(), nullable=False),
        sa.Column("opened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("decision", sa.Text(), nullable=True),
        sa.Column("decided_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("decided_by", sa.Text(), nullable=True),
        sa.Column("why", sa.Text(), nullable=True),
        sa.CheckConstraint(DECISIONS, name=op.f("ck_finding_decision")),
        sa.CheckConstraint(
            "(decision IS NULL) = (decided_at IS NULL)", name=op.f("ck_finding_decision_has_a_moment")
        ),
        sa.CheckConstraint(
            "(decision IS NULL) = (decided_by IS NULL)", name=op.f("ck_finding_decision_has_a_person")
        ),
        sa.CheckConstraint(
            "(decision IS NULL) = (why IS NULL)", name=op.f("ck_finding_decision_has_a_reason")
        ),
        *(
            sa.ForeignKeyConstraint([f"{name}_id"], [f"{name}.id"], name=op.f(f"fk_finding_{name}_id"))
            for name in ("fish", "return_file", "shipment", "survey", "vial")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_finding")),
        sa.UniqueConstraint("key", name=op.f("uq_finding_key")),
        sa.UniqueConstraint("number", name=op.f("uq_finding_number")),
        *(
            sa.Index(op.f(f"ix_finding_{name}"), name)
            for name in ("kind", "shipment_id", "survey_id", "vial_id")
        ),
    )
