"""Reconciling a shipment and deciding on its findings, through the program and real return files."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from conftest import Runner
from office_support import NOW, an_office, free_codes
from pages_support import client
from reconcile_support import document, messy, of_kind, read, reconciled, sent, speaking, typed
from sqlalchemy import select, update
from tests_support import database  # noqa: F401  (words and wiring: SQLite alone; the counts are tested on both in tests/work/shipment)

from geneticlog.rules.stamp import Stamp
from geneticlog.rules.vialcode import mint, printed
from geneticlog.store.engine import database_url, one_transaction, open_engine
from geneticlog.store.tables import Panel, Result, Survey, Vial
from geneticlog.work.finding.open_finding import About, open_finding


def test_before_a_return_nothing_is_missing_yet(run: Runner) -> None:
    sent(run)
    counts, findings = reconciled(run)
    assert (counts["sent"], counts["returned"], counts["missing"]) == (6, 0, 6)
    assert not findings
    assert "No return is read yet" in run("reconcile", "SHIP-1").stdout
    run("reconcile", "SHIP-9", fails=3)


def test_the_counts_of_a_messy_return(run: Runner, tmp_path: Path) -> None:
    vials = messy(run, tmp_path)
    counts, findings = reconciled(run)
    assert counts == {
        "sent": 6, "returned": 5, "matched": 3, "failed": 1, "missing": 1, "unexpected": 1, "conflicting": 1,
        "duplicate_rows": 2, "blanks": 0, "clean_blanks": 0, "held": 0, "rejected": 0,
    }  # fmt: skip
    (missing,) = of_kind(findings, "missing")
    assert findings[missing]["vial"] == vials[2]
    (conflict,) = of_kind(findings, "conflicting")
    assert findings[conflict]["rows"] == [6, 7]
    assert of_kind(findings, "failed")
    assert of_kind(findings, "unexpected")
    again = reconciled(run)
    assert again == (counts, findings)
    shown = run("reconcile", "SHIP-1").stdout
    assert "8 rows = 5 of returned vials + 2 beyond the first + 1 unexpected" in shown


def test_matched_for_another_pair_of_taxa_is_said(run: Runner, tmp_path: Path) -> None:
    vials = sent(run)
    read(run, tmp_path, [typed(vial, 10 + k) for k, vial in enumerate(vials)])
    words = "for another pair of taxa than the numbers of the lake are about"
    assert document(run, "reconcile", "SHIP-1")["n_other_pair"] == 0
    assert words not in " ".join(run("reconcile", "SHIP-1").stdout.split())
    engine = open_engine(database_url(str(run.database)))
    with one_transaction(engine) as session:
        spotted = Panel(
            code="SPOT", name="Spotted (invented)", n_loci=38, taxon="spotted", other_taxon="smallmouth"
        )
        session.add(spotted)
        session.flush()
        two = [vial.id for vial in session.scalars(select(Vial).where(Vial.code.in_(vials[:2])))]
        session.execute(update(Result).where(Result.vial_id.in_(two)).values(panel_id=spotted.id))
    engine.dispose()
    shown = document(run, "reconcile", "SHIP-1")
    assert (shown["counts"]["matched"], shown["n_other_pair"]) == (6, 2)
    assert f"2 of the 6 matched: {words}" in " ".join(run("reconcile", "SHIP-1").stdout.split())


def test_blanks_that_gave_nothing_are_clean_and_no_failures(run: Runner, tmp_path: Path) -> None:
    vials = an_office(run.database, n_fish=3)
    clean, other = free_codes(2, after=3)
    run(
        "shipment",
        "pack",
        "SHIP-1",
        "--lab",
        "QUILL",
        "--panel",
        "QB38",
        *vials,
        "--blank",
        clean,
        "--blank",
        other,
    )
    run("shipment", "send", "SHIP-1", "--at", "2026-06-01")
    nothing = ("ND", "", "")
    read(
        run,
        tmp_path,
        [
            typed(vials[0], 10),
            typed(vials[1], 20),
            (vials[2], *nothing),
            (clean, *nothing),
            (other, *nothing),
        ],
    )
    counts, findings = reconciled(run)
    assert (counts["returned"], counts["matched"], counts["failed"]) == (5, 4, 1)
    assert (counts["blanks"], counts["clean_blanks"]) == (2, 2)
    assert [findings[name]["vial"] for name in of_kind(findings, "failed")] == [vials[2]]
    assert "blanks: 2 returned, both clean" in run("reconcile", "SHIP-1").stdout
    assert document(run, "shipment", "list")["shipments"][0]["counts"]["failed"] == 1
    where = {at["vial"]: at["custody"] for at in document(run, "shipment", "show", "SHIP-1")["positions"]}
    assert (where[clean], where[vials[2]]) == ("result returned", "failed at the lab")
    assert "no genotype, as a blank should (ND)" in run("history", clean).stdout
    billed = run("shipment", "bill", "SHIP-1", 5, "--amount", 100).stdout
    assert "1 of these failed, 2 blanks clean; $50.00 for each vial with a result" in billed
    read(run, tmp_path, [typed(other, 30)], "again.csv")
    counts, findings = reconciled(run)
    assert (counts["matched"], counts["failed"], counts["blanks"], counts["clean_blanks"]) == (4, 1, 2, 1)
    assert of_kind(findings, "blank_typed")
    assert "blanks: 2 returned, 1 clean, 1 with a genotype or in doubt" in run("reconcile", "SHIP-1").stdout


def test_of_contradicting_rows_a_person_says_which_stands(run: Runner, tmp_path: Path) -> None:
    vials = messy(run, tmp_path)
    (conflict,) = of_kind(reconciled(run)[1], "conflicting")
    unsure = run("decide", conflict, "accept", "--why", "asked", fails=4)
    assert "--row 6 or --row 7" in unsure.stderr
    assert "not row 3" in run("decide", conflict, "accept", "--row", 3, "--why", "x", fails=4).stderr
    assert [standing for standing, _ in speaking(run, vials[4])] == ["held", "held"]
    where = {at["vial"]: at["custody"] for at in document(run, "shipment", "show", "SHIP-1")["positions"]}
    assert where[vials[4]] == document(run, "history", vials[4])["custody"] == "result returned"
    assert where[vials[2]] == "on its way to the lab"
    run("decide", conflict, "accept", "--row", 7, "--why", "the lab confirmed row 7")
    counts, findings = reconciled(run)
    assert (counts["conflicting"], counts["matched"]) == (0, 4)
    assert findings[conflict]["decision"] == "accept"
    one, other = pytest.approx(30 / 76, abs=1e-5), pytest.approx(60 / 76, abs=1e-5)
    assert speaking(run, vials[4]) == [("rejected", one), ("current", other)]
    run("decide", conflict, "accept", "--row", 6, "--why", "row 7 was the neighbour's")
    assert [standing for standing, _ in speaking(run, vials[4])] == ["current", "rejected"]
    run("decide", conflict, "reject", "--why", "neither")
    assert [standing for standing, _ in speaking(run, vials[4])] == ["rejected", "rejected"]
    counts, _ = reconciled(run)
    assert (counts["conflicting"], counts["rejected"]) == (0, 1)


def test_an_unexpected_row_is_matched_by_a_person_and_can_be_taken_back(run: Runner, tmp_path: Path) -> None:
    vials = messy(run, tmp_path)
    findings = reconciled(run)[1]
    (stranger,), (missing,) = of_kind(findings, "unexpected"), of_kind(findings, "missing")
    assert "say which vial" in run("decide", stranger, "match", "--why", "x", fails=4).stderr
    (free,) = free_codes(1, after=6)
    assert "was not sent" in run("decide", stranger, "match", free, "--why", "x", fails=4).stderr
    taken = " ".join(run("decide", stranger, "match", vials[0], "--why", "x", fails=4).stderr.split())
    assert f"correct it (geneticlog correct result {vials[0]} --q" in taken
    run("decide", stranger, "match", vials[2], "--why", "the lab misread the label")
    counts, findings = reconciled(run)
    assert (counts["unexpected"], counts["missing"], counts["matched"]) == (0, 0, 4)
    assert findings[missing]["decision"] == "close"
    assert speaking(run, vials[2]) == [("current", pytest.approx(44 / 76, abs=1e-5))]
    run("decide", stranger, "close", "--why", "it was another office's")
    counts, findings = reconciled(run)
    assert (counts["unexpected"], counts["missing"], counts["matched"]) == (1, 1, 3)
    assert findings[missing]["decision"] is None
    assert [standing for standing, _ in speaking(run, vials[2])] == ["rejected"]
    run("decide", stranger, "match", vials[2], "--why", "it was ours after all")
    assert [standing for standing, _ in speaking(run, vials[2])] == ["rejected", "current"]
    life = document(run, "history", vials[2])["life"]
    assert [one["why"] for one in life if "decided: match" in one["what"]][-1] == "it was ours after all"


def test_a_later_file_answers_what_was_missing(run: Runner, tmp_path: Path) -> None:
    vials = messy(run, tmp_path)
    (missing,) = of_kind(reconciled(run)[1], "missing")
    read(run, tmp_path, [typed(vials[2], 12), typed(vials[1], 3)], "later.csv")
    counts, findings = reconciled(run)
    assert (counts["missing"], counts["failed"], counts["matched"]) == (0, 0, 5)
    assert findings[missing]["decision"] == "close"
    listed = document(run, "shipment", "list")["shipments"][0]
    assert listed["complete"]


def test_a_file_of_another_shipment_is_refused_with_the_one_it_is_of(run: Runner, tmp_path: Path) -> None:
    vials = an_office(run.database, n_fish=9)
    for number, lot in enumerate((vials[:3], vials[3:]), start=1):
        run("shipment", "pack", f"SHIP-{number}", "--lab", "QUILL", "--panel", "QB38", *lot)
    lines = ["Sample ID,Florida proportion,Heterozygosity,Loci scored"]
    lines += [",".join(map(str, typed(vial, 10))) for vial in vials[3:]]
    wrong, mixed = tmp_path / "wrong.csv", tmp_path / "mixed.csv"
    wrong.write_text("\n".join(lines))
    refused = " ".join(run("return", "read", wrong, "--shipment", "SHIP-1", fails=4).stderr.split())
    assert "wrong.csv: none of its 6 vials is in shipment SHIP-1; 6 are in SHIP-2" in refused
    assert "geneticlog return read wrong.csv --shipment SHIP-2" in refused
    assert reconciled(run)[1] == {}  # nothing was stored
    seen = " ".join(run("return", "preview", wrong, "--shipment", "SHIP-1").stdout.split())
    assert "none of the 6 vials of the file is in this shipment" in seen
    mixed.write_text("\n".join([*lines, ",".join(map(str, typed(vials[0], 10)))]))
    warned = " ".join(run("return", "read", mixed, "--shipment", "SHIP-1").stdout.split())
    assert "only 1 of the 7 vials of mixed.csv is in shipment SHIP-1 (6 are in SHIP-2)" in warned
    assert "only" not in run("return", "read", mixed, "--shipment", "SHIP-2").stdout


def test_a_survey_without_a_vial_left_to_pack_says_where_they_are(run: Runner) -> None:
    an_office(run.database, n_fish=3)
    run("shipment", "pack", "SHIP-1", "--lab", "QUILL", "--survey", "HERON-2026")
    told = run("shipment", "pack", "SHIP-2", "--lab", "QUILL", "--survey", "HERON-2026", fails=4)
    assert "no vial of survey HERON-2026 is left to pack (3 in shipment SHIP-1)" in " ".join(
        told.stderr.split()
    )


def test_rejecting_what_replaced_an_earlier_value_brings_the_earlier_one_back(
    run: Runner, tmp_path: Path
) -> None:
    vials = sent(run, n_fish=3)
    read(run, tmp_path, [typed(vial, 20) for vial in vials], "first.csv")
    read(run, tmp_path, [typed(vials[0], 30), *(typed(vial, 20) for vial in vials[1:])], "second.csv")
    findings = reconciled(run)[1]
    (changed,) = of_kind(findings, "reissue_changed")
    assert "Reject it, and the earlier one counts again." in findings[changed]["text"]
    one, other = pytest.approx(20 / 76, abs=1e-5), pytest.approx(30 / 76, abs=1e-5)
    assert speaking(run, vials[0]) == [("superseded", one), ("current", other)]
    done = document(run, "decide", changed, "reject", "--why", "the first file was right")["decisions"][0]
    assert [(moved["before"], moved["after"]) for moved in done["moved"]] == [
        ("current", "rejected"),
        ("superseded", "current"),
    ]
    assert speaking(run, vials[0]) == [("current", one), ("rejected", other)]
    assert document(run, "history", vials[0])["results"][0]["speaks_for_the_fish"]
    run("decide", changed, "accept", "--why", "the second after all")
    assert speaking(run, vials[0]) == [("superseded", one), ("current", other)]
    run("decide", changed, "resample", "--why", "neither can be right")
    assert speaking(run, vials[0]) == [("superseded", one), ("rejected", other)]
    run("decide", changed, "reject", "--why", "the first it is")
    assert speaking(run, vials[0]) == [("current", one), ("rejected", other)]


def test_an_impossible_value_waits_and_cannot_be_accepted(run: Runner, tmp_path: Path) -> None:
    vials = sent(run, n_fish=9)
    more = [
        typed(vial, k) for k, vial in enumerate(vials[3:], start=11)
    ]  # one cell of nine is not the unit of all
    odd = [(vials[1], "1.7", "0.1", 38), (vials[2], "0.2", "0.9", 38)]
    read(run, tmp_path, [typed(vials[0], 10), *odd, *more])
    counts, findings = reconciled(run)
    assert (counts["matched"], counts["held"]) == (7, 2)  # matched is a number that counts
    (impossible,) = of_kind(findings, "impossible_value")
    assert "nothing can be accepted" in run("decide", impossible, "accept", "--why", "x", fails=4).stderr
    assert reconciled(run)[1][impossible]["decision"] is None
    run("decide", impossible, "reject", "--why", "asked the lab")
    (bound,) = of_kind(findings, "breaks_bound")
    assert speaking(run, vials[2])[0][0] == "held"
    run("decide", bound, "accept", "--why", "the lab says H is homozygous loci; q is right")
    assert speaking(run, vials[2])[0][0] == "current"
    run("decide", bound, "resample", "--why", "not worth it")
    assert speaking(run, vials[2])[0][0] == "rejected"
    lost = document(run, "shipment", "resample", "SHIP-1")["resample"]
    assert sorted(vial for one in lost for vial in one["vials"]) == sorted(vials[1:3])


def test_fish_typed_at_too_few_loci_are_told_and_can_be_owed(run: Runner, tmp_path: Path) -> None:
    vials = sent(run, n_fish=5)
    few, thin = (vials[0], "0.3", "0.4", 10), (vials[1], "0.25", "0.5", 30)
    read(run, tmp_path, [few, thin, *(typed(vial, k) for vial, k in zip(vials[2:], (3, 9, 30), strict=True))])
    findings = reconciled(run)[1]
    (name,) = of_kind(findings, "too_few_loci")
    assert (findings[name]["vial"], findings[name]["rows"]) == (vials[0], [2])
    assert "10 loci were scored" in findings[name]["text"]
    assert "names no class below 12" in findings[name]["text"]
    assert "one allele moves its q by 0.050" in findings[name]["text"]
    (low,) = of_kind(
        findings, "low_call_rate"
    )  # 30 of the panel's 38; of the other the stronger sentence is told
    assert findings[low]["vial"] == vials[1]
    assert "79 % of the loci were called, below 90 %" in findings[low]["text"]
    assert speaking(run, vials[0])[0][0] == "current"  # it counts until a person decides otherwise
    run("decide", name, "resample", "--why", "degraded")
    assert speaking(run, vials[0])[0][0] == "rejected"


def test_a_panel_of_too_few_loci_is_one_finding_and_an_own_rule_set_is_followed(
    run_on_sqlite: Runner, tmp_path: Path
) -> None:
    run = run_on_sqlite
    vials = sent(run, n_fish=4)
    rule_set = tmp_path / "wide.toml"
    rule_set.write_text(
        'name = "wide (invented)"\ndated = 2026-01-01\npure = 0.05\nf1_low = 0.45\nf1_high = 0.55\n'
        "f1_least_h = 0.9\nleast_loci = 40\n"
    )
    run("ruleset", "add", rule_set)
    run("ruleset", "use", "wide (invented)")
    read(run, tmp_path, [typed(vial, k) for vial, k in zip(vials, (3, 9, 30, 50), strict=True)])
    findings = reconciled(run)[1]
    (name,) = of_kind(findings, "too_few_loci")
    assert findings[name]["rows"] == [2, 3, 4, 5]
    assert "4 fish were typed at 38 loci" in findings[name]["text"]
    assert "wide (invented), 2026-01-01 names no class below 40" in findings[name]["text"]


def test_of_a_pair_that_disagrees_one_may_be_rejected(run: Runner, tmp_path: Path) -> None:
    vials = sent(run, n_fish=2, seconds=1)
    first, second, other = vials
    read(run, tmp_path, [typed(first, 10), typed(second, 30), typed(other, 5)])
    findings = reconciled(run)[1]
    (pair,) = of_kind(findings, "duplicates_disagree")
    assert "20 alleles" in findings[pair]["text"]
    run("decide", pair, "reject", first, "--why", "swapped tube")
    assert (speaking(run, first)[0][0], speaking(run, second)[0][0]) == ("rejected", "current")
    assert document(run, "history", second)["results"][0]["speaks_for_the_fish"]
    run("decide", pair, "accept", "--why", "both stand")
    assert (speaking(run, first)[0][0], speaking(run, second)[0][0]) == ("current", "current")
    assert document(run, "history", first)["results"][0]["speaks_for_the_fish"]


def test_a_pair_is_asked_about_once_in_the_values_in_force(run: Runner, tmp_path: Path) -> None:
    first, second, other = sent(run, n_fish=2, seconds=1)

    def again(name: str, k: int, more: int) -> list[tuple[str, str]]:
        read(run, tmp_path, [typed(first, 10), typed(second, k), typed(other, more)], name)
        findings = reconciled(run)[1].values()
        open_pairs = [one for one in findings if one["kind"] == "duplicates_disagree" and not one["decision"]]
        return [
            (one["finding"], re.findall(r"q is ([\d.]+) and ([\d.]+)", one["text"])[0][1])
            for one in open_pairs
        ]

    ((one, q),) = again("one.csv", 30, 5)
    assert q == "0.3947"
    ((two, q),) = again("two.csv", 50, 5)
    assert q == "0.6579"
    assert reconciled(run)[1][one]["why"] == "two.csv replaces the rows it is about"
    # the values of the first file once more are a question once more; the same values are not, whatever else changed
    ((three, q),) = again("three.csv", 30, 6)
    assert (q, reconciled(run)[1][two]["decision"]) == ("0.3947", "close")
    assert again("four.csv", 30, 9) == [(three, "0.3947")]
    run("decide", three, "accept", "--why", "both stand")
    assert again("five.csv", 30, 11) == []
    # a reading that is withdrawn takes its question along
    assert [q for _, q in again("six.csv", 60, 11)] == ["0.7895"]
    run("return", "withdraw", "six.csv", "--why", "a draft of the lab")
    pairs = reconciled(run)[1]
    assert [name for name in of_kind(pairs, "duplicates_disagree") if not pairs[name]["decision"]] == []
    assert again("seven.csv", 12, 11) == []


def test_a_decision_that_needs_a_row_or_a_vial_is_offered_with_it_also_on_the_page(
    run_on_sqlite: Runner, tmp_path: Path
) -> None:
    run = run_on_sqlite
    first, second, other = sent(run, n_fish=2, seconds=1)
    read(run, tmp_path, [typed(first, 10), typed(second, 30), typed(other, 5), typed(other, 50)])
    findings = reconciled(run)[1]
    (pair,) = of_kind(findings, "duplicates_disagree")
    (conflict,) = of_kind(findings, "conflicting")
    said = re.sub(r"\s+", " ", run("finding", "list", "--shipment", "SHIP-1").stdout)
    assert "accept --row ROW" in said
    assert "reject VIAL" in said
    at = client(run.database)
    page = at.get(f"/inbox/{pair}").text
    names = dict(re.findall(r'type="checkbox" name="(\w+)" value="(\w+)"', page))
    assert set(names.values()) == {first, second}
    wrong = next(name for name, code in names.items() if code == second)
    done = at.post(f"/inbox/{pair}", data={"action": "reject", "why": "swapped tube", wrong: second})
    assert done.status_code == 303
    assert (speaking(run, first)[0][0], speaking(run, second)[0][0]) == ("current", "rejected")
    assert 'name="row"' not in page
    assert "Row that is right (to accept)" in at.get(f"/inbox/{conflict}").text
    done = at.post(f"/inbox/{conflict}", data={"action": "accept", "why": "the lab confirmed it", "row": "5"})
    assert done.status_code == 303
    assert speaking(run, other) == [("rejected", pytest.approx(5 / 76, abs=1e-6)),
                                    ("current", pytest.approx(50 / 76, abs=1e-6))]  # fmt: skip


def test_a_pair_exactly_at_the_limit_agrees_in_findings_as_in_the_shipment(
    run: Runner, tmp_path: Path
) -> None:
    # .55 and .50 are apart by more than .05 in the last bit of a subtraction only
    first, second, _ = sent(run, n_fish=2, seconds=1)
    read(run, tmp_path, [(first, 0.55, 0.1, 50), (second, 0.50, 0.1, 50)])
    assert of_kind(reconciled(run)[1], "duplicates_disagree") == []


def test_the_twenty_that_are_the_same_are_decided_at_once(run: Runner, tmp_path: Path) -> None:
    vials = sent(run, n_fish=8)
    read(run, tmp_path, [(vial, "ND", "", "") for vial in vials[:5]] + [typed(vials[5], 3)])
    failed = of_kind(reconciled(run)[1], "failed")
    run("decide", failed[0], "resample", "--all-of-kind", "--why", "next survey")
    findings = reconciled(run)[1]
    assert {findings[name]["decision"] for name in failed} == {"resample"}
    assert {findings[name]["decision"] for name in of_kind(findings, "missing")} == {None}
    lost = {one["size_class"]: one for one in document(run, "shipment", "resample", "SHIP-1")["resample"]}
    assert {name: one["n_lost"] for name, one in lost.items()} == {
        "substock": 1, "stock": 2, "quality": 2, "preferred": 1, "memorable": 1,
    }  # fmt: skip
    assert lost["substock"]["n_resulted"] == 1


@pytest.mark.parametrize(
    ("arguments", "exit_code", "words"),
    [
        (["F999", "accept", "--why", "x"], 3, "no finding 'F999'"),
        (["twelve", "accept", "--why", "x"], 3, "no finding 'twelve'"),
        (["F1", "burn", "--why", "x"], 2, "burn"),
        (["F1", "accept"], 2, "--why"),
        (["F1", "match", "--why", "x"], 4, "cannot be decided with match; it takes: accept, resample, close"),
        (["F1", "accept", "--why", "  "], 4, "give the reason"),
    ],
)
def test_a_decision_that_cannot_be(
    run_on_sqlite: Runner, tmp_path: Path, arguments: list[str], exit_code: int, words: str
) -> None:
    run = run_on_sqlite
    vials = sent(run, n_fish=2)
    read(run, tmp_path, [(vials[0], "ND", "", ""), typed(vials[1], 3)])
    assert words in run("decide", *arguments, fails=exit_code).stderr


def test_the_life_of_a_vial_on_one_screen(run: Runner, tmp_path: Path) -> None:
    vials = messy(run, tmp_path)
    (failed,) = of_kind(reconciled(run)[1], "failed")
    run("decide", failed, "accept", "--why", "an empty swab")
    told = document(run, "history", printed(vials[1]).lower())
    assert (told["vial"], told["fish"], told["custody"]) == (vials[1], "HERON-2026#2", "failed at the lab")
    life = [one["what"] for one in told["life"]]
    order = [
        "label printed",
        "filled",
        "packed in shipment SHIP-1",
        "sent to",
        "row 3 of return.csv",
        "finding F",
    ]
    for word in order:
        assert any(word in what for what in life), (word, life)
    assert all(one["by"] for one in told["life"])  # each step says who
    decided = told["life"][-1]
    assert (decided["by"], decided["why"]) == ("Ada Test", "an empty swab")
    screen = run("history", vials[1]).stdout
    assert "an empty swab" in screen
    run("history", mint("BG", 40_000) or "", fails=3)


def test_a_doubt_of_the_log_is_accepted_or_closed(run: Runner) -> None:
    an_office(run.database, n_fish=1)
    engine = open_engine(database_url(run.database))
    with one_transaction(engine) as session:
        survey_id = session.scalars(select(Survey.id)).one()
        for number in (1, 2):
            open_finding(
                session, key=f"length:{number}", kind="doubtful_measurement", text=f"Fish {number} is long.",
                stamp=Stamp(NOW, "Ada Test"), about=About(survey_id),
            )  # fmt: skip
    engine.dispose()
    refused = run("decide", "F1", "resample", "--why", "x", fails=4)
    assert "it takes: accept, close" in refused.stderr
    done = document(run, "decide", "F1", "accept", "--all-of-kind", "--why", "measured twice")
    assert [one["finding"] for one in done["decisions"]] == ["F1", "F2"]


def test_a_vial_that_arrived_missing_is_owed_and_asked_about_no_more(run: Runner, tmp_path: Path) -> None:
    first, second, third, *others = sent(run)
    read(run, tmp_path, [typed(vial, k) for vial, k in zip(others, (10, 20, 33), strict=True)])
    assert [reconciled(run)[1][name]["vial"] for name in of_kind(reconciled(run)[1], "missing")] == [
        first, second, third,
    ]  # fmt: skip
    arrived = ("shipment", "arrive", "SHIP-1", "--at", "2026-06-02")
    run(*arrived, "--missing", first, "--broken", second)
    by_vial = {one["vial"]: one for one in document(run, "finding", "list")["findings"]}
    assert "missing or broken on arrival" in by_vial[first]["why"]
    assert by_vial[second]["decision"] == "close"
    assert by_vial[third]["decision"] is None
    counts, findings = reconciled(run)
    assert (counts["missing"], len(of_kind(findings, "missing"))) == (3, 3)
    shown = " ".join(run("reconcile", "SHIP-1").stdout.split())
    assert "3 missing (2 of them missing or broken on arrival)" in shown
    owed = document(run, "shipment", "resample", "SHIP-1")["resample"]
    assert {first, second} <= {vial for group in owed for vial in group["vials"]}
    run("shipment", "arrive", "SHIP-1", "--missing", third)
    # nothing more is awaited: what came back is all that the lab had
    (seen,) = document(run, "shipment", "list")["shipments"]
    assert (seen["state"], seen["complete"], seen["counts"]["missing"]) == ("returned", True, 3)
    # the lab corrects itself: it has the vial, and its result is awaited again
    run(*arrived, "--note", f"{third}=was in the lid")
    assert [one["vial"] for one in reconciled(run)[1].values() if one["decision"] is None] == [third]


def test_a_vial_that_arrived_missing_opens_nothing(run: Runner, tmp_path: Path) -> None:
    first, *others = sent(run, n_fish=3)
    run("shipment", "arrive", "SHIP-1", "--at", "2026-06-02", "--missing", first)
    read(run, tmp_path, [typed(vial, k) for vial, k in zip(others, (10, 20), strict=True)])
    counts, findings = reconciled(run)
    assert (counts["missing"], of_kind(findings, "missing")) == (1, [])
    assert document(run, "shipment", "list")["shipments"][0]["state"] == "returned"
    assert "No finding: everything reconciles." in run("reconcile", "SHIP-1").stdout


def test_a_pair_is_asked_about_in_the_values_that_a_decision_left_in_force(
    run_on_sqlite: Runner, tmp_path: Path
) -> None:
    run = run_on_sqlite
    first, second, other = sent(run, n_fish=2, seconds=1)

    def pairs() -> dict[str, str | None]:
        """Return q of the second vial in each question, and what was decided."""
        kept = [one for one in reconciled(run)[1].values() if one["kind"] == "duplicates_disagree"]
        return {re.findall(r"and ([\d.]+)", one["text"])[0]: one["decision"] for one in kept}

    read(run, tmp_path, [typed(first, 10), typed(second, 30), typed(other, 5)], "one.csv")
    read(run, tmp_path, [typed(first, 10), typed(second, 50), typed(other, 5)], "two.csv")
    assert pairs() == {"0.3947": "close", "0.6579": None}
    (changed,) = of_kind(reconciled(run)[1], "reissue_changed")
    run("decide", changed, "reject", "--why", "the lab had mixed up two files")
    assert speaking(run, second) == [
        ("current", pytest.approx(30 / 76, abs=1e-6)),
        ("rejected", pytest.approx(50 / 76, abs=1e-6)),
    ]
    assert pairs() == {"0.3947": None, "0.6579": "close"}
    run("decide", changed, "accept", "--why", "they had not")
    assert pairs() == {"0.3947": "close", "0.6579": None}
    run(
        "correct",
        "result",
        second,
        "--q",
        f"{60 / 76:.6f}",
        "--heterozygosity",
        f"{8 / 38:.6f}",
        "--why",
        "a letter of the lab",
    )
    assert pairs() == {"0.3947": "close", "0.6579": "close", "0.7895": None}
    run(
        "correct",
        "result",
        second,
        "--q",
        f"{11 / 76:.6f}",
        "--heterozygosity",
        f"{3 / 38:.6f}",
        "--why",
        "another letter",
    )
    assert set(pairs().values()) == {"close"}
    run("return", "withdraw", "two.csv", "--why", "a draft of the lab")
    assert pairs()["0.3947"] is None


def test_a_value_that_is_accepted_is_compared_with_the_other_vial_of_its_fish(
    run_on_sqlite: Runner, tmp_path: Path
) -> None:
    run = run_on_sqlite
    first, second, other = sent(run, n_fish=2, seconds=1)
    read(run, tmp_path, [typed(first, 10), typed(second, 30), typed(second, 50), typed(other, 5)])
    findings = reconciled(run)[1]
    assert of_kind(findings, "duplicates_disagree") == []
    (conflict,) = of_kind(findings, "conflicting")
    run("decide", conflict, "accept", "--row", 4, "--why", "the lab confirmed it")
    (pair,) = of_kind(reconciled(run)[1], "duplicates_disagree")
    assert "0.6579" in reconciled(run)[1][pair]["text"]
    # a question that an earlier program left on a value that is not in force: reconcile puts it right
    engine = open_engine(database_url(run.database))
    with one_transaction(engine) as session:
        session.execute(update(Result).where(Result.q.between(0.65, 0.66)).values(q=40 / 76))
    engine.dispose()
    findings = reconciled(run)[1]
    (now,) = [name for name in of_kind(findings, "duplicates_disagree") if not findings[name]["decision"]]
    assert "0.5263" in findings[now]["text"]
