"""Everything that is stored: one class a table. Lengths and weights are kept as measured, metric beside them.

A wrong state is made impossible here as far as a database can: a vial on two fish, a vial on a tally of
several fish, a proportion outside 0..1, two results that count for one fish. ``event`` only grows: triggers
in the first migration refuse its update and delete.

A column marked ``insert_sentinel`` lets many rows go to the database in one statement: it tells which number each got.
"""

from geneticlog.store.table_base import NAMES, Table, one_of
from geneticlog.store.tables_of_fish import DroppedFile, Fish, KnownVial, OpenCard, PrintRun, ShownCard, Vial
from geneticlog.store.tables_of_lakes import Lake, Office, PlanTarget, SamplingPlan, Stocking, Survey
from geneticlog.store.tables_of_records import (
    Device,
    Event,
    JournalEntry,
    KeptReport,
    Pairing,
    PairingTry,
    ToldSurvey,
    ToldVial,
)
from geneticlog.store.tables_of_results import Finding, Genotype, Result, ReturnFile, ReturnRow
from geneticlog.store.tables_of_shipments import (
    KeptRuleSet,
    Lab,
    Panel,
    RuleSetChoice,
    Shipment,
    ShipmentPosition,
)

__all__ = [
    "NAMES",
    "Device",
    "DroppedFile",
    "Event",
    "Finding",
    "Fish",
    "Genotype",
    "JournalEntry",
    "KeptReport",
    "KeptRuleSet",
    "KnownVial",
    "Lab",
    "Lake",
    "Office",
    "OpenCard",
    "Pairing",
    "PairingTry",
    "Panel",
    "PlanTarget",
    "PrintRun",
    "Result",
    "ReturnFile",
    "ReturnRow",
    "RuleSetChoice",
    "SamplingPlan",
    "Shipment",
    "ShipmentPosition",
    "ShownCard",
    "Stocking",
    "Survey",
    "Table",
    "ToldSurvey",
    "ToldVial",
    "Vial",
    "one_of",
]
