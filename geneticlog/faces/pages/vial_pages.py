"""A vial's whole life with what can be entered about it, and the labels that vials begin with."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from starlette.responses import RedirectResponse, Response

from geneticlog.errors import Refused
from geneticlog.faces.pages.house import Visit

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

MOST_SURVEYS = 50


def vial(visit: Visit) -> Response:
    """Show the whole life of a vial, with what can be entered about it."""
    from geneticlog.work.history import history
    from geneticlog.work.shipment.packable import look_up

    text = visit.request.query_params.get("code", "").strip()
    life = None
    if text:
        life = visit.house.look(lambda session: history(session, look_up(session, text)))
    return visit.page("vial.html", title="Vial", told=life, text=text)


def vial_gone(visit: Visit) -> Response:
    """Record a vial as lost, broken or found, with what happened."""
    from geneticlog.work.shipment.gone_vials import record_gone
    from geneticlog.work.shipment.packable import look_up

    code, how, why = visit.field("vial"), visit.field("how"), visit.field("why")
    if how not in {"lost", "broken", "found"}:
        raise Refused("say whether the vial is lost, broken or found")

    def deed(session: Session) -> str:
        return record_gone(session, look_up(session, code), how, stamp=visit.stamp, why=why).vial  # type: ignore[arg-type]

    return RedirectResponse(f"/vial?code={visit.house.write(deed)}", 303)


def second_vial(visit: Visit) -> Response:
    """Put a second vial, a blind duplicate, on the fish of a vial."""
    from geneticlog.rules.boat.logline import LogLine
    from geneticlog.work.boat.complete_fish import complete_fish
    from geneticlog.work.shipment.packable import look_up

    code, second = visit.field("vial"), visit.field("second")

    def deed(session: Session) -> str:
        fish = look_up(session, code).fish
        if fish is None:
            raise Refused("this vial is on no fish, so its fish can have no second one")
        line = LogLine(second=second)
        complete_fish(
            session, fish.survey, fish.number, line, stamp=visit.stamp, sure=bool(visit.field("sure"))
        )
        return look_up(session, second).code

    return RedirectResponse(f"/vial?code={visit.house.write(deed)}", 303)


def labels(visit: Visit) -> Response:
    """Offer the label stocks, each with a picture of its page."""
    from pathlib import Path

    from geneticlog.faces.label.labels import doubts_of
    from geneticlog.faces.label.stocks import load_stocks
    from geneticlog.settings import setting
    from geneticlog.work.catalogue.surveys import list_surveys

    own = setting("stocks")
    stocks = [
        stock
        for stock in load_stocks(Path(own.value) if own else None).values()
        if not any(doubt.refused for doubt in doubts_of(stock))
    ]
    surveys = sorted(visit.house.look(list_surveys), key=lambda one: one.surveyed_on, reverse=True)[
        :MOST_SURVEYS
    ]
    return visit.page(
        "labels.html", title="Labels", stocks=[_pictured(stock) for stock in stocks], surveys=surveys
    )


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
    from geneticlog.work.label.print_labels import LabelSheet, print_labels

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
            session, int(number), LabelSheet(stock.name, content, int(start)), survey=survey or None,
            office=None, stamp=visit.stamp,
        )  # fmt: skip

    made = visit.house.write(deed)
    pdf = label_pdf(stock, made.codes, corner=made.corners, start_slot=int(start), caps=False)
    return Response(
        pdf,
        media_type="application/pdf",
        headers={"content-disposition": f'attachment; filename="labels-run-{made.run}.pdf"'},
    )
