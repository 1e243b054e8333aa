"""The words of lab headings, by what they say: common practice, no source. A lab's own are kept in its layout."""

from __future__ import annotations

from geneticlog.rules.lengths import LENGTH_NAMES, LENGTH_UNITS, WEIGHT_NAMES


def words_of(text: str) -> frozenset[str]:
    """Return the words of a list that is written as a text."""
    return frozenset(text.split())


# short names of the two taxa of bass, as labs write them for a column, in a class, in a line
FLORIDA_WORDS = words_of("flmb floridanus fl fla")
NORTHERN_WORDS = words_of("nlmb nigricans nl north")
# a class "FB" is a backcross to Florida, and "N LMB" is two words: these name a taxon in a heading alone
FLORIDA_IN_A_HEADING, NORTHERN_IN_A_HEADING = "fb|f ?lmb", "n ?lmb"
LATIN_WORDS = words_of("m micropterus s salmoides")
# in a line of words they may be a state, a direction or an initial
OTHERWISE_IN_A_LINE = words_of("north fl fla fb f n m")
# what a lab runs beside the samples, as patterns: with a sample in it, and with none
CONTROL, BLANK = "controls?|ctrls?", "blanks?|ntcs?"
# a length other than the total one; "FL" is one where its unit stands beside it
OTHER_LENGTHS = words_of("fork fl sl standard")
A_UNIT_OF_LENGTH = rf"\b({'|'.join(word for word in LENGTH_UNITS if word.isalpha())})\b"
UNIT_WORDS = words_of(
    """
    % percent percentage pct perc proportion proportions prop props fraction fractions freq
    frequency share shares 0 1
    """
)
COUNT_WORDS = words_of("number numbers num no n count counts #")
FILLER_WORDS = words_of(
    """
    quality data of the in for per a at by to and from each sample samples fish individual snp snps based est
    estimate estimated value values result results final reported
    """
)
ALLELE_WORDS = words_of(
    """
    allele alleles ancestry genome genomic admixture content contribution coefficient bass lmb
    largemouth lineage origin dna q score index hybrid introgression
    """
)
LOCI_WORDS = words_of("loci locus snp snps marker markers l site sites genotype genotypes")
SCORED_WORDS = words_of(
    """
    scored called typed genotyped used amplified successful success with data call calls good valid
    analysed analyzed
    """
)
HETEROZYGOUS_WORDS = words_of(
    """
    h ho hobs obs observed heterozygosity heterozygous heterozygote heterozygotes hetero het hets
    multilocus rate
    """
)
MARGIN_WORDS = words_of(
    """
    lower upper ci ci90 ci95 ci99 cl confidence interval se sd std error variance limit limits 95 90 99 bound low
    high credible hpd dev deviation range
    """
)
HARMLESS_WORDS = (
    words_of(
        """
    lab laboratory internal our id ids no number num code # accession run plate plates well wells
    position box row rack col column batch order project extraction index lane dna ng ul µl μl conc
    concentration quant quantity qubit nanodrop yield purity 260 280 230 a260 a280 a230 date dates received
    collected collection capture captured sampled sampling analysed analyzed extracted reported
    processed time year month day species total mm cm in
    inch inches g kg lb lbs oz lake water body waterbody reservoir pond site location locality
    county state station age gear tissue type swab fin clip collector contact client customer
    report certificate analyst initials
    submitter submission agency office invoice shipment container manifest volume vol ml sex lat
    latitude lon long longitude gps
    technician tech analyst operator by name of and the at on sample samples fish tube vial specimen
    barcode storage freezer medium preservative extract elution vs replicate reps serial kit index1
    index2 i5 i7 reads depth coverage panel assay chip array method version
    """
    )
    | OTHER_LENGTHS
    | LENGTH_NAMES
    | WEIGHT_NAMES
)
UNSCORED_WORDS = LOCI_WORDS | SCORED_WORDS | COUNT_WORDS | UNIT_WORDS | FILLER_WORDS | words_of(
    """
    miss missing failed dropped null uncalled not no attempted assayed tested targeted designed possible
    available offered on in panel size total data
    """
)  # fmt: skip
