"""Bringing a database to the revision of this program, and saying plainly when it is not there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import Connection, Engine, inspect
from sqlalchemy.exc import DBAPIError

from geneticlog.errors import StoreUnready
from geneticlog.settings import shipped_folder
from geneticlog.store.address import shown
from geneticlog.store.refusals import in_words
from geneticlog.store.whose_file import APPLICATION_ID

if TYPE_CHECKING:
    from alembic.config import Config

    from geneticlog.store.journal import Rows
    from geneticlog.store.replay import Unlike

NEWEST = "r0019"  # kept here so that opening a database need not load the migration tool; a test compares it


@dataclass(frozen=True)
class Standing:
    """Where a database stands: its revision (None: empty) and the newest one this program knows."""

    revision: str | None
    newest: str

    @property
    def ready(self) -> bool:
        return self.revision == self.newest


def alembic_config(connection: Connection | None = None) -> Config:
    """Return the configuration of the migrations that came with this program."""
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(shipped_folder("migrations")).replace("%", "%%"))
    config.attributes["connection"] = connection
    return config


def revision_of(connection: Connection) -> str | None:
    """Return the revision a database is at; None when it holds nothing of ours."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    found = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
    return str(found) if found else None


def standing(engine: Engine) -> Standing:
    """Return where the database stands. Raises StoreUnready when it cannot be read at all."""
    try:
        with engine.connect() as connection:
            return Standing(revision_of(connection), NEWEST)
    except DBAPIError as fault:
        raise StoreUnready(unreadable(engine, fault)) from fault


def unreadable(engine: Engine, fault: DBAPIError) -> str:
    """Return a plain sentence for a database that cannot be opened."""
    why = str(in_words(fault)).partition(": ")[2].removesuffix("; nothing more was stored")
    return f"the database {shown(engine.url)} cannot be opened: {why}"


def require_ready(engine: Engine) -> None:
    """Raise StoreUnready unless the database is at the revision of this program."""
    database = standing(engine)
    if database.ready:
        return
    if database.revision is None:
        raise StoreUnready("the database is empty; prepare it with: geneticlog database upgrade")
    if database.revision > database.newest:
        raise StoreUnready(
            f"the database is at revision {database.revision}, newer than this program knows ({database.newest}); "
            "install a newer geneticlog"
        )
    raise StoreUnready(
        f"the database is at revision {database.revision}, this program needs {database.newest}; "
        "bring it up with: geneticlog database upgrade"
    )


def upgrade(engine: Engine, revision: str = "head", *, seal: bool = True) -> Standing:
    """Bring a database forward in one transaction. The engine must not enforce links (see open_engine).

    Raises StoreUnready for a database of a newer program, one that cannot be written, or one whose links do
    not hold afterwards; nothing has changed then.
    """
    from alembic import command

    before = standing(engine)
    if before.revision is not None and before.revision > before.newest:
        require_ready(engine)
    try:
        # the lock comes first: of two that upgrade at once, the second finds it done
        with engine.execution_options(writes=True).begin() as connection:
            came_from = revision_of(connection)
            known, unsealed = _sealed_so_far(connection)
            command.upgrade(alembic_config(connection), revision)
            if seal:  # else a journal is copied into it next
                _seal_again(connection, came_from, known, unsealed)
            if engine.dialect.name == "sqlite":
                connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
                broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
                if broken:
                    raise StoreUnready(
                        f"after the upgrade {len(broken)} rows would point at nothing (first: table {broken[0][0]}, "
                        f"row {broken[0][1]}); the database was left as it was, restore a complete copy"
                    )
    except DBAPIError as fault:
        raise StoreUnready(unreadable(engine, fault)) from fault
    return standing(engine)


def _sealed_so_far(connection: Connection) -> tuple[Rows, list[Unlike]]:
    """Return what the journal says of each row before a migration, and the rows that are not so."""
    from geneticlog.store.replay import replay, unlike

    if not inspect(connection).has_table("journal"):
        return {}, []
    rows = replay(connection).rows
    return rows, unlike(connection, rows)


def _seal_again(connection: Connection, came_from: str | None, known: Rows, others: list[Unlike]) -> None:
    """Chain the rows that a migration made or changed to the journal; what was not as sealed before it is named."""
    from geneticlog.store.journal import seal_all

    revision = revision_of(connection)
    if revision == came_from or revision != NEWEST or not inspect(connection).has_table("journal"):
        return
    note = f"made at revision {revision}" if came_from is None else f"brought from {came_from} to {revision}"
    if others:
        named = ", ".join(f"{one.table} {one.key} {one.how}" for one in others[:20])
        more = f" and {len(others) - 20:,} more" if len(others) > 20 else ""
        note += f"; {len(others):,} rows were not as the journal said before: {named}{more}"
    seal_all(connection, known, note=note)
