"""Headings in French, Spanish and German: common practice, no source."""

from __future__ import annotations

import pytest

from geneticlog.rules.lab_return.cells.percent_or_fraction import unit_in_heading
from geneticlog.rules.lab_return.words.headings import Taxa, recognise


@pytest.mark.parametrize(
    ("role", "headings"),
    [
        ("vial", "Échantillon; N° d'échantillon; Muestra; No. de muestra; Código; Probennummer; Proben-Nr."),
        (
            "q",
            "Proportion floridanus; Part de Floride (%); Allèles Floride; Proporción Florida; Florida-Anteil",
        ),
        ("other_q", "Nordique (%); Alelos del norte (%); Anteil nördlicher Allele; Nord-Anteil in %"),
        ("heterozygosity", "Hétérozygotie; Heterocigosidad; Heterozygotie"),
        ("n_loci", "Nombre de loci; Loci analysés; Loci tipificados; Número de loci; Anzahl Loci"),
        ("call_rate", "Taux d'appel; Tasa de llamada; Typisierungsrate"),
        ("failure", "Remarques; Commentaire; Statut; Observaciones; Estado; Bemerkung; Anmerkungen"),
        ("lab_class", "Classe; Clase; Klasse"),
        ("", "Espèce; Pocillo; Fecha; Platte; Plaque d'extraction"),
    ],
)
def test_a_heading_is_known_in_three_more_languages(role: str, headings: str) -> None:
    for heading in headings.split("; "):
        seen = recognise(heading, Taxa())
        assert seen is not None, heading
        assert seen.role == role, heading
        assert not (role and seen.strange), (heading, seen.strange)


@pytest.mark.parametrize(
    "heading",
    ["Proporción no Florida", "Ohne Florida", "1 menos Florida", "1 - Anteil Florida", "Proportion hors Floride",
     "Proporción Florida 2024", "Anteil Florida (alle Fische)"],
)  # fmt: skip
def test_words_that_may_turn_a_share_round_are_asked_about_in_every_language(heading: str) -> None:
    seen = recognise(heading, Taxa())
    assert seen is not None
    assert seen.strange


def test_units_are_named_in_every_language_and_english_stays_as_it_is() -> None:
    assert [
        unit_in_heading(text) for text in ("Florida (porcentaje)", "Floride, pourcentage", "Prozent Florida")
    ] == ["percent"] * 3
    assert unit_in_heading("Fracción Florida") == unit_in_heading("Proporción Florida") == "fraction"
    assert unit_in_heading("Zahl der Florida-Allele") == unit_in_heading("No. of Florida alleles") == "count"
    count = recognise("No. Florida allele", Taxa())
    assert count is not None
    assert not count.strange  # a number of alleles, and not those that are none
