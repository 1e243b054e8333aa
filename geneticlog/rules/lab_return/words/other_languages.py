"""French, Spanish and German words of lab headings in the English by which they are recognised.

Common practice, no source. Words are compared without accents; a word that is none of these stays as it is, and is
then as unknown as any other.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from geneticlog.rules.lab_return.words.vocabulary import words_of

_PHRASES = (
    (r"\b(taux d appel|tasa de llamadas?|aufrufrate|rufrate)\b", "call rate"),
    (
        r"\b(taux de (genotypage|reussite)|tasa de (genotipado|exito)|typisierungsrate|erfolgsrate)\b",
        "genotyping rate",
    ),
    (r"\b(part (de|du|des|d))\b", "share of"),
    (r"\bmuestra n\b", "sample number"),
    (r"\b(ic|ki)\b(?=.*9[059])|(?<=9[059] % )(ic|ki)\b", "ci"),
    (
        r"\b(intervalle de confiance|intervalo de confianza|konfidenzintervall|vertrauensintervall)\b",
        "confidence interval",
    ),
    (r"\ba (refaire|repeter|reprendre)\b|\bzu wiederholen\b", "rerun"),
)
_WORDS = {
    "sample": "echantillon echantillons prelevement muestra muestras probe proben",
    "sample number": "probennummer probennr probenummer probennamen probenbezeichnung probencode probenkennung",
    "tube": "tubo tubos rohrchen",
    "label": "etiquette etiqueta etikett",
    "code": "codigo kennung",
    "id": "identifiant identificador bezeichnung identifikation",
    "number": "nombre nb numero nummer nr anzahl zahl cantidad",
    "proportion": "proporcion",
    "share": "anteil anteile cuota",
    "fraction": "fraccion bruchteil",
    "percent": "pourcentage porcentaje prozent prozentsatz pourcent",
    "florida": "floride",
    "northern": "nordique nordiques septentrional septentrionale norteno nortena nordlich nordliche nordlicher nord"
    " norte",
    "alleles": "alelos allelen allelanteil",
    "ancestry": "ascendance ascendencia abstammung abstammungsanteil",
    "heterozygosity": "heterozygotie heterocigosidad heterocigosis heterozygositat",
    "heterozygous": "heterozygotes heterocigotos heterozygot",
    "rate": "taux tasa",
    "call": "appel llamada llamadas",
    "loci number": "locizahl lociszahl",
    "markers": "marqueurs marcadores",
    "typed": "analyses genotypes types tipificados genotipados analizados typisiert typisierte typisierter ausgewertet"
    " ausgewertete ausgewerteter genotypisiert genotypisierte",
    "remarks": "remarque remarques commentaire commentaires observation observations observacion observaciones"
    " comentario comentarios nota notas notiz notizen bemerkung bemerkungen anmerkung anmerkungen kommentar kommentare"
    " hinweis hinweise",
    "status": "statut estado zustand",
    "results": "resultat resultats resultado resultados ergebnis ergebnisse befund",
    "quality": "qualite calidad qualitat",
    "class": "classe clase klasse",
    "species": "espece especie fischart",
    "well": "puits pocillo vertiefung",
    "plate": "plaque placa platte",
    "lake": "lac lago gewasser",
    "date": "fecha datum",
    "length": "longueur longitud lange",
    "weight": "poids peso gewicht",
    "fish": "poisson poissons pez peces fisch fische",
    "minus": "moins menos weniger",
    "rerun": "refaire repeter repetir repetido wiederholen wiederholt wiederholung wdh",
    "failed": "echec echoue fallo fallido fallida fehler fehlgeschlagen misslungen",
    "void": "ungultig ungultige nul nulle annule annulee anulado anulada invalide",
    "provisional": "vorlaufig vorlaufige provisoire provisoires provisorisch brouillon borrador entwurf",
    "contaminated": "contamine contaminee contaminado contaminada kontaminiert verunreinigt verunreinigung",
    "uncertain": "incertain douteux douteuse incierto dudoso dudosa unsicher zweifelhaft fraglich",
    "discard": "rejete rejetee exclu exclue rechazado descartar descartado verworfen ausgeschlossen",
    "laboratory": "laboratoire laboratorio",
    "without": "sans hors sin excepto salvo ohne ausser",
    "not": "nicht",
}  # fmt: skip
SMALL_WORDS = words_of(
    "de du des d del der die das von la le les l el los las en par por pour pro je im aux au y et und"
)
_ENGLISH = {word: english for english, words in _WORDS.items() for word in words.split()}
# words of English too: they are taken for the other language's only beside one that is of no other
_SHARED = frozenset(
    {"genotypes", "analyses", "types", "observation", "observations", "plaque", "probe", "nord", "norte"}
)


@lru_cache(maxsize=4096)
def in_english(words: str) -> str:
    """Return a plain heading with its French, Spanish and German words in English."""
    if not re.search(r"[^\W\d_]{2}", words):
        return words
    bare = "".join(c for c in unicodedata.normalize("NFD", words) if not unicodedata.combining(c))
    for pattern, english in _PHRASES:
        bare = re.sub(pattern, english, bare)
    parts = re.sub("([%#])", r" \1 ", bare).split()
    foreign = bare != words or any(part in _ENGLISH and part not in _SHARED for part in parts)
    if not foreign:
        return words
    out = []
    for i, part in enumerate(parts):
        if part == "no":
            out.append("number" if parts[i + 1 : i + 2] in (["de"], ["d"], ["of"], []) else "not")
        elif part in SMALL_WORDS and len(parts) > 1:
            out.append("of")
        else:
            out.append(_ENGLISH.get(part, part))
    return " ".join(out)
