"""The seal at the end of a copy: a digest over every byte before it, so that no changed copy is ever put back.

SQLite knows the number of its pages from its header and does not read what stands behind them, so a sealed copy opens
like any database; the first change made in it takes the seal away.
"""

from __future__ import annotations

import hashlib
import os
import re
from pathlib import Path

from geneticlog.errors import StoreUnready

FORM = re.compile(rb"\ngeneticlog seal: ([0-9]{1,18}) bytes, sha256 ([0-9a-f]{64})\n\Z")
LONGEST = 128  # bytes of a seal
CHUNK = 1 << 20


def seal(file: Path) -> str:
    """Write the seal behind a file and onto the disk; return its digest."""
    size = file.stat().st_size
    digest = _digest(file, size)
    with file.open("ab") as opened:
        opened.write(f"\ngeneticlog seal: {size} bytes, sha256 {digest}\n".encode())
        opened.flush()
        os.fsync(opened.fileno())
    return digest


def require_seal(file: Path) -> str:
    """Return the digest of a sealed file. Raises StoreUnready where there is no seal or one bit is not as sealed."""
    size = file.stat().st_size
    with file.open("rb") as opened:
        opened.seek(max(0, size - LONGEST))
        seal = FORM.search(opened.read())
    if seal is None:
        raise StoreUnready(
            f"{file} has no seal: it was made by an earlier version or by hand, was cut short, or was written to since;"
            " name a copy made by geneticlog database backup, or take this one as it is with --unsealed"
        )
    n, digest = int(seal[1]), seal[2].decode()
    if n + len(seal[0]) != size or _digest(file, n) != digest:
        raise StoreUnready(f"{file} is not as it was sealed: damaged, or changed since; name another copy")
    return digest


def _digest(file: Path, size: int) -> str:
    digest = hashlib.sha256()
    with file.open("rb") as opened:
        left = size
        while left and (chunk := opened.read(min(CHUNK, left))):
            digest.update(chunk)
            left -= len(chunk)
    return digest.hexdigest()
