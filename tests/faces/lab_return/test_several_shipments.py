"""One file over several shipments is read once, each row to its own."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from conftest import Runner
from office_support import an_office
from reconcile_support import document, of_kind, speaking

from geneticlog.rules.vialcode import mint


def reconciled_as(run: Runner, shipment: str) -> dict[str, dict[str, Any]]:
    return {one["finding"]: one for one in document(run, "reconcile", shipment)["findings"]}


STRANGER = mint("BG", 40_000) or mint("BG", 40_001)


def two_shipments(run: Runner) -> list[str]:
    vials = an_office(run.database, n_fish=6)
    run("shipment", "pack", "SH-1", "--lab", "QUILL", "--panel", "QB38", *vials[:4])
    run("shipment", "pack", "SH-2", "--lab", "QUILL", "--panel", "QB38", *vials[4:])
    for code in ("SH-1", "SH-2"):
        run("shipment", "send", code, "--at", "2026-06-01")
    return vials


def test_each_row_goes_to_its_own_shipment(run: Runner, tmp_path: Path) -> None:
    vials = two_shipments(run)
    file = tmp_path / "both.csv"
    rows = [f"{vial},{k / 76:.6f},38" for k, vial in enumerate(vials, start=10)]
    file.write_text(
        "\n".join(["Sample ID,Florida proportion,Loci scored", *rows[::-1], f"{STRANGER},0.5,38"]) + "\n"
    )
    one, two = document(run, "return", "read", file, "--shipment", "SH-1", "--shipment", "sh-2")["returns"]
    assert (one["shipment"], one["n_rows"], one["n_typed"], one["n_unexpected"]) == ("SH-1", 5, 4, 1)
    assert (two["shipment"], two["n_rows"], two["n_typed"], two["n_unexpected"]) == ("SH-2", 2, 2, 0)
    assert all(speaking(run, vial)[0][0] == "current" for vial in vials)
    for code in ("SH-1", "SH-2"):
        counts = document(run, "reconcile", code)["counts"]
        assert counts["matched"] == counts["sent"]
    # again it changes nothing, and it is taken back as one
    again = document(run, "return", "read", file, "--shipment", "SH-1", "--shipment", "SH-2")["returns"]
    assert all(one["already_read_at"] for one in again)
    gone = document(run, "return", "withdraw", file, "--why", "another unit")["withdrawn"]
    assert [one["n_results"] for one in gone] == [4, 2]
    assert all(speaking(run, vial)[0][0] == "superseded" for vial in vials)


def test_rows_that_waited_because_one_shipment_was_named_close_when_the_other_is_named_too(
    run: Runner, tmp_path: Path
) -> None:
    vials = two_shipments(run)
    file = tmp_path / "both.csv"
    rows = [f"{vial},{k / 76:.6f},38" for k, vial in enumerate(vials, start=10)]
    file.write_text(
        "\n".join(["Sample ID,Florida proportion,Loci scored", *rows, f"{STRANGER},0.5,38"]) + "\n"
    )
    run("return", "read", file, "--shipment", "SH-2")
    waiting = of_kind(reconciled_as(run, "SH-2"), "unexpected")
    assert len(waiting) == 5
    run("return", "read", file, "--shipment", "SH-1", "--shipment", "SH-2")
    after = reconciled_as(run, "SH-2")
    still_open = [name for name in waiting if after[name]["decision"] is None]
    assert [STRANGER in after[name]["text"] for name in still_open] == [True]
    closed = next(after[name] for name in waiting if name not in still_open)
    assert closed["why"] == "the row was read for SH-1"
    run("return", "withdraw", file, "--shipment", "SH-1", "--why", "too early")
    again = reconciled_as(run, "SH-2")
    assert sum(again[name]["decision"] is None for name in waiting) == 5


def test_a_preview_for_several_shipments_asks_what_reading_for_each_asks(run: Runner, tmp_path: Path) -> None:
    vials = an_office(run.database, n_fish=24)
    for code, some in (("SH-1", vials[:12]), ("SH-2", vials[12:])):
        run("shipment", "pack", code, "--lab", "QUILL", "--panel", "QB38", *some)
        run("shipment", "send", code, "--at", "2026-06-01")
    both = ("--shipment", "SH-1", "--shipment", "SH-2")
    rows = [f"{vial},{k / 76:.4f},38" for k, vial in enumerate(vials[:12], start=10)]
    rows += [f"{vial},0.2105,38" for vial in vials[12:]]  # those of one shipment are all alike
    file = tmp_path / "both.csv"
    file.write_text("\n".join(["Sample ID,Florida proportion,Loci scored", *rows]) + "\n")
    (question,) = document(run, "return", "preview", file, *both)["questions"]
    assert question["text"] in run("return", "read", file, *both, fails=5).stderr
    answer = ("--harmless", "one share for all")
    assert document(run, "return", "preview", file, *both, *answer)["questions"] == []
    assert len(document(run, "return", "read", file, *both, *answer)["returns"]) == 2


def test_the_title_of_each_block_names_its_shipment_and_is_no_question(run: Runner, tmp_path: Path) -> None:
    vials = two_shipments(run)
    file = tmp_path / "blocks.csv"
    rows = [f"{vial},{k / 76:.6f},38" for k, vial in enumerate(vials, start=10)]
    head = "Sample ID,Florida proportion,Loci scored"
    file.write_text(
        "\n".join(["Shipment SH-1", head, *rows[:4], "", "Shipment SH-2", head, *rows[4:]]) + "\n"
    )
    both = ("--shipment", "SH-1", "--shipment", "SH-2")
    seen = document(run, "return", "preview", file, *both)
    assert (seen["questions"], seen["n_typed"], seen["n_held"]) == ([], 6, 0)
    done = document(run, "return", "read", file, *both)["returns"]
    assert [(one["n_typed"], one["n_held"], one["n_unexpected"]) for one in done] == [(4, 0, 0), (2, 0, 0)]
    # read for one of them, the title of the other is a question
    assert "names another shipment" in run("return", "preview", file, "--shipment", "SH-1").stdout
    # and so is a third, which is not in the file
    strange = tmp_path / "strange.csv"
    strange.write_text(file.read_text().replace("Shipment SH-2", "Shipment SH-7"))
    assert "names another shipment" in run("return", "read", strange, *both, fails=5).stderr


def test_shipments_that_cannot_share_a_file_are_refused(run: Runner, tmp_path: Path) -> None:
    vials = two_shipments(run)
    run("lab", "add", "REED", "Reed Lab (invented)")
    run("correct", "shipment", "SH-2", "--lab", "REED", "--why", "the waybill says so")
    file = tmp_path / "both.csv"
    file.write_text(f"Sample ID,Florida proportion\n{vials[0]},0.5\n{vials[4]},0.25\n{vials[5]},0.25\n")
    refused = run("return", "read", file, "--shipment", "SH-1", "--shipment", "SH-2", fails=4).stderr
    assert "SH-1 went to lab QUILL and SH-2 to REED" in refused
    told = run("return", "read", file, "--shipment", "SH-1").stdout
    assert "--shipment SH-1 --shipment SH-2" in told
    run("return", "read", file, "--shipment", "SH-1", "--shipment", "SH-9", fails=3)
