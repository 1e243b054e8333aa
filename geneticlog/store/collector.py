"""Work on many rows without the search for reference cycles."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def without_collector() -> Iterator[None]:
    """Put off the search for reference cycles: hundreds of thousands of rows hold none, and looking costs a
    third."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
