"""How often a panel misreads an allele, in sentences and as a JSON document."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from geneticlog.faces.app.numbers_in_words import percent_range, tenth
from geneticlog.rules.genetics.miscalls import (
    CARRIER_MARGIN,
    FEWEST_LOCI,
    MEASURED,
    STATED,
    false_carriers,
    fewest_alleles,
)
from geneticlog.work.result.panel_error import PanelError


def error_sentences(error: PanelError, taxon: str, n_loci: int | None) -> list[str]:
    """Return what is known of a panel's misreadings, and which fish it makes a carrier of the taxon."""
    rate = error.rate
    if rate.source == MEASURED:
        sentence = (
            f"Misreads {_share(rate.rate)} of alleles (95 % interval {percent_range(rate.low, rate.high)}): "
            f"{rate.n_misread} of {rate.n_read:,} readings, from {_n(error.n_pairs, 'blind duplicate')} with genotypes "
            f"and {error.n_known} fish of known kind."
        )
    elif rate.source == STATED:
        sentence = (
            f"Misreads {_share(rate.rate)} of alleles, at most {_share(rate.high)}, as stated for the panel; "
            f"{_so_far(error)}."
        )
    else:
        sentence = (
            f"How often it misreads an allele is not known: {_share(rate.rate)} is assumed, at most "
            f"{_share(rate.high)}. Blind duplicates with genotypes, or fish of known kind, would show it"
            f"{f'; {_so_far(error)}' if rate.n_read else ''}."
        )
    return [sentence, *_blanks(error), carrier_sentence(error, taxon, n_loci)]


def _so_far(error: PanelError) -> str:
    """Return what duplicates and known fish show of a rate that they do not yet make narrower."""
    rate = error.rate
    if not rate.n_read:
        return "no blind duplicate with genotypes and no fish of known kind has been read yet"
    return (
        f"{rate.n_misread} of {rate.n_read:,} readings of {_n(error.n_pairs, 'blind duplicate')} and {error.n_known} "
        "fish of known kind agree with it and are too few to say more"
    )


def carrier_sentence(error: PanelError, taxon: str, n_loci: int | None) -> str:
    """Return which fish counts as a carrier at a number of loci, and how many pure fish would pass for one."""
    loci, rate = n_loci or FEWEST_LOCI, error.rate.high
    k = fewest_alleles(loci, rate)
    return (
        f"At {loci} loci a carrier has at least {k} {taxon} allele{'s' * (k != 1)} of {2 * loci}: "
        f"{CARRIER_MARGIN:g} log units likelier than a pure fish of which {_share(rate)} of alleles are misread; of "
        f"such pure fish {tenth(false_carriers(loci, rate))} would pass for carriers."
    )


def error_document(error: PanelError) -> dict[str, Any]:
    """Return the error of a panel for --json; numbers unrounded."""
    return asdict(error.rate) | {
        "n_blind_duplicates": error.n_pairs,
        "n_known_fish": error.n_known,
        "n_blanks": error.n_blanks,
        "n_blanks_with_genotype": error.n_blanks_typed,
        "carrier_margin": CARRIER_MARGIN,
    }


def _blanks(error: PanelError) -> list[str]:
    if not error.n_blanks:
        return []
    if error.n_blanks_typed:
        return [
            f"{error.n_blanks_typed} of {_n(error.n_blanks, 'blank')} gave a genotype: DNA was carried from vial to "
            "vial or well to well, and the true rate may be higher."
        ]
    return [f"{_n(error.n_blanks, 'blank')} gave no genotype, as a blank should."]


def _n(n: int, word: str) -> str:
    return f"{n} {word}{'s' * (n != 1)}"


def _share(value: float) -> str:
    return f"{100 * value:.2g} %"
