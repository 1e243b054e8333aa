"""The first tables, and triggers that keep the record of events and of filled vials.

There is no older data.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "r0001"
down_revision = None
branch_labels = None
depends_on = None

TRIGGERS = {
    "sqlite": (
        """CREATE TRIGGER event_is_never_updated BEFORE UPDATE ON event
        BEGIN SELECT RAISE(ABORT, 'an event is never changed'); END""",
        """CREATE TRIGGER event_is_never_deleted BEFORE DELETE ON event
        BEGIN SELECT RAISE(ABORT, 'an event is never deleted'); END""",
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
    ),
    "postgresql": (
        """CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS
        $$ BEGIN RAISE EXCEPTION '%', TG_ARGV[0]; END $$""",
        """CREATE TRIGGER event_is_never_updated BEFORE UPDATE ON event
        FOR EACH ROW EXECUTE FUNCTION refuse_change('an event is never changed')""",
        """CREATE TRIGGER event_is_never_deleted BEFORE DELETE ON event
        FOR EACH ROW EXECUTE FUNCTION refuse_change('an event is never deleted')""",
        """CREATE TRIGGER event_is_never_emptied BEFORE TRUNCATE ON event
        FOR EACH STATEMENT EXECUTE FUNCTION refuse_change('an event is never deleted')""",
        """CREATE TRIGGER vial_is_filled_once BEFORE UPDATE OF fish_id ON vial FOR EACH ROW
        WHEN (OLD.fish_id IS NOT NULL AND NEW.fish_id IS NOT NULL AND OLD.fish_id <> NEW.fish_id)
        EXECUTE FUNCTION refuse_change('a vial is filled once: empty it by a correction first')""",
        """CREATE TRIGGER void_vial_stays_void BEFORE UPDATE OF standing ON vial FOR EACH ROW
        WHEN (OLD.standing = 'void' AND NEW.standing <> 'void')
        EXECUTE FUNCTION refuse_change('a void vial stays void')""",
        """CREATE TRIGGER vial_code_is_kept BEFORE UPDATE OF code ON vial FOR EACH ROW
        WHEN (OLD.code <> NEW.code) EXECUTE FUNCTION refuse_change('a vial keeps its code')""",
        """CREATE TRIGGER vial_is_never_deleted BEFORE DELETE ON vial
        FOR EACH ROW EXECUTE FUNCTION refuse_change('a vial code is never used again, so its vial is never deleted')""",
    ),
}


def upgrade() -> None:
    op.create_table(
        "event",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("verb", sa.Text(), nullable=False),
        sa.Column("subject_kind", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("old", sa.Text(), nullable=True),
        sa.Column("new", sa.Text(), nullable=True),
        sa.Column("why", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_event")),
        sa.UniqueConstraint("uid", name=op.f("uq_event_uid")),
    )
    with op.batch_alter_table("event", schema=None) as batch_op:
        batch_op.create_index("ix_event_subject_kind_subject", ["subject_kind", "subject"], unique=False)

    op.create_table(
        "lab",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=12), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("address", sa.Text(), nullable=True),
        sa.Column("manifest", sa.Text(), nullable=True),
        sa.Column("layout", sa.Text(), nullable=True),
        sa.Column("fee", sa.Double(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lab")),
        sa.UniqueConstraint("code", name=op.f("uq_lab_code")),
    )
    op.create_table(
        "lake",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("code", sa.String(length=12), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("owner", sa.Text(), nullable=True),
        sa.Column("county", sa.Text(), nullable=True),
        sa.Column("state_province", sa.Text(), nullable=True),
        sa.Column("country_code", sa.String(length=2), nullable=True),
        sa.Column("area_ha", sa.Double(), nullable=True),
        sa.Column("latitude", sa.Double(), nullable=True),
        sa.Column("longitude", sa.Double(), nullable=True),
        sa.Column("position_uncertainty_m", sa.Double(), nullable=True),
        sa.Column("scheme", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.Column("added_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("added_by", sa.Text(), nullable=False),
        sa.CheckConstraint("area_ha IS NULL OR area_ha > 0", name=op.f("ck_lake_area_positive")),
        sa.CheckConstraint(
            "latitude IS NULL OR latitude BETWEEN -90 AND 90", name=op.f("ck_lake_latitude_range")
        ),
        sa.CheckConstraint(
            "longitude IS NULL OR longitude BETWEEN -180 AND 180", name=op.f("ck_lake_longitude_range")
        ),
        sa.CheckConstraint(
            "position_uncertainty_m IS NULL OR position_uncertainty_m > 0",
            name=op.f("ck_lake_position_uncertainty_positive"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lake")),
        sa.UniqueConstraint("code", name=op.f("uq_lake_code")),
        sa.UniqueConstraint("uid", name=op.f("uq_lake_uid")),
    )
    op.create_table(
        "office",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("prefix", sa.String(length=2), nullable=False),
        sa.Column("station", sa.Integer(), nullable=False),
        sa.Column("next_serial", sa.Integer(), nullable=False),
        sa.Column("next_station", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=True),
        sa.CheckConstraint("length(prefix) = 2", name=op.f("ck_office_prefix_two_letters")),
        sa.CheckConstraint("next_serial BETWEEN 0 AND 1048576", name=op.f("ck_office_next_serial_range")),
        sa.CheckConstraint("station BETWEEN 0 AND 1023", name=op.f("ck_office_station_range")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_office")),
        sa.UniqueConstraint("prefix", name=op.f("uq_office_prefix")),
    )
    op.create_table(
        "panel",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=24), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("taxon", sa.Text(), nullable=False),
        sa.Column("other_taxon", sa.Text(), nullable=False),
        sa.Column("n_loci", sa.Integer(), nullable=True),
        sa.Column("markers", sa.Text(), nullable=True),
        sa.Column("source", sa.Text(), nullable=True),
        sa.CheckConstraint("n_loci IS NULL OR n_loci > 0", name=op.f("ck_panel_n_loci_positive")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_panel")),
        sa.UniqueConstraint("code", name=op.f("uq_panel_code")),
    )
    op.create_table(
        "sampling_plan",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("lake_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("scheme", sa.Text(), nullable=False),
        sa.Column("allocation", sa.Text(), nullable=False),
        sa.Column("inputs", sa.Text(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["lake_id"], ["lake.id"], name=op.f("fk_sampling_plan_lake_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sampling_plan")),
        sa.UniqueConstraint("lake_id", "number", name=op.f("uq_sampling_plan_lake_id_number")),
        sa.UniqueConstraint("uid", name=op.f("uq_sampling_plan_uid")),
    )
    with op.batch_alter_table("sampling_plan", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_sampling_plan_lake_id"), ["lake_id"], unique=False)

    op.create_table(
        "shipment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(length=24), nullable=False),
        sa.Column("lab_id", sa.Integer(), nullable=False),
        sa.Column("panel_id", sa.Integer(), nullable=True),
        sa.Column("standing", sa.Text(), nullable=False),
        sa.Column("container", sa.Text(), nullable=False),
        sa.Column("filling_order", sa.Text(), nullable=False),
        sa.Column("medium", sa.Text(), nullable=True),
        sa.Column("fill_ml", sa.Double(), nullable=True),
        sa.Column("seal", sa.Text(), nullable=True),
        sa.Column("packed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("packed_by", sa.Text(), nullable=False),
        sa.Column("carrier", sa.Text(), nullable=True),
        sa.Column("tracking", sa.Text(), nullable=True),
        sa.Column("sent_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("sent_by", sa.Text(), nullable=True),
        sa.Column("arrived_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("received_by", sa.Text(), nullable=True),
        sa.Column("arrival_condition", sa.Text(), nullable=True),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(standing = 'packed') = (sent_at IS NULL)", name=op.f("ck_shipment_sent_has_a_moment")
        ),
        sa.CheckConstraint(
            "standing IN ('packed', 'sent', 'arrived', 'closed')", name=op.f("ck_shipment_standing")
        ),
        sa.CheckConstraint("fill_ml IS NULL OR fill_ml > 0", name=op.f("ck_shipment_fill_positive")),
        sa.ForeignKeyConstraint(["lab_id"], ["lab.id"], name=op.f("fk_shipment_lab_id")),
        sa.ForeignKeyConstraint(["panel_id"], ["panel.id"], name=op.f("fk_shipment_panel_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shipment")),
        sa.UniqueConstraint("code", name=op.f("uq_shipment_code")),
    )
    with op.batch_alter_table("shipment", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_shipment_lab_id"), ["lab_id"], unique=False)

    op.create_table(
        "stocking",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("lake_id", sa.Integer(), nullable=False),
        sa.Column("stocked_on", sa.Date(), nullable=False),
        sa.Column("taxon", sa.Text(), nullable=False),
        sa.Column("n_fish", sa.Integer(), nullable=True),
        sa.Column("size", sa.Text(), nullable=True),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("permit", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.CheckConstraint("n_fish IS NULL OR n_fish > 0", name=op.f("ck_stocking_n_fish_positive")),
        sa.ForeignKeyConstraint(["lake_id"], ["lake.id"], name=op.f("fk_stocking_lake_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stocking")),
        sa.UniqueConstraint("uid", name=op.f("uq_stocking_uid")),
    )
    with op.batch_alter_table("stocking", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_stocking_lake_id"), ["lake_id"], unique=False)

    op.create_table(
        "plan_target",
        sa.Column("sampling_plan_id", sa.Integer(), nullable=False),
        sa.Column("size_class", sa.Text(), nullable=False),
        sa.Column("target", sa.Integer(), nullable=False),
        sa.CheckConstraint("target >= 0", name=op.f("ck_plan_target_target_not_negative")),
        sa.ForeignKeyConstraint(
            ["sampling_plan_id"], ["sampling_plan.id"], name=op.f("fk_plan_target_sampling_plan_id")
        ),
        sa.PrimaryKeyConstraint("sampling_plan_id", "size_class", name=op.f("pk_plan_target")),
    )
    op.create_table(
        "return_file",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shipment_id", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("reading", sa.Text(), nullable=False),
        sa.Column("n_rows", sa.Integer(), nullable=False),
        sa.Column("read_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("read_by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["shipment_id"], ["shipment.id"], name=op.f("fk_return_file_shipment_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_return_file")),
        sa.UniqueConstraint("shipment_id", "sha256", name=op.f("uq_return_file_shipment_id_sha256")),
    )
    with op.batch_alter_table("return_file", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_return_file_sha256"), ["sha256"], unique=False)

    op.create_table(
        "survey",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("code", sa.String(length=32), nullable=False),
        sa.Column("lake_id", sa.Integer(), nullable=False),
        sa.Column("surveyed_on", sa.Date(), nullable=False),
        sa.Column("gear", sa.Text(), nullable=False),
        sa.Column("effort_minutes", sa.Double(), nullable=True),
        sa.Column("crew", sa.Text(), nullable=True),
        sa.Column("species", sa.Text(), nullable=False),
        sa.Column("length_unit", sa.String(length=2), nullable=False),
        sa.Column("weight_unit", sa.String(length=2), nullable=False),
        sa.Column("scheme", sa.Text(), nullable=False),
        sa.Column("sampling_plan_id", sa.Integer(), nullable=True),
        sa.Column("permit", sa.Text(), nullable=True),
        sa.Column("permit_from", sa.Date(), nullable=True),
        sa.Column("permit_to", sa.Date(), nullable=True),
        sa.Column("protocol", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.Column("opened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("opened_by", sa.Text(), nullable=False),
        sa.CheckConstraint("length_unit IN ('mm', 'cm', 'in')", name=op.f("ck_survey_length_unit")),
        sa.CheckConstraint("weight_unit IN ('g', 'kg', 'lb', 'oz')", name=op.f("ck_survey_weight_unit")),
        sa.CheckConstraint(
            "effort_minutes IS NULL OR effort_minutes > 0", name=op.f("ck_survey_effort_positive")
        ),
        sa.ForeignKeyConstraint(["lake_id"], ["lake.id"], name=op.f("fk_survey_lake_id")),
        sa.ForeignKeyConstraint(
            ["sampling_plan_id"], ["sampling_plan.id"], name=op.f("fk_survey_sampling_plan_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_survey")),
        sa.UniqueConstraint("code", name=op.f("uq_survey_code")),
        sa.UniqueConstraint("uid", name=op.f("uq_survey_uid")),
    )
    with op.batch_alter_table("survey", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_survey_lake_id"), ["lake_id"], unique=False)

    op.create_table(
        "fish",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("survey_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("n_fish", sa.Integer(), nullable=False),
        sa.Column("species", sa.Text(), nullable=False),
        sa.Column("length", sa.Double(), nullable=True),
        sa.Column("length_unit", sa.String(length=2), nullable=True),
        sa.Column("length_mm", sa.Double(), nullable=True),
        sa.Column("weight", sa.Double(), nullable=True),
        sa.Column("weight_unit", sa.String(length=2), nullable=True),
        sa.Column("weight_g", sa.Double(), nullable=True),
        sa.Column("size_class", sa.Text(), nullable=True),
        sa.Column("relative_weight", sa.Double(), nullable=True),
        sa.Column("fate", sa.Text(), nullable=True),
        sa.Column("site", sa.Text(), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=True),
        sa.Column("source", sa.Text(), nullable=True),
        sa.Column("logged_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("logged_by", sa.Text(), nullable=False),
        sa.CheckConstraint("fate IN ('released', 'kept', 'died')", name=op.f("ck_fish_fate")),
        sa.CheckConstraint("length_unit IN ('mm', 'cm', 'in')", name=op.f("ck_fish_length_unit")),
        sa.CheckConstraint("weight_unit IN ('g', 'kg', 'lb', 'oz')", name=op.f("ck_fish_weight_unit")),
        sa.CheckConstraint("(length IS NULL) = (length_mm IS NULL)", name=op.f("ck_fish_length_has_mm")),
        sa.CheckConstraint("(length IS NULL) = (length_unit IS NULL)", name=op.f("ck_fish_length_has_unit")),
        sa.CheckConstraint("(weight IS NULL) = (weight_g IS NULL)", name=op.f("ck_fish_weight_has_g")),
        sa.CheckConstraint("(weight IS NULL) = (weight_unit IS NULL)", name=op.f("ck_fish_weight_has_unit")),
        sa.CheckConstraint("length IS NULL OR length > 0", name=op.f("ck_fish_length_positive")),
        sa.CheckConstraint(
            "length_mm IS NULL OR length_mm BETWEEN 10 AND 1200", name=op.f("ck_fish_length_mm_range")
        ),
        sa.CheckConstraint("n_fish > 0", name=op.f("ck_fish_n_fish_positive")),
        sa.CheckConstraint("number > 0", name=op.f("ck_fish_number_positive")),
        sa.CheckConstraint("weight IS NULL OR weight > 0", name=op.f("ck_fish_weight_positive")),
        sa.ForeignKeyConstraint(["survey_id"], ["survey.id"], name=op.f("fk_fish_survey_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fish")),
        sa.UniqueConstraint("id", "n_fish", name=op.f("uq_fish_id_n_fish")),
        sa.UniqueConstraint("survey_id", "number", name=op.f("uq_fish_survey_id_number")),
        sa.UniqueConstraint("survey_id", "source", name=op.f("uq_fish_survey_id_source")),
        sa.UniqueConstraint("uid", name=op.f("uq_fish_uid")),
    )
    with op.batch_alter_table("fish", schema=None) as batch_op:
        batch_op.create_index("ix_fish_survey_id_size_class", ["survey_id", "size_class"], unique=False)

    op.create_table(
        "print_run",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("uid", sa.String(length=32), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("office", sa.String(length=2), nullable=False),
        sa.Column("n_labels", sa.Integer(), nullable=False),
        sa.Column("stock", sa.Text(), nullable=False),
        sa.Column("start_slot", sa.Integer(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("survey_id", sa.Integer(), nullable=True),
        sa.Column("printed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("printed_by", sa.Text(), nullable=False),
        sa.CheckConstraint("n_labels > 0", name=op.f("ck_print_run_n_labels_positive")),
        sa.CheckConstraint("start_slot > 0", name=op.f("ck_print_run_start_slot_positive")),
        sa.ForeignKeyConstraint(["survey_id"], ["survey.id"], name=op.f("fk_print_run_survey_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_print_run")),
        sa.UniqueConstraint("number", name=op.f("uq_print_run_number")),
        sa.UniqueConstraint("uid", name=op.f("uq_print_run_uid")),
    )
    with op.batch_alter_table("print_run", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_print_run_survey_id"), ["survey_id"], unique=False)

    op.create_table(
        "vial",
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
        sa.CheckConstraint(
            "(fish_id IS NOT NULL) = (standing IN ('filled', 'lost'))", name=op.f("ck_vial_filled_has_a_fish")
        ),
        sa.CheckConstraint(
            "(standing = 'void') = (void_why IS NOT NULL)", name=op.f("ck_vial_void_has_a_reason")
        ),
        sa.CheckConstraint("role IN ('sample', 'blind_duplicate', 'blank')", name=op.f("ck_vial_role")),
        sa.CheckConstraint(
            "standing IN ('printed', 'filled', 'blank', 'void', 'lost')", name=op.f("ck_vial_standing")
        ),
        sa.CheckConstraint("tissue IN ('mouth_swab', 'fin_clip')", name=op.f("ck_vial_tissue")),
        sa.CheckConstraint("(fish_id IS NULL) = (fish_n IS NULL)", name=op.f("ck_vial_fish_with_its_n")),
        sa.CheckConstraint("fish_n IS NULL OR fish_n = 1", name=op.f("ck_vial_one_fish_a_vial")),
        sa.ForeignKeyConstraint(
            ["fish_id", "fish_n"], ["fish.id", "fish.n_fish"], name=op.f("fk_vial_fish_id_fish_n")
        ),
        sa.ForeignKeyConstraint(["print_run_id"], ["print_run.id"], name=op.f("fk_vial_print_run_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_vial")),
        sa.UniqueConstraint("code", name=op.f("uq_vial_code")),
    )
    with op.batch_alter_table("vial", schema=None) as batch_op:
        batch_op.create_index("ix_vial_fish_id", ["fish_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_vial_print_run_id"), ["print_run_id"], unique=False)

    op.create_table(
        "finding",
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
        sa.CheckConstraint(
            "decision IN ('accept', 'reject', 'match', 'resample', 'close')", name=op.f("ck_finding_decision")
        ),
        sa.CheckConstraint(
            "(decision IS NULL) = (decided_at IS NULL)", name=op.f("ck_finding_decision_has_a_moment")
        ),
        sa.CheckConstraint(
            "(decision IS NULL) = (decided_by IS NULL)", name=op.f("ck_finding_decision_has_a_person")
        ),
        sa.CheckConstraint(
            "(decision IS NULL) = (why IS NULL)", name=op.f("ck_finding_decision_has_a_reason")
        ),
        sa.ForeignKeyConstraint(["fish_id"], ["fish.id"], name=op.f("fk_finding_fish_id")),
        sa.ForeignKeyConstraint(
            ["return_file_id"], ["return_file.id"], name=op.f("fk_finding_return_file_id")
        ),
        sa.ForeignKeyConstraint(["shipment_id"], ["shipment.id"], name=op.f("fk_finding_shipment_id")),
        sa.ForeignKeyConstraint(["survey_id"], ["survey.id"], name=op.f("fk_finding_survey_id")),
        sa.ForeignKeyConstraint(["vial_id"], ["vial.id"], name=op.f("fk_finding_vial_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_finding")),
        sa.UniqueConstraint("key", name=op.f("uq_finding_key")),
        sa.UniqueConstraint("number", name=op.f("uq_finding_number")),
    )
    with op.batch_alter_table("finding", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_finding_kind"), ["kind"], unique=False)
        batch_op.create_index(batch_op.f("ix_finding_shipment_id"), ["shipment_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_finding_survey_id"), ["survey_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_finding_vial_id"), ["vial_id"], unique=False)

    op.create_table(
        "return_row",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("return_file_id", sa.Integer(), nullable=False),
        sa.Column("row_number", sa.Integer(), nullable=False),
        sa.Column("code_as_written", sa.Text(), nullable=True),
        sa.Column("cells", sa.Text(), nullable=False),
        sa.Column("vial_id", sa.Integer(), nullable=True),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "outcome IN ('typed', 'failed', 'unexpected', 'duplicate', 'conflicting', 'doubtful')",
            name=op.f("ck_return_row_outcome"),
        ),
        sa.ForeignKeyConstraint(
            ["return_file_id"], ["return_file.id"], name=op.f("fk_return_row_return_file_id")
        ),
        sa.ForeignKeyConstraint(["vial_id"], ["vial.id"], name=op.f("fk_return_row_vial_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_return_row")),
        sa.UniqueConstraint(
            "return_file_id", "row_number", name=op.f("uq_return_row_return_file_id_row_number")
        ),
    )
    with op.batch_alter_table("return_row", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_return_row_vial_id"), ["vial_id"], unique=False)

    op.create_table(
        "shipment_position",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("shipment_id", sa.Integer(), nullable=False),
        sa.Column("vial_id", sa.Integer(), nullable=False),
        sa.Column("container_number", sa.Integer(), nullable=False),
        sa.Column("position", sa.Text(), nullable=False),
        sa.Column("arrival", sa.Text(), nullable=True),
        sa.Column("arrival_note", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "arrival IN ('ok', 'missing', 'broken', 'leaked')", name=op.f("ck_shipment_position_arrival")
        ),
        sa.ForeignKeyConstraint(
            ["shipment_id"], ["shipment.id"], name=op.f("fk_shipment_position_shipment_id")
        ),
        sa.ForeignKeyConstraint(["vial_id"], ["vial.id"], name=op.f("fk_shipment_position_vial_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shipment_position")),
        sa.UniqueConstraint(
            "shipment_id",
            "container_number",
            "position",
            name=op.f("uq_shipment_position_shipment_id_container_number_position"),
        ),
        sa.UniqueConstraint("shipment_id", "vial_id", name=op.f("uq_shipment_position_shipment_id_vial_id")),
    )
    with op.batch_alter_table("shipment_position", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_shipment_position_vial_id"), ["vial_id"], unique=False)

    op.create_table(
        "result",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("vial_id", sa.Integer(), nullable=False),
        sa.Column("return_row_id", sa.Integer(), nullable=True),
        sa.Column("panel_id", sa.Integer(), nullable=True),
        sa.Column("outcome", sa.Text(), nullable=False),
        sa.Column("standing", sa.Text(), nullable=False),
        sa.Column("q", sa.Double(), nullable=True),
        sa.Column("other_q", sa.Double(), nullable=True),
        sa.Column("third_q", sa.Double(), nullable=True),
        sa.Column("heterozygosity", sa.Double(), nullable=True),
        sa.Column("n_loci", sa.Integer(), nullable=True),
        sa.Column("call_rate", sa.Double(), nullable=True),
        sa.Column("lab_class", sa.Text(), nullable=True),
        sa.Column("failure", sa.Text(), nullable=True),
        sa.Column("fish_id", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "fish_id IS NULL OR standing = 'current'", name=op.f("ck_result_only_current_speaks")
        ),
        sa.CheckConstraint(
            "outcome = 'failed' OR q IS NOT NULL OR standing <> 'current'", name=op.f("ck_result_typed_has_q")
        ),
        sa.CheckConstraint("outcome = 'typed' OR q IS NULL", name=op.f("ck_result_failed_has_no_q")),
        sa.CheckConstraint("outcome IN ('typed', 'failed')", name=op.f("ck_result_outcome")),
        sa.CheckConstraint(
            "standing IN ('current', 'superseded', 'rejected', 'held')", name=op.f("ck_result_standing")
        ),
        sa.CheckConstraint(
            "call_rate IS NULL OR call_rate BETWEEN 0 AND 1", name=op.f("ck_result_call_rate_range")
        ),
        sa.CheckConstraint(
            "heterozygosity IS NULL OR heterozygosity BETWEEN 0 AND 1",
            name=op.f("ck_result_heterozygosity_range"),
        ),
        sa.CheckConstraint("n_loci IS NULL OR n_loci > 0", name=op.f("ck_result_n_loci_positive")),
        sa.CheckConstraint(
            "other_q IS NULL OR other_q BETWEEN 0 AND 1", name=op.f("ck_result_other_q_range")
        ),
        sa.CheckConstraint("q IS NULL OR q BETWEEN 0 AND 1", name=op.f("ck_result_q_range")),
        sa.CheckConstraint(
            "third_q IS NULL OR third_q BETWEEN 0 AND 1", name=op.f("ck_result_third_q_range")
        ),
        sa.ForeignKeyConstraint(["fish_id"], ["fish.id"], name=op.f("fk_result_fish_id")),
        sa.ForeignKeyConstraint(["panel_id"], ["panel.id"], name=op.f("fk_result_panel_id")),
        sa.ForeignKeyConstraint(["return_row_id"], ["return_row.id"], name=op.f("fk_result_return_row_id")),
        sa.ForeignKeyConstraint(["vial_id"], ["vial.id"], name=op.f("fk_result_vial_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_result")),
        sa.UniqueConstraint("fish_id", name=op.f("uq_result_fish_id")),
    )
    with op.batch_alter_table("result", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_result_return_row_id"), ["return_row_id"], unique=False)
        batch_op.create_index("ix_result_vial_id_standing", ["vial_id", "standing"], unique=False)

    op.create_table(
        "genotype",
        sa.Column("result_id", sa.Integer(), nullable=False),
        sa.Column("marker", sa.Text(), nullable=False),
        sa.Column("n_alleles", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "n_alleles IS NULL OR n_alleles BETWEEN 0 AND 2", name=op.f("ck_genotype_n_alleles_range")
        ),
        sa.ForeignKeyConstraint(["result_id"], ["result.id"], name=op.f("fk_genotype_result_id")),
        sa.PrimaryKeyConstraint("result_id", "marker", name=op.f("pk_genotype")),
    )
    for statement in TRIGGERS[op.get_bind().dialect.name]:
        op.execute(statement)
