"""What the rows of a return show together: values copied down, another lineage, a panel of too few loci."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import TYPE_CHECKING

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.genetics.lineage import lineage_sign
from geneticlog.rules.genetics.rule_set import RuleSet
from geneticlog.rules.lab_return.columns.value_checks import identical_runs
from geneticlog.rules.lab_return.doubts_of_files.same_genotypes import LEAST_SHARED_LOCI
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.sheet.sheet_rows import SheetRows
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.result.result_states import ResultStanding
from geneticlog.work.finding.open_findings import Found

if TYPE_CHECKING:
    from geneticlog.work.lab_return.place_rows import PlacedRow


def runs(placed: Sequence[PlacedRow]) -> list[Found]:
    """Neighbours, three or more, that share q and H (and what genotypes there are) where those could well differ.

    Where the file has no H, four neighbours of one q are reported, first crosses (q one half) left out. Of q and H
    alone
    two fish of a lake may well be alike by chance, so only neighbours tell. Where a row has
    genotypes enough, its vial is compared with every other one of its survey (work/lab_return/find_same_fish.py).
    """
    signatures: list[tuple[object, ...] | None] = []
    shares: list[tuple[object, ...] | None] = []
    for each in placed:
        draft = each.draft
        signature: tuple[object, ...] | None = None
        h = draft.heterozygosity
        # Nearly pure fish share their few alleles by chance, first crosses are all alike.
        telling = draft.q is not None and h is not None and 0.05 < draft.q < 0.95 and h < 1.0
        n_called = sum(count is not None for count in (draft.genotypes or {}).values())
        if each.standing and telling and n_called < LEAST_SHARED_LOCI:
            signature = (draft.q, h, *sorted((draft.genotypes or {}).items()))
        signatures.append(signature)
        alone = (
            each.standing and h is None and draft.q is not None and 0.05 < draft.q < 0.95 and draft.q != 0.5
        )
        shares.append((draft.q,) if alone else None)
    alike = [
        ("q and H", identical_runs(signatures, 3)),
        ("q", identical_runs(shares, 4)),
    ]
    return [
        Found(
            FindingKind.IDENTICAL_RUN, {"same": same}, [each.draft.row for each in placed[first : last + 1]]
        )
        for same, found in alike
        for first, last in found
        if not any(noted.kind == FindingKind.COPIED_DOWN for noted in placed[first].draft.noted)
    ]


def lineages(placed: Sequence[PlacedRow]) -> list[Found]:
    """Surveys whose fish have far fewer heterozygous loci than their mean q and their own q call for."""
    lots: dict[int, list[PlacedRow]] = defaultdict(list)
    for each in placed:
        vial, draft = each.vial, each.draft
        if (
            vial is None
            or vial.survey_id is None
            or vial.role == VialRole.BLANK
            or each.standing != ResultStanding.CURRENT
        ):
            continue
        if draft.q is not None and draft.heterozygosity is not None:
            lots[vial.survey_id].append(each)
    out = []
    for survey_id, lot in lots.items():
        shares = [each.draft.q or 0.0 for each in lot]
        mixed = [each.draft.heterozygosity or 0.0 for each in lot]
        sign = lineage_sign(shares, mixed)
        if not sign.third_lineage:  # two kinds side by side are a matter of the lake, told in its report
            continue
        facts: dict[str, object] = {"survey": lot[0].vial.survey if lot[0].vial else "", "n": len(lot)}
        facts.update(
            {"p": sum(shares) / len(lot), "h": sum(mixed) / len(lot), "f": sign.f, "shape": f"; {sign.hint}"}
        )
        rows = [each.draft.row for each in lot]
        out.append(Found(FindingKind.POSSIBLE_THIRD_LINEAGE, facts, rows, survey_id=survey_id))
    return out


def outside_in_words(drafts: Sequence[Draft], sheet_rows: SheetRows) -> dict[str, str]:
    """Return, by column of proportions, how many of its values are impossible, and whether all of it may be percent."""
    rows: dict[str, list[int]] = defaultdict(list)
    limits: dict[str, str] = {}
    for draft in drafts:
        for kind, facts in draft.noted:
            if kind == FindingKind.IMPOSSIBLE_VALUE and (role := str(facts.get("role", ""))):
                rows[role].append(draft.row)
                limits[role] = str(facts["limits"])
    words = {}
    for role, outside in rows.items():
        n = len(outside) + sum(getattr(draft, role) is not None for draft in drafts)
        one = len(outside) == 1
        words[role] = f"; {len(outside)} of {n} values in this column {'is' if one else 'are'} outside"
        if not one:
            words[role] += f" (rows {sheet_rows.words(outside)})"
        if limits[role] == "0 to 1":
            words[role] += (
                f": if all of it is in percent, it is to be read with --unit {role}=percent"
                if 2 * len(outside) >= n
                else f", and the other {n - len(outside)} fit a fraction, in which the column is read"
            )
    return words


def few_loci(placed: Sequence[PlacedRow], rule_set: RuleSet) -> list[Found]:
    """Fish typed at fewer loci than the rule set in force names a class from.

    One finding a fish, so that each can be decided by itself; where most fish of the file are such, the panel is why,
    and one finding tells them all.
    """
    typed = [each for each in placed if each.vial and each.standing and each.draft.q is not None]
    few = [
        each
        for each in typed
        if each.draft.n_loci
        and each.draft.n_loci < rule_set.least_loci
        and each.vial
        and each.vial.role != VialRole.BLANK
        and not any(
            noted.kind == FindingKind.CALL_RATE_TOO_LOW for noted in each.draft.noted
        )  # which says more
    ]
    facts: dict[str, object] = {"rule_set": rule_set.label, "least": rule_set.least_loci}
    if len(few) > 1 and 2 * len(few) > len(typed):
        counts = sorted({each.draft.n_loci for each in few if each.draft.n_loci})
        loci = f"{counts[0]}" if len(counts) == 1 else f"{counts[0]} to {counts[-1]}"
        return [Found(FindingKind.TOO_FEW_LOCI, {**facts, "loci": loci}, [each.draft.row for each in few])]
    return [
        Found(
            FindingKind.TOO_FEW_LOCI,
            {**facts, "vial": each.vial.code, "loci": each.draft.n_loci, "step": 1 / (2 * each.draft.n_loci)},
            [each.draft.row],
            each.vial.id,
        )
        for each in few
        if each.vial and each.draft.n_loci
    ]
