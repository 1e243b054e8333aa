"""Parts of the lake report that set ancestry beside other things of a fish: its size class, length, condition."""

from __future__ import annotations

from itertools import groupby

from geneticlog.faces.app.numbers_in_words import NONE, p_value, percent_range, three_range, whole
from geneticlog.faces.report.blocks import Block, table, text
from geneticlog.faces.report.numbers import holm_note
from geneticlog.rules.lengths import MM_PER
from geneticlog.rules.sentences import n_of
from geneticlog.rules.statistics.estimates import TOO_FEW
from geneticlog.rules.statistics.growth import CAUTION, SMALL_FLORIDA_CAUTION
from geneticlog.work.report.facts import LakeFacts, SurveyFacts
from geneticlog.work.report.lake_growth import GrowthRow, growth_rows
from geneticlog.work.report.lake_kinds import KindShare, kind_shares, kinds_and_carriers


def size_structure_blocks(survey: SurveyFacts) -> list[Block]:
    """Return PSD and its higher indices in whole numbers, or the sentence that says why there are none."""
    structure = survey.size_structure
    if structure.why:
        return [text(structure.why)]
    columns = [("index", False), ("fish of at least", True), ("value", True), ("95 % interval", True),
               ("that long", True), ("stock and over", True), ("reliability", False)]  # fmt: skip
    rows = [
        [row.index, f"{row.least_length:g} {structure.unit}", whole(row.value),
         NONE if row.low is None else f"{whole(row.low)} to {whole(row.high)}", str(row.n_at_least),
         str(row.n_stock), row.guard or "enough fish"]
        for row in structure.indices
    ]  # fmt: skip
    note = (
        f"Of 100 fish of stock length ({structure.stock_length:g} {structure.unit}) and over in the measured catch, "
        f"how many are of quality, preferred, memorable and trophy length; each has a Wilson interval of its own. "
        f"{structure.n_substock} substock fish are in none of them."
    )
    if structure.n_left_out:
        note += f" {structure.n_left_out} fish caught without a length or a size class are left out."
    return [table("size-structure", "Size structure of the catch (PSD)", columns, rows, note)]


def kinds_table(lake: LakeFacts, survey: SurveyFacts) -> Block:
    """Return the fish of each ancestry class by size class, counted, with the Wilson interval of each share."""
    rows, kinds = [], []
    for size_class, group in groupby(kind_shares(survey), key=lambda one: one.size_class):
        shares = list(group)
        kinds = [one.ancestry_class for one in shares]
        n = shares[0].n_resulted
        label = "all fish typed" if size_class is None else size_class
        rows.append([label, str(n), *(_cell(one) for one in shares), _guard(shares)])
    note = (
        "Fish with a result, and in brackets the 95 % Wilson interval of the share of such fish in the size class; "
        "a class of which none was seen may still be there up to the upper end. The last row is of the fish typed, not "
        "of the lake: swabs are spread over the sizes, so rare sizes weigh in it as much as common ones."
    )
    note += _beside_carriers(survey)
    if any(one.n_fish is None for one in kind_shares(survey)):
        note += " An F1 is not named where no heterozygosity was given."
    unstated = sum(fish.n_loci is None for fish in survey.fish)
    if unstated:
        note += (
            f" {unstated} of the {survey.n_resulted} fish: loci not stated, so their class was not tested against "
            f"the least number, {lake.rule_set.least_loci} loci."
        )
    columns = [("size class", False), ("result", True), *((kind, True) for kind in kinds),
               ("reliability", False)]  # fmt: skip
    return table("composition", "What each size class is made of, in fish", columns, rows, note)


def _beside_carriers(survey: SurveyFacts) -> str:
    """Return how the classes go with the carriers, "" where they agree."""
    apart = kinds_and_carriers(survey)
    parts = []
    if apart.n_mixed_misread:
        parts.append(f"{n_of(apart.n_mixed_misread, 'fish is', 'fish are')} intergrade or F1 and no carrier")
    if apart.n_pure_carriers:
        parts.append(
            f"{n_of(apart.n_pure_carriers, 'fish is', 'fish are')} {survey.other_taxon} and a carrier"
        )
    if not parts:
        return ""
    return (
        " Classes are named by the cut-offs of the rule set, carriers by their likelihood under misreading, which may "
        f"differ near a cut-off: {' and '.join(parts)}."
    )


def _cell(share: KindShare) -> str:
    if share.n_fish is None or share.share is None:
        return NONE
    return f"{share.n_fish} ({percent_range(share.low, share.high)})"


def _guard(shares: list[KindShare]) -> str:
    said = [one.guard for one in shares if one.n_fish is not None and one.guard]
    return max(said, key=len, default="enough fish")  # the widest share speaks for the row


def growth_blocks(lake: LakeFacts, survey: SurveyFacts) -> list[Block]:
    """Return condition and length against ancestry, within size classes so that size itself adds nothing."""
    rows = growth_rows(survey)
    if not rows:
        return [
            text(
                "No fish with a size class has a result, so it cannot be compared with length and condition."
            )
        ]
    blocks = [
        text(
            f"Among fish of one size class, does the {lake.taxon} share go with plumpness (relative weight, Wr) or "
            f"with length? {CAUTION}"
        )
    ]
    for measure, caption in (("relative_weight", "Relative weight and q"), ("length_mm", "Length and q")):
        ours = [row for row in rows if row.measure == measure]
        if not any(row.n for row in ours):
            blocks.append(text("No fish with a result was weighed, so nothing can be said about condition."))
            continue
        scale, unit = (
            (1.0, "Wr") if measure == "relative_weight" else (float(MM_PER[survey.unit]), survey.unit)
        )
        columns = [("size class", False), ("fish", True), ("range of q", True),
                   (f"{unit} per 0.1 of q", True), ("95 % interval", True), ("p", True), ("p, Holm", True),
                   ("rank\ncorrelation", True), ("its 95 %\ninterval", True), ("reliability", False)]  # fmt: skip
        note = holm_note(
            sum(row.p_holm is not None for row in ours), "the lines of this table with fish enough"
        )
        lines = [_growth_line(row, scale) for row in ours]
        blocks.append(table(f"growth-{measure}", caption, columns, lines, note))
    note = (
        "Per 0.1 of q: by how much the measure is higher, or lower, in fish with one tenth more "
        f"{lake.taxon} alleles. The last line lets every size class keep a mean of its own. An interval that holds 0 "
        "leaves open whether they go together."
    )
    blocks.append(text(note, "note"))
    if {lake.taxon, lake.other_taxon} == {"Florida", "northern"}:
        blocks.append(text(SMALL_FLORIDA_CAUTION))
    return blocks


def _growth_line(row: GrowthRow, scale: float) -> list[str]:
    too_few = TOO_FEW in row.guard  # a slope of so few has an interval that would only frighten
    slope = (None, None, None) if too_few else (row.slope, row.low, row.high)
    tenth = [None if value is None else value / 10 / scale for value in slope]
    spread = NONE if tenth[1] is None else f"{_signed(tenth[1])} to {_signed(tenth[2])}"
    ranks = (
        NONE if row.rank_low is None or too_few else f"{_signed(row.rank_low)} to {_signed(row.rank_high)}"
    )
    name = "all, within size class" if row.size_class is None else row.size_class
    return [name, str(row.n), three_range(row.least_q, row.most_q), _signed(tenth[0]), spread,
            p_value(None if too_few else row.p), p_value(None if too_few else row.p_holm),
            _signed(None if too_few else row.rank), ranks, row.guard or "enough fish"]  # fmt: skip


def _signed(value: float | None) -> str:
    if value is None:
        return NONE
    shown = f"{value:+.2f}"
    return "0.00" if shown in ("+0.00", "-0.00") else shown.replace("-", "−")
