"""A file that says otherwise of most vials than an earlier one of the same shipment did."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from geneticlog.rules.lab_return.drafts.draft import Draft

LEAST_AGAIN, LEAST_CHANGED = 5, 0.5  # vials that an earlier file had, and how many of them have another share
APART = 0.0101  # a share printed in whole percent, twice
LEAST_ALIKE = 0.8  # of the changed ones that are what the earlier shares leave, or those of the row above


def n_changed(drafts: Sequence[Draft], earlier: Mapping[str, float]) -> int:
    """Return how many vials have another share than an earlier file gave; ``earlier`` by vial code."""
    return sum(
        draft.q is not None and abs(draft.q - earlier.get(draft.code or "", draft.q)) > APART
        for draft in drafts
    )


def unlike_earlier(drafts: Sequence[Draft], earlier: Mapping[str, float]) -> str:
    """Return what to ask where most shares are others than an earlier file gave for the same vials, or "".

    earlier
        the shares that stand, by vial code.
    """
    again = [
        (i, draft.q, earlier[draft.code])
        for i, draft in enumerate(drafts)
        if draft.q is not None and draft.code is not None and draft.code in earlier
    ]
    changed = [(i, now, before) for i, now, before in again if abs(now - before) > APART]
    if len(again) < LEAST_AGAIN or len(changed) <= LEAST_CHANGED * len(again):
        return ""
    how = ""
    if _alike([(now, 1 - before) for _, now, before in changed]):
        how = ", and each is what that one leaves (1 - q)"
    for step, words in ((-1, "above"), (1, "below")):
        moved = [
            (now, earlier.get(drafts[i + step].code or ""))
            for i, now, _ in changed
            if 0 <= i + step < len(drafts)
        ]
        if not how and _alike(moved):
            how = f", and each is the earlier one of the row {words}"
    return (
        f"{len(changed)} of {len(again)} vials have another share than in an earlier file{how}: is it an amended list"
        " of the same vials"
    )


def _alike(pairs: Sequence[tuple[float, float | None]]) -> bool:
    same = sum(other is not None and abs(now - other) <= APART for now, other in pairs)
    return bool(pairs) and same >= LEAST_ALIKE * len(pairs)
