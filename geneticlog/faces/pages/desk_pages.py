"""The office's pages: surveys, coverage, inbox and findings, shipments."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from starlette.responses import RedirectResponse, Response

from geneticlog.errors import Refused
from geneticlog.faces.pages.house import Visit

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

SHOWN_SURVEYS = 50


def home(visit: Visit) -> Response:
    """Show the latest surveys, with a way to the boat and to their coverage."""
    from geneticlog.work.catalogue.surveys import list_surveys
    from geneticlog.work.status import status_of

    def look(session: Session) -> tuple[Any, Any]:
        return list_surveys(session), status_of(session, now=visit.house.now())

    surveys, status = visit.house.look(look)
    latest = sorted(surveys, key=lambda one: (one.surveyed_on, one.survey), reverse=True)[:SHOWN_SURVEYS]
    return visit.page("home.html", title="Surveys", surveys=latest, status=status)


def coverage(visit: Visit) -> Response:
    """Show every size class of a survey against its target; the page asks again every few seconds."""
    from geneticlog.faces.boat.coverage_words import advice
    from geneticlog.work.boat.coverage import of_survey
    from geneticlog.work.events import find_survey
    from geneticlog.work.lakes.progress import progress_of

    code = visit.request.path_params["survey"]

    def look(session: Session) -> tuple[Any, str]:
        survey = find_survey(session, code)
        return of_survey(session, survey), progress_of(session, survey).said

    counted, samples = visit.house.look(look)
    most = max([1, *(max(c.target or 0, c.n_covering) for c in counted.classes)])
    values = {"found": counted, "most": most, "advice": [*advice(counted), f"Samples: {samples}."]}
    if visit.request.query_params.get("part"):
        return visit.page("coverage_table.html", **values)
    return visit.page("coverage.html", title=f"Coverage of {counted.named}", **values)


def inbox(visit: Visit) -> Response:
    """Show what waits, the oldest first."""
    from geneticlog.faces.pages.next_steps import next_steps
    from geneticlog.work.inbox.inbox import inbox as what_waits

    there = visit.house.look(lambda session: what_waits(session, now=visit.house.now()))
    return visit.page("inbox.html", title="Inbox", there=there, steps=next_steps(there))


def finding(visit: Visit) -> Response:
    """Show one finding: its sentence, the rows as the lab wrote them, and a button for each decision it takes."""
    from geneticlog.work.finding.decide import find_finding
    from geneticlog.work.finding.finding_rows import finding_rows
    from geneticlog.work.finding.list_findings import finding_lines

    name = visit.request.path_params["finding"]

    def look(session: Session) -> tuple[Any, Any]:
        from geneticlog.store.tables import Finding

        shipment = find_finding(session, name)
        return finding_lines(session, Finding.id == shipment.id)[0], finding_rows(session, shipment)

    line, rows = visit.house.look(look)
    return visit.page("finding.html", title=f"Finding {line.finding}", line=line, rows=rows)


def decided(visit: Visit) -> Response:
    """Decide on a finding, with the reason."""
    from geneticlog.work.finding.decide import decide
    from geneticlog.work.finding.may_decide import Asked
    from geneticlog.work.shipment.packable import look_up

    name, why, row = visit.request.path_params["finding"], visit.field("why"), visit.field("row")
    if row and not row.isdigit():
        raise Refused(f"{row!r} is not a row number")
    vials = [one for one in (visit.field("vial"), visit.field("other_vial")) if one]

    def deed(session: Session) -> Any:
        return decide(
            session,
            name,
            Asked(
                visit.field("action"),
                why,
                [look_up(session, vial) for vial in vials],
                int(row) if row else None,
            ),
            stamp=visit.stamp,
        )

    visit.house.write(deed)
    return RedirectResponse("/inbox", 303)


def shipments(visit: Visit) -> Response:
    """Show every shipment by state, the longest in it first."""
    from geneticlog.rules.shipment.custody import ShipmentState
    from geneticlog.work.shipment.follow import follow_all

    now = visit.house.now()
    there = visit.house.look(lambda session: follow_all(session, now=now))
    by_state = [
        (state, sorted((one for one in there if one.state == state), key=lambda one: one.since))
        for state in ShipmentState
    ]
    return visit.page("shipments.html", title="Shipments", by_state=by_state, now=now)


def shipment(visit: Visit) -> Response:
    """Show one shipment: its vials, each where it has got to, and all that happened to it."""
    from geneticlog.work.events import find_shipment
    from geneticlog.work.life import life_of_shipment
    from geneticlog.work.shipment.follow import follow, seats

    code = visit.request.path_params["shipment"]

    def look(session: Session) -> tuple[Any, Any, Any]:
        shipment = find_shipment(session, code)
        return (
            follow(session, shipment, now=visit.house.now()),
            seats(session, shipment),
            life_of_shipment(session, shipment),
        )

    at_a_glance, vials, told = visit.house.look(look)
    return visit.page("shipment.html", title=told.title, one=at_a_glance, vials=vials, told=told)
