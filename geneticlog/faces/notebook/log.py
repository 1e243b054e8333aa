"""``geneticlog.open``: a database as tidy DataFrames, read only; every number is the report's own.

Each method reads afresh, in one read transaction. Nothing here can write: the database itself refuses it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import cached_property
from os import PathLike
from typing import TYPE_CHECKING, Any

from geneticlog.faces.notebook.columns import described
from geneticlog.faces.notebook.frames import frame_of, frame_of_table, picked, typed
from geneticlog.rules.stamp import Stamp

if TYPE_CHECKING:
    import pandas as pd
    from sqlalchemy import Engine, Executable
    from sqlalchemy.orm import Session


def open_log(database: str | PathLike[str] | None = None) -> Log:
    """Open a database to read it: a path of a SQLite file, a ``postgresql://`` URL, or None for your own settings.

    Raises StoreUnready where it is missing, unreachable, or of another revision than this program.
    """
    from geneticlog.faces.app.desk import Desk

    desk = Desk()
    desk.database = str(database) if database is not None else None
    return Log(desk.engine)


class Log:
    """A database opened to be read: one method a table, each a tidy DataFrame.

    ``describe(table)`` gives the columns of a table with dtype, unit and meaning. Use it in a ``with`` block, or call
    ``close()``. The examples are of the demo's database.

    >>> import geneticlog
    >>> log = geneticlog.open("heron.sqlite")
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def __enter__(self) -> Log:
        return self

    def __exit__(self, *_exception: object) -> None:
        self.close()

    def close(self) -> None:
        """Let the database go."""
        self._engine.dispose()

    def describe(self, table: str) -> pd.DataFrame:
        """Return the columns of a table: name, dtype, unit, meaning. Raises KeyError for a table that is not there."""
        import pandas as pd

        return pd.DataFrame(described(table), columns=["column", "dtype", "unit", "meaning"])

    def surveys(self) -> pd.DataFrame:
        """Return one row a survey: lake, day, gear, effort, and fish caught, swabbed and typed.

        >>> log.surveys()[["survey", "n_caught", "n_swabbed", "n_resulted"]]
               survey  n_caught  n_swabbed  n_resulted
        0  HERON-2024       108         34          33
        1  HERON-2026       139         35          33
        """
        from sqlalchemy import func, select, true

        from geneticlog.store.tables import Fish, Lake, Result, Survey
        from geneticlog.work.result.count_fish import caught_and_swabbed
        from geneticlog.work.result.in_the_numbers import numbers_of_lakes

        with self._reading() as session:
            rows = session.execute(
                select(
                    Survey.id, Survey.code, Lake.code, Survey.surveyed_on, Survey.gear, Survey.species,
                    Survey.effort_minutes, Survey.length_unit, Survey.weight_unit,
                )
                .join(Lake, Lake.id == Survey.lake_id)
                .order_by(Survey.surveyed_on, Survey.code)
            ).all()  # fmt: skip
            caught = caught_and_swabbed(session, true())
            counted_fish = session.execute(
                select(Fish.survey_id, func.count().label("n"))
                .join(Survey, Survey.id == Fish.survey_id)
                .join(Result, Result.fish_id == Fish.id)
                .where(numbers_of_lakes(session, true()))
                .group_by(Fish.survey_id)
            )
            typed = {row.survey_id: row.n for row in counted_fish}
        return frame_of_table(
            "surveys", [(*row[1:], *caught.get(row[0], (0, 0)), typed.get(row[0], 0)) for row in rows]
        )

    def fish(self) -> pd.DataFrame:
        """Return one row a fish (or tally) with its measures and its result; ``in_the_numbers``: the report counts it.

        >>> log.fish().query("in_the_numbers").groupby("size_class", observed=True)["q"].count().to_dict()
        {'substock': 15, 'stock': 15, 'quality': 15, 'preferred': 16, 'memorable': 5}
        """
        from sqlalchemy import select, true

        from geneticlog.store.tables import Fish, Result, Survey, Vial
        from geneticlog.work.result.in_the_numbers import counted, numbers_of_lakes
        from geneticlog.work.result.vial_outcome import in_hand

        with self._reading() as session:
            outings = self._outings(session)
            frame = self._read(
                session,
                select(
                    Fish.id, Fish.survey_id, Fish.number.label("fish"), Fish.n_fish, Fish.species, Fish.length,
                    Fish.length_unit, Fish.length_mm, Fish.weight, Fish.weight_unit, Fish.weight_g, Fish.size_class,
                    Fish.relative_weight, Fish.fate, Fish.site,
                ),
            )  # fmt: skip
            results = self._read(
                session,
                select(
                    Result.fish_id, numbers_of_lakes(session, true()).label("in_the_numbers"), Result.q,
                    Result.heterozygosity, Result.n_loci, Result.call_rate,
                )
                .join(Fish, Fish.id == Result.fish_id)
                .join(Survey, Survey.id == Fish.survey_id)
                .where(counted()),
            ).set_index("fish_id")  # fmt: skip
            swabbed = self._read(session, select(Vial.fish_id).where(Vial.fish_id.is_not(None), in_hand()))
        frame = frame.join(results, on="id")
        frame["in_the_numbers"] = frame["in_the_numbers"].eq(True)
        frame["swabbed"] = frame["id"].isin(swabbed["fish_id"])
        frame = frame.join(outings, on="survey_id").sort_values(
            ["surveyed_on", "survey_id", "fish"], kind="stable", ignore_index=True
        )
        return typed("fish", frame, {"size_class": self._classes_in_order})

    def vials(self) -> pd.DataFrame:
        """Return one row a vial: its fish, what it holds, and where it has got to.

        >>> log.vials()["standing"].value_counts().to_dict()
        {'filled': 71, 'printed': 48, 'blank': 1}
        """
        from sqlalchemy import select

        from geneticlog.store.tables import Fish, Shipment, ShipmentPosition, Survey, Vial

        latest = (
            select(ShipmentPosition.id)
            .where(ShipmentPosition.vial_id == Vial.id)
            .order_by(ShipmentPosition.id.desc())
            .limit(1)
            .correlate(Vial)
            .scalar_subquery()
        )
        query = (
            select(
                Vial.code, Survey.code, Fish.number, Vial.standing, Vial.role, Vial.tissue, Vial.medium, Vial.filled_at,
                Shipment.code, ShipmentPosition.container_number, ShipmentPosition.position, ShipmentPosition.arrival,
            )
            .outerjoin(Fish, Fish.id == Vial.fish_id)
            .outerjoin(Survey, Survey.id == Fish.survey_id)
            .outerjoin(ShipmentPosition, ShipmentPosition.id == latest)
            .outerjoin(Shipment, Shipment.id == ShipmentPosition.shipment_id)
            .order_by(Vial.code)
        )  # fmt: skip
        return self._table("vials", query)

    def results(self) -> pd.DataFrame:
        """Return one row a result, with every standing; ``counts`` marks the one that counts for its fish.

        >>> results = log.results()
        >>> int(results["counts"].sum()), int((results["outcome"] == "failed").sum())
        (66, 4)
        """
        from sqlalchemy import select

        from geneticlog.store.tables import (
            Fish,
            Panel,
            Result,
            ReturnFile,
            ReturnRow,
            Shipment,
            Survey,
            Vial,
        )
        from geneticlog.work.result.in_the_numbers import counted

        query = (
            select(
                Vial.code, Survey.code, Fish.number, Shipment.code, ReturnFile.name, ReturnRow.row_number, Panel.code,
                Result.outcome, Result.standing, counted(), Result.q, Result.other_q, Result.third_q,
                Result.heterozygosity, Result.n_loci, Result.call_rate, Result.lab_class, Result.failure,
            )
            .join(Vial, Vial.id == Result.vial_id)
            .outerjoin(Fish, Fish.id == Vial.fish_id)
            .outerjoin(Survey, Survey.id == Fish.survey_id)
            .outerjoin(ReturnRow, ReturnRow.id == Result.return_row_id)
            .outerjoin(ReturnFile, ReturnFile.id == ReturnRow.return_file_id)
            .outerjoin(Shipment, Shipment.id == ReturnFile.shipment_id)
            .outerjoin(Panel, Panel.id == Result.panel_id)
            .order_by(Result.id)
        )  # fmt: skip
        return self._table("results", query)

    def genotypes(self) -> pd.DataFrame:
        """Return one row a fish and locus, of the results that count.

        >>> list(log.genotypes().columns)
        ['vial', 'survey', 'fish', 'marker', 'n_alleles']
        """
        from sqlalchemy import select

        from geneticlog.store.tables import Fish, Genotype, Result, Survey, Vial
        from geneticlog.work.result.in_the_numbers import counted

        query = (
            select(Vial.code, Survey.code, Fish.number, Genotype.marker, Genotype.n_alleles)
            .join(Result, Result.id == Genotype.result_id)
            .join(Vial, Vial.id == Result.vial_id)
            .join(Fish, Fish.id == Result.fish_id)
            .join(Survey, Survey.id == Fish.survey_id)
            .where(counted())
            .order_by(Result.id, Genotype.marker)
        )
        return self._table("genotypes", query)

    def stockings(self) -> pd.DataFrame:
        """Return one row a stocking.

        >>> log.stockings()[["lake", "stocked_on", "taxon", "n_fish"]].astype(str).values.tolist()
        [['HERON', '2025-04-02', 'Florida', '3000']]
        """
        from sqlalchemy import select

        from geneticlog.store.tables import Lake, Stocking

        query = (
            select(
                Lake.code,
                Stocking.stocked_on,
                Stocking.taxon,
                Stocking.n_fish,
                Stocking.size,
                Stocking.source,
            )
            .join(Lake, Lake.id == Stocking.lake_id)
            .order_by(Stocking.stocked_on, Lake.code)
        )
        return self._table("stockings", query)

    def findings(self) -> pd.DataFrame:
        """Return one row a finding, open ones with no decision.

        >>> int(log.findings()["decision"].isna().sum())
        4
        """
        from sqlalchemy import select

        from geneticlog.store.tables import Finding, Shipment, Survey, Vial

        query = (
            select(
                Finding.number, Finding.kind, Shipment.code, Survey.code, Vial.code, Finding.text, Finding.opened_at,
                Finding.decision, Finding.decided_at, Finding.decided_by, Finding.why,
            )
            .outerjoin(Shipment, Shipment.id == Finding.shipment_id)
            .outerjoin(Survey, Survey.id == Finding.survey_id)
            .outerjoin(Vial, Vial.id == Finding.vial_id)
            .order_by(Finding.number)
        )  # fmt: skip
        with self._reading() as session:
            rows = [(f"F{row[0]}", *row[1:]) for row in session.execute(query)]
        return frame_of_table("findings", rows)

    def lake(self, code: str) -> dict[str, Any]:
        """Return the numbers of a lake's report: the document that ``geneticlog report lake CODE --json`` prints.

        Keys and values are those of the JSON, in plain Python: str, int, float, bool, list, dict and None.

        Raises NotFound for a lake that is not there.

        >>> latest = log.lake("HERON")["surveys"][-1]
        >>> latest["survey"], round(latest["catch_weighted"]["mean"], 2)
        ('HERON-2026', 0.28)
        """
        from geneticlog.faces.app.desk import plain
        from geneticlog.faces.report.document import report_document
        from geneticlog.work.report.gather import gather_lake

        with self._reading() as session:
            facts = gather_lake(session, code, stamp=Stamp(datetime.now(UTC), ""))
        document: dict[str, Any] = plain(report_document(facts))
        return document

    def classes(self, lake: str | Iterable[str] | None = None) -> pd.DataFrame:
        """Return one row a size class of each survey, as the lake's report gives it: n, mean q, interval.

        lake: code of a lake, or several; all lakes where none is named. Raises NotFound for one that is not there.

        >>> of_2026 = log.classes("HERON").query("survey == 'HERON-2026'")
        >>> of_2026[["size_class", "n_caught", "n_resulted"]].values.tolist()[:2]
        [['substock', 37, 7], ['stock', 47, 7]]
        """
        rows = [
            {"lake": document["lake"], **_some(survey), **row}
            for document in self._documents(lake)
            for survey in document["surveys"]
            for row in survey["classes"]
        ]
        return frame_of_table("classes", picked("classes", rows), {"size_class": self._classes_in_order})

    def changes(self, lake: str | Iterable[str] | None = None) -> pd.DataFrame:
        """Return the changes between surveys that the lakes' reports give: of the lake, its young and its adults.

        lake: code of a lake, or several; all lakes where none is named. Raises NotFound for one that is not there.

        >>> log.changes("HERON").set_index("group")["difference"].round(2).to_dict()
        {'lake': 0.11, 'young': 0.14, 'adult': 0.05}
        """
        rows = []
        for document in self._documents(lake):
            for change in document["changes"]:
                for group in ("lake", "young", "adult"):
                    numbers = change if group == "lake" else change.get(group)
                    if numbers is not None:
                        rows.append(
                            {
                                "lake": document["lake"],
                                "earlier": change["earlier"],
                                "later": change["later"],
                                "group": group,
                                **{
                                    key: numbers.get(key)
                                    for key in ("difference", "low", "high", "p", "n_earlier", "n_later")
                                },
                            }
                        )
        return frame_of_table(
            "changes", picked("changes", rows), {"group": lambda: ["lake", "young", "adult"]}
        )

    def lakes(self) -> pd.DataFrame:
        """Return one row a lake, as the list of lakes gives it: weighted mean, interval, change.

        >>> log.lakes()[["lake", "survey", "n"]].values.tolist()
        [['HERON', 'HERON-2026', 33]]
        """
        from dataclasses import asdict

        from geneticlog.work.portfolio.gather import gather_portfolio

        with self._reading() as session:
            lines = [
                asdict(line) | {"n": line.n_resulted}
                for line in gather_portfolio(session, today=datetime.now(UTC).date())
            ]
        return frame_of_table("lakes", picked("lakes", lines))

    def _documents(self, lake: str | Iterable[str] | None) -> Iterator[dict[str, Any]]:
        from sqlalchemy import select

        from geneticlog.store.tables import Lake

        if lake is None:
            with self._reading() as session:
                codes: Iterable[str] = list(session.scalars(select(Lake.code).order_by(Lake.code)))
        else:
            codes = [lake] if isinstance(lake, str) else lake
        for code in codes:
            yield self.lake(code)

    @cached_property
    def _read_only_engine(self) -> Engine:
        from sqlalchemy import event

        only_look = (
            "PRAGMA query_only = ON" if self._engine.dialect.name == "sqlite" else "SET TRANSACTION READ ONLY"
        )

        @event.listens_for(self._engine, "begin")
        def _only_look(connection: Any) -> None:
            connection.exec_driver_sql(only_look)

        return self._engine

    @contextmanager
    def _reading(self) -> Iterator[Session]:
        from geneticlog.store.engine import one_transaction

        with one_transaction(self._read_only_engine, writes=False) as session:
            yield session

    def _read(self, session: Session, query: Executable) -> pd.DataFrame:
        result = session.connection().execute(query)
        return frame_of(list(result.keys()), result.fetchall())

    def _table(self, name: str, query: Executable) -> pd.DataFrame:
        with self._reading() as session:
            rows = session.connection().execute(query).fetchall()
        return frame_of_table(name, rows)

    def _outings(self, session: Session) -> pd.DataFrame:
        """Return lake, survey and day of every survey, by its id; as categories, so that a join costs no text."""
        from sqlalchemy import select

        from geneticlog.store.tables import Lake, Survey

        frame = self._read(
            session,
            select(Survey.id, Survey.code.label("survey"), Lake.code.label("lake"), Survey.surveyed_on).join(
                Lake, Lake.id == Survey.lake_id
            ),
        ).set_index("id")
        return frame.astype({"survey": "category", "lake": "category", "surveyed_on": "datetime64[ns]"})

    def _classes_in_order(self) -> Sequence[str]:
        """Return the names of the size classes of all surveys, from small to large."""
        from sqlalchemy import select

        from geneticlog.store.tables import Survey

        with self._reading() as session:
            found = session.scalars(select(Survey.scheme).distinct()).all()
        least: dict[str, float] = {}
        for scheme in found:
            for unit, limits in scheme.least.items():
                for name, limit in zip(scheme.classes, limits, strict=True):
                    least.setdefault(name, limit * (25.4 if unit == "in" else 1.0))
        return sorted(least, key=lambda name: least[name])


def _some(survey: dict[str, Any]) -> dict[str, Any]:
    return {key: survey[key] for key in ("survey", "surveyed_on")}
