"""Blanks, blind duplicates and known fish that together say that codes and values do not belong together.

Each of them alone is a finding about its vial. Where most contradict, and not all are of one kind, the values of the
fish beside them are as wrong: a column was sorted alone, slipped by a row, or goes by another map of the plate.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations
from typing import NamedTuple

from geneticlog.rules.lab_return.doubts_of_rows.known_fish import contradicts_kind
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.words.headings import Taxa
from geneticlog.rules.result.result_states import Outcome
from geneticlog.rules.shipment.duplicates import proportions_apart

LEAST_AGAINST, LEAST_KINDS = (
    3,
    2,
)  # controls that contradict, and kinds among them. Common practice, no source
LEAST_PART = 0.2  # of all controls, to look for a move of the column
BLANKS, PAIRS, KNOWN = (
    "blanks with a result",
    "blind duplicates apart from their fish",
    "known fish of another kind",
)


class Controls(NamedTuple):
    """By place in the file: the blanks, the pairs of vials of one fish, and the fish of known kind."""

    blanks: frozenset[int]
    pairs: tuple[tuple[int, int], ...]
    kinds: Mapping[int, str]


def controls_among(
    drafts: Sequence[Draft], blanks: Mapping[int, bool], fish: Mapping[int, int], kinds: Mapping[int, str]
) -> Controls:
    """Return the controls among drafts.

    blanks, fish, kinds
        by row: whether its vial is a blank, which fish it is of, and the kind it is known to be.
    """
    of_fish: dict[int, list[int]] = {}
    for i, draft in enumerate(drafts):
        if draft.row in fish:
            of_fish.setdefault(fish[draft.row], []).append(i)
    pairs = [
        pair
        for places in of_fish.values()
        for pair in combinations(places, 2)
        if drafts[pair[0]].code != drafts[pair[1]].code
    ]
    return Controls(
        frozenset(i for i, draft in enumerate(drafts) if blanks.get(draft.row)),
        tuple(pairs),
        {i: kinds[draft.row] for i, draft in enumerate(drafts) if draft.row in kinds},
    )


def controls_against(drafts: Sequence[Draft], controls: Controls, taxa: Taxa) -> str:
    """Return what to ask where controls of two kinds contradict the values, or the empty text.

    That is where most of them do, or where none would if a part of the column were moved by a row.
    """
    as_it_is: list[Draft | None] = list(drafts)
    against, n = _against(as_it_is, controls, taxa)
    n_against = sum(number for number, _ in against.values())
    kinds = [kind for kind, (number, _) in against.items() if number]
    if n_against < max(LEAST_AGAINST, LEAST_PART * n) or len(kinds) < LEAST_KINDS:
        return ""
    moved = _moved(as_it_is, controls, taxa)
    if 2 * n_against <= n and not moved:
        return ""
    seen = ", ".join(f"{number} of {of} {kind}" for kind, (number, of) in against.items() if number)
    return f"{seen}: do the codes and the values belong together" + (f" ({moved})" if moved else "")


def _against(
    values: Sequence[Draft | None], controls: Controls, taxa: Taxa
) -> tuple[dict[str, tuple[int, int]], int]:
    """By kind of control, how many contradict, of how many that say something; and the number of these."""
    blanks = [values[i] for i in controls.blanks]
    typed = [one for one in blanks if one and one.q is not None]
    empty = [one for one in blanks if one and one.outcome == Outcome.FAILED]
    both = [
        (a, b)
        for i, j in controls.pairs
        if (a := values[i]) and (b := values[j]) and a.q is not None and b.q is not None
    ]
    apart = [1 for a, b in both if proportions_apart(a.q or 0.0, b.q or 0.0, a.n_loci, b.n_loci).disagree]
    known = [
        (one, kind)
        for i, kind in controls.kinds.items()
        if (one := values[i]) and one.q is not None and kind in (taxa.taxon, taxa.other_taxon)
    ]
    wrong = [
        1 for one, kind in known if contradicts_kind(kind, taxa, one.q or 0.0, one.heterozygosity, one.n_loci)
    ]
    counts = {
        BLANKS: (len(typed), len(typed) + len(empty)),
        PAIRS: (len(apart), len(both)),
        KNOWN: (len(wrong), len(known)),
    }
    return counts, sum(of for _, of in counts.values())


def _moved(values: Sequence[Draft | None], controls: Controls, taxa: Taxa) -> str:
    """Whether all controls would fit if the values from some row on were those of the row above or below, in words."""
    places = sorted({0, *controls.blanks, *(i for pair in controls.pairs for i in pair), *controls.kinds})
    for step, words in ((1, "below"), (-1, "above")):
        moved = [values[i + step] if 0 <= i + step < len(values) else None for i in range(len(values))]
        for start in places:
            counts, n = _against([*values[:start], *moved[start:]], controls, taxa)
            if n and not any(number for number, _ in counts.values()):
                first = values[start]
                since = f"from {first.written} on, " if start and first else ""
                return f"{since}with the value of the row {words} all of them would fit"
    return ""
