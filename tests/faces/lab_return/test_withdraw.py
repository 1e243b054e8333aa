"""A reading is taken back whole, and a single value is corrected; nothing is lost of either."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import Runner
from reconcile_support import document, messy, of_kind, q, read, reconciled, sent, speaking, typed

from geneticlog.rules.vialcode import printed


def withdraw(run: Runner, file: object, why: str = "read in the wrong unit") -> dict[str, object]:
    (done,) = document(run, "return", "withdraw", file, "--why", why)["withdrawn"]
    assert isinstance(done, dict)
    return done


def test_a_withdrawn_reading_leaves_nothing_and_its_bytes_can_be_read_again(
    run: Runner, tmp_path: Path
) -> None:
    vials = messy(run, tmp_path)
    file = tmp_path / "return.csv"
    before, findings = reconciled(run)
    (conflict,) = of_kind(findings, "conflicting")
    (stranger,) = of_kind(findings, "unexpected")
    run("decide", conflict, "accept", "--row", 6, "--why", "the lab confirmed row 6")
    run("decide", stranger, "match", vials[2], "--why", "the lab misread the label")
    assert speaking(run, vials[2])[0][0] == "current"

    assert "no reading of other.csv" in run("return", "withdraw", "other.csv", "--why", "x", fails=3).stderr
    assert "reason" in run("return", "withdraw", file, "--why", " ", fails=4).stderr
    done = withdraw(run, file)
    assert (done["n_results"], done["n_decisions"], done["n_back"]) == (
        7,
        2,
        0,
    )  # one of them matched by hand
    counts, findings = reconciled(run)
    assert (counts["sent"], counts["returned"]) == (6, 0)
    assert not [name for name, one in findings.items() if one["decision"] is None]
    assert "No return is read yet" in run("reconcile", "SHIP-1").stdout
    assert document(run, "coverage", "HERON-2026")["classes"][0]["n_resulted"] == 0
    for vial in vials:
        assert all(standing == "superseded" for standing, _ in speaking(run, vial))
    life = run("history", vials[4]).stdout
    assert "now withdrawn" in life
    assert "the reading of return.csv was withdrawn" in life
    assert "nothing to decide" in run("decide", conflict, "reject", "--why", "x", fails=4).stderr
    listed = document(run, "return", "list")["returns"]
    assert [(one["withdrawn_by"], one["withdrawn_why"]) for one in listed] == [
        ("Ada Test", "read in the wrong unit")
    ]
    assert (
        "no reading of return.csv is in force"
        in run("return", "withdraw", "return.csv", "--why", "x", fails=3).stderr
    )
    shown = run("return", "show", "return.csv").stdout
    assert "by Ada Test: read in the wrong unit. None of it counts." in " ".join(shown.split())
    assert vials[0] in shown
    assert document(run, "return", "show", file)["withdrawn_by"] == "Ada Test"

    run("return", "read", file, "--shipment", "SHIP-1")
    again, findings = reconciled(run)
    assert again == before
    assert document(run, "return", "show", file)["withdrawn_by"] is None
    assert len(of_kind({k: v for k, v in findings.items() if v["decision"] is None}, "conflicting")) == 1


def test_what_a_withdrawn_reading_had_replaced_counts_again(run: Runner, tmp_path: Path) -> None:
    a, b, c, d, *_ = sent(run)
    read(run, tmp_path, [typed(a, 10), typed(b, 20), (c, "0.2", "0.9", 38)], "first.csv")
    read(run, tmp_path, [typed(a, 11), typed(b, 21), typed(c, 30), typed(d, 40)], "second.csv")
    read(run, tmp_path, [typed(a, 12), typed(d, 40)], "third.csv")
    rests = run("return", "withdraw", "second.csv", "--why", "x", fails=4).stderr
    assert "third.csv (1 vial); withdraw first: third.csv" in rests  # of d it said the same again
    withdraw(run, "third.csv")
    read(run, tmp_path, [typed(a, 12), (d, "ND", "", "")], "third2.csv")
    # the second goes: of a the third still counts, of b and c the first does again (c as it was: held)
    done = withdraw(run, "second.csv", "the lab sent it for another lake")
    assert done["n_back"] == 2
    assert speaking(run, a)[0] == ("superseded", pytest.approx(10 / 76, abs=1e-6))
    assert speaking(run, a)[-1] == ("current", pytest.approx(12 / 76, abs=1e-6))
    assert [standing for standing, _ in speaking(run, b)] == ["current", "superseded"]
    assert [standing for standing, _ in speaking(run, c)] == ["held", "superseded"]
    # and when the third goes, the first of a counts again, although the second had replaced it
    withdraw(run, "third2.csv")
    assert [standing for standing, _ in speaking(run, a)] == ["current", *["superseded"] * 3]


def test_one_value_is_corrected_and_the_old_one_stays_in_the_history(run: Runner, tmp_path: Path) -> None:
    a, b, c, d, *_ = sent(run)
    read(run, tmp_path, [typed(a, 10), (b, "ND", "", ""), typed(c, 30)])

    def correct(*arguments: object, fails: int = 0) -> str:
        done = run("correct", "result", *arguments, "--why", "the lab's letter of 3 June", fails=fails)
        return done.stdout + done.stderr

    assert "q: 0.131579 -> 0.25" in correct(a, "--q", "25 %", "--heterozygosity", f"{11 / 38:.6f}")
    assert "wrong parity" in correct(a, "--q", q(20), fails=4)
    assert speaking(run, a) == [("current", 0.25)]
    life = run("history", a).stdout
    assert "result corrected: H: 0.263158 -> 0.289474, q: 0.131579 -> 0.25" in life
    assert "the lab's letter of 3 June" in life
    assert "already so" in correct(a, "--q", "0.25")
    # a failed sample that has a value after all, and the other way round
    assert "give its --q" in correct(b, "--heterozygosity", "0.2", fails=4)
    correct(b, "--q", "0.5", "--n-loci", 38)
    assert speaking(run, b) == [("current", 0.5)]
    correct(c, "--failed", "contaminated")
    assert speaking(run, c) == [("current", None)]
    counts, _ = reconciled(run)
    assert (counts["matched"], counts["failed"]) == (2, 1)
    # what cannot be
    assert "has no result to correct" in correct(d, "--q", "0.5", fails=3)
    assert "write 21 % or 0.21" in correct(a, "--q", "45", fails=4)
    assert "more than q" in correct(a, "--heterozygosity", "0.9", fails=4)
    assert "does not equal a whole number of alleles" in correct(a, "--q", "0.2567", fails=4)
    correct(a, "--q", "0.2567", "--yes")
    assert f"Result of {printed(a)}" not in correct(a, "--q", q(21))
    run("correct", "result", a, "--why", "x", fails=2)


def test_a_value_that_cannot_be_read_is_entered_beside_the_other_share_and_then_accepted(
    run: Runner, tmp_path: Path
) -> None:
    a, b, *rest = sent(run, n_fish=6)
    rows = [[a, "25.0*", "75.0"], [b, "40.0", "60.0"], *([vial, "50.0", "50.0"] for vial in rest)]
    file = tmp_path / "return.csv"
    lines = ["Sample,Florida %,Northern %", *map(",".join, rows)]
    file.write_text("\n".join(lines), encoding="utf-8")
    run("return", "read", file, "--shipment", "SHIP-1")
    (finding,) = of_kind(reconciled(run)[1], "unreadable_value")
    refused = " ".join(run("decide", finding, "accept", "--why", "x", fails=4).stderr.split())
    assert f"geneticlog correct result {a} --q" in refused
    for vial, q_said, changed in ((a, "25 %", ["q"]), (b, "30 %", ["q", "other_q"])):
        done = document(run, "correct", "result", vial, "--q", q_said, "--why", "by telephone")
        assert list(done["changes"]) == changed
    assert done["changes"]["other_q"] == {"old": 0.6, "new": pytest.approx(0.7)}
    run("decide", finding, "accept", "--why", "by telephone")
    assert speaking(run, a) == [("current", pytest.approx(0.25))]
