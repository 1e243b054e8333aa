"""What can be wrong with a lab's file, and the checks that see it. None of them corrects anything.

Each kind of finding is one row of FINDINGS: the plain sentence, the decisions that can close it, and whether
the result waits for that decision ("holds": it is in no number until then).

Sources of the checks: Silliman et al. 2021, Evolutionary Applications 14:2815-2830, whose per-fish table
taught the bound, the parity and the placeholders; Fitzpatrick 2012, BMC Evolutionary Biology 12:131, for q
and H.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from geneticlog.rules.lab_return.decision import Decision

SUM_TOLERANCE = 0.002
LEAST_CALL_RATE = 0.90  # fish below it were left out by Silliman et al. 2021
HELD_CALL_RATE = 0.50  # below it a fish waits for a decision; common practice, no source


@dataclass(frozen=True)
class Kind:
    """One kind of finding; ``per_file`` kinds open one finding for all their rows, the others one a row."""

    sentence: str
    decisions: tuple[Decision, ...]
    holds: bool = False
    per_file: bool = False
    stored_as: str = ""  # another kind under which it is counted and decided; its own is kept in the data
    single: str = ""  # the sentence of one row, where the other speaks of several
    of_vials: bool = False  # it is about the two vials that its data name, whichever rows they came in


_KEEP = (Decision.ACCEPT, Decision.REJECT, Decision.RESAMPLE, Decision.CLOSE)
_NOTE = (Decision.ACCEPT, Decision.CLOSE)
_WHOSE = (Decision.MATCH, Decision.REJECT, Decision.CLOSE)

FINDINGS: dict[str, Kind] = {
    # what cannot be matched to a vial
    "missing": Kind("{vial} was sent and has not come back.", (Decision.RESAMPLE, Decision.CLOSE)),
    "unexpected": Kind("Row {row}: {vial} came back, but {where}.", _WHOSE),
    "unreadable_code": Kind(
        "Row {row}: {written} does not check as a vial code{candidates}.", _WHOSE, stored_as="unexpected"
    ),
    "mangled_code": Kind(
        "Row {row}: {written} may be a code that a spreadsheet changed ({how}); it was left as it is.",
        _WHOSE,
        stored_as="unexpected",
    ),
    "no_code": Kind("Row {row} holds a result and no vial code.", _WHOSE, stored_as="unexpected"),
    "code_respelled": Kind(
        "{n} codes in rows {rows} are written otherwise than printed (first {written}); each still checks.",
        _NOTE,
        per_file=True,
        single="Row {rows}: {written} is written otherwise than printed; it still checks.",
    ),
    "longer_code": Kind(
        "{vial}, row {row}: the lab writes {written}, more than the code: a re-run, a second vial or another sample?"
        " Ask the lab; then accept it as the result of this vial, or reject it.",
        _KEEP,
        holds=True,
    ),
    # what the lab says more than once
    "duplicate_row": Kind(
        "Rows {rows} repeat {n} results that the file holds already; each counts once.",
        _NOTE,
        per_file=True,
        single="Row {rows} repeats a result that the file holds already; it counts once.",
    ),
    "conflicting": Kind(
        "{vial} appears in rows {rows} with different results ({values}).", _KEEP, holds=True
    ),
    "reissue_changed": Kind(
        "{vial} was {old} in an earlier file and is {new} in row {row}; the later one now counts. Reject it, and"
        " the earlier one counts again.",
        _KEEP,
    ),
    "reissue_of_rejected": Kind(
        "{vial} had a result that was rejected; row {row} brings another ({new}).", _KEEP, holds=True
    ),
    "failed_after_result": Kind(
        "{vial} was {old} in an earlier file and has no result in row {row}{said}; the earlier one counts until"
        " this is decided.",
        _KEEP,
        holds=True,
    ),
    "duplicates_disagree": Kind(
        "{vial} and {other_vial} hold the same fish, but q is {q} and {other_q}: {difference:.3f} apart"
        "{alleles}.",
        _KEEP,
        of_vials=True,
    ),
    # samples without a result, and results without a sample
    "failed": Kind(
        "{vial} gave no result{said} (row {row}).", (Decision.ACCEPT, Decision.RESAMPLE, Decision.CLOSE)
    ),
    "blank_typed": Kind(
        "{vial} is a blank and gave a genotype (q {q}, row {row}): the box or the plate may be contaminated.",
        _KEEP,
    ),
    "zero_for_missing": Kind(
        "{vial}, row {row}: {what} is 0, which looks like a failed sample written as a number.",
        _KEEP,
        holds=True,
    ),
    # values
    "impossible_value": Kind(
        "{vial}, row {row}: {column} is {written}, outside what is possible ({limits}){among}.",
        _KEEP,
        holds=True,
    ),
    "unreadable_value": Kind(
        "{vial}, row {row}: {column} is {written}, which is no number.", _KEEP, holds=True
    ),
    "mangled_value": Kind(
        "{vial}, row {row}: {column} is {written}, changed by a spreadsheet ({how}).", _KEEP, holds=True
    ),
    "cell_error": Kind("{vial}, row {row}: {column} shows the error {written}.", _KEEP, holds=True),
    "struck_out": Kind(
        "{vial}, row {row}: {columns} {are} struck through in the sheet, so somebody may have taken the value back:"
        " ask the lab, then accept or reject it.",
        _KEEP,
        holds=True,
    ),
    "lab_says_no": Kind(
        "{vial}, row {row}: {column} says {said}, which casts doubt on the value beside it: ask the lab, then accept or"
        " reject it.",
        _KEEP,
        holds=True,
    ),
    "marked": Kind(
        "{vial}, row {row}: {mark}, so somebody may have meant the value otherwise: ask the lab, then accept or reject"
        " it.",
        _KEEP,
        holds=True,
    ),
    "class_contradicts": Kind(
        "{vial}, row {row}: the lab's class is {lab_class}, but q is {q:.4g}: ask the lab which of them is right.",
        _KEEP,
        holds=True,
    ),
    "count_out_of": Kind(
        "{vial}, row {row}: {column} is {written}, which is not counted out of the {wanted} that {loci} loci make.",
        _KEEP,
        holds=True,
    ),
    "formula_without_value": Kind(
        "{vial}, row {row}: {column} is a formula whose value the file does not hold ({written}).",
        _KEEP,
        holds=True,
    ),
    "negative_zero": Kind(
        "Rows {rows}: {n} values are written as negative zero (-0); read as 0.",
        _NOTE,
        per_file=True,
        single="Row {rows}: a value is written as negative zero (-0); read as 0.",
    ),
    "other_decimal_mark": Kind(
        "Rows {rows}: {n} numbers have another decimal mark than the rest (first {written}); each can only be read one"
        " way, and was.",
        _NOTE,
        per_file=True,
        single="Row {rows}: {written} has another decimal mark than the rest; it can only be read one way, and was.",
    ),
    "sum_not_one": Kind("{vial}, row {row}: the shares sum to {total:.4g}, not 1.", _KEEP, holds=True),
    "breaks_bound": Kind(
        "{vial}, row {row}: H {heterozygosity:.4g} is more than q {q:.4g} allows ({most:.4g} at most); are"
        " columns swapped, or homozygous loci given?",
        _KEEP,
        holds=True,
    ),
    "less_than_one_locus": Kind(
        "{vial}, row {row}: H {heterozygosity:.4g} at {n_loci} loci is {loci:.2g} of one locus, which no fish"
        " has: a fraction read as a percent, or another number of loci?",
        _KEEP,
        holds=True,
    ),
    "genotypes_disagree": Kind(
        "{vial}, row {row}: the lab gives {stated}, its genotypes give {counted}{how}. Accept: use what the lab"
        " gives. Recount: use what the genotypes give.",
        (Decision.ACCEPT, Decision.RECOUNT, *_KEEP[1:]),
        holds=True,
    ),
    "genotype_loci_disagree": Kind(
        "Rows {rows}: {n} times the lab states another number of loci than its genotypes have calls for (first:"
        " {stated} stated, {counted} called); the stated one is kept.",
        _NOTE,
        per_file=True,
        single="Row {rows}: the lab states {stated} loci, its genotypes have {counted} calls; the stated number is"
        " kept.",
    ),
    "unreadable_genotype": Kind("{vial}, row {row}: {problem}.", _KEEP, holds=True),
    "more_loci_than_panel": Kind(
        "{vial}, row {row}: {n_loci} loci are said to be scored; the panel has {panel_loci}.",
        _KEEP,
        holds=True,
    ),
    "off_grid": Kind(
        "Rows {rows}: {n} proportions do not equal a whole number of alleles at the loci scored; check the"
        " number of loci and the column.",
        _NOTE,
        per_file=True,
        single="{vial}, row {rows}: the proportion does not equal a whole number of alleles at the loci scored;"
        " check the number of loci and the column.",
    ),
    "odd_parity": Kind(
        "Rows {rows}: {n} pairs of q and H have the wrong parity for the loci scored, all called (half a"
        " homozygous locus would be left over): missing calls, another number of loci or another column.",
        _NOTE,
        per_file=True,
        single="{vial}, row {rows}: q and H have the wrong parity for the loci scored, all called (half"
        " a homozygous locus would be left over): missing calls, another number of loci"
        " or another column.",
    ),
    "low_call_rate": Kind("{vial}, row {row}: {called} of the loci were called, below {wanted}.", _KEEP),
    "call_rate_too_low": Kind(
        "{vial}, row {row}: only {scored} were called, so the value may be anything: ask the lab, then"
        " accept or reject it.",
        _KEEP,
        holds=True,
    ),
    "too_few_loci": Kind(
        "Rows {rows}: {n} fish were typed at {loci} loci, and the rule set {rule_set} names no class below {least}:"
        " they stay undetermined, and their q are coarse.",
        _KEEP,
        single="{vial}, row {row}: {loci} loci were scored, and the rule set {rule_set} names no class below"
        " {least}: the fish stays undetermined, and one allele moves its q by {step:.3f}.",
    ),
    "loci_unknown": Kind(
        "Rows {rows}: the file does not say how many loci were scored; without it a fish's own q has no interval"
        " and no generation can be named.",
        _NOTE,
        per_file=True,
        single="Row {rows}: the file does not say how many loci were scored; without it the fish's own q has no"
        " interval and no generation can be named.",
    ),
    # patterns
    "zero_heterozygosity": Kind(
        "Rows {rows}: {n} fish of mixed ancestry have H 0, which may be a placeholder for no value.",
        _NOTE,
        per_file=True,
        single="Row {rows}: a fish of mixed ancestry has H 0, which may be a placeholder for no value.",
    ),
    "identical_run": Kind(
        "Rows {rows}: {n} neighbouring vials have the same {same}. Lake or lab: fish of one brood may be alike by"
        " chance, one fish may be there twice, or one value was copied down; look at the field sheet first.",
        (Decision.ACCEPT, Decision.REJECT, Decision.CLOSE),
    ),
    "same_genotype": Kind(
        "{vial} ({fish}) and {other_vial} ({other_fish}) have the same genotype at {n_same} of {n_loci} loci scored"
        " in both ({where}): one fish swabbed twice, or a vial filled from another fish? Look at both fish on the"
        " field sheet; then reject the vial that is wrong, or accept both.",
        (Decision.ACCEPT, Decision.REJECT, Decision.RESAMPLE, Decision.CLOSE),
        of_vials=True,
    ),
    "same_genotype_many": Kind(
        "{n_fish} fish of survey {survey} have the same genotype except for a misread locus ({where}): genotypes copied"
        " down, one sample on many wells, or a lineage or brood whose fish this panel cannot tell apart? Ask the lab.",
        (Decision.ACCEPT, Decision.REJECT, Decision.RESAMPLE, Decision.CLOSE),
    ),
    "possible_third_lineage": Kind(
        "Survey {survey}: {n} fish, mean q {p:.3f}, mean H {h:.3f}, deficit F {f:.2f}: possible third lineage,"
        " other species or failed assay{shape}.",
        _NOTE,
    ),
    "class_disagrees": Kind(
        "Rows {rows}: {n} times the lab's class is not ours by the rule set {rule_set} (first: the lab says"
        " {lab_class}, q {q:.4g}{with_h} is {own_class}).",
        _NOTE,
        per_file=True,
        single="Row {rows}: the lab says {lab_class}; q {q:.4g}{with_h} is {own_class} by the rule set {rule_set}.",
    ),
    "f1_label_low_heterozygosity": Kind(
        "{vial}, row {row}: the lab says {lab_class}, but H is {heterozygosity:.4g}; a first cross is"
        " heterozygous at every locus.",
        _NOTE,
    ),
    # the file
    "hidden_rows": Kind(
        "Rows {rows} were hidden in the sheet; they were read like the others.",
        _NOTE,
        per_file=True,
        single="Row {rows} was hidden in the sheet; it was read like the others.",
    ),
    "shipment_not_sent": Kind(
        "The shipment is not recorded as sent, yet results came back.", _NOTE, per_file=True
    ),
    "shipment_closed": Kind(
        "The shipment was closed on {closed_on}, yet results came back.",
        _NOTE,
    ),
    "returned_though_gone": Kind(
        "{vial}, row {row}: the lab noted it as {arrival} on arrival, yet it gives a result{note}; a vial mixed up?"
        " Ask the lab.",
        _KEEP,
        holds=True,
    ),
}


ABOUT_THE_CODE = frozenset({"no_code", "mangled_code", "unreadable_code", "code_respelled"})


class Noted(NamedTuple):
    """Something seen in one row: the kind and the facts of its sentence."""

    kind: str
    facts: Mapping[str, object]


def check_pair(
    q: float,
    heterozygosity: float | None,
    n_loci: int | None,
    half_digit_q: float = 0.0,
    half_digit_h: float = 0.0,
) -> list[Noted]:
    """Return what is wrong with one fish's q, H and loci scored, shares of one; "vial" and "row" are left
    out.

    Bound: H <= 2 min(q, 1-q), with half a locus of room. Grid: 2 L q and L H are whole numbers, as far as the
    digits written can tell; L H above 0 and below a half is another unit. Parity: with all L loci called
    2 L q - L H is even, twice the Florida homozygotes.
    """
    seen: list[Noted] = []
    if heterozygosity is not None:
        room = 1 / (2 * n_loci) if n_loci else SUM_TOLERANCE
        most = 2 * min(q, 1 - q)
        if heterozygosity > most + max(room, SUM_TOLERANCE):
            seen.append(Noted("breaks_bound", {"heterozygosity": heterozygosity, "q": q, "most": most}))
        elif heterozygosity == 0 and 0.05 < q < 0.95:
            seen.append(Noted("zero_heterozygosity", {}))
    if not n_loci:
        return seen
    if heterozygosity and n_loci * heterozygosity < 0.5 and n_loci * (heterozygosity + half_digit_h) < 1:
        facts = {"heterozygosity": heterozygosity, "n_loci": n_loci, "loci": n_loci * heterozygosity}
        return [*seen, Noted("less_than_one_locus", facts)]
    alleles, room = 2 * n_loci * q, 2 * n_loci * half_digit_q
    if room >= 0.25:  # the digits written cannot tell one allele from the next
        return seen
    if abs(alleles - round(alleles)) > room + 0.02:
        seen.append(Noted("off_grid", {}))
    elif heterozygosity is not None and n_loci * half_digit_h < 0.25:
        mixed = n_loci * heterozygosity
        if abs(mixed - round(mixed)) > n_loci * half_digit_h + 0.02:
            seen.append(Noted("off_grid", {}))
        elif (round(alleles) - round(mixed)) % 2:
            seen.append(Noted("odd_parity", {}))
    return seen


def check_shares(q: float, other: float | None, third: float | None, rounding: float = 0.0) -> list[Noted]:
    """Return what is wrong with the shares of two or three taxa, which sum to one; ``rounding`` is added
    room."""
    if other is None:
        return []
    total = q + other + (third or 0.0)
    if total == 0:
        return [Noted("zero_for_missing", {"what": "every share"})]
    if abs(total - 1) > max(SUM_TOLERANCE, rounding) + 1e-9:
        return [Noted("sum_not_one", {"total": total})]
    return []


def check_call_rate(call_rate: float | None, n_loci: int | None, panel_loci: int | None) -> list[Noted]:
    """Return whether too few loci were called, by the lab's call rate or by loci scored of the panel's."""
    seen = []
    share = call_rate
    if share is None and n_loci and panel_loci:
        share = n_loci / panel_loci
    if n_loci and panel_loci and n_loci > panel_loci:
        seen.append(Noted("more_loci_than_panel", {"n_loci": n_loci, "panel_loci": panel_loci}))
    elif share is not None and share < LEAST_CALL_RATE - 1e-9:
        called, wanted = f"{100 * share:.0f} %", f"{100 * LEAST_CALL_RATE:.0f} %"
        facts = {"share": share, "least": LEAST_CALL_RATE, "called": called, "wanted": wanted}
        facts["scored"] = f"{called} of the loci"
        held = call_rate is not None and call_rate < HELD_CALL_RATE - 1e-9
        seen.append(Noted("call_rate_too_low" if held else "low_call_rate", facts))
    return seen


def says_f1(lab_class: str) -> bool:
    """Return whether a lab's class is the first cross (F1, F-1, F₁)."""
    return lab_class.strip().casefold().replace("-", "").replace("₁", "1").replace(" hybrid", "") == "f1"


def identical_runs(signatures: Sequence[tuple[object, ...] | None], least: int = 3) -> list[tuple[int, int]]:
    """Return the runs (first, last index) of at least ``least`` neighbours with one signature; None is
    none."""
    runs, start = [], 0
    for i in range(1, len(signatures) + 1):
        if i == len(signatures) or signatures[i] != signatures[start] or signatures[start] is None:
            if i - start >= least and signatures[start] is not None:
                runs.append((start, i - 1))
            start = i
    return runs
