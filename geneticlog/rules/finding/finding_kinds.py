"""What can be wrong with a lab's file, or was doubted on the boat or between two databases: the kinds of finding.

Each kind about a file is one row of FINDINGS: the plain sentence, the decisions that can close it, and whether
the result waits for that decision ("holds": it is in no number until then).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from geneticlog.rules.finding.decision import Decision


class FindingKind(StrEnum):
    """What a finding is about; its sentence and decisions are the row of FINDINGS, where it is about a lab's file."""

    MISSING = "missing"
    UNEXPECTED = "unexpected"
    UNREADABLE_CODE = "unreadable_code"
    MANGLED_CODE = "mangled_code"
    NO_CODE = "no_code"
    LONGER_CODE = "longer_code"
    UNIT_IN_DOUBT = "unit_in_doubt"
    FILE_IN_DOUBT = "file_in_doubt"
    CODE_RESPELLED = "code_respelled"
    DUPLICATE_ROW = "duplicate_row"
    CONFLICTING = "conflicting"
    REISSUE_CHANGED = "reissue_changed"
    REISSUE_OF_REJECTED = "reissue_of_rejected"
    DOUBT_LEFT_OUT = "doubt_left_out"
    FAILED_AFTER_RESULT = "failed_after_result"
    LEFT_OUT = "left_out"
    DUPLICATES_DISAGREE = "duplicates_disagree"
    FAILED = "failed"
    BLANK_TYPED = "blank_typed"
    ZERO_FOR_MISSING = "zero_for_missing"
    IMPOSSIBLE_VALUE = "impossible_value"
    UNREADABLE_VALUE = "unreadable_value"
    MANGLED_VALUE = "mangled_value"
    CELL_ERROR = "cell_error"
    STRUCK_OUT = "struck_out"
    LAB_SAYS_NO = "lab_says_no"
    MARKED = "marked"
    CLASS_CONTRADICTS = "class_contradicts"
    COUNT_OUT_OF = "count_out_of"
    FORMULA_WITHOUT_VALUE = "formula_without_value"
    NEGATIVE_ZERO = "negative_zero"
    OTHER_DECIMAL_MARK = "other_decimal_mark"
    SUM_NOT_ONE = "sum_not_one"
    BREAKS_BOUND = "breaks_bound"
    LESS_THAN_ONE_LOCUS = "less_than_one_locus"
    GENOTYPES_DISAGREE = "genotypes_disagree"
    GENOTYPE_LOCI_DISAGREE = "genotype_loci_disagree"
    UNREADABLE_GENOTYPE = "unreadable_genotype"
    MORE_LOCI_THAN_PANEL = "more_loci_than_panel"
    OTHER_LOCI = "other_loci"
    OFF_GRID = "off_grid"
    ODD_PARITY = "odd_parity"
    LOW_CALL_RATE = "low_call_rate"
    CALL_RATE_TOO_LOW = "call_rate_too_low"
    TOO_FEW_LOCI = "too_few_loci"
    LOCI_UNKNOWN = "loci_unknown"
    ZERO_HETEROZYGOSITY = "zero_heterozygosity"
    IDENTICAL_RUN = "identical_run"
    COPIED_DOWN = "copied_down"
    SAME_GENOTYPE = "same_genotype"
    SAME_GENOTYPE_MANY = "same_genotype_many"
    POSSIBLE_THIRD_LINEAGE = "possible_third_lineage"
    THIRD_SHARE = "third_share"
    CLASS_DISAGREES = "class_disagrees"
    F1_LABEL_LOW_HETEROZYGOSITY = "f1_label_low_heterozygosity"
    HIDDEN_ROWS = "hidden_rows"
    SHIPMENT_NOT_SENT = "shipment_not_sent"
    SHIPMENT_CLOSED = "shipment_closed"
    RETURNED_THOUGH_GONE = "returned_though_gone"
    OTHER_SPECIES = "other_species"
    # doubts that the crew answered while fish were logged
    DOUBTFUL_MEASUREMENT = "doubtful_measurement"
    NO_LENGTH = "no_length"
    OTHER_SPECIES_SWABBED = "other_species_swabbed"
    VIAL_OF_ANOTHER_SURVEY = "vial_of_another_survey"
    # what two databases do not agree on
    CHANGED_ON_BOTH_SIDES = "changed_on_both_sides"
    HISTORY_PARTED = "history_parted"
    SAME_LOG_LINE = "same_log_line"


@dataclass(frozen=True)
class Kind:
    """One kind of finding; ``per_file`` kinds open one finding for all their rows, the others one a row."""

    sentence: str
    decisions: tuple[Decision, ...]
    holds: bool = False
    per_file: bool = False
    stored_as: FindingKind | None = (
        None  # another kind under which it is counted and decided; its own is kept in the data
    )
    single: str = ""  # the sentence of one row, where the other speaks of several
    of_vials: bool = False  # it is about the vials that its data name, whichever rows they came in


_KEEP = (Decision.ACCEPT, Decision.REJECT, Decision.RESAMPLE, Decision.CLOSE)
_NOTE = (Decision.ACCEPT, Decision.CLOSE)
_WHOSE = (Decision.MATCH, Decision.REJECT, Decision.CLOSE)

FINDINGS: dict[FindingKind, Kind] = {
    # what cannot be matched to a vial
    FindingKind.MISSING: Kind("{vial} was sent and has not come back.", (Decision.RESAMPLE, Decision.CLOSE)),
    FindingKind.UNEXPECTED: Kind("Row {row}: {vial} came back, but {where}.", _WHOSE),
    FindingKind.UNREADABLE_CODE: Kind(
        "Row {row}: {written} does not check as a vial code{candidates}.",
        _WHOSE,
        stored_as=FindingKind.UNEXPECTED,
    ),
    FindingKind.MANGLED_CODE: Kind(
        "Row {row}: {written} may be a code that a spreadsheet changed ({how}); it was left as it is.",
        _WHOSE,
        stored_as=FindingKind.UNEXPECTED,
    ),
    FindingKind.NO_CODE: Kind(
        "Row {row} holds a result and no vial code{beside}.", _WHOSE, stored_as=FindingKind.UNEXPECTED
    ),
    FindingKind.CODE_RESPELLED: Kind(
        "{n} codes in rows {rows} are written differently from our labels (first {written}); each still checks.",
        _NOTE,
        per_file=True,
        single="Row {rows}: {written} is written differently from our label; it still checks.",
    ),
    FindingKind.LONGER_CODE: Kind(
        "{vial}, row {row}: the lab writes {written}, more than the code: a re-run, a second vial or another sample?"
        " Ask the lab; then accept it as the result of this vial, or reject it.",
        _KEEP,
        holds=True,
    ),
    # what the lab says more than once
    FindingKind.DUPLICATE_ROW: Kind(
        "Rows {rows} repeat {n} results that the file holds already; each counts once.",
        _NOTE,
        per_file=True,
        single="Row {rows} repeats a result that the file holds already; it counts once.",
    ),
    FindingKind.CONFLICTING: Kind(
        "{vial} appears in rows {rows} with different results ({values}).", _KEEP, holds=True
    ),
    FindingKind.REISSUE_CHANGED: Kind(
        "{vial} was {old} in an earlier file and is {new} in row {row}; the later one now counts. Reject it, and"
        " the earlier one counts again.",
        _KEEP,
    ),
    FindingKind.REISSUE_OF_REJECTED: Kind(
        "{vial} had a result that was rejected; row {row} brings another ({new}).", _KEEP, holds=True
    ),
    FindingKind.DOUBT_LEFT_OUT: Kind(
        "{vial}, row {row}: an earlier file has the same value and {said} beside it, and this one cannot show such a"
        " doubt: ask the lab, then accept or reject it.",
        _KEEP,
        holds=True,
        stored_as=FindingKind.LAB_SAYS_NO,
    ),
    FindingKind.FAILED_AFTER_RESULT: Kind(
        "{vial} was {old} in an earlier file and has no result in row {row}{said}; the earlier one counts until"
        " this is decided: accept, and the failure counts; reject, and the earlier one stays.",
        _KEEP,
        holds=True,
    ),
    FindingKind.LEFT_OUT: Kind(
        "{vial} was {old} in {earlier} and is not in {file}, which has {n_again} of that file's {n_earlier} samples"
        " again: ask the lab whether it took the value back. It counts until this is decided: accept keeps it, reject"
        " takes it out.",
        _KEEP,
        of_vials=True,
    ),
    FindingKind.DUPLICATES_DISAGREE: Kind(
        "{vial} and {other_vial} hold the same fish, but q is {q} and {other_q}: {difference:.3f} apart"
        "{alleles}.",
        _KEEP,
        of_vials=True,
    ),
    # samples without a result, and results without a sample
    FindingKind.FAILED: Kind(
        "{vial} gave no result{said} (row {row}).", (Decision.ACCEPT, Decision.RESAMPLE, Decision.CLOSE)
    ),
    FindingKind.BLANK_TYPED: Kind(
        "{vial} is a blank and gave a genotype (q {q}, row {row}): the box or the plate may be contaminated.",
        _KEEP,
    ),
    FindingKind.ZERO_FOR_MISSING: Kind(
        "{vial}, row {row}: {what} is 0, which looks like a failed sample written as a number.",
        _KEEP,
        holds=True,
    ),
    # values
    FindingKind.IMPOSSIBLE_VALUE: Kind(
        "{vial}, row {row}: {column} is {written}, outside what is possible ({limits}){among}.",
        _KEEP,
        holds=True,
    ),
    FindingKind.UNREADABLE_VALUE: Kind(
        "{vial}, row {row}: {column} is {written}, which is not a number.", _KEEP, holds=True
    ),
    FindingKind.MANGLED_VALUE: Kind(
        "{vial}, row {row}: {column} is {written}, changed by a spreadsheet ({how}).", _KEEP, holds=True
    ),
    FindingKind.CELL_ERROR: Kind("{vial}, row {row}: {column} shows the error {written}.", _KEEP, holds=True),
    FindingKind.STRUCK_OUT: Kind(
        "{vial}, row {row}: {columns} {are} struck through in the sheet, so somebody may have taken the value back:"
        " ask the lab, then accept or reject it.",
        _KEEP,
        holds=True,
    ),
    FindingKind.LAB_SAYS_NO: Kind(
        "{vial}, row {row}: {column} says {said}, which casts doubt on the value beside it: ask the lab, then accept or"
        " reject it.",
        _KEEP,
        holds=True,
    ),
    FindingKind.MARKED: Kind(
        "{vial}, row {row}: {mark}, so somebody may have meant the value otherwise: ask the lab, then accept or reject"
        " it.",
        _KEEP,
        holds=True,
    ),
    FindingKind.UNIT_IN_DOUBT: Kind(
        "Rows {rows}: column {column} is read as {unit}, as a person says, and these {n} values may be {other} (first"
        " {written}), since its other values fit one unit only: ask the lab, then accept or reject them.",
        _KEEP,
        holds=True,
        per_file=True,
        single="Row {rows}: column {column} is read as {unit}, as a person says, and {written} may be {other}, since"
        " its other values fit one unit only: ask the lab, then accept or reject it.",
    ),
    FindingKind.FILE_IN_DOUBT: Kind(
        "Rows {rows}: {said}, which changes what their values mean, a person says: ask the lab, then accept or reject"
        " them.",
        _KEEP,
        holds=True,
        per_file=True,
        single="Row {rows}: {said}, which changes what its value means, a person says: ask the lab, then accept or"
        " reject it.",
    ),
    FindingKind.CLASS_CONTRADICTS: Kind(
        "{vial}, row {row}: the lab's class is {lab_class}, but q is {q:.4g}: ask the lab which of them is right.",
        _KEEP,
        holds=True,
    ),
    FindingKind.COUNT_OUT_OF: Kind(
        "{vial}, row {row}: {column} is {written}, which is not out of the {wanted} that {loci} loci make.",
        _KEEP,
        holds=True,
    ),
    FindingKind.FORMULA_WITHOUT_VALUE: Kind(
        "{vial}, row {row}: {column} is a formula whose value the file does not hold ({written}).",
        _KEEP,
        holds=True,
    ),
    FindingKind.NEGATIVE_ZERO: Kind(
        "Rows {rows}: {n} values are written as negative zero (-0); read as 0.",
        _NOTE,
        per_file=True,
        single="Row {rows}: a value is written as negative zero (-0); read as 0.",
    ),
    FindingKind.OTHER_DECIMAL_MARK: Kind(
        "Rows {rows}: {n} numbers have another decimal mark than the rest (first {written}); each can only be read one"
        " way, and was.",
        _NOTE,
        per_file=True,
        single="Row {rows}: {written} has another decimal mark than the rest; it can only be read one way, and was.",
    ),
    FindingKind.SUM_NOT_ONE: Kind(
        "{vial}, row {row}: the shares sum to {total:.4g}, not 1.", _KEEP, holds=True
    ),
    FindingKind.BREAKS_BOUND: Kind(
        "{vial}, row {row}: H {heterozygosity:.4g} is more than q {q:.4g} allows ({most:.4g} at most); are"
        " columns swapped, or homozygous loci given?",
        _KEEP,
        holds=True,
    ),
    FindingKind.LESS_THAN_ONE_LOCUS: Kind(
        "{vial}, row {row}: H {heterozygosity:.4g} at {n_loci} loci is {loci:.2g} of one locus, which no fish"
        " has: a fraction read as a percent, or another number of loci?",
        _KEEP,
        holds=True,
    ),
    FindingKind.GENOTYPES_DISAGREE: Kind(
        "{vial}, row {row}: the lab gives {stated}, its genotypes give {counted}{how}. Accept: use what the lab"
        " gives. Recount: use what the genotypes give.",
        (Decision.ACCEPT, Decision.RECOUNT, *_KEEP[1:]),
        holds=True,
    ),
    FindingKind.GENOTYPE_LOCI_DISAGREE: Kind(
        "Rows {rows}: {n} times the number of loci the lab states differs from the calls in its genotypes (first:"
        " {stated} stated, {counted} called); the stated one is kept.",
        _NOTE,
        per_file=True,
        single="Row {rows}: the lab states {stated} loci, its genotypes have {counted} calls; the stated number is"
        " kept.",
    ),
    FindingKind.UNREADABLE_GENOTYPE: Kind("{vial}, row {row}: {problem}.", _KEEP, holds=True),
    FindingKind.MORE_LOCI_THAN_PANEL: Kind(
        "{vial}, row {row}: {n_loci} loci are said to be scored; the panel has {panel_loci}.",
        _KEEP,
        holds=True,
    ),
    FindingKind.OTHER_LOCI: Kind(
        "Rows {rows}: more loci are said to be scored (first {n_loci}) than the {panel_loci} of the panel: another"
        " panel, or the lab's list of all it typed? Ask the lab, then accept or reject them.",
        _KEEP,
        holds=True,
        per_file=True,
    ),
    FindingKind.OFF_GRID: Kind(
        "Rows {rows}: {n} proportions do not equal a whole number of alleles at the loci scored; check the"
        " number of loci and the column.",
        _NOTE,
        per_file=True,
        single="{vial}, row {rows}: the proportion does not equal a whole number of alleles at the loci scored;"
        " check the number of loci and the column.",
    ),
    FindingKind.ODD_PARITY: Kind(
        "Rows {rows}: {n} pairs of q and H have the wrong parity for the loci scored, all called (half a"
        " homozygous locus would be left over): missing calls, another number of loci or another column.",
        _NOTE,
        per_file=True,
        single="{vial}, row {rows}: q and H have the wrong parity for the loci scored, all called (half"
        " a homozygous locus would be left over): missing calls, another number of loci"
        " or another column.",
    ),
    FindingKind.LOW_CALL_RATE: Kind(
        "{vial}, row {row}: {called} of the loci were called, below {wanted}.", _KEEP
    ),
    FindingKind.CALL_RATE_TOO_LOW: Kind(
        "{vial}, row {row}: only {scored} were called, so the value may be anything: ask the lab, then"
        " accept or reject it.",
        _KEEP,
        holds=True,
    ),
    FindingKind.TOO_FEW_LOCI: Kind(
        "Rows {rows}: {n} fish were typed at {loci} loci, and the rule set {rule_set} names no class below {least}:"
        " they stay undetermined, and their q are coarse.",
        _KEEP,
        single="{vial}, row {row}: {loci} loci were scored, and the rule set {rule_set} names no class below"
        " {least}: the fish stays undetermined, and one allele moves its q by {step:.3f}.",
    ),
    FindingKind.LOCI_UNKNOWN: Kind(
        "Rows {rows}: the file does not say how many loci were scored; without it a fish's own q has no interval"
        " and no generation can be named.",
        _NOTE,
        per_file=True,
        single="Row {rows}: the file does not say how many loci were scored; without it the fish's own q has no"
        " interval and no generation can be named.",
    ),
    # patterns
    FindingKind.ZERO_HETEROZYGOSITY: Kind(
        "Rows {rows}: {n} fish of mixed ancestry have H 0, which may be a placeholder for no value.",
        _NOTE,
        per_file=True,
        single="Row {rows}: a fish of mixed ancestry has H 0, which may be a placeholder for no value.",
    ),
    FindingKind.IDENTICAL_RUN: Kind(
        "Rows {rows}: {n} neighbouring vials have the same {same}. Lake or lab: fish of one brood may be alike by"
        " chance, one fish may be there twice, or one value was copied down; look at the field sheet first.",
        (Decision.ACCEPT, Decision.REJECT, Decision.CLOSE),
    ),
    FindingKind.COPIED_DOWN: Kind(
        "Rows {rows}: {n} {how}, which is unlikely by chance, so values may have been copied: ask the lab, then"
        " accept or reject them.",
        _KEEP,
        holds=True,
        per_file=True,
    ),
    FindingKind.SAME_GENOTYPE: Kind(
        "{vial} ({fish}) and {other_vial} ({other_fish}) have the same genotype at {n_same} of {n_loci} loci scored"
        " in both ({where}): one fish swabbed twice, or a vial filled from another fish? Look at both fish on the"
        " field sheet; then reject the vial that is wrong, or accept both.",
        (Decision.ACCEPT, Decision.REJECT, Decision.RESAMPLE, Decision.CLOSE),
        of_vials=True,
    ),
    FindingKind.SAME_GENOTYPE_MANY: Kind(
        "{n_fish} fish of survey {survey} have the same genotype except for a misread locus ({where}): genotypes copied"
        " down, one sample on many wells, or a lineage or brood whose fish this panel cannot tell apart? Ask the lab.",
        (Decision.ACCEPT, Decision.REJECT, Decision.RESAMPLE, Decision.CLOSE),
    ),
    FindingKind.POSSIBLE_THIRD_LINEAGE: Kind(
        "Survey {survey}: {n} fish, mean q {p:.3f}, mean H {h:.3f}, deficit F {f:.2f}: possible third lineage,"
        " other species or failed assay{shape}.",
        _NOTE,
    ),
    FindingKind.THIRD_SHARE: Kind(
        "{vial}, row {row}: the lab gives {third:.3g} of this fish to a third lineage, so the share of two taxa does"
        " not describe it: accept or reject it.",
        _KEEP,
        holds=True,
    ),
    FindingKind.CLASS_DISAGREES: Kind(
        "Rows {rows}: {n} times the lab's class differs from ours by the rule set {rule_set} (first: the lab says"
        " {lab_class}, q {q:.4g}{with_h} is {own_class}).",
        _NOTE,
        per_file=True,
        single="Row {rows}: the lab says {lab_class}; q {q:.4g}{with_h} is {own_class} by the rule set {rule_set}.",
    ),
    FindingKind.F1_LABEL_LOW_HETEROZYGOSITY: Kind(
        "{vial}, row {row}: the lab says {lab_class}, but H is {heterozygosity:.4g}; a first cross is"
        " heterozygous at every locus.",
        _NOTE,
    ),
    # the file
    FindingKind.HIDDEN_ROWS: Kind(
        "Rows {rows} were hidden in the sheet; they were read like the others.",
        _NOTE,
        per_file=True,
        single="Row {rows} was hidden in the sheet; it was read like the others.",
    ),
    FindingKind.SHIPMENT_NOT_SENT: Kind(
        "The shipment is not recorded as sent, yet results came back.", _NOTE, per_file=True
    ),
    FindingKind.SHIPMENT_CLOSED: Kind(
        "The shipment was closed on {closed_on}, yet results came back.",
        _NOTE,
    ),
    FindingKind.OTHER_SPECIES: Kind(
        "{vial}, row {row}: its fish was logged as {species}, for which the panel is not made: correct the fish where"
        " that is wrong (geneticlog correct fish) and accept the result, or reject it.",
        _KEEP,
        holds=True,
    ),
    FindingKind.RETURNED_THOUGH_GONE: Kind(
        "{vial}, row {row}: the lab noted it as {arrival} on arrival, yet it gives a result{note}; a vial mixed up?"
        " Ask the lab.",
        _KEEP,
        holds=True,
    ),
}


MEANWHILE = "meanwhile"  # fact: what an earlier file said and what counts while a held row waits
ABOUT_THE_CODE = frozenset(
    {FindingKind.NO_CODE, FindingKind.MANGLED_CODE, FindingKind.UNREADABLE_CODE, FindingKind.CODE_RESPELLED}
)


class Noted(NamedTuple):
    """Something seen in one row: the kind and the facts of its sentence."""

    kind: FindingKind
    facts: Mapping[str, object]
