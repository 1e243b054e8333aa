"""What a database refuses, in the words of the trade: nobody at the keyboard ever reads a driver's message."""

from __future__ import annotations

import re

from sqlalchemy.exc import DBAPIError, IntegrityError

from geneticlog.errors import GeneticlogError, Refused, StoreReadOnly, StoreUnready

AGAIN = "nothing was stored; run the command again"
# the unique keys of the tables, by table and columns: what two programs may both have wanted in one moment
TAKEN = {
    ("fish", "survey_id", "number"): "that number of a fish is given in this survey already",
    ("fish", "survey_id", "source"): "that line is stored in this survey already",
    ("vial", "code"): "that vial code is in this database already",
    ("office", "prefix"): "that office is entered already",
    ("lake", "code"): "that lake code is taken",
    ("survey", "code"): "that survey code is taken",
    ("shipment", "code"): "that shipment code is taken",
    ("lab", "code"): "that lab code is taken",
    ("panel", "code"): "that panel code is taken",
    ("rule_set", "name", "dated"): "a rule set of that name and date is kept already",
    ("print_run", "number"): "that number of a print run is given already",
    ("sampling_plan", "lake_id", "number"): "that number of a sampling plan is given on this lake already",
    ("finding", "number"): "that number of a finding is given already",
    ("finding", "key"): "that finding is open already",
    ("return_file", "sha256"): "that file is read already",
    ("result", "fish_id"): "that fish has a result that counts already",
    ("shipment_position", "shipment_id", "vial_id"): "that vial is in the shipment already",
    (
        "shipment_position",
        "shipment_id",
        "container_number",
        "position",
    ): "that well or box position is taken",
}
SQLITE = (  # part of SQLite's message -> (what it means, exit code 6 or 1)
    ("readonly", "it cannot be written: the file or its folder is read-only"),
    ("disk is full", "the disk is full; make room"),
    ("disk i/o error", "the disk cannot be read or written; check the drive and its room"),
    ("malformed", "the file is damaged; restore a copy with: geneticlog database restore"),
    ("not a database", "it is not a SQLite file; name another"),
    ("locked", "another program has held it for too long; close that program"),
    ("busy", "another program has held it for too long; close that program"),
    ("unable to open", "the file cannot be opened; check the path and its permissions"),
    ("no such table", "it lacks a table of ours; bring it up with: geneticlog database upgrade"),
    ("no such column", "it lacks a column of ours; bring it up with: geneticlog database upgrade"),
)
SERVER = (  # start of PostgreSQL's error code, https://www.postgresql.org/docs/current/errcodes-appendix.html
    ("28", "the server refused the account or its password; check both"),
    ("3D", "the server has no database of that name; have it made, or name another"),
    ("42501", "this account may only look; use one that may write"),
    ("25006", "the server takes no writing now: it is read-only"),
    ("42P01", "it lacks a table of ours; bring it up with: geneticlog database upgrade"),
    ("42703", "it lacks a column of ours; bring it up with: geneticlog database upgrade"),
    ("53100", "the server's disk is full; make room"),
    ("53300", "the server has too many connections; close one"),
    ("53", "the server is short of memory or disk; tell the person who looks after it"),
    ("57", "the server is shutting down or starting; wait a moment"),
    ("08", "the connection was lost; check the network"),
    ("40", "another program wrote at the same moment"),
    ("55", "another program has held it for too long; close that program"),
)
READ_ONLY = {dict(SQLITE)["readonly"], dict(SERVER)["42501"], dict(SERVER)["25006"]}


def in_words(fault: DBAPIError) -> GeneticlogError:
    """Return the fault that a person sees in place of the driver's: Refused for what a key or a check refused,
    StoreUnready for a database that cannot be used now."""
    if isinstance(fault, IntegrityError) or _code(fault).startswith("23"):
        return _refused(fault)
    text = str(fault.orig).lower()
    if code := _code(fault):
        why = next((words for start, words in SERVER if code.startswith(start)), None)
        why = why or ("a rule of the database refuses it" if code.startswith(("22", "P0")) else None)
        if code.startswith("P0"):  # raised by a trigger of ours, in our own words
            return Refused(f"the database refuses this: {_first(fault)}; nothing was stored")
    elif type(fault.orig).__module__.startswith("psycopg"):
        why = "the server cannot be reached, or the connection was lost; check the address and the network"
    else:
        why = next((words for part, words in SQLITE if part in text), None)
    why = why or f"it answered with {type(fault.orig).__name__}{' ' + _code(fault) if _code(fault) else ''}"
    kind = StoreReadOnly if why in READ_ONLY else StoreUnready
    return kind(f"the database cannot be used now: {why}; nothing more was stored")


def _refused(fault: DBAPIError) -> Refused:
    key = _key(fault)
    if key in TAKEN:
        return Refused(f"{TAKEN[key]}, perhaps by another program a moment ago; {AGAIN}")
    text = _first(fault)
    if matched := re.search(r"unique constraint.*", text, re.IGNORECASE):
        of = f" in the table {key[0]}" if key else ""
        return Refused(f"the same is entered already{of}; {AGAIN}") if matched else Refused(AGAIN)
    if re.search(r"foreign key", text, re.IGNORECASE):
        return Refused(f"what this belongs to is not there any more, or something belongs to it; {AGAIN}")
    if matched := re.search(r"ck_(\w+)", text):
        return Refused(
            f"a value is outside what can be stored (rule {matched[1]}); nothing was stored; correct it"
        )
    if re.search(r"not.null", text, re.IGNORECASE):
        return Refused("a value that every entry needs is missing; nothing was stored; add it")
    return Refused(
        f"the database refuses this: {text}; nothing was stored"
    )  # a trigger of ours, in our own words


def _key(fault: DBAPIError) -> tuple[str, ...]:
    """Return table and columns of the unique key that refused, as both engines name it; empty where none did."""
    text = str(fault.orig)
    if found := re.search(r"UNIQUE constraint failed: ([\w., ]+)", text):
        pairs = [part.strip().split(".") for part in found[1].split(",")]
        return (pairs[0][0], *(pair[-1] for pair in pairs))
    name = str(getattr(getattr(fault.orig, "diag", None), "constraint_name", "") or "")
    for key in TAKEN:
        if name == f"uq_{key[0]}_{'_'.join(key[1:])}":
            return key
    return ()


def _code(fault: DBAPIError) -> str:
    return str(getattr(fault.orig, "sqlstate", None) or "")


def _first(fault: DBAPIError) -> str:
    return (str(fault.orig).strip().splitlines() or [""])[0]
