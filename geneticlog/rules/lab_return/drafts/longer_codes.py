"""A vial code with something behind or before it, as a lab writes it on a re-run: KP0000030_rerun, KP0000030-R2.

The one code in such a text is the vial that is meant, and which of its results counts is for a person to decide.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.sheet.reading import SHORTEST, Question, is_code
from geneticlog.rules.lab_return.sheet.words_beside import AGAINST, judge
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.vialcode import VialCodeError, parse

KEY = "text beside the codes"  # by which a person says that it changes nothing, or holds all of them
_APART = re.compile(r"[\s_\-.,;:/|()\[\]#+*=?!~<>&'\"†‡§]+")
_JOINED = re.compile(r"(re|rep|redo|dup|r\d|[a-d]$)\w*", re.IGNORECASE)  # KP0000030rerun, KP0000030b
FEWEST = 3  # codes, for a word before each of them to tell none from another
MOST_PARTS = 4  # of a code in groups, as it is printed
MOST_ASKED = 0.5  # of a file's codes: with more, they are asked about together


def code_beside(text: str) -> tuple[str, str] | None:
    """Return the one vial code in a longer text and the rest of it; None where there is none, or several."""
    codes = codes_among(text)
    return next(iter(codes.items())) if len(codes) == 1 else None


def codes_among(text: str) -> dict[str, str]:
    """Return the vial codes in a text, written together or in groups, each with the rest of the text."""
    parts = [part for part in _APART.split(text.strip()) if part]
    codes: dict[str, str] = {}
    for first in range(len(parts)):
        for n in range(1, min(MOST_PARTS, len(parts) - first) + 1):
            joined = "".join(parts[first : first + n])
            rest = [*parts[:first], *parts[first + n :]]
            if n == 1 and _JOINED.fullmatch(joined[9:]):
                joined, rest = joined[:9], [joined[9:], *rest]
            if len(joined) == 9:
                try:
                    codes.setdefault(parse(joined), " ".join(rest))
                except VialCodeError:
                    continue
    return codes


def word_before_all(texts: Iterable[str], layout: Layout) -> str:
    """Return the one word before every code of a column (the ACME of ACME-BG000001J), or the empty text.

    What is the same on every code tells no vial from another; a word that casts doubt is asked about all the same.
    """
    word, n = "", 0
    for text in texts:
        if len(text) == SHORTEST and is_code(text):
            return ""
        if (beside := code_beside(text)) is None:
            continue
        before = beside[1]
        if not before or (word and before != word) or not text.strip().startswith(before):
            return ""
        word, n = before, n + 1
    return "" if n < FEWEST or " " in word or judge(word, layout.taxa, layout.harmless) == AGAINST else word


def speaks_of_another(rest: str, layout: Layout) -> bool:
    """Whether what is written beside a code keeps its value from counting unasked."""
    return not layout.changes_nothing(KEY) or judge(rest, layout.taxa, layout.harmless) == AGAINST


def ask_about_codes(drafts: Sequence[Draft], layout: Layout) -> list[Question]:
    """Ask once where most codes of a file have something beside them; a few are held one by one."""
    longer = [
        draft for draft in drafts if any(noted.kind == FindingKind.LONGER_CODE for noted in draft.noted)
    ]
    coded = sum(draft.code is not None for draft in drafts)
    if layout.changes_nothing(KEY) or layout.casts_doubt(KEY) or len(longer) <= MOST_ASKED * coded:
        return []
    text = f"{len(longer)} codes have something beside them (first {longer[0].written!r}): is it another vial then?"
    return [Question(text, (("harmless", "", KEY), ("hold", "", KEY)), "codes")]
