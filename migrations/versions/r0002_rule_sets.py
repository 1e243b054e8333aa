"""A table for the rule sets that name ancestry classes, and triggers that keep each as it was when it was used.

Nothing older changes: until a rule set is brought into force, the house default names the classes as before.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0002"
down_revision = "r0001"
branch_labels = None
depends_on = None

TRIGGERS = {
    "sqlite": (
        """CREATE TRIGGER rule_set_is_never_updated BEFORE UPDATE ON rule_set
        BEGIN SELECT RAISE(ABORT, 'a rule set is never changed: give the new one another date or name'); END""",
        """CREATE TRIGGER rule_set_is_never_deleted BEFORE DELETE ON rule_set
        BEGIN SELECT RAISE(ABORT, 'a rule set is never deleted: reports name it'); END""",
    ),
    "postgresql": (
        """CREATE TRIGGER rule_set_is_never_updated BEFORE UPDATE ON rule_set FOR EACH ROW
        EXECUTE FUNCTION refuse_change('a rule set is never changed: give the new one another date or name')""",
        """CREATE TRIGGER rule_set_is_never_deleted BEFORE DELETE ON rule_set
        FOR EACH ROW EXECUTE FUNCTION refuse_change('a rule set is never deleted: reports name it')""",
        """CREATE TRIGGER rule_set_is_never_emptied BEFORE TRUNCATE ON rule_set
        FOR EACH STATEMENT EXECUTE FUNCTION refuse_change('a rule set is never deleted: reports name it')""",
    ),
}


def upgrade() -> None:
    op.create_table(
        "rule_set",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("dated", sa.Date(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("added_by", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_rule_set")),
        sa.UniqueConstraint("name", "dated", name=op.f("uq_rule_set_name_dated")),
    )
    for statement in TRIGGERS[op.get_bind().dialect.name]:
        op.execute(statement)
