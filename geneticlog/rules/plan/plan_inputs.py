"""What a sampling plan rested on: the wishes, the fee, and the spread of q used for each size class."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any


@dataclass(frozen=True)
class PlanInputs:
    """Kept with a stored plan.

    wishes
        what was asked, by name; absent wishes are None.
    fee_from
        where the fee of the lab came from; None where there was none.
    spread, spread_from
        by size class: the standard deviation of q that was used, and where it came from.
    notes
        sentences that were told with the plan.
    """

    wishes: Mapping[str, Any] = field(default_factory=dict)
    fee_from: str | None = None
    spread: Mapping[str, float | None] = field(default_factory=dict)
    spread_from: Mapping[str, str | None] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    def to_json(self) -> str:
        """Return the inputs as one line of JSON with sorted keys; from_json reads it back."""
        return json.dumps(asdict(self), ensure_ascii=False, sort_keys=True, default=str)

    @staticmethod
    def from_json(text: str) -> PlanInputs:
        """Return the inputs in a JSON text; what an older plan did not keep is absent."""
        values = json.loads(text)
        return PlanInputs(
            values.get("wishes") or {},
            values.get("fee_from"),
            values.get("spread") or {},
            values.get("spread_from") or {},
            tuple(values.get("notes") or ()),
        )
