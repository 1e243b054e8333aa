"""Values of the record as people read them: "area: 14.2 ha -> 15 ha", "arrived: 2026-05-20 04:00 -> (none)"."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from geneticlog.rules.vialcode import printed
from geneticlog.settings import local_time

NONE = "(none)"

# name in the record -> what help and tables call it, where that is another word
NAMED = {
    "n_fish": "fish", "n_loci": "loci", "n_packages": "packages", "heterozygosity": "H", "uid": "identity",
    "failure": "the lab's word for the failure", "gone_why": "why it is gone", "standing": "state",
    "surveyed_on": "date", "stocked_on": "date", "taxon": "kind of fish", "order_of_work": "order",
    "state_province": "state or province", "country_code": "country", "area_ha": "area",
    "position_uncertainty_m": "position uncertainty", "effort_minutes": "effort", "fill_ml": "fill",
    "sent_at": "sent", "arrived_at": "arrived", "permit_from": "permit valid from", "permit_to": "permit valid to",
    "usual_days": "usual days", "fee": "fee for one sample", "miscall_high": "highest miscall rate",
}  # fmt: skip
# name in the record -> unit that is written behind its value
UNITS = {
    "area_ha": "ha", "position_uncertainty_m": "m", "effort_minutes": "minutes", "fill_ml": "mL",
    "latitude": "°", "longitude": "°",
}  # fmt: skip
_MOMENTS = {"sent_at", "arrived_at"}  # ISO instants in the record
_CODED = {"species", "gear", "tissue", "fate", "order_of_work", "size_class"}  # words joined by underscores
_OF_MEASURES = {"length_unit", "weight_unit"}  # shown behind the length and the weight


def name_in_words(name: str) -> str:
    """Return what people call a value of the record: "arrived" for arrived_at."""
    return NAMED.get(name, name.replace("_", " "))


def value_in_words(name: str, value: Any, unit: str | None = None) -> str:
    """Return a value of the record with its unit, moments local and to the minute, "(none)" where it is empty."""
    if value is None or value in ("", [], ()):
        return NONE
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return ", ".join(value_in_words(name, each) for each in value)
    if name in _MOMENTS and isinstance(value, str):
        value = datetime.fromisoformat(value)
    if isinstance(value, datetime):
        return local_time(value)
    if isinstance(value, float):
        value = f"{value:.10g}"
    if name == "vials":
        return printed(value)
    if name == "fee":
        return f"${value}"
    words = str(value).replace("_", " ") if name in _CODED else str(value)
    unit = unit or UNITS.get(name)
    return words if unit is None else f"{words}{'' if unit == '°' else ' '}{unit}"


def changes_in_words(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[str]:
    """Return each value that differs, as "site: (none) -> cove"; nothing for what was not there before."""
    changes = []
    for name in new:
        if name not in old or old[name] == new[name]:
            continue
        measure = name.removesuffix("_unit")
        if name in _OF_MEASURES and measure in new and old.get(measure) != new[measure]:
            continue  # shown behind the measure
        shown = [value_in_words(name, had[name], had.get(f"{name}_unit")) for had in (old, new)]
        changes.append(f"{name_in_words(name)}: {shown[0]} -> {shown[1]}")
    return changes
