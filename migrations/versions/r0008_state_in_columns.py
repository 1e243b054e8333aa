"""A vial can be broken, and says why it is gone; wells kept free, the bill and the rule set in force have columns.

They were read out of the record of events before, and are taken from there. The events stay as they are.
"""

from __future__ import annotations

import json
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "r0008"
down_revision = "r0007"
branch_labels = None
depends_on = None

STANDINGS = "standing IN ('printed', 'filled', 'blank', 'void', 'lost', 'broken')"
HAS_A_FISH = "(fish_id IS NOT NULL) = (standing IN ('filled', 'lost', 'broken'))"
# a table made anew in SQLite loses its triggers; they are those of the first tables
TRIGGERS = (
    """CREATE TRIGGER vial_is_filled_once BEFORE UPDATE OF fish_id ON vial
    WHEN OLD.fish_id IS NOT NULL AND NEW.fish_id IS NOT NULL AND OLD.fish_id <> NEW.fish_id
    BEGIN SELECT RAISE(ABORT, 'a vial is filled once: empty it by a correction first'); END""",
    """CREATE TRIGGER void_vial_stays_void BEFORE UPDATE OF standing ON vial
    WHEN OLD.standing = 'void' AND NEW.standing <> 'void'
    BEGIN SELECT RAISE(ABORT, 'a void vial stays void'); END""",
    """CREATE TRIGGER vial_code_is_kept BEFORE UPDATE OF code ON vial
    WHEN OLD.code <> NEW.code
    BEGIN SELECT RAISE(ABORT, 'a vial keeps its code'); END""",
    """CREATE TRIGGER vial_is_never_deleted BEFORE DELETE ON vial
    BEGIN SELECT RAISE(ABORT, 'a vial code is never used again, so its vial is never deleted'); END""",
)
NOW_CHOSEN = {
    "sqlite": (
        """CREATE TRIGGER rule_set_choice_is_never_updated BEFORE UPDATE ON rule_set_choice
        BEGIN SELECT RAISE(ABORT, 'which rule set was in force is never changed'); END""",
        """CREATE TRIGGER rule_set_choice_is_never_deleted BEFORE DELETE ON rule_set_choice
        BEGIN SELECT RAISE(ABORT, 'which rule set was in force is never deleted'); END""",
    ),
    "postgresql": (
        """CREATE TRIGGER rule_set_choice_is_never_updated BEFORE UPDATE ON rule_set_choice FOR EACH ROW
        EXECUTE FUNCTION refuse_change('which rule set was in force is never changed')""",
        """CREATE TRIGGER rule_set_choice_is_never_deleted BEFORE DELETE ON rule_set_choice FOR EACH ROW
        EXECUTE FUNCTION refuse_change('which rule set was in force is never deleted')""",
    ),
}


def upgrade() -> None:
    kind = op.get_bind().dialect.name
    if kind == "sqlite":
        with op.batch_alter_table("vial", recreate="always", copy_from=_vial()) as table:
            table.add_column(sa.Column("gone_why", sa.Text(), nullable=True))
        for statement in TRIGGERS:
            op.execute(statement)
    else:
        op.add_column("vial", sa.Column("gone_why", sa.Text(), nullable=True))
        for name, rule in (("standing", STANDINGS), ("filled_has_a_fish", HAS_A_FISH)):
            op.drop_constraint(op.f(f"ck_vial_{name}"), "vial", type_="check")
            op.create_check_constraint(op.f(f"ck_vial_{name}"), "vial", rule)
    op.add_column("shipment", sa.Column("kept_free", sa.Text(), nullable=False, server_default="[]"))
    op.add_column("shipment", sa.Column("n_billed", sa.Integer(), nullable=True))
    op.add_column("shipment", sa.Column("billed_amount", sa.Double(), nullable=True))
    op.create_table(
        "rule_set_choice",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("rule_set_id", sa.Integer(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["rule_set_id"], ["rule_set.id"], name=op.f("fk_rule_set_choice_rule_set_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_rule_set_choice")),
    )
    for statement in NOW_CHOSEN[kind]:
        op.execute(statement)
    _take_from_the_record(op.get_bind())


def _take_from_the_record(connection: sa.Connection) -> None:
    """Fill the columns from what was recorded: all wells ever kept free, the last bill, every rule set chosen."""
    rows = connection.execute(
        sa.text(
            "SELECT subject, verb, new FROM event WHERE subject_kind = 'shipment' AND verb IN ('packed', 'billed')"
            " ORDER BY id"
        )
    )
    kept: dict[str, list[str]] = {}
    billed: dict[str, dict[str, Any]] = {}
    for subject, verb, new in rows:
        said = json.loads(new or "{}")
        if verb == "billed":
            billed[subject] = said
        else:
            wells = kept.setdefault(subject, [])
            wells += [well for well in said.get("kept_free", []) if well not in wells]
    for code, wells in kept.items():
        connection.execute(
            sa.text("UPDATE shipment SET kept_free = :wells WHERE code = :code"),
            {"wells": json.dumps(sorted(wells)), "code": code},
        )
    for code, said in billed.items():
        connection.execute(
            sa.text("UPDATE shipment SET n_billed = :n, billed_amount = :amount WHERE code = :code"),
            {"n": said.get("n_billed"), "amount": said.get("amount"), "code": code},
        )
    ids = {
        (name, str(dated)[:10]): key
        for key, name, dated in connection.execute(sa.text("SELECT id, name, dated FROM rule_set"))
    }
    choice = sa.table(
        "rule_set_choice",
        sa.column("rule_set_id", sa.Integer()),
        sa.column("at", sa.DateTime(timezone=True)),
        sa.column("by", sa.Text()),
    )
    event = sa.table(
        "event",
        *(sa.column(name, sa.Text()) for name in ("subject_kind", "verb", "by", "new")),
        sa.column("at", sa.DateTime(timezone=True)),
        sa.column("id", sa.Integer()),
    )
    chosen = connection.execute(
        sa.select(event.c.at, event.c.by, event.c.new)
        .where(event.c.subject_kind == "rule_set", event.c.verb == "brought_into_force")
        .order_by(event.c.id)
    ).all()
    for at, by, new in chosen:
        said = json.loads(new or "{}")
        if "name" not in said:
            continue
        key = ids.get((said.get("name"), said.get("dated")))  # none: the house default, which has no row
        connection.execute(choice.insert().values(rule_set_id=key, at=at, by=by))


def _vial() -> sa.Table:
    return sa.Table(
        "vial",
        sa.MetaData(),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=9), nullable=False),
        sa.Column("print_run_id", sa.Integer(), nullable=True),
        sa.Column("standing", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("fish_id", sa.Integer(), nullable=True),
        sa.Column("fish_n", sa.Integer(), nullable=True),
        sa.Column("tissue", sa.Text(), nullable=True),
        sa.Column("medium", sa.Text(), nullable=True),
        sa.Column("filled_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("filled_by", sa.Text(), nullable=True),
        sa.Column("void_why", sa.Text(), nullable=True),
        sa.CheckConstraint(HAS_A_FISH, name=op.f("ck_vial_filled_has_a_fish")),
        sa.CheckConstraint(
            "(standing = 'void') = (void_why IS NOT NULL)", name=op.f("ck_vial_void_has_a_reason")
        ),
        sa.CheckConstraint("role IN ('sample', 'blind_duplicate', 'blank')", name=op.f("ck_vial_role")),
        sa.CheckConstraint(STANDINGS, name=op.f("ck_vial_standing")),
        sa.CheckConstraint("tissue IN ('mouth_swab', 'fin_clip')", name=op.f("ck_vial_tissue")),
        sa.CheckConstraint("(fish_id IS NULL) = (fish_n IS NULL)", name=op.f("ck_vial_fish_with_its_n")),
        sa.CheckConstraint("fish_n IS NULL OR fish_n = 1", name=op.f("ck_vial_one_fish_a_vial")),
        sa.ForeignKeyConstraint(
            ["fish_id", "fish_n"], ["fish.id", "fish.n_fish"], name=op.f("fk_vial_fish_id_fish_n")
        ),
        sa.ForeignKeyConstraint(["print_run_id"], ["print_run.id"], name=op.f("fk_vial_print_run_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_vial")),
        sa.UniqueConstraint("code", name=op.f("uq_vial_code")),
        sa.Index("ix_vial_fish_id", "fish_id"),
        sa.Index(op.f("ix_vial_print_run_id"), "print_run_id"),
    )
