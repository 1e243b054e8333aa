"""What a line above or below the samples says: known to be harmless, used, or to be asked about.

A line is known to be harmless when its words are those of letterheads and totals, or proper names among them; a word
that can change what a value means, a vial code or a footnote mark makes it a question.
"""

from __future__ import annotations

import re

from geneticlog.rules.lab_return.cells.cells import missing_meaning
from geneticlog.rules.lab_return.sheet.reading import is_code
from geneticlog.rules.lab_return.sheet.words_beside import AGAINST, judge, speaks_against
from geneticlog.rules.lab_return.words.headings import Taxa, plain, taxa_named
from geneticlog.rules.lab_return.words.other_languages import SMALL_WORDS, in_english
from geneticlog.rules.lab_return.words.vocabulary import BLANK, CONTROL, words_of
from geneticlog.rules.result.result_states import Verdict

_TELLING = re.compile(
    r"\b(exchang\w*|interchang\w*|swap\w*|switch\w*|supersed\w*|replac\w*|instead|should|read as|vice"
    r"|versa|draft|prelim\w*|provisional"
    r"|disregard\w*|ignor\w*|exclud\w*|contaminat\w*|wrong\w*|error\w*|correct\w*|revis\w*|amend\w*"
    r"|re ?run|repeat\w*|mislabel\w*|mix(ed)? up"
    r"|not|no longer|never|except\w*|only|but|however|unless|colou?r\w*|red|yellow|orange|green|blue"
    r"|grey|gray|pink|purple|shad\w*|highlight\w*"
    r"|bold|italic\w*|underlin\w*|struck|strike\w*|asterisk\w*|percent\w*|fraction\w*|proportion\w*"
    r"|share|shares|ancestry|alleles?|values?|q(?! ?\d)"
    r"|multipl\w*|divid\w*|scaled?|units?|reported as|coded|coding|counts?|averag\w*|threshold\w*"
    r"|cut ?off\w*|filter\w*|imput\w*|salmoides"
    r"|hidden|nb|caution|warning|attention|please|invalid\w*|fail\w*|withdraw\w*|missing|removed?"
    r"|duplicate\w*|same|different)\b|%"
)
_LABELLED = re.compile(
    r"(client|customer|attention|attn|to|from|date|dates|analyst|technician|prepared by|reviewed by"
    r"|approved by|reported by|page|phone|tel|fax|e ?mail"
    r"|address|contact|lab|laboratory|project|project name|lake|water ?body|run|run id|run no|plate"
    r"|plates|plate id|batch|shipment|order|invoice|report|report no|report date"
    r"|received|date received|date reported|instrument|kit|platform|software|version|file|species|panel"
    r"|samples received|number of samples|n samples|po|quote|authori[sz]ed( by)?|approved|released( by)?|signed( by)?"
    r"|sorted by|price( per sample)?|fee( per sample)?|measurement uncertainty)"
    r"\s*(no\.?|#|id|number|name)?\s*[:=|]",
    re.IGNORECASE,
)
LETTERHEAD = words_of(
    """
    a an the of for from and by in on at to with or our your is are was were this these all report
    reports reported results result genotyping genotype genotypes genetic genetics genomics
    laboratory lab labs university department institute center centre college school agency division
    office research service services core facility fish fisheries wildlife bass largemouth black
    micropterus spp sample samples swab swabs fin clip clips tissue snp snps marker markers locus
    loci panel run runs plate plates batch batches shipment shipments project client customer lake lakes reservoir pond
    waterbody water date received processed analysed analyzed analysis prepared summary data sheet
    table page document version final copy confidential property invented thank thanks you phone
    email tel fax street road box suite state county mean means average total totals sum min max sd
    se n count median std minimum maximum grand sub subtotal end scored called typed list individual
    individuals sent kind regards sincerely contact question questions see methods method note notes
    printed generated created spring summer autumn fall winter january february march april may june
    july august september october november december map layout position positions well wells
    extracted extraction silica kit kits diagnostic genotyped reader amplified amplification pcr primers protocol
    manufacturer instructions carried using used performed sequenced sequencing library libraries fluorescence kasp
    dna here hi hello dear best wishes attached taqman gtseq software pipeline operating procedure
    authorised authorized approved
    """
)  # fmt: skip
# what reports say whatever their values are: of the report itself, of controls that were clean (common practice)
_OF_EVERY_REPORT = re.compile(
    r"(this |the )?(report|certificate|document)s? (may|shall|must|should|can)( only)?( not)? be (reproduced|copied)"
    r"( only)?( except)?( in full)?( without( the)?( prior)?( written)? (approval|consent|permission)"
    r"( of (the|this|our) lab(oratory)?)?)?"
    r"|(these |the )?results?( in this report)? (relate|apply|refer|pertain)s? only to (the )?"
    r"(samples?|items?|specimens?)( tested)?( as)?( received| submitted| tested)?"
    rf"|(the )?((negative|extraction|no template|template free) ({CONTROL})|{BLANK})( s)?( was| were| is| are)?"
    r" (ok|okay|clean|clear|negative)"
    rf"|((negative|extraction|no template) ({CONTROL})|(extraction )?({BLANK}))( \d+)?"  # a row without a result
    r"|please find( attached| below| enclosed| here)*( (the|your|our))?( (results?|table|data|file|report|genotypes))?"
    r"( attached| below| enclosed)?"
    r"|(n )?loci number of (snp |marker )?loci (scored|called|typed|genotyped)( (of|out of) \d+)?"
    r"|sorted by (vial|sample|code|position|well|plate)( code| number| no| id)?"
    r"|(method|protocol|sop|procedure)( no)?( sop)?( no)? [a-z]{0,5}( ?-? ?\d+)+"
    r"( (rev(ision)?|version|v|ed(ition)?) ?\d+)?"
    r"|thank you( very much)?( for (your|the) (business|order|samples|custom|trust|cooperation))?"
)
_OF_THE_SPECIES = re.compile(
    r"(species|organism|scientific name|common name)\s*[:|=]\s*(m\.|micropterus) salmoides\s*(\((largemouth )?bass\))?",
    re.IGNORECASE,
)
_KEY_OF_NO_RESULT = re.compile(
    r"[\"'(]?([^\s=:|\"']{1,6}|blank|empty)[\"']?( cells?)?\s*(?:=|:|\||means|is)\s*"
    r"(?:no (?:result|data|call)|not (?:scored|called|typed)|missing(?: data)?|failed|no amplification)[.)]?",
    re.IGNORECASE,
)
_CONDEMNS = re.compile(  # common practice, no source
    r"\b(draft|prelim\w*|provisional|do not|don t|not (reliable|valid\w*|final|for release)|unreliable|twice"
    r"|evaporat\w*|spill\w*|leak\w*|example|specimen report|simulat\w*|permut\w*|scrambl\w*|dummy|fake|test data"
    r"|supersed\w*|obsolete|minimum loci|below \d)\b"
)
_SENTENCE = re.compile(r"(?<=[.!?])\s+(?=[A-Z])")
_NUMBERED = re.compile(r"\bno\.?:? ?(?=[\w/-]*\d)", re.IGNORECASE)
# what a line may say that defines the share as it is read: with a number of alleles, what they are counted out of
_DEFINES = words_of(
    """
    q is are = equals means for stands the a an as of from and in by per over out to x times two 2 100 divided share
    shares proportion proportions fraction fractions percentage percent % ancestry allele alleles gene copies all each
    every among amongst fish individual individuals sample samples value values figure figures column number count
    counted counts scored called typed loci snps markers locus here they these this given below above following code
    codes vial vials could you send bass genome genomic were was
    """
)
_OF_WHAT = re.compile(r"/|\b(divided|over|out of|per|as a)\b")
_TOTAL = re.compile(
    r"(grand |overall |sub ?)?(totals?|means?|averages?|avg|sums?|counts?|min(imum)?|max(imum)?|median|std(ev)?|sd|se|n"
    r"|overall)\b( (of|for|per))?( (the|all|plate|lake|box|batch|run|samples?|fish|loci))*[ :=.\d]*",
    re.IGNORECASE,
)
_END = re.compile(
    r"[*=_#~.\s-]*end( of( the)? (report|file|data|results?|table|list))?[*=_#~.\s-]*", re.IGNORECASE
)
_WATER = re.compile(
    r"Lake( [A-Z][\w'’.\-]+){1,3}|([A-Z][\w'’.\-]+ ){1,3}(Lake|Reservoir|Pond|River|Creek|Bayou|Impoundment)"
)
_SUMMED = (  # what a table of sums and means speaks of
    r"row labels|percent\w*|fractions?|proportions?|shares?|ancestry|alleles?|q|counts?|averages?|heterozygosity|het"
    r"|loci|n|sd|se|samples?"
)
_UNIT_WORDS = {"percent": r"\bpercent(s|ages?)?\b|%", "fraction": r"\b(proportions?|fractions?)\b"}
_MATTERS_NOT = re.compile(r"https?\S+|www\.\S+|\S+@\S+|\(?\+?\d[\d\s().\-]{6,}\d")


_SAYS_PERCENT = re.compile(r"(?<![\d.])(?<![\d.] )(%|\bpercent(s|ages?)?\b)", re.IGNORECASE)
_SAYS_FRACTION = re.compile(r"\bfractions?\b|\b0 ?(-|–|to) ?1\b", re.IGNORECASE)
_OF_SHARES = re.compile(r"\b(values?|results?|ancestry|alleles?|shares?|q|admixture|all)\b", re.IGNORECASE)
_OF_OTHERS = re.compile(
    r"\b(call\w*|loci|locus|snps?|markers?|missing|coverage|confidence|ci|interval|rate|het\w*|dna|heterozygosity)\b",
    re.IGNORECASE,
)
NOT_OF_A_LETTERHEAD = "is no word of a letterhead"  # what is said of a line with a word that is not known
HEADING_AGAIN = "the heading again"  # what is said of a row that repeats it


def says_the_same(text: str, taxa: Taxa, unit: str) -> bool:
    """Return whether a line says no more than that q is the share of the first taxon's alleles, in the unit it has."""
    ends = {"fraction": r"0( to |[-–])1(?!\d)", "percent": r"0( to |[-–])100(?!\d)"}.get(unit, "(?!)")
    text = re.sub(ends, " ", text)
    words = re.sub(r"[()\[\]:;,.?>*|]", " ", plain(text.replace("=", " equals ").replace("/", " over ")))
    first, other = taxa_named(plain(text), taxa)
    if not first or other or other_unit_said(text, unit):
        return False
    own = taxa.words[0]
    rest = [word for word in words.split() if word not in own]
    counts = re.search(r"\b(number|counts?|counted)\b", words) and unit != "count"
    return (
        all(word in _DEFINES for word in rest)
        and not (counts and not _OF_WHAT.search(words))
        and re.search(r"\b(shares?|proportions?|fractions?|percent\w*|alleles?|ancestry|q)\b|%", words)
        is not None
    )


def judge_line(text: str, taxa: Taxa, *, below: bool, unit: str = "") -> tuple[Verdict, str]:
    """Return whether a line is harmless, used or asked about, and why; one of several sentences, as each of them is.

    unit
        The unit that q is read in: words that say the same are no question.

    below
        The line is below the samples, where a capital makes no proper name of a word.
    """
    verdict, why = _judge_sentence(text, taxa, below=below, unit=unit)
    sentences = _SENTENCE.split(text.strip()) if verdict == Verdict.ASKED else []
    if len(sentences) < 2:
        return verdict, why
    judged = [_judge_sentence(one, taxa, below=below, unit=unit) for one in sentences]
    if any(one == Verdict.ASKED for one, _ in judged):
        return verdict, why
    return next((one for one in judged if one[0] == Verdict.USED), judged[0])


def _judge_sentence(text: str, taxa: Taxa, *, below: bool, unit: str) -> tuple[Verdict, str]:
    words = plain(text)
    if verdict := _by_its_form(text, words):
        return verdict
    if says_the_same(text, taxa, unit):
        return Verdict.USED, f"it says that q counts {taxa.taxon} alleles, as it is read"
    places = re.sub(r"\b(north|fl|fla|fb|f|n|m)\b", " ", words)  # of an address, not a taxon
    first, second = taxa_named(places, taxa)
    bare = re.sub(r"\b\d+ (loci|snps?|markers?|samples?|fish)\b", " ", _MATTERS_NOT.sub(" ", text))
    rest = plain(bare)
    if _OF_THE_SPECIES.fullmatch(text.strip()):
        return Verdict.HARMLESS, "the species of the fish"
    if first or second or re.search(r"\bsalmoides\b", words):
        return Verdict.ASKED, "it names a taxon"
    if unit in _UNIT_WORDS:
        rest = re.sub(_UNIT_WORDS[unit], " ", rest)
        bare = re.sub(_UNIT_WORDS[unit], " ", bare, flags=re.IGNORECASE)
    if telling := _TELLING.search(rest):
        return Verdict.ASKED, f"it says {telling[0]!r}"
    if _takes_back(bare, taxa) and not re.fullmatch(r"[\W\d]*n[\W\d]*", rest):
        return Verdict.ASKED, "it may take values back"
    if verdict := _of_a_letterhead(text.strip(), rest):
        return verdict
    unknown = [
        word
        for word in re.findall(r"[^\s|,;:.()\[\]/\"]+", _NUMBERED.sub(" ", bare))
        if not _known(word, below)
    ]
    if unknown:
        return Verdict.ASKED, f"{unknown[0]!r} {NOT_OF_A_LETTERHEAD}"
    return Verdict.HARMLESS, "a line of the letterhead"


def other_unit_said(text: str, unit: str) -> str:
    """Return the unit that a line says of the shares, percent or fraction, where they are read in the other one."""
    if not _OF_SHARES.search(text) or _OF_OTHERS.search(text):
        return ""
    percent, fraction = _SAYS_PERCENT.search(text) is not None, _SAYS_FRACTION.search(text) is not None
    said = "" if percent == fraction else "percent" if percent else "fraction"
    return said if unit in _UNIT_WORDS and said != unit else ""


def _by_its_form(text: str, words: str) -> tuple[Verdict, str] | None:
    """What a line is by its form alone, whatever its words say."""
    if not words:
        return Verdict.HARMLESS, "it is empty"
    if (key := _KEY_OF_NO_RESULT.fullmatch(text.strip())) and (
        key[1].casefold() in ("blank", "empty") or missing_meaning(key[1]) is not None
    ):
        return Verdict.HARMLESS, "it says what means no result, as it is read"
    if text == HEADING_AGAIN:
        return Verdict.HARMLESS, "the heading is repeated"
    if any(is_code(part) for part in re.split(r"[\s,;|:.]+", text)):
        return Verdict.ASKED, "it names a vial"
    if _OF_EVERY_REPORT.fullmatch(re.sub(r"\W+", " ", words).strip()):
        return Verdict.HARMLESS, "a line of every report"
    if _END.fullmatch(text):
        return Verdict.HARMLESS, "it ends the file"
    if re.search(r"[*†‡§¹²³]", text):
        return Verdict.ASKED, "it may be a footnote"
    first_cell, *others = text.split(" | ")
    if says_total(first_cell) and all(re.fullmatch(r"[\d.,\s%±+-]*", cell) for cell in others):
        return Verdict.HARMLESS, "a total or a mean, which is counted again here"
    return None


def _of_a_letterhead(text: str, rest: str) -> tuple[Verdict, str] | None:
    """What a line is that says nothing of any value."""
    if _LABELLED.match(text):
        return Verdict.HARMLESS, "a line of the letterhead"
    if re.match(r"(mean|average|avg|total|totals|sum|min|max|sd|se|n|median|count)\b", rest):
        return Verdict.HARMLESS, "a total or a mean, which is counted again here"
    if _WATER.fullmatch(text):
        return Verdict.HARMLESS, "the name of a water"
    return None


def _takes_back(bare: str, taxa: Taxa) -> bool:
    return judge(_NUMBERED.sub(" ", bare).replace("?", ""), taxa) == AGAINST


def condemns(text: str) -> bool:
    """Return whether a line speaks against values: to call it harmless is the less likely answer."""
    words = plain(text)
    if re.search(r"\b(failed|excluded|rejected|omitted)\b[^:=|]*[:=|]\s*\d+\W*$", text, re.IGNORECASE):
        return False  # how many there are
    return _CONDEMNS.search(words) is not None or speaks_against(text)


def says_the_other(text: str, taxa: Taxa) -> bool:
    """Return whether a line says no more than that the shares are those of the other taxon's alleles."""
    words = re.sub(r"[()\[\]:;,.?>*|#]", " ", plain(text.replace("=", " equals ").replace("/", " over ")))
    first, other = taxa_named(plain(text), taxa)
    own = taxa.words[1]
    return other and not first and all(word in _DEFINES or word in own for word in words.split())


def says_total(text: str) -> bool:
    """Return whether a text is what stands before a total, a mean or a count."""
    return _TOTAL.fullmatch(text.strip()) is not None


def judge_in_summary(text: str, taxa: Taxa) -> tuple[str, str]:
    """Return as ``judge_line`` for a line of a sheet of sums and means: a row of a table there names what it sums."""
    if " | " not in text:
        return judge_line(text, taxa, below=False)
    names = (taxa.taxon, taxa.other_taxon, *sorted(frozenset[str]().union(*taxa.short_names)))
    named = "|".join(map(re.escape, names))
    bare = re.sub(rf"\b({named}|{_SUMMED})\b|%", " ", text, flags=re.IGNORECASE)
    return judge_line(bare, taxa, below=False)


def _known(word: str, below: bool) -> bool:
    low = in_english(plain(word))
    if (
        not low
        or low in SMALL_WORDS
        or all(part in LETTERHEAD for part in low.split())
        or any(letter.isdigit() for letter in low)
    ):
        return True
    name = word[:1].isupper() and not (word.isupper() and len(word) > 4)
    return name and not below
