"""What another database told of a survey's vials has tables of its own; it was read out of the record of events before.

It is taken from there, and the events stay as they are.
"""

from __future__ import annotations

import json

import sqlalchemy as sa
from alembic import op

revision = "r0016"
down_revision = "r0015"
branch_labels = None
depends_on = None

MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    op.create_table(
        "told_survey",
        sa.Column("survey_id", sa.Integer(), nullable=False),
        sa.Column("told_at", MOMENT, nullable=False),
        sa.ForeignKeyConstraint(
            ["survey_id"], ["survey.id"], name=op.f("fk_told_survey_survey_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("survey_id", name=op.f("pk_told_survey")),
    )
    op.create_table(
        "told_vial",
        sa.Column("survey_id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=9), nullable=False),
        sa.Column("fate", sa.Text(), nullable=False),
        sa.CheckConstraint("fate IN ('shipped', 'typed', 'failed')", name=op.f("ck_told_vial_fate")),
        sa.ForeignKeyConstraint(
            ["survey_id"], ["survey.id"], name=op.f("fk_told_vial_survey_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("survey_id", "code", name=op.f("pk_told_vial")),
    )
    _take_from_the_record(op.get_bind())


def _take_from_the_record(connection: sa.Connection) -> None:
    """Fill the tables from the last event of each survey that tells of its vials."""
    event = sa.table(
        "event",
        *(sa.column(name, sa.Text()) for name in ("subject_kind", "subject", "new")),
        sa.column("at", MOMENT),
        sa.column("id", sa.Integer()),
    )
    survey = sa.table("survey", sa.column("id", sa.Integer()), sa.column("code", sa.Text()))
    last: dict[int, tuple[object, str | None]] = {}
    for key, at, new in connection.execute(
        sa.select(survey.c.id, event.c.at, event.c.new)
        .join(survey, survey.c.code == event.c.subject)
        .where(event.c.subject_kind == "lab_standing")
        .order_by(event.c.at, event.c.id)
    ).all():
        last[key] = (at, new)
    of_survey = sa.table("told_survey", sa.column("survey_id", sa.Integer()), sa.column("told_at", MOMENT))
    of_vial = sa.table(
        "told_vial",
        sa.column("survey_id", sa.Integer()),
        sa.column("code", sa.Text()),
        sa.column("fate", sa.Text()),
    )
    for key, (at, new) in last.items():
        connection.execute(of_survey.insert().values(survey_id=key, told_at=at))
        for code, fate in json.loads(new or "{}").get("vials", {}).items():
            connection.execute(of_vial.insert().values(survey_id=key, code=code, fate=fate))
