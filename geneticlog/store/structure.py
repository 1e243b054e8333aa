"""Whether the tables, keys, rules, indexes and triggers of a database are those that this program makes."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from sqlalchemy import Connection, Select, and_, create_engine, inspect, select, text

from geneticlog.settings import shipped_folder
from geneticlog.store.tables import Table as Base
from geneticlog.store.whose_file import APPLICATION_ID


def structure_faults(connection: Connection) -> list[str]:
    """Return what is missing, changed or added in the structure of a database, in plain sentences."""
    if connection.dialect.name == "sqlite":
        return [*_sqlite_faults(connection), *_header_faults(connection), *_loose_ends(connection)]
    return [*_server_faults(connection), *_trigger_faults(connection), *_loose_ends(connection)]


def _sqlite_faults(connection: Connection) -> list[str]:
    """Compare with a database newly made by the same migrations, word for word."""
    return _differences(_newly_made(), _statements(connection))


@cache
def _newly_made() -> dict[str, list[str]]:
    from alembic import command

    from geneticlog.store.migrate import alembic_config

    fresh = create_engine("sqlite://")
    with fresh.begin() as other:
        command.upgrade(alembic_config(other), "head")
        made = _statements(other)
    fresh.dispose()
    return made


def _statements(connection: Connection) -> dict[str, list[str]]:
    rows = connection.exec_driver_sql(
        "SELECT type || ' ' || name, sql FROM sqlite_master WHERE name NOT LIKE 'sqlite_%' AND sql IS NOT NULL"
    )
    # a table that was made anew may name its rules in another order
    return {str(name): sorted(re.split(r",? +|[(),]", re.sub(r"\s+", " ", str(sql)))) for name, sql in rows}


def _differences(expected: dict[str, Any], present: dict[str, Any]) -> list[str]:
    faults = [f"the {name} is missing" for name in expected if name not in present]
    faults += [f"the {name} is not one of geneticlog's" for name in present if name not in expected]
    faults += [
        f"the {name} is not as it was made"
        for name in expected
        if name in present and expected[name] != present[name]
    ]
    return faults


def _header_faults(connection: Connection) -> list[str]:
    if connection.exec_driver_sql("PRAGMA application_id").scalar() == APPLICATION_ID:
        return []
    return ["the header of the file does not say that it is geneticlog's (application id)"]


def _server_faults(connection: Connection) -> list[str]:
    look = inspect(connection)
    tables = set(look.get_table_names())
    faults = [
        f"the table {name} is not one of geneticlog's"
        for name in sorted(tables - set(Base.metadata.tables) - {"alembic_version"})
    ]
    for table in Base.metadata.sorted_tables:
        if table.name not in tables:
            faults.append(f"the table {table.name} is missing")
            continue
        expected = {
            **{f"column {table.name}.{column.name}": column.nullable for column in table.columns},
            **{f"index {index.name}": True for index in table.indexes},
            **{
                f"rule {rule.name}": True
                for rule in table.constraints
                if rule.name and str(rule.name)[:2] != "pk"
            },
        }
        present = {
            **{f"column {table.name}.{one['name']}": one["nullable"] for one in look.get_columns(table.name)},
            **{
                f"index {one['name']}": True
                for one in look.get_indexes(table.name)
                if "duplicates_constraint" not in one
            },
            **{f"rule {one['name']}": True for one in look.get_check_constraints(table.name)},
            **{f"rule {one['name']}": True for one in look.get_unique_constraints(table.name)},
            **{f"rule {one['name']}": True for one in look.get_foreign_keys(table.name)},
        }
        faults += _differences(expected, present)
    return faults


def _trigger_faults(connection: Connection) -> list[str]:
    expected: set[str] = set()
    for file in sorted((shipped_folder("migrations") / "versions").glob("r*.py")):
        of_server = file.read_text(encoding="utf-8").partition('"postgresql": (')[2]
        expected |= set(re.findall(r"CREATE TRIGGER (\w+)", of_server))
    rows = connection.execute(
        text(
            "SELECT tgname, tgenabled FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid"
            " JOIN pg_namespace ON pg_namespace.oid = relnamespace"
            " WHERE NOT tgisinternal AND nspname = current_schema()"
        )
    )
    present = {str(name): str(enabled) for name, enabled in rows}
    faults = [f"the trigger {name} is missing" for name in sorted(expected - set(present))]
    faults += [f"the trigger {name} is not one of geneticlog's" for name in sorted(set(present) - expected)]
    return faults + [
        f"the trigger {name} is switched off" for name, how in sorted(present.items()) if how != "O"
    ]


def _loose_ends(connection: Connection) -> list[str]:
    """Rows that point at nothing, link by link."""
    faults = []
    for question, table, target in _questions():
        if (loose := connection.scalar(question)) is not None:
            faults.append(f"{table} {loose} points at a {target} that is not there")
    return faults


@cache
def _questions() -> list[tuple[Select[Any], str, str]]:
    """For each link: the first row that points at nothing, its table, and the table it points to."""
    asked = []
    for table in Base.metadata.sorted_tables:
        for link in table.foreign_key_constraints:
            target = link.referred_table.alias("target")
            pairs = [(element.parent, target.c[element.column.name]) for element in link.elements]
            joined = table.outerjoin(target, and_(*(here == there for here, there in pairs)))
            key = next(iter(table.primary_key.columns))
            question = (
                select(key)
                .select_from(joined)
                .where(pairs[0][0].is_not(None), pairs[0][1].is_(None))
                .limit(1)
            )
            asked.append((question, table.name, link.referred_table.name))
    return asked
