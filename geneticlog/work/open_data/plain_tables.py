"""Tables of the open data without a standard of their own: a tidy row a fish, what the lab said, the stockings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from geneticlog.rules.ancestry import ancestry_class
from geneticlog.rules.genetics.generation import generation_of
from geneticlog.rules.genetics.rule_set import RuleSet
from geneticlog.store.tables import Lake
from geneticlog.work.events import fish_name
from geneticlog.work.open_data.tables import DWC, Field, Namespace, OpenTable, Told, dwc, pair_of
from geneticlog.work.result.called_loci import Called, call_rate_of
from geneticlog.work.result.genotype_decisions import Settled
from geneticlog.work.result.in_the_numbers import LakePairs


def outcomes_table(results: Sequence[Any], doubtful: set[int], ids: Namespace) -> OpenTable:
    """Return what the lab said of each vial: failures, blind duplicates, held and rejected values too.

    results
        (result, vial, fish) in order.
    doubtful
        ids of the vials with a finding that waits.
    """
    fields = (
        Field("outcomeID", required=True), dwc("materialSampleID", required=True), Field("role", required=True),
        Field("outcome", required=True), Field("standing", required=True), Field("counts", "boolean", required=True),
        Field("q", "number", least=0, most=1), Field("heterozygosity", "number", least=0, most=1),
        Field("n_loci", "integer", least=1), Field("failure"), Field("doubtful", "boolean", required=True),
    )  # fmt: skip
    n_of: Counter[int] = Counter()
    rows = []
    for result, vial, fish in results:
        n_of[vial.id] += 1  # the first, second, … result of its vial: the same in every export
        rows.append([ids.urn(fish.uid, vial.code, str(n_of[vial.id])), ids.urn(fish.uid, vial.code), vial.role,
                     result.outcome, result.standing, result.fish_id is not None, result.q, result.heterozygosity,
                     result.n_loci, result.failure, vial.id in doubtful])  # fmt: skip
    return OpenTable(
        "outcome", "What the laboratory said of each vial, failures and blind duplicates too", fields, rows,
        "outcomeID", (("materialSampleID", "materialsample", "materialSampleID"),),
    )  # fmt: skip


def stockings_table(stockings: Sequence[Any], shown: Told, ids: Namespace) -> OpenTable:
    """Return the stockings of the lakes; stockings: (stocking, lake)."""
    fields = [
        Field("stockingID", required=True), dwc("locationID", required=True),
        Field("stocked_on", "date", DWC + "eventDate", required=True), Field("stocked_taxon", required=True),
        Field("n_stocked", "integer", least=1), Field("stocked_size"),
    ]  # fmt: skip
    if shown.people:
        fields.append(Field("stocked_source"))
    rows = [
        [ids.urn(one.uid), ids.urn(lake.uid), one.stocked_on, one.taxon, one.n_fish, one.size,
         *([one.source] if shown.people else [])]
        for one, lake in stockings
    ]  # fmt: skip
    return OpenTable("stocking", "Fish stocked into the lakes", tuple(fields), rows, "stockingID")


@dataclass(frozen=True)
class KnownOfFish:
    """What the table of fish needs beside them: the lake of each survey (by its id), pairs of taxa and rule set; by the
    id of a result its called loci, whether the lab gave their number, and what was settled of its genotypes.
    """

    lakes: Mapping[int, Lake]
    pairs: LakePairs
    rule_set: RuleSet
    called: dict[int, Called]
    given: set[int]
    settled: dict[int, Settled]


def fish_table(
    fish: Sequence[Any], known: KnownOfFish, doubtful: set[int], shown: Told, ids: Namespace
) -> OpenTable:
    fields = (
        Field("fish", required=True), Field("lake", required=True), Field("survey", required=True),
        Field("surveyed_on", "date", required=True), Field("number", "integer", required=True),
        Field("n_fish", "integer", required=True, least=1), Field("species", required=True),
        Field("total_length", "number"), Field("length_unit"), Field("total_length_mm", "number"),
        Field("weight", "number"), Field("weight_unit"), Field("weight_g", "number"), Field("size_class"),
        Field("relative_weight", "number"), Field("vial"), Field("panel"), Field("taxon"),
        Field("q", "number", least=0, most=1), Field("heterozygosity", "number", least=0, most=1),
        Field("n_loci", "integer", least=1), Field("call_rate", "number", least=0, most=1),
        Field("call_rate_from"), Field("ancestry_class"),
        Field("rule_set"), Field("q_low", "number", least=0, most=1), Field("q_high", "number", least=0, most=1),
        Field("generation"), Field("likeliest"), Field("margin", "number", least=0), Field("aic_difference", "number"),
        Field("counted_from"), Field("doubtful", "boolean", required=True),
        Field("in_the_numbers", "boolean", required=True),
        *([Field("survey_code"), Field("fish_code")] if shown.names else []),
    )  # fmt: skip
    rows = []
    for each, survey, result, vial, panel, counts in fish:
        row = [
            ids.urn(each.uid), ids.urn(known.lakes[survey.id].uid), ids.urn(survey.uid), survey.surveyed_on,
            each.number, each.n_fish, each.species, each.length, each.length_unit, each.length_mm, each.weight,
            each.weight_unit, each.weight_g, each.size_class, each.relative_weight,
        ]  # fmt: skip
        code = [survey.code, fish_name(survey.code, each.number)] if shown.names else []
        if result is None or result.q is None:
            rows.append([*row, *(None,) * 17, False, False, *code])
            continue
        taxon, other = pair_of(survey, panel, known.pairs)
        calls = known.called.get(result.id)
        call_rate = call_rate_of(result, panel, calls, loci_are_given=result.id in known.given)
        generation = generation_of(
            result.q, result.heterozygosity, result.n_loci, genotypes=calls.loci if calls else None,
            believe_genotypes=result.id not in known.settled or known.settled[result.id].believes_genotypes,
            rule_set=known.rule_set, taxon=taxon, other_taxon=other,
        )  # fmt: skip
        named = ancestry_class(
            result.q, result.heterozygosity, result.n_loci, known.rule_set, taxon=taxon, other_taxon=other
        )
        rows.append([*row, vial.code if vial is not None else None, panel.code if panel is not None else None, taxon,
                     result.q, result.heterozygosity, result.n_loci, *call_rate, named,
                     known.rule_set.label, generation.low, generation.high, generation.told,
                     generation.likeliest, generation.margin, generation.aic_difference, generation.counted_from,
                     vial is not None and vial.id in doubtful,
                     bool(counts), *code])  # fmt: skip
    return OpenTable("fish", "One row a fish, for R or pandas", fields, rows, "fish")
