"""The office's pages: surveys, coverage, inbox and findings, lakes and reports, the life of a vial, labels."""

from __future__ import annotations

from threading import Lock
from typing import TYPE_CHECKING, Any

from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from geneticlog.errors import Refused
from geneticlog.faces.pages.house import Visit

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

SHOWN_SURVEYS = 50
DRAWING = Lock()


def home(visit: Visit) -> Response:
    """Show the latest surveys, with a way to the boat and to their coverage."""
    from geneticlog.work.catalogue.places import list_surveys
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

    code = visit.request.path_params["survey"]
    found = visit.house.look(lambda session: of_survey(session, find_survey(session, code)))
    most = max([1, *(max(c.target or 0, c.n_swabbed) for c in found.classes)])
    values = {"found": found, "most": most, "advice": advice(found)}
    if visit.request.query_params.get("part"):
        return visit.page("coverage_table.html", **values)
    return visit.page("coverage.html", title=f"Coverage of {found.named}", **values)


def inbox(visit: Visit) -> Response:
    """Show what waits, the oldest first."""
    from geneticlog.work.inbox.inbox import inbox as what_waits

    there = visit.house.look(lambda session: what_waits(session, now=visit.house.now()))
    return visit.page("inbox.html", title="Inbox", there=there)


def finding(visit: Visit) -> Response:
    """Show one finding: its sentence, the rows as they came, and a button for each decision it takes."""
    from geneticlog.work.finding.decide import find_finding
    from geneticlog.work.finding.list_findings import finding_lines

    name = visit.request.path_params["finding"]

    def look(session: Session) -> tuple[Any, Any]:
        from geneticlog.store.tables import Finding

        there = find_finding(session, name)
        return finding_lines(session, Finding.id == there.id)[0], _rows_of(session, there)

    line, rows = visit.house.look(look)
    return visit.page("finding.html", title=f"Finding {line.finding}", line=line, rows=rows)


def _rows_of(session: Session, finding: Any) -> list[dict[str, Any]]:
    """Return the rows a finding speaks of: each cell as the lab wrote it, and what was read from it."""
    import json

    from sqlalchemy import select

    from geneticlog.store.tables import Result, ReturnRow

    numbers = json.loads(finding.rows) if isinstance(finding.rows, str) else list(finding.rows)
    if finding.return_file_id is None or not numbers:
        return []
    found = session.execute(
        select(ReturnRow, Result)
        .outerjoin(Result, Result.return_row_id == ReturnRow.id)
        .where(ReturnRow.return_file_id == finding.return_file_id, ReturnRow.row_number.in_(numbers))
        .order_by(ReturnRow.row_number)
    )
    shown = []
    for row, result in found:
        cells = json.loads(row.cells) if isinstance(row.cells, str) else dict(row.cells)
        read = None if result is None else {"q": result.q, "H": result.heterozygosity, "loci": result.n_loci}
        standing = None if result is None else result.standing
        shown.append({"row": row.row_number, "cells": cells, "read": read, "standing": standing})
    return shown


def decided(visit: Visit) -> Response:
    """Decide on a finding, with the reason."""
    from geneticlog.work.finding.decide import decide
    from geneticlog.work.shipment.pack import look_up

    name, why, row = visit.request.path_params["finding"], visit.field("why"), visit.field("row")
    if row and not row.isdigit():
        raise Refused(f"{row!r} is no row number")
    vials = [one for one in (visit.field("vial"), visit.field("other_vial")) if one]

    def deed(session: Session) -> Any:
        return decide(
            session, name, visit.field("action"), why=why, stamp=visit.stamp,
            vials=[look_up(session, vial) for vial in vials], row=int(row) if row else None,
        )  # fmt: skip

    visit.house.write(deed)
    return RedirectResponse("/inbox", 303)


def lakes(visit: Visit) -> Response:
    """Show the list of lakes, those that need attention first."""
    from geneticlog.work.portfolio.gather import gather_portfolio

    lines = visit.house.look(lambda session: gather_portfolio(session, today=visit.house.now().date()))
    return visit.page("lakes.html", title="Lakes", lines=lines)


def lake_report(visit: Visit) -> Response:
    """Show the report of a lake as it is now: the same page that ``report lake`` writes."""
    import hashlib
    import re
    from base64 import b64encode

    from geneticlog.faces.report.draw import lake_drawings
    from geneticlog.faces.report.html import lake_html
    from geneticlog.work.report.gather import gather_lake

    code = visit.request.path_params["lake"]
    facts = visit.house.look(lambda session: gather_lake(session, code, stamp=visit.stamp))
    with DRAWING:  # figures are drawn one at a time
        html = lake_html(facts, lake_drawings(facts))
    styles = re.findall(r"<style[^>]*>(.*?)</style>", html, re.S)
    digests = " ".join(
        f"'sha256-{b64encode(hashlib.sha256(one.encode()).digest()).decode()}'" for one in styles
    )
    # a report carries its style inside, and figures with style attributes; it has no script
    policy = (
        f"default-src 'none'; style-src {digests} 'unsafe-inline'; img-src data:; frame-ancestors 'self';"
        " base-uri 'none'"
    )
    return HTMLResponse(html, headers={"content-security-policy": policy})


def vial(visit: Visit) -> Response:
    """Show the whole life of a vial."""
    from geneticlog.work.history import history
    from geneticlog.work.shipment.pack import look_up

    text = visit.request.query_params.get("code", "").strip()
    told = None
    if text:
        told = visit.house.look(lambda session: history(session, look_up(session, text)))
    return visit.page("vial.html", title="Vial", told=told, text=text)


def labels(visit: Visit) -> Response:
    """Offer the label stocks, each with a picture of its page."""
    from geneticlog.faces.label.labels import doubts_of
    from geneticlog.faces.label.stocks import load_stocks
    from geneticlog.settings import setting

    own = setting("stocks")
    from pathlib import Path

    stocks = [
        stock
        for stock in load_stocks(Path(own.value) if own else None).values()
        if not any(doubt.refused for doubt in doubts_of(stock))
    ]
    return visit.page("labels.html", title="Labels", stocks=[_pictured(stock) for stock in stocks])


def _pictured(stock: Any) -> dict[str, Any]:
    """Return what the page shows of a stock: words, and its slots as rectangles on the page."""
    slots = []
    for slot in range(min(stock.slots_a_page, 200)):
        x, y = stock.slot_at(slot)
        slots.append((round(x, 1), round(y, 1)))
    return {
        "name": stock.name, "about": stock.about, "n": stock.slots_a_page, "w": stock.sheet_w_mm, "h": stock.sheet_h_mm,
        "lw": stock.label_w_mm, "lh": stock.label_h_mm, "round": stock.shape == "round", "slots": slots,
    }  # fmt: skip


def printed_labels(visit: Visit) -> Response:
    """Mint codes and send their labels as a PDF."""
    from pathlib import Path

    from geneticlog.faces.label.labels import label_pdf
    from geneticlog.faces.label.stocks import load_stocks
    from geneticlog.settings import setting
    from geneticlog.work.label.print_labels import print_labels

    own = setting("stocks")
    stocks = load_stocks(Path(own.value) if own else None)
    name, survey = visit.field("stock"), visit.field("survey")
    number, start = visit.field("n"), visit.field("start") or "1"
    if name not in stocks or not number.isdigit() or not start.isdigit():
        raise Refused("choose a stock and say how many labels, and from which slot")
    stock = stocks[name]
    content = stock.content if stock.content != "both" else "wrap"

    def deed(session: Session) -> Any:
        return print_labels(
            session, int(number), stock=stock.name, content=content, start_slot=int(start), survey=survey or None,
            office=None, stamp=visit.stamp,
        )  # fmt: skip

    made = visit.house.write(deed)
    pdf = label_pdf(stock, made.codes, corner=made.corners, start_slot=int(start), caps=False)
    return Response(
        pdf,
        media_type="application/pdf",
        headers={"content-disposition": f'attachment; filename="labels-run-{made.run}.pdf"'},
    )


def photo(visit: Visit) -> Response:
    """Read the vial code in a photo."""
    from geneticlog.faces.pages.symbols_in_photos import vial_in_photo
    from geneticlog.rules.vialcode import printed

    sent = visit.form.get("photo")
    if sent is None or isinstance(sent, str):
        raise Refused("no photo came with this")
    code = vial_in_photo(sent.file.read())
    return JSONResponse({"vial": code, "printed": printed(code)})
