"""The choices of a question about a lab's file, as a person reads them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from geneticlog.rules.lab_return.words.headings import Taxa


_RIGHT = "the numbers are right as they are"
_YES = {  # what is asked about these is no "does it change the values?"
    "rows beside their mean": "the mean is the result: leave the rows beside it out",
    "numbers of the samples": "it is the number of the sample",
    "not whole numbers": _RIGHT,
    "unlike before": _RIGHT,
    "columns as headed": "the columns are right as they are headed",
    "only 0 and 1": _RIGHT,
    "only quarters": _RIGHT,
    "probabilities of classes": "they are shares of alleles all the same",
    "in the order of the codes": _RIGHT,
    "codes and wells in order": _RIGHT,
    "vials and shares in one row": "each row is about one sample",
}


def choice_in_words(choice: tuple[str, str, str], taxa: Taxa) -> str:
    """Return what a person chooses (setting, role, value), as it is put on a screen or a page."""
    from geneticlog.rules.lab_return.columns.column_roles import OTHER_THAN
    from geneticlog.rules.lab_return.words.roles import ROLES, ColumnRole

    setting, role, value = choice
    if (setting, value) == ("taxon", "each row"):
        return "alleles of the taxon that the column names in each row"
    if (setting, value) == ("harmless", "hidden earlier rows"):
        return "they are: leave the hidden rows out"
    if setting == "hold" and f" {OTHER_THAN} " in value:
        return f"hold the rows that say anything but {value.partition(f' {OTHER_THAN} ')[2]}"
    if setting == "harmless" and value in _YES:
        return _YES[value]
    if setting == "column":
        meaning = ROLES[ColumnRole(role)].format(taxon=taxa.taxon, other_taxon=taxa.other_taxon)
        return f"column {value} is the {meaning.removeprefix('the ')}"
    if setting == "unit":
        _, _, part = role.partition("@")
        return f"{value}{f', in {part}' if part else ''}"
    return {
        "harmless": "it changes nothing",
        "hold": "hold the values it is about: they wait for a decision",
        "taxon": f"the share counts {value} alleles",
        "counted": value,
        "sheet": f"only sheet {value} is meant",
        "wells": "the vials stayed in the wells in which we sent them",
    }.get(setting, f"{role}: {value}")
