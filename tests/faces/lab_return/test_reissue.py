"""A file that is issued again is compared row by row: nothing that was decided is asked twice."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from conftest import Runner
from reconcile_support import document, messy, of_kind, q, read, reconciled, sent, speaking, typed
from tests_support import on_sqlite

from geneticlog.rules.vialcode import mint


def read_as(
    run: Runner, folder: Path, name: str, heading: str, rows: list[str], *answers: str
) -> dict[str, Any]:
    (folder / name).write_text("\n".join([heading, *rows]) + "\n")
    done = document(run, "return", "read", folder / name, "--shipment", "SHIP-1", *answers)
    assert isinstance(done, dict)
    return done


def decisions(run: Runner) -> dict[str, str | None]:
    return {name: one["decision"] for name, one in reconciled(run)[1].items()}


def test_the_same_in_another_form_changes_nothing_and_asks_nothing(run: Runner, tmp_path: Path) -> None:
    vials = messy(run, tmp_path)
    counts, findings = reconciled(run)
    (conflict,) = of_kind(findings, "conflicting")
    (stranger,) = of_kind(findings, "unexpected")
    (failed,) = of_kind(findings, "failed")
    (missing,) = of_kind(findings, "missing")
    run("decide", conflict, "accept", "--row", 6, "--why", "the lab confirmed row 6")
    run("decide", stranger, "match", vials[2], "--why", "the lab misread the label")
    run("decide", failed, "resample", "--why", "a dry swab")
    before, stood = decisions(run), {vial: speaking(run, vial) for vial in vials}
    text = (tmp_path / "return.csv").read_text().splitlines()
    # the columns in another order, percent, one digit fewer
    rows = []
    for line in text[1:]:
        code, share, h, loci = line.split(",")
        percent = f"{100 * float(share):.3f} %" if share != "ND" else "ND"
        rows.append(";".join([loci, percent, f"{100 * float(h):.2f} %" if h else "", code]))
    done = read_as(run, tmp_path, "again.csv", "Loci scored;Florida %;Heterozygosity %;Sample ID", rows)
    assert (done["n_unchanged"], done["n_superseded"], done["findings"]) == (8, 0, [])
    assert decisions(run) == before
    assert {vial: speaking(run, vial) for vial in vials} == stood
    after, _ = reconciled(run)
    assert (after["matched"], after["failed"], after["missing"]) == (5, 1, 0)
    assert counts["matched"] == 3
    assert missing in before


def test_more_digits_replace_without_a_question_and_keep_the_decision(run: Runner, tmp_path: Path) -> None:
    a, b, c, *_ = sent(run)
    heading = "Sample ID,Florida proportion,Loci scored"
    read_as(run, tmp_path, "short.csv", heading, [f"{a},0.13,30", f"{b},0.26,38", f"{c},ND,"])
    (low,) = of_kind(reconciled(run)[1], "low_call_rate")
    run("decide", low, "accept", "--why", "enough for the lake")
    done = read_as(run, tmp_path, "long.csv", heading, [f"{a},0.133333,30", f"{b},0.263158,38", f"{c},ND,"])
    assert (done["n_unchanged"], done["n_superseded"]) == (1, 2)
    _, findings = reconciled(run)
    assert not of_kind(findings, "reissue_changed")
    assert speaking(run, a)[-1] == ("current", pytest.approx(0.133333))
    carried = [findings[name] for name in of_kind(findings, "low_call_rate")]
    assert [one["decision"] for one in carried] == ["accept", "accept"]
    assert "as decided on" in carried[1]["why"]
    assert "enough for the lake" in carried[1]["why"]


@pytest.mark.parametrize(
    ("heading", "unit", "again", "n_other"),
    [
        ("Florida share", "fraction", ("0.4737", "0.3289", "0.2105"), 2),
        ("Florida alleles", "fraction", ("36/76", "25 of 76", "16/76"), 2),
        ("Florida alleles", "count", ("16", "25", "16"), 1),
        ("Florida %", "percent", ("21.05", "6.58", "21.05"), 0),
        ("Florida share", "fraction", ("0.21", "0.07", "0.21"), 0),
    ],
)
@on_sqlite
def test_a_count_is_exact_when_a_later_file_is_held_against_it(
    run: Runner, tmp_path: Path, heading: str, unit: str, again: tuple[str, ...], n_other: int
) -> None:
    vials = sent(run)[:3]
    counts = [f"{vial},{n},38" for vial, n in zip(vials, (16, 5, 16), strict=True)]
    read_as(run, tmp_path, "first.csv", "Sample,Florida alleles,Loci scored", counts, "--unit", "q=count")
    rows = [f"{vial},{cell},38" for vial, cell in zip(vials, again, strict=True)]
    read_as(run, tmp_path, "again.csv", f"Sample,{heading},Loci scored", rows, "--unit", f"q={unit}")
    assert len(of_kind(reconciled(run)[1], "reissue_changed")) == n_other


@pytest.mark.parametrize(
    ("heading", "beside", "expected"),
    [
        ("Het,Loci", "0.2,38", "held"),  # more than before, and no room for the lab's word
        ("Het,Loci,Remarks", "0.2,38,pass", "current"),  # the lab takes its word back
        ("Het,Loci,Remarks", "0.2,38,contaminated", "held"),
        ("Loci", "38", "held"),  # nothing new: what is held stays so
    ],
)
@on_sqlite
def test_leaving_out_the_column_of_remarks_takes_no_doubt_back(
    run: Runner, tmp_path: Path, heading: str, beside: str, expected: str
) -> None:
    a, b, *_ = sent(run)
    first = [f"{a},0.2105,38,contaminated", f"{b},0.3289,38,pass"]
    read_as(run, tmp_path, "first.csv", "Sample,Florida,Loci,Remarks", first)
    later = [f"{a},0.2105,{beside}", f"{b},0.3289,{beside.replace('contaminated', 'pass')}"]
    read_as(run, tmp_path, "later.csv", f"Sample,Florida,{heading}", later)
    assert speaking(run, a)[-1] == (expected, 0.2105)
    assert speaking(run, b)[-1] == ("current", 0.3289)
    still_open = [one for one in reconciled(run)[1].values() if one["decision"] is None and a in one["text"]]
    assert len(still_open) == (expected == "held")
    if heading == "Het,Loci":
        assert "'contaminated'" in still_open[0]["text"]
        read_as(run, tmp_path, "third.csv", "Sample,Florida,Het,Loci,Call rate", [f"{a},0.2105,0.2,38,1"])
        assert speaking(run, a)[-1] == ("held", 0.2105)


@pytest.mark.parametrize(
    ("decision", "then"),
    [("", "held"), ("accept", "current"), ("reject", "rejected"), ("resample", "rejected")],
)
def test_a_later_file_that_doubts_the_value_that_counts_holds_it(
    run: Runner, tmp_path: Path, decision: str, then: str
) -> None:
    a, b, *_ = sent(run)
    read_as(run, tmp_path, "first.csv", "Sample,Florida,Loci", [f"{a},0.2105,38", f"{b},0.3289,38"])
    rows = [f"{a},0.2105,38,contaminated", f"{b},0.3289,38,pass"]
    read_as(run, tmp_path, "later.csv", "Sample,Florida,Loci,Remarks", rows)
    counts, findings = reconciled(run)
    assert (counts["held"], counts["matched"]) == (1, 1)
    (doubt,) = of_kind(findings, "lab_says_no")
    if decision:
        run("decide", doubt, decision, "--why", "the lab says so")
    assert [standing for standing, _ in speaking(run, a)] == ["superseded", then]
    assert speaking(run, b) == [("current", 0.3289)]
    run("return", "withdraw", tmp_path / "later.csv", "--why", "another vial was meant")
    assert speaking(run, a)[0] == ("current", 0.2105)


@pytest.mark.parametrize("decision", ["", "accept", "reject"])
@on_sqlite
def test_a_later_file_that_doubts_another_value_says_what_counts_meanwhile(
    run: Runner, tmp_path: Path, decision: str
) -> None:
    a, *_ = sent(run)
    read_as(run, tmp_path, "first.csv", "Sample,Florida,Loci", [f"{a},0.2105,38"])
    read_as(run, tmp_path, "later.csv", "Sample,Florida,Loci,Remarks", [f"{a},0.5000,38,contaminated"])
    findings = reconciled(run)[1]
    (doubt,) = of_kind(findings, "lab_says_no")
    assert findings[doubt]["text"].endswith(
        "The earlier result (q 0.2105) counts until this is decided, and after a reject."
    )
    if decision:
        run("decide", doubt, decision, "--why", "the lab says so")
    expected = {
        "": ["current", "held"],
        "accept": ["superseded", "current"],
        "reject": ["current", "rejected"],
    }
    assert [standing for standing, _ in speaking(run, a)] == expected[decision]


def test_what_a_later_file_mends_closes_itself_and_opens_again_with_its_withdrawal(
    run: Runner, tmp_path: Path
) -> None:
    a, b, c, d, *_ = sent(run)
    stranger = mint("BG", 40_000) or mint("BG", 40_001)
    read(
        run, tmp_path, [typed(a, 10), (b, "1.7", "", 38), typed(c, 30), (stranger, q(3), "", 38)], "first.csv"
    )
    _, findings = reconciled(run)
    (impossible,) = of_kind(findings, "impossible_value")
    (strange,) = of_kind(findings, "unexpected")
    missing = next(name for name in of_kind(findings, "missing") if findings[name]["vial"] == d)
    read(run, tmp_path, [typed(a, 10), typed(b, 20), typed(c, 31), typed(d, 40)], "second.csv")
    there = {one["finding"]: one for one in document(run, "finding", "list")["findings"]}
    assert there[missing]["closed_itself"]  # at once, not only when somebody reconciles
    _, findings = reconciled(run)
    assert (findings[impossible]["decision"], findings[impossible]["closed_itself"]) == ("close", True)
    assert "second.csv replaces" in findings[impossible]["why"]
    assert findings[strange]["closed_itself"]  # its row is no longer in the file
    (changed,) = of_kind(findings, "reissue_changed")
    assert findings[changed]["vial"] == c
    assert [standing for standing, _ in speaking(run, b)] == ["superseded", "current"]
    assert "closed by itself" in run("finding", "list").stdout
    run("return", "withdraw", "second.csv", "--why", "it was for another lake")
    _, findings = reconciled(run)
    assert findings[impossible]["decision"] is None
    assert findings[strange]["decision"] is None
    assert findings[missing]["decision"] is None
    assert speaking(run, b)[0][0] == "held"


def test_a_value_said_again_after_a_failure_ends_the_doubt(run: Runner, tmp_path: Path) -> None:
    a, *_ = sent(run)
    read(run, tmp_path, [typed(a, 10)], "first.csv")
    read(run, tmp_path, [(a, "ND", "", "")], "second.csv")
    (doubt,) = of_kind(reconciled(run)[1], "failed_after_result")
    done = read_as(run, tmp_path, "third.csv", "Sample ID,Florida proportion", [f"{a},0.132"])
    assert done["n_unchanged"] == 1
    assert reconciled(run)[1][doubt]["closed_itself"]
    assert [standing for standing, _ in speaking(run, a)] == ["current", "superseded"]


def test_a_reissue_that_lacks_samples_of_the_file_before_asks_about_each(run: Runner, tmp_path: Path) -> None:
    vials = sent(run)
    e, f = vials[4:]
    read(run, tmp_path, [typed(vial, 10 + i) for i, vial in enumerate(vials)], "first.csv")
    read(run, tmp_path, [typed(vial, 10 + i) for i, vial in enumerate(vials[:4])], "second.csv")
    _, findings = reconciled(run)
    about = {findings[name]["vial"]: name for name in of_kind(findings, "left_out")}
    assert set(about) == {e, f}
    assert findings[about[e]]["text"].startswith(f"{e} was q 0.1842")
    assert (
        "in first.csv and is not in second.csv, which has 4 of that file's 6 samples again"
        in (findings[about[e]]["text"])
    )
    assert speaking(run, e) == [("current", pytest.approx(14 / 76, abs=1e-6))]
    # a further file without them asks nothing twice
    read(
        run, tmp_path, [*[typed(v, 10 + i) for i, v in enumerate(vials[:4])], ("x", "", "", "")], "third.csv"
    )
    assert len(of_kind(reconciled(run)[1], "left_out")) == 2
    run("decide", about[e], "reject", "--why", "the lab says: contaminated")
    assert [standing for standing, _ in speaking(run, e)] == ["rejected"]
    # one that brings a sample back ends the doubt about it
    read(run, tmp_path, [*[typed(v, 10 + i) for i, v in enumerate(vials[:4])], typed(f, 15)], "fourth.csv")
    _, findings = reconciled(run)
    assert findings[about[f]]["closed_itself"]
    assert findings[about[e]]["decision"] == "reject"
    run("return", "withdraw", "second.csv", "--why", "a draft")
    assert [standing for standing, _ in speaking(run, e)] == ["current"]


@pytest.mark.parametrize("again", [(0, 1), (0, 1, 2)])
def test_a_rerun_of_half_the_samples_or_fewer_leaves_nothing_out(
    run: Runner, tmp_path: Path, again: tuple[int, ...]
) -> None:
    vials = sent(run)
    read(run, tmp_path, [typed(vial, 10 + i) for i, vial in enumerate(vials)], "first.csv")
    read(run, tmp_path, [typed(vials[i], 11 + i) for i in again], "second.csv")
    assert not of_kind(reconciled(run)[1], "left_out")


def test_a_correction_by_hand_outlives_a_reissue_that_says_what_the_row_said(
    run: Runner, tmp_path: Path
) -> None:
    a, b, *_ = sent(run)
    read(run, tmp_path, [typed(a, 10), typed(b, 20)], "first.csv")
    run("correct", "result", a, "--q", "0.5", "--heterozygosity", "0.5", "--why", "the lab's letter", "--yes")
    done = read_as(
        run, tmp_path, "second.csv", "Sample ID,Florida proportion,Heterozygosity,Loci scored",
        [",".join(map(str, typed(b, 20))), ",".join(map(str, typed(a, 10)))],
    )  # fmt: skip
    assert (done["n_unchanged"], done["n_superseded"], done["findings"]) == (2, 0, [])
    assert speaking(run, a) == [("current", 0.5)]
    read(run, tmp_path, [typed(a, 30), typed(b, 20)], "third.csv")
    _, findings = reconciled(run)
    (changed,) = of_kind(findings, "reissue_changed")
    assert (
        "was q 0.1316, H 0.2632 (corrected to q 0.5, H 0.5) in an earlier file" in findings[changed]["text"]
    )
    # a row that says what the correction said was not corrected
    read(run, tmp_path, [(a, 0.5, 0.5, 38), typed(b, 20)], "fourth.csv")
    rows = [one["what"] for one in document(run, "history", a)["life"] if one["what"].startswith("row ")]
    assert [("corrected since" in one) for one in rows if "fourth.csv" in one or "first.csv" in one] == [
        True,
        False,
    ]


@pytest.mark.parametrize(("action", "fails"), [("reject", 0), ("accept", 4)])
def test_a_doubt_about_a_file_is_not_accepted_for_a_replaced_row_that_cannot_be_read(
    run: Runner, tmp_path: Path, action: str, fails: int
) -> None:
    a, b, c, *_ = sent(run)
    rows = [f"{a},0.2105,38", f"{b},0.3.2,38", f"{c},0.5000,38", "The plate was warm on arrival,,"]
    (tmp_path / "first.csv").write_text("\n".join(["Sample,Florida,Loci", *rows]) + "\n")
    hold = ("--hold", "The plate was warm on arrival")
    run("return", "read", tmp_path / "first.csv", "--shipment", "SHIP-1", *hold)
    read_as(run, tmp_path, "later.csv", "Sample,Florida,Loci", [f"{b},0.3289,38"])
    (doubt,) = of_kind(reconciled(run)[1], "file_in_doubt")
    said = run("decide", doubt, action, "--why", "the lab says so", fails=fails)
    if fails:
        assert "no readable" in said.stderr
    assert speaking(run, b)[-1] == ("current", 0.3289)
