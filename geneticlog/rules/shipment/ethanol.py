"""Ethanol in the post: the volume of a shipment beside the published small-quantity figures.

Arithmetic, never a clearance: the carrier and a trained shipper decide. Only figures that were read in a
published text or a quotation of it stand here; what is known from memory alone is left out.
"""

from __future__ import annotations

from dataclasses import dataclass

ETHANOL_NOTICE = (
    "Ethanol is a flammable liquid (UN1170, Class 3). The volumes here are arithmetic, not a clearance. "
    "Have a trained shipper check the current rule and ask the carrier, who may be stricter."
)
ON_THE_BOAT = (
    "Ethanol is flammable: keep it from flames, sparks and hot motors, and closed when it is not in use."
)
ABOVE_NOTICE = "Above the 30 mL (1 L) figure in the specimen rule. Ask before sending."
AIR_NOTICE = "Do not carry ethanol vials on a passenger flight without the airline's approval."
AIR_WORDS = ("air", "flight", "fly", "plane", "baggage", "luggage")


@dataclass(frozen=True)
class Figure:
    """One published figure: what it limits, how many mL, and where it was read."""

    rule: str
    limits: str  # "vial" or "package"
    ml: float
    said: str
    source: str


FIGURES = (
    Figure(
        "49 CFR 173.4b(b)(1)(ii)",
        "vial",
        30.0,
        "vials or other rigid containers with no more than 30 mL of alcohol or alcohol solution",
        "as quoted second-hand in 2014; check the text in force",
    ),
    Figure(
        "49 CFR 173.4b(b)",
        "package",
        1000.0,
        "1 L in a package in all",
        "a field station's shipping page; check the text in force",
    ),
    Figure(
        "49 CFR 173.4 (highway, rail)",
        "vial",
        30.0,
        "30 mL (1 ounce) for authorized liquids in an inner receptacle",
        "republished copies; check the text in force",
    ),
    Figure(
        "IATA Special Provision A180",
        "vial",
        30.0,
        "30 mL of free fluid in an inner container",
        "a training page; check the edition in force",
    ),
    Figure(
        "IATA Special Provision A180",
        "package",
        1000.0,
        "1 L in a package",
        "a training page; check the edition in force",
    ),
)
# The layer, the rule it stands in, and how that rule was read here (for whoever checks it, not for the paper).
LAYERS = (
    ("Vials in a plastic bag that is heat-sealed.", "49 CFR 173.4b(b)(1)(ii)", "quoted second-hand in 2014"),
    ("A second plastic bag, with absorbent for all the liquid.", "49 CFR 173.4b(b)(2)", "read in part"),
    ("Three layers in all.", "IATA Special Provision A180", "a training page"),
)


@dataclass(frozen=True)
class EthanolNote:
    """What a shipment's ethanol comes to; ``amber``: above a published figure. There is no green."""

    n_vials: int
    fill_ml: float | None
    total_ml: float | None
    amber: bool
    above: tuple[Figure, ...]
    sentences: tuple[str, ...]
    n_packages: int = 1
    package_ml: float | None = None  # of the fullest package, the vials split evenly


def is_ethanol(medium: str | None) -> bool:
    """Return whether a medium is ethanol, however it is written (EtOH 95 %, alcohol)."""
    word = (medium or "").casefold()
    return any(name in word for name in ("ethanol", "etoh", "alcohol"))


def ethanol_note(
    n_vials: int, fill_ml: float | None, *, carrier: str | None = None, n_packages: int = 1
) -> EthanolNote:
    """Return the volume of a shipment's ethanol and which published figures it is above.

    n_vials
        vials that hold ethanol.
    fill_ml
        mL of liquid in one vial; None when it was not recorded, and then nothing is added up.
    n_packages
        packages that the shipment goes in; the vials are taken as split evenly.
    raises
        ValueError for a volume or a number of packages that is not above 0.
    """
    if fill_ml is not None and not fill_ml > 0:
        raise ValueError(f"a fill of {fill_ml} mL is not possible")
    if n_packages < 1:
        raise ValueError(f"{n_packages} packages are not possible")
    sentences = [ETHANOL_NOTICE]
    total = None if fill_ml is None else n_vials * fill_ml
    package = None if fill_ml is None else -(-n_vials // n_packages) * fill_ml
    above: tuple[Figure, ...] = ()
    if fill_ml is None or total is None or package is None:
        sentences.append("The fill of a vial is not recorded, so nothing was added up; give it in mL.")
    else:
        above = tuple(
            figure for figure in FIGURES if (fill_ml if figure.limits == "vial" else package) > figure.ml
        )
        parted = (
            "taken as one package"
            if n_packages == 1
            else f"in {n_packages} packages up to {package:g} mL in one if the vials are split evenly"
        )
        sentences.append(
            f"{n_vials} vials x {fill_ml:g} mL = {total:g} mL in all, {parted}; "
            "the published figures are 30 mL a vial and 1 L a package."
        )
        if above:
            sentences.append(ABOVE_NOTICE)
    words = (carrier or "").casefold().replace("-", " ").split()
    if any(word.strip(".,") in AIR_WORDS for word in words):
        sentences.append(AIR_NOTICE)
    return EthanolNote(n_vials, fill_ml, total, bool(above), above, tuple(sentences), n_packages, package)
