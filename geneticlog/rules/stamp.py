"""When something was done and by whom: what every entry of the record needs, handed on as one value."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class Stamp:
    """The moment of a piece of work (a UTC instant) and the person who does it.

    The faces make one for each thing a person does; no verb looks at a clock or asks who is there, so a test may
    choose both.
    """

    now: datetime
    by: str
