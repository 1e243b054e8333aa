"""Indexes that hold what the list of lakes counts, so that it need not look up every fish and vial."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0019"
down_revision = "r0018"
branch_labels = None
depends_on = None


def upgrade() -> None:
    for name, table, columns in (
        ("ix_fish_survey_id_size_class", "fish", ["survey_id", "size_class", "species", "n_fish"]),
        ("ix_vial_fish_id", "vial", ["fish_id", "standing"]),
    ):
        op.drop_index(name, table_name=table)
        op.create_index(name, table, columns)
    for name, table, columns, condition in (
        ("ix_fish_survey_id_site", "fish", ["survey_id", "site"], "site IS NOT NULL"),
        ("ix_vial_role", "vial", ["role"], "role <> 'sample'"),
    ):
        op.create_index(
            name, table, columns, sqlite_where=sa.text(condition), postgresql_where=sa.text(condition)
        )
