"""Whether a PostgreSQL database has the columns, keys, rules, indexes and triggers that this program makes.

The server says how it reads each of them. What is expected is read in the same way: the tables are made as temporary
ones, which nobody else sees, and are taken back at once.
"""

from __future__ import annotations

import re
from typing import Any

from sqlalchemy import Connection, inspect, text
from sqlalchemy.exc import DBAPIError
from sqlalchemy.schema import CreateIndex, CreateTable

from geneticlog.settings import shipped_folder
from geneticlog.store.tables import Table as Base

COLUMNS = """
    SELECT 'column ' || relname || '.' || attname,
      format_type(atttypid, atttypmod) || CASE WHEN attnotnull THEN ' filled ' ELSE ' ' END
      || coalesce(pg_get_expr(adbin, adrelid), '')
    FROM pg_attribute JOIN pg_class ON pg_class.oid = attrelid
    LEFT JOIN pg_attrdef ON adrelid = attrelid AND adnum = attnum
    WHERE relnamespace = :schema AND relname = ANY(:tables) AND attnum > 0 AND NOT attisdropped"""
RULES = """
    SELECT CASE contype WHEN 'p' THEN 'primary key of ' || relname ELSE 'rule ' || conname END,
      pg_get_constraintdef(pg_constraint.oid)
    FROM pg_constraint JOIN pg_class ON pg_class.oid = conrelid
    WHERE relnamespace = :schema AND relname = ANY(:tables) AND contype IN ('c', 'f', 'p', 'u', 'x')"""
INDEXES = """
    SELECT 'index ' || own.relname, pg_get_indexdef(indexrelid) || CASE WHEN indisvalid THEN '' ELSE ' broken' END
    FROM pg_index JOIN pg_class AS own ON own.oid = indexrelid JOIN pg_class AS of ON of.oid = indrelid
    WHERE own.relnamespace = :schema AND of.relname = ANY(:tables)
      AND NOT EXISTS (SELECT 1 FROM pg_constraint WHERE conindid = indexrelid AND contype IN ('p', 'u', 'x'))"""
TRIGGERS = """
    SELECT 'trigger ' || tgname, pg_get_triggerdef(pg_trigger.oid)
    FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid
    WHERE NOT tgisinternal AND relnamespace = :schema AND relname = ANY(:tables)"""
SWITCHED_OFF = """
    SELECT tgname FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid
    WHERE NOT tgisinternal AND relnamespace = :schema AND tgenabled <> 'O' ORDER BY 1"""
HIDING = """
    SELECT 'the table ' || relname || ' hides rows from some roles (row security)'
    FROM pg_class WHERE relnamespace = :schema AND relkind = 'r' AND relrowsecurity
    UNION SELECT 'the rewrite rule ' || rulename || ' on ' || relname || ' is not one of geneticlog''s'
    FROM pg_rewrite JOIN pg_class ON pg_class.oid = ev_class
    WHERE relnamespace = :schema AND relkind = 'r' ORDER BY 1"""
SCHEMA = re.compile(r"\b(ON|REFERENCES) (?:ONLY )?(?:\w+|\"[^\"]+\")\.(?=\w)")  # the schema of a table's name
NEXT = re.compile(r"nextval\('[^']+'::regclass\)")
NOT_ALLOWED = {"42501", "25006"}  # insufficient privilege; a transaction that only reads
MADE: dict[str, dict[str, str]] = {}  # version of a server -> how it reads what this program makes
KINDS = (COLUMNS, RULES, INDEXES, TRIGGERS)


def server_faults(connection: Connection) -> tuple[list[str], bool]:
    """Return what is missing, changed or added, and whether more than names could be compared."""
    schema = connection.scalar(text("SELECT current_schema()::regnamespace::oid"))
    present = _definitions(connection, schema)
    faults = [str(row[0]) for row in connection.execute(text(HIDING), {"schema": schema})]
    off = connection.execute(text(SWITCHED_OFF), {"schema": schema})
    faults += [f"the trigger {row[0]} is switched off" for row in off]
    tables = set(inspect(connection).get_table_names())
    others = sorted(tables - set(Base.metadata.tables) - {"alembic_version"})
    faults += [f"the table {name} is not one of geneticlog's" for name in others]
    faults += [f"the table {name} is missing" for name in Base.metadata.tables if name not in tables]
    faults += _function_faults(connection, schema)
    expected = _newly_made(connection)
    if expected is None:
        return faults + differences(_names(), dict.fromkeys(present, "")), False
    return faults + differences(expected, present), True


def differences(expected: dict[str, Any], present: dict[str, Any]) -> list[str]:
    """Return in words what is missing, added or not as it was made."""
    faults = [f"the {name} is missing" for name in expected if name not in present]
    faults += [f"the {name} is not one of geneticlog's" for name in present if name not in expected]
    faults += [
        f"the {name} is not as it was made"
        for name in expected
        if name in present and expected[name] != present[name]
    ]
    return faults


def _definitions(connection: Connection, schema: int) -> dict[str, str]:
    """Return our columns, keys, rules, indexes and triggers in a schema, each as the server reads it."""
    given = {"schema": schema, "tables": list(Base.metadata.tables)}
    rows = [row for kind in KINDS for row in connection.execute(text(kind), given)]
    return {str(name): NEXT.sub("next", SCHEMA.sub(r"\1 ", str(told))) for name, told in rows}


def _newly_made(connection: Connection) -> dict[str, str] | None:
    """Return the definitions as this program makes them; None where a role may make no temporary tables."""
    server = str(connection.dialect.server_version_info)
    if server in MADE:
        return MADE[server]
    trial = connection.begin_nested()
    try:
        for table in Base.metadata.sorted_tables:
            made = str(CreateTable(table).compile(connection))
            connection.exec_driver_sql(made.replace("CREATE TABLE", "CREATE TEMPORARY TABLE", 1))
            for index in sorted(table.indexes, key=lambda index: str(index.name)):
                connection.exec_driver_sql(str(CreateIndex(index).compile(connection)))
        for statement in _of_migrations(r'"""(CREATE TRIGGER .*?)"""'):
            connection.exec_driver_sql(statement)
        schema = connection.scalar(text("SELECT pg_my_temp_schema()"))
        return MADE.setdefault(server, _definitions(connection, schema))
    except DBAPIError as fault:
        if getattr(fault.orig, "sqlstate", None) not in NOT_ALLOWED:
            raise
        return None
    finally:
        trial.rollback()


def _names() -> dict[str, str]:
    """Return the names of what is expected, without what is behind them."""
    names = [f"trigger {name}" for name in _of_migrations(r"CREATE TRIGGER (\w+)")]
    for table in Base.metadata.sorted_tables:
        names += [f"column {table.name}.{column.name}" for column in table.columns]
        names += [f"index {index.name}" for index in table.indexes]
        names += [f"rule {rule.name}" for rule in table.constraints if rule is not table.primary_key]
        names.append(f"primary key of {table.name}")
    return dict.fromkeys(names, "")


def _function_faults(connection: Connection, schema: int) -> list[str]:
    question = text("SELECT prosrc FROM pg_proc WHERE proname = :name AND pronamespace = :schema")
    faults = []
    for name, body in _of_migrations(r"CREATE FUNCTION (\w+)\(\).*?\$\$(.*?)\$\$"):
        present = connection.scalar(question, {"name": name, "schema": schema})
        if present != body:
            faults.append(f"the function {name} is {'missing' if present is None else 'not as it was made'}")
    return faults


def _of_migrations(pattern: str) -> list[Any]:
    """Return what matches in the statements that migrations have for PostgreSQL."""
    matches = []
    for file in sorted((shipped_folder("migrations") / "versions").glob("r*.py")):
        of_server = file.read_text(encoding="utf-8").partition('"postgresql": (')[2]
        matches += re.findall(pattern, of_server, re.DOTALL)
    return matches
