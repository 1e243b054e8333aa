"""A lake, a survey with targets, and printed vials: what tests of the boat start from."""

from __future__ import annotations

from datetime import UTC, date, datetime

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from geneticlog.rules.schemes import five_length
from geneticlog.rules.vialcode import mint
from geneticlog.store.engine import database_url, one_transaction, open_engine
from geneticlog.store.tables import (
    Fish,
    Lake,
    Office,
    PlanTarget,
    PrintRun,
    SamplingPlan,
    Survey,
    Vial,
)
from geneticlog.work.events import new_uid

NOW = datetime(2026, 5, 12, 15, 30, tzinfo=UTC)


def codes(n: int, office: str = "BG", first: int = 1) -> list[str]:
    """Codes as they are minted, in order."""
    found: list[str] = []
    serial = first
    while len(found) < n:
        code = mint(office, serial)
        if code is not None:
            found.append(code)
        serial += 1
    return found


def a_survey(
    session: Session,
    code: str = "HERON-2026",
    *,
    length_unit: str = "in",
    weight_unit: str = "lb",
    targets: dict[str, int] | None = None,
    n_vials: int = 20,
    gear: str = "boat electrofishing",
) -> Survey:
    """A survey of Heron Lake (invented) with its print run; the vials are codes(n_vials) for the first survey."""
    lake = session.scalar(select(Lake).where(Lake.code == "HERON"))
    if lake is None:
        lake = Lake(uid=new_uid(), code="HERON", name="Heron Lake", added_at=NOW, added_by="Ada Test")
        session.add(lake)
        session.add(Office(prefix="BG", name="Bluff Gulch office"))
        session.flush()
    scheme = five_length("largemouth_bass").to_json()
    plan = None
    if targets is not None:
        number = len(session.scalars(select(SamplingPlan)).all()) + 1
        plan = SamplingPlan(
            uid=new_uid(), lake_id=lake.id, number=number, scheme=scheme, allocation="equal", inputs="{}",
            made_at=NOW, made_by="Ada Test",
            targets=[PlanTarget(size_class=name, target=n) for name, n in targets.items()],
        )  # fmt: skip
        session.add(plan)
    survey = Survey(
        uid=new_uid(), code=code, lake=lake, surveyed_on=date(2026, 5, 12), gear=gear,
        species="largemouth_bass", length_unit=length_unit, weight_unit=weight_unit, scheme=scheme,
        sampling_plan=plan, opened_at=NOW, opened_by="Ada Test",
    )  # fmt: skip
    session.add(survey)
    session.flush()
    if n_vials:
        n_runs = len(session.scalars(select(PrintRun)).all())
        run = PrintRun(
            uid=new_uid(), number=n_runs + 1, office="BG", n_labels=n_vials, stock="letter-wrap",
            survey_id=survey.id, printed_at=NOW, printed_by="Ada Test",
        )  # fmt: skip
        session.add(run)
        session.flush()
        first = 1 + 1000 * n_runs
        session.add_all(Vial(code=one, print_run_id=run.id) for one in codes(n_vials, first=first))
        session.flush()
    return survey


def prepared(database: str, **options: object) -> None:
    """Put a survey into a database; options as of a_survey."""
    engine = open_engine(database_url(database))
    with one_transaction(engine) as session:
        a_survey(session, **options)  # type: ignore[arg-type]
    engine.dispose()


def fish_of(
    database: str, survey: str = "HERON-2026"
) -> list[tuple[int, int, float | None, str | None, str | None, tuple[str, ...]]]:
    """Return (number, n_fish, length, unit, size class, vials) of each fish, in order."""
    engine: Engine = open_engine(database_url(database))
    with Session(engine) as session:
        found = session.scalars(
            select(Fish).join(Survey).where(Survey.code == survey).order_by(Fish.number)
        ).all()
        rows = [
            (
                fish.number,
                fish.n_fish,
                fish.length,
                fish.length_unit,
                fish.size_class,
                tuple(vial.code for vial in fish.vials),
            )
            for fish in found
        ]
    engine.dispose()
    return rows
