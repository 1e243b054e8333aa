"""Copies of a SQLite database, taken while it is in use and sealed, and how one is put back."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path

from geneticlog.errors import GeneticlogError, Refused, StoreUnready
from geneticlog.store.migrate import NEWEST
from geneticlog.store.seal import require_seal, seal
from geneticlog.store.whose_file import MAGIC, require_ours
from geneticlog.store.writing import require_folder

ALONE_SECONDS = 3  # how long a restore waits for others to let go of the database


def copy_to(source: Path, target: Path) -> str:
    """Copy a SQLite database by its own backup interface and seal the copy, whole or not at all; return its digest.

    Raises NotFound for a folder that is not there, GeneticlogError for a place that cannot be written.
    """
    still = not (
        os.access(source, os.W_OK) and os.access(source.parent, os.W_OK)
    )  # a medium that is only read
    with closing(_open(source, still=still and not _has_log(source))) as origin:
        return _copy(origin, target, f"{source} cannot be copied to {target}")


def copy_beside(file: Path, revision: str) -> Path:
    """Copy a database beside itself under the revision it has, sealed; returns the copy."""
    target = _beside(file, revision)
    copy_to(file, target)
    return target


def put_back(copy: Path, target: Path, *, replace: bool, unsealed: bool = False) -> Path | None:
    """Put a copy in the place of a database; returns where the one that was there is kept now.

    The copy is looked at first. A database that is there is written over in place, in one transaction and while nobody
    else has it open: a program that opened it before can never go on writing into a file that is gone. A symbolic link
    is followed.

    unsealed: take a copy that has no seal, made by an earlier version or by hand.

    Raises StoreUnready for a file that is not a whole database of ours or of a newer program, and Refused when there is
    a database already and it was not said to replace it, or another program has it open. Nothing has changed then.
    """
    target = target.resolve()
    if target.exists() and copy.resolve() == target:
        raise Refused(f"{copy} is the database itself; name a copy made by: geneticlog database backup")
    _look_over_copy(copy, unsealed=unsealed)
    with closing(_open(copy, still=True)) as source:
        if not target.exists() or not target.stat().st_size:
            target.parent.mkdir(parents=True, exist_ok=True)
            _forget_log(target)
            _copy(source, target, f"{target} cannot be written", sealed=False)
            return None
        if not replace:
            raise Refused(f"there is a database at {target}; say --replace to put the copy in its place")
        kept = _beside(target, "replaced")
        if _is_sqlite(target):
            require_ours(target)
            try:
                with _alone_with(target) as target_file:
                    _copy(target_file, kept, f"{target} cannot be kept as {kept}")
                    source.backup(target_file)
                    target_file.execute("PRAGMA wal_checkpoint(TRUNCATE)")
                return kept
            except sqlite3.DatabaseError as fault:
                if "disk is full" in str(fault):
                    raise GeneticlogError(
                        f"the disk is full; {target} is as it was; make room and restore again"
                    ) from fault
        # too damaged to be opened: it is moved aside with its log, and the copy takes its name
        _refuse_where_held(target)
        for suffix in ("-wal", "-shm"):
            log = target.with_name(target.name + suffix)
            if log.exists():
                log.rename(kept.with_name(kept.name + suffix))
        target.rename(kept)
        _copy(source, target, f"{target} cannot be written", sealed=False)
        return kept


def head_of(copy: Path) -> str | None:
    """Return the head of the journal in a copy, NUMBER:HASH; None where nothing was ever written."""
    with closing(_open(copy, still=True)) as connection:
        newest = connection.execute(
            "SELECT number, hash FROM journal WHERE carried_by IS NULL ORDER BY number DESC LIMIT 1"
        ).fetchone()
    return f"{newest[0]}:{newest[1][:16]}" if newest else None


def _look_over_copy(copy: Path, *, unsealed: bool) -> None:
    if not _is_sqlite(copy):
        raise StoreUnready(f"{copy} is not a complete geneticlog database; name another copy")
    require_ours(copy)
    if not unsealed:
        require_seal(copy)
    try:
        with closing(_open(copy, still=True)) as connection:
            integrity = connection.execute("PRAGMA integrity_check").fetchone()[0]
            broken = connection.execute("PRAGMA foreign_key_check").fetchall()
            revision = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    except sqlite3.DatabaseError as fault:
        raise StoreUnready(
            f"{copy} is not a complete geneticlog database (damaged); name another copy"
        ) from fault
    if integrity != "ok" or broken or not revision:
        raise StoreUnready(f"{copy} is not a complete geneticlog database (damaged); name another copy")
    if str(revision[0]) > NEWEST:
        raise StoreUnready(
            f"{copy} is at revision {revision[0]}, newer than this program knows ({NEWEST}); install a newer geneticlog"
        )


@contextmanager
def _alone_with(file: Path) -> Iterator[sqlite3.Connection]:
    """A connection to a database that nobody else has open, and nobody can open until it is closed.

    In the write-ahead mode every connection holds a shared lock for as long as it is open, so the exclusive one is had
    only where there is no other. Raises Refused where there is.
    """
    with closing(sqlite3.connect(file)) as connection:
        connection.isolation_level = None
        connection.execute(f"PRAGMA busy_timeout = {ALONE_SECONDS * 1000}")
        connection.execute("PRAGMA locking_mode = EXCLUSIVE")
        try:
            connection.execute("BEGIN EXCLUSIVE")
            connection.execute("COMMIT")  # the lock is kept until the connection is closed
        except sqlite3.OperationalError as fault:
            if "locked" in str(fault) or "busy" in str(fault):
                raise Refused(
                    f"another program has {file} open; end it there (a log prompt, the pages), then restore again"
                ) from fault
            raise
        yield connection


def _refuse_where_held(file: Path) -> None:
    """Raise Refused where another program holds one of SQLite's locks on a file that it cannot read any more."""
    try:
        import fcntl
    except ImportError:  # Windows: a file that is open cannot be renamed there
        return
    with file.open("rb+") as opened:
        try:  # https://www.sqlite.org/src/file/src/os.h: the bytes of the shared lock
            fcntl.lockf(opened, fcntl.LOCK_EX | fcntl.LOCK_NB, 512, 0x40000000)
        except OSError:
            raise Refused(f"another program has {file} open; end it there, then restore again") from None


def _copy(origin: sqlite3.Connection, target: Path, what_failed: str, *, sealed: bool = True) -> str:
    require_folder(target)
    partial = target.with_name(f".{target.name}.partial")
    try:
        with closing(sqlite3.connect(partial)) as copy:
            origin.backup(copy)
        digest = seal(partial) if sealed else ""
        partial.replace(target)
    except sqlite3.OperationalError as fault:
        why = "the disk is full" if "full" in str(fault) else "the folder cannot be written"
        raise GeneticlogError(
            f"{what_failed}: {why}; check the folder, its room and its permissions"
        ) from fault
    finally:
        partial.unlink(missing_ok=True)
    return digest


def _open(file: Path, *, still: bool = False) -> sqlite3.Connection:
    """Open a file to be read; ``still``: as it lies there, without any log beside it."""
    how = "mode=ro&immutable=1" if still else "mode=rw"
    return sqlite3.connect(f"{file.absolute().as_uri()}?{how}", uri=True)


def _has_log(file: Path) -> bool:
    log = file.with_name(file.name + "-wal")
    return log.exists() and log.stat().st_size > 0


def _beside(file: Path, word: str) -> Path:
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%SZ")
    target = file.with_name(f"{file.stem}.{word}.{stamp}{file.suffix}")
    number = 2
    while target.exists():
        target = file.with_name(f"{file.stem}.{word}.{stamp}-{number}{file.suffix}")
        number += 1
    return target


def _forget_log(target: Path) -> None:
    """A log without its database belongs to no file that comes later."""
    for suffix in ("-wal", "-shm"):
        target.with_name(target.name + suffix).unlink(missing_ok=True)


def _is_sqlite(file: Path) -> bool:
    with file.open("rb") as opened:
        return opened.read(len(MAGIC)) == MAGIC
