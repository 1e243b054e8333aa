"""Place the rows of a file beside what earlier files of its shipment said of the same vials."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

from sqlalchemy.orm import Session

from geneticlog.rules.finding.finding_kinds import ABOUT_THE_CODE, FINDINGS, MEANWHILE, FindingKind
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.drafts.same_result import Again, compare_again, usual_half_digit
from geneticlog.rules.lab_return.sheet.reading import Reading
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.result.result_states import Outcome, ResultStanding
from geneticlog.store.tables import Shipment
from geneticlog.work.finding.open_findings import Found
from geneticlog.work.lab_return.known_before.earlier_rows import (
    Earlier,
    Stranger,
    earlier_rows,
    strangers_before,
)
from geneticlog.work.lab_return.known_before.returned_vials import (
    NO_RESULT,
    Sent,
    strangers,
)
from geneticlog.work.lab_return.place_rows import PlacedRow, place_rows, said_of

# what a lab puts beside a value to say that it doubts it
_OF_THE_LAB = (FindingKind.LAB_SAYS_NO, FindingKind.DOUBT_LEFT_OUT, FindingKind.STRUCK_OUT)


def place(
    session: Session,
    drafts: Sequence[Draft],
    sent: Mapping[str, Sent],
    shipment: Shipment,
    findings: list[Found],
    reading: Reading,
) -> list[PlacedRow]:
    """Return each draft with its vial, the outcome of its row and the standing of its result.

    A later file replaces what an earlier one said, row by row, but a held row replaces nothing that counts, and a value
    that the lab doubted stays held where the later file cannot show a doubt.
    """
    before = strangers_before(session, shipment.id)
    usual = [usual_half_digit([draft.half_digits[i] for draft in drafts]) for i in (0, 1)]
    for draft in drafts:
        draft.half_digits = (min(draft.half_digits[0], usual[0]), min(draft.half_digits[1], usual[1]))
        _match_again(draft, sent, before)
    placed = place_rows(drafts, sent, findings)
    _name_strangers(session, placed, before)
    if earlier := earlier_rows(session, shipment.id):
        shown = _doubts_it_can_show(reading)
        for vial_id, kept in _by_vial(placed).items():
            if vial_id in earlier and not _unchanged(kept, earlier[vial_id], shown):
                _replace(kept, earlier[vial_id], shown)
        again = {each.vial.id for each in placed if each.unchanged and each.vial}
        for each in placed:  # a row that repeats another of the file is as unchanged as that one
            each.unchanged = each.unchanged or bool(each.vial and each.vial.id in again)
        findings[:] = [
            one for one in findings if not (one.kind == FindingKind.CONFLICTING and one.vial_id in again)
        ]
    return placed


def _by_vial(placed: Sequence[PlacedRow]) -> dict[int, list[PlacedRow]]:
    """Return the rows that make a result, by the vial they are about."""
    kept_of: dict[int, list[PlacedRow]] = defaultdict(list)
    for each in placed:
        if each.vial is not None and each.standing:
            kept_of[each.vial.id].append(each)
    return kept_of


def _name_strangers(session: Session, placed: Sequence[PlacedRow], before: Mapping[str, Stranger]) -> None:
    """Say of the rows of no vial of the shipment whose they are, and which of them an earlier file had."""
    unknown = [each for each in placed if each.vial is None]
    codes = [each.draft.code for each in unknown if each.draft.code]
    ours = strangers(session, codes) if codes else {}
    for each in unknown:
        if stranger := ours.get(each.draft.code or ""):
            each.stranger_id, each.where, each.other_shipment = stranger
        if (known := before.get(each.draft.written.strip())) is not None:
            each.unchanged = known.outcome == each.draft.outcome and _as_close(each.draft, known.q)


def _match_again(draft: Draft, sent: Mapping[str, Sent], before: Mapping[str, Stranger]) -> None:
    """Give a row the vial with which a person matched its code in an earlier file of the shipment."""
    if draft.code is not None and draft.code in sent:
        return
    known = before.get(draft.written.strip())
    if known is not None and known.matched in sent:
        draft.code = known.matched
        draft.noted = [noted for noted in draft.noted if noted.kind not in ABOUT_THE_CODE]


def _as_close(draft: Draft, q: float | None, half_digit: float = 0.0) -> bool:
    """Whether a row gives a share again, as far as the digits written tell; half_digit: of the share before."""
    if draft.q is None or q is None:
        return draft.q is q
    return abs(draft.q - q) <= max(draft.half_digits[0], half_digit) + 1e-9


def _unchanged(kept: list[PlacedRow], earlier: list[Earlier], shown: frozenset[FindingKind]) -> bool:
    """Mark rows that say again what an earlier file said of their vial; return whether all of them do.

    What counts or waits stays so, with every decision on it, unless the lab takes its doubt back. A row that says again
    what counts, after a later file said otherwise and nobody had decided on that, replaces the doubtful one.
    """
    if len(kept) == 1:
        (each,) = kept
        (newest, *older) = reversed(earlier)
        if _takes_back(each, newest, shown):
            return False
        if _says_again(each, newest):
            return _leave(kept)
        counts = [one for one in older if one.standing == ResultStanding.CURRENT]
        if newest.standing == ResultStanding.HELD and any(_says_again(each, one) for one in counts):
            each.superseded = [one for one in earlier if one.standing == ResultStanding.HELD]
            return _leave(kept)
        return False
    left = list(earlier)
    for each in kept:
        same = next((one for one in left if _says_again(each, one)), None)
        if same is None:
            return False
        left.remove(same)
    return not left and _leave(kept)


def _takes_back(each: PlacedRow, newest: Earlier, shown: frozenset[FindingKind]) -> bool:
    """Whether the lab doubted what waits, and a file that could show the doubt again does not."""
    doubts = {kind for kind in _OF_THE_LAB if kind in newest.before.found}
    noted = {one.kind for one in each.draft.noted}
    return newest.standing == ResultStanding.HELD and bool(doubts) and doubts <= shown and not doubts & noted


def _says_again(each: PlacedRow, one: Earlier) -> bool:
    is_blank = each.vial is not None and each.vial.role == VialRole.BLANK
    return any(compare_again(before, each.draft, is_blank=is_blank) is Again.SAME for before in one.every)


def _leave(kept: list[PlacedRow]) -> bool:
    for each in kept:
        each.unchanged, each.standing = True, None
    return True


def _doubts_it_can_show(reading: Reading) -> frozenset[FindingKind]:
    """Return how a file can say that a value is doubted: in a column of words, by marks of a workbook."""
    words = any(column.role == ColumnRole.FAILURE for column in reading.columns)
    in_words = [FindingKind.LAB_SAYS_NO, FindingKind.DOUBT_LEFT_OUT] if words else []
    return frozenset([*in_words, *([FindingKind.STRUCK_OUT] if reading.sheet else [])])


def _doubt_left_out(each: PlacedRow, waiting: list[Earlier], shown: frozenset[FindingKind]) -> str:
    """Return what an earlier file put beside the same share, where the later one cannot; "" for nothing."""
    for old in waiting:
        before = old.before.values.get("q")
        if before is None or not _as_close(each.draft, before, old.before.half_digits.get("q", 0.0)):
            continue
        for kind in _OF_THE_LAB:
            if kind in old.before.found and kind not in shown:
                return old.before.found[kind] or "a line through it"
    return ""


def _replace(kept: list[PlacedRow], earlier: list[Earlier], shown: frozenset[FindingKind]) -> None:
    """Let the rows of a later file replace what earlier files said of the same vial.

    shown
        the doubts of the lab that the later file could show.
    """
    standing, waiting, rejected = (
        [result for result in earlier if result.standing == one]
        for one in (ResultStanding.CURRENT, ResultStanding.HELD, ResultStanding.REJECTED)
    )
    first = kept[0]
    if len(kept) == 1 and not first.draft.held:
        if rejected and not standing and not waiting:
            _hold(first, FindingKind.REISSUE_OF_REJECTED, new=said_of(first.draft))
            return
        if doubt := _doubt_left_out(first, waiting, shown):
            _hold(first, FindingKind.DOUBT_LEFT_OUT, said=doubt)
    _hold_a_failure(first, standing)
    first.superseded = waiting if first.standing == ResultStanding.HELD else standing + waiting
    if len(kept) == 1 and first.draft.held and first.draft.q is not None:
        _doubt_what_counts(first, standing)
    if first.standing == ResultStanding.CURRENT:
        for old in standing:
            if _differs(old, first):
                first.draft.note(
                    FindingKind.REISSUE_CHANGED, old=old.said, new=said_of(first.draft), earlier=old.id
                )


def _hold(each: PlacedRow, kind: FindingKind, **facts: object) -> None:
    each.draft.note(kind, **facts)
    each.standing = ResultStanding.HELD
    each.outcome = Outcome.DOUBTFUL if each.outcome == Outcome.TYPED else each.outcome


def _hold_a_failure(first: PlacedRow, standing: Sequence[Earlier]) -> None:
    """Hold a failure after a result: it says nothing new of the fish, and a column misread looks like one."""
    typed = next((old for old in standing if old.said != NO_RESULT), None)
    if typed is None or first.draft.outcome != Outcome.FAILED or first.standing != ResultStanding.CURRENT:
        return
    first.draft.noted = [noted for noted in first.draft.noted if noted.kind != FindingKind.FAILED]
    said = f", {first.draft.failure!r}" if first.draft.failure else ""
    first.draft.note(FindingKind.FAILED_AFTER_RESULT, old=typed.said, said=said)
    first.standing = ResultStanding.HELD


def _doubt_what_counts(first: PlacedRow, standing: list[Earlier]) -> None:
    """Let a later row that is held hold the value that counts too, where it is the same value; else say that the
    earlier one counts meanwhile.
    """
    for old in standing:
        before = old.before.values.get("q")
        half_digit = old.before.half_digits.get("q", 0.0)
        if before is not None and _as_close(first.draft, before, half_digit):
            first.superseded = [*first.superseded, old]
        elif old.said != NO_RESULT:
            first.draft.noted = [
                noted._replace(facts={**noted.facts, MEANWHILE: old.said})
                if FINDINGS[noted.kind].holds and not FINDINGS[noted.kind].per_file
                else noted
                for noted in first.draft.noted
            ]


def _differs(old: Earlier, new: PlacedRow) -> bool:
    """Whether a later row gives another value; one that only brings a doubt with it has a finding about that."""
    bare = replace(new.draft, noted=[])
    return all(compare_again(before, bare) is Again.OTHER for before in old.every)
