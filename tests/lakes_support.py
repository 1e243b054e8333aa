"""Lakes with surveys, fish and results, put straight into a database: what a report is made from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from uuid import uuid4

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from geneticlog.rules.schemes import five_length
from geneticlog.rules.species import relative_weight
from geneticlog.rules.vialcode import mint
from geneticlog.store.tables import Fish, Lake, Panel, Result, Stocking, Survey, Vial

NOW = datetime(2026, 5, 12, 15, 30, tzinfo=UTC)


def add_lake(session: Session, code: str = "HERON", name: str = "Heron Lake", **more: object) -> Lake:
    lake = Lake(uid=uuid4().hex, code=code, name=name, added_at=NOW, added_by="Ada Test", **more)
    session.add(lake)
    session.flush()
    return lake


def add_panel(session: Session, code: str = "P38", n_loci: int = 38, **more: str) -> Panel:
    found = session.scalar(select(Panel).where(Panel.code == code))
    if found is None:
        found = Panel(code=code, name=f"Panel {code}", n_loci=n_loci, **more)
        session.add(found)
        session.flush()
    return found


def add_survey(
    session: Session, lake: Lake, code: str = "HERON-2026", on: date = date(2026, 4, 9), **more: object
) -> Survey:
    held: dict[str, object] = {
        "gear": "boat electrofishing", "species": "largemouth_bass", "length_unit": "in", "weight_unit": "lb",
        "scheme": five_length("largemouth_bass").to_json(), **more,
    }  # fmt: skip
    survey = Survey(
        uid=uuid4().hex,
        code=code,
        lake_id=lake.id,
        surveyed_on=on,
        opened_at=NOW,
        opened_by="Ada Test",
        **held,
    )
    session.add(survey)
    session.flush()
    return survey


_serial = iter(range(1, 1_000_000))


def vial_code() -> str:
    return next(code for serial in _serial if (code := mint("BG", serial)) is not None)


def add_fish(session: Session, survey: Survey, length: float | None, *, n_fish: int = 1, weight_g: float | None = None,
             species: str = "largemouth_bass") -> Fish:  # fmt: skip
    number = next_number(session, survey)
    fish = a_fish(survey, number, length, n_fish=n_fish, weight_g=weight_g, species=species)
    session.add(fish)
    session.flush()
    return fish


def next_number(session: Session, survey: Survey) -> int:
    return (session.scalar(select(func.count()).where(Fish.survey_id == survey.id)) or 0) + 1


def a_fish(survey: Survey, number: int, length: float | None, *, n_fish: int = 1, weight_g: float | None = None,
           species: str = "largemouth_bass") -> Fish:  # fmt: skip
    unit = survey.length_unit
    mm = None if length is None else length * {"mm": 1, "cm": 10, "in": 25.4}[unit]
    return Fish(
        uid=uuid4().hex, survey_id=survey.id, number=number, n_fish=n_fish, species=species,
        length=length, length_unit=None if length is None else unit, length_mm=mm,
        weight=weight_g, weight_unit=None if weight_g is None else "g", weight_g=weight_g,
        size_class=None if length is None else survey.scheme.judge(length, unit),
        relative_weight=None if mm is None or weight_g is None else relative_weight(species, mm, weight_g),
        logged_at=NOW, logged_by="Ada Test",
    )  # fmt: skip


def add_vial(session: Session, fish: Fish, **more: object) -> Vial:
    vial = a_vial(fish, **more)
    session.add(vial)
    session.flush()
    return vial


def a_vial(fish: Fish, **more: object) -> Vial:
    return Vial(code=vial_code(), standing="filled", fish_id=fish.id, fish_n=1, tissue="mouth_swab", filled_at=NOW,
                filled_by="Ada Test", **more)  # fmt: skip


def add_result(session: Session, vial: Vial, q: float | None, heterozygosity: float | None = None,
               n_loci: int | None = 38, panel: Panel | None = None, *, speaks: bool = True,
               **more: object) -> Result:  # fmt: skip
    result = a_result(vial, q, heterozygosity, n_loci, panel, speaks=speaks, **more)
    session.add(result)
    session.flush()
    return result


def a_result(vial: Vial, q: float | None, heterozygosity: float | None, n_loci: int | None, panel: Panel | None, *,
             speaks: bool = True, **more: object) -> Result:  # fmt: skip
    held: dict[str, object] = {
        "outcome": "typed" if q is not None else "failed",
        "standing": "current",
        **more,
    }
    speaks = speaks and held["outcome"] == "typed" and held["standing"] == "current"
    return Result(vial_id=vial.id, q=q, heterozygosity=heterozygosity, n_loci=n_loci if q is not None else None,
                  panel_id=panel.id if panel else None, fish_id=vial.fish_id if speaks else None, **held)  # fmt: skip


def add_typed(session: Session, survey: Survey, fish: Sequence[Sequence[float | None]],
              n_loci: int | None = 38, panel: Panel | None = None) -> None:  # fmt: skip
    """Add fish with a vial and a result each, all at once: (length, q) or (length, q, heterozygosity)."""
    first = next_number(session, survey)
    caught = [a_fish(survey, number, length) for number, (length, *_) in enumerate(fish, start=first)]
    session.add_all(caught)
    session.flush()
    vials = [a_vial(one) for one in caught]
    session.add_all(vials)
    session.flush()
    session.add_all(
        a_result(vial, q, rest[0] if rest else None, n_loci, panel)
        for vial, (_, q, *rest) in zip(vials, fish, strict=True)
    )
    session.flush()


def add_catch(session: Session, survey: Survey, classes: Mapping[float | None, tuple[int, Sequence[int]]],
              panel: Panel) -> None:  # fmt: skip
    """Add and commit a catch: length -> (fish caught of it, taxon alleles of 76 of those with a result)."""
    for length, (n_caught, alleles) in classes.items():
        add_typed(session, survey, [(length, k / 76) for k in alleles], panel=panel)
        if n_caught > len(alleles):
            add_fish(session, survey, length, n_fish=n_caught - len(alleles))
    session.commit()


def add_stocking(session: Session, lake: Lake, on: date, n_fish: int | None, taxon: str = "Florida") -> None:
    session.add(
        Stocking(
            uid=uuid4().hex, lake_id=lake.id, stocked_on=on, taxon=taxon, n_fish=n_fish, size="fingerlings"
        )
    )
    session.flush()
