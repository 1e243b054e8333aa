"""What the words beside a value mean: known to be good, against the value, or not known.

Only words known to be good pass unasked; a word against the value holds it; any other is asked about once a file.
The lists are common practice, no source; a lab's own words are kept in its layout.
"""

from __future__ import annotations

import re
from collections.abc import Collection

from geneticlog.rules.lab_return.cells.mangled import mangled_value
from geneticlog.rules.lab_return.words.headings import Taxa, answer_key, plain
from geneticlog.rules.lab_return.words.other_languages import in_english
from geneticlog.rules.lab_return.words.vocabulary import BLANK, CONTROL, words_of

GOOD, AGAINST, UNKNOWN = "good", "against", "unknown"
_HARM = (
    r"fail(s|ed|ing|ure)?|contaminat\w*|disregard\w*|discard\w*|ignore\w*|reject\w*|exclu\w*|invalid\w*"
    r"|wrong\w*|mislabel\w*"
    r"|swap\w*|switch\w*|exchang\w*|interchang\w*|mix(ed)?[ -]?up\w*|doubt\w*|question\w*|suspect\w*"
    r"|suspicious|unreliab\w*"
    r"|withdraw\w*|withdrawn|retract\w*|void\w*|omit\w*|remov\w*|mistak\w*|misidentif\w*"
    r"|cross ?contam\w*|unusable|do not|don t|not usable"
)
_AGAINST = re.compile(
    rf"\b({_HARM}|no|not|n|never|unconfirmed|unverified|poor|bad|degrad\w*|low|insufficient|error\w*"
    rf"|redo|re ?run|rerun\w*|repeat\w*"
    r"|re ?extract\w*|re ?test\w*|pending|draft|preliminary|provisional|tentative|inconclusive|ambiguous"
    r"|uncertain|unsure|unclear|outlier"
    r"|below|false|empty|broken|leak\w*|spill\w*|missing|unknown|non target|spotted|smallmouth"
    rf"|other species|{CONTROL}|{BLANK}|standard|f)\b"
)
_STRONG = re.compile(rf"\b({_HARM})\b")
_DENIED = re.compile(
    r"\b(no|not|without|zero|none|free of|not a)( any| sign of| signs of| evidence of"
    r"| visible)? (contaminat\w*|issues?|problems?|concerns?|comments?"
    r"|remarks?|errors?|failures?|flags?|doubts?|notes?|warnings?|action( needed| required)?"
    r"|re ?run( needed| required)?|repeat needed)\b"
)
_TAKES_BACK = re.compile(
    r"\b(reject\w*|exclu\w*|fail\w*|contaminat\w*|error\w*|mixed|outlier\w*|re ?run|rerun|repeat\w*"
    r"|problem\w*|issues?|void\w*"
    r"|invalid\w*|doubt\w*|suspect\w*|question\w*|warning\w*|flag\w*|omit\w*|remov\w*|withdr\w*|not|no)\b"
)
# what yes makes of a sample under such a heading
_NO_SAMPLE = re.compile(
    r"\b(empt(y|ied)|missing|lost|discard(ed)?|broken|damaged?|leak\w*|spilt|spilled|dry|dried|blank|control|cancel\w*|wrong|poor|low"
    r"|bad|to check|check needed|no (dna|fish|sample|vial|tube|swab|tissue|label|result|data))\b"
)
_OF_CALLS = re.compile(r"\b(loci|locus|snps?|markers?|calls?|genotypes?|alleles?|reads?)\b")
_SILENT = ("", "-", "--", "---", "–", "—", ".", "..", "/", '"')
_YES, _NO = (
    frozenset({"yes", "y", "true", "x", "1", "✓", "ja", "j", "oui", "si"}),
    frozenset({"no", "n", "false", "0", "none", "nein", "non"}),
)
_GOOD = words_of(
    """
    ok okay k pass passed passes good fine yes y true complete completed done typed genotyped scored
    success successful successfully accepted accept valid validated confirmed verified reported
    released final high quality excellent clean clear normal usable use used include included keep
    kept approved reviewed checked and the a an is sample samples dna data full all loci called
    thanks thank you results result none na n/a nil received call rate within range expected lmb
    largemouth bass fish swab fin clip tissue very first time attempt micropterus
    bonne bon bien gut correcto correcta salmoides to for with in of ✓ ✔ √
    """
)  # fmt: skip
_CLASS = words_of(
    """
    pure mixed mix hybrid intergrade intergrades cross other f1 f2 f3 fx bc bc1 bc2 bcf bcn
    backcross back fb fn introgressed admixed later generation gen first second filial x by type
    parental mostly predominantly undetermined northern florida and or class
    """
)  # fmt: skip


_OF_CLASSES = re.compile(r"\b(class|category|assignment|classification|designation|ancestry)\b")


def judge(
    text: str,
    taxa: Taxa,
    good: Collection[str] = (),
    against: Collection[str] = (),
    *,
    is_class: bool = False,
    heading: str = "",
) -> str:
    """Return GOOD, AGAINST or UNKNOWN for what stands beside a value.

    good, against
        A lab's own words, as ``answer_key`` writes them.
    is_class
        The text is in a column of ancestry classes, whose words are known too.
    heading
        Of its column: under "Rejected" or "Contaminated", yes casts doubt on the value.
    """
    words, key = plain(text), answer_key(text)
    if key and key in good:
        return GOOD
    if key and key in against:
        return AGAINST
    if not words:  # a mark such as (!) or * stands for something
        return GOOD if text.strip() in _SILENT else AGAINST if "?" in text else UNKNOWN
    if yes_takes_back(heading):
        if words in _YES:
            return AGAINST
        if words in _NO:
            return GOOD
    if mangled_value(text) == "it is a date now":
        return GOOD
    if words in ("none", "n a", "na", "nil", "-", "i o", "in ordnung"):
        return GOOD
    rest = re.sub(r"\s+", " ", _DENIED.sub(" ", words)).strip()
    if not rest:
        return GOOD
    if is_class and _OF_CLASSES.search(plain(heading)) and set(rest.split()) <= _letters(taxa):
        return GOOD
    if "?" in text or _AGAINST.search(in_english(rest)):
        return AGAINST
    if re.search("[*†‡§]", text):
        return UNKNOWN  # a mark behind a good word stands for something, too
    known = _GOOD | (_CLASS | _taxon_words(taxa) if is_class else frozenset())
    return GOOD if all(word in known for word in rest.split()) else UNKNOWN


def yes_takes_back(heading: str) -> bool:
    """Return whether yes in a column takes the value back: a rejected, an empty, a lost sample; not a lost call."""
    words = plain(heading)
    return bool(_TAKES_BACK.search(words) or (_NO_SAMPLE.search(words) and not _OF_CALLS.search(words)))


def all_yes_or_no(texts: Collection[str]) -> bool:
    """Return whether texts are yes and no alone, or a mark and nothing."""
    words = {plain(text) for text in texts} - {""}
    return bool(words) and words <= _YES | _NO


def speaks_against(text: str) -> bool:
    """Return whether a text in a column that is not read (a lake, a date, a person) takes a value back all the same."""
    words = _DENIED.sub(" ", plain(text))
    return _STRONG.search(words) is not None or re.search(r"\b(never|not)\b", words) is not None


def says_what_it_is(heading: str) -> bool:
    """Return whether a column that is not read says what the sample is: another species or a control has no q."""
    return re.search(r"\b(species|taxon|sample type|type of sample|material)\b", plain(heading)) is not None


def _letters(taxa: Taxa) -> set[str]:
    """The letters by which a column of classes names the taxa: F and N."""
    return {plain(taxa.taxon)[:1], plain(taxa.other_taxon)[:1]}


def _taxon_words(taxa: Taxa) -> set[str]:
    return {*plain(taxa.taxon).split(), *plain(taxa.other_taxon).split()}.union(*taxa.short_names)
