"""The server: every address with its handler, behind the guard."""

from __future__ import annotations

from collections.abc import Collection
from importlib.resources import files

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from geneticlog.faces.pages import (
    boat_pages,
    desk_pages,
    pairing_pages,
    report_pages,
    return_pages,
    vial_pages,
)
from geneticlog.faces.pages.guard import App, Guard
from geneticlog.faces.pages.house import House, handled, said

STATIC = {
    "style.css": "text/css; charset=utf-8",
    "pages.css": "text/css; charset=utf-8",
    "boat.js": "text/javascript; charset=utf-8",
    "boat-worker.js": "text/javascript; charset=utf-8",
    "desk.js": "text/javascript; charset=utf-8",
}


def pages(house: House, hosts: Collection[str]) -> App:
    """Return the pages of a house, answered only under these hosts (name:port)."""
    look, change = [], []
    for path, handler in (
        ("/", desk_pages.home),
        ("/coverage/{survey}", desk_pages.coverage),
        ("/inbox", desk_pages.inbox),
        ("/inbox/{finding}", desk_pages.finding),
        ("/shipments", desk_pages.shipments),
        ("/shipments/{shipment}", desk_pages.shipment),
        ("/vial", vial_pages.vial),
        ("/labels", vial_pages.labels),
        ("/boat/{survey}", boat_pages.boat),
        ("/boat/{survey}/state", boat_pages.state),
        ("/devices", pairing_pages.devices),
        ("/returns", return_pages.returns),
    ):
        look.append(Route(path, handled(house, handler), methods=["GET"]))
    for path, handler in (
        ("/inbox/{finding}", desk_pages.decided),
        ("/labels", vial_pages.printed_labels),
        ("/vial/gone", vial_pages.vial_gone),
        ("/vial/second", vial_pages.second_vial),
        ("/returns/look", return_pages.looked),
        ("/boat/{survey}/fish", boat_pages.log),
        ("/boat/{survey}/undo", boat_pages.take_out),
        ("/boat/{survey}/correct", boat_pages.correct),
        ("/boat/{survey}/open", boat_pages.show_open),
        ("/devices/pair", pairing_pages.offered),
        ("/devices/revoke", pairing_pages.revoked),
    ):
        change.append(Route(path, handled(house, handler, writes=True), methods=["POST"]))
    for path, handler in (
        ("/lakes", report_pages.lakes),
        ("/lakes/{lake}", report_pages.lake_report),
        ("/returns/{file}", return_pages.account),
    ):
        look.append(Route(path, handled(house, handler, slow=True), methods=["GET"]))
    for path, handler in (
        ("/photo", boat_pages.photo),
        ("/lakes/{lake}/give", report_pages.given_report),
        ("/returns/{file}", return_pages.answered),
        ("/returns/{file}/store", return_pages.stored),
        ("/returns/{file}/forget", return_pages.forgotten),
    ):
        change.append(Route(path, handled(house, handler, writes=True, slow=True), methods=["POST"]))
    own = [
        Route("/pair", pairing_pages.asked(house), methods=["GET"]),
        Route("/pair", pairing_pages.taken(house), methods=["POST"]),
        Route("/static/{name}", _static, methods=["GET"]),
        Route("/boat-worker.js", _worker, methods=["GET"]),  # here, so that it may look after /boat/
    ]

    async def not_there(request: Request, _fault: Exception) -> Response:
        return said(request, 404, "There is no such page.")

    async def broken(request: Request, _fault: Exception) -> Response:
        return said(request, 500, "Something went wrong here; nothing was stored. Go back and try again.")

    handlers = {404: not_there, 405: not_there, 500: broken}
    return Guard(Starlette(routes=[*own, *look, *change], exception_handlers=handlers), hosts)


async def _static(request: Request) -> Response:
    """Return one of our own files; the name is looked up in a table, and no path is made of it."""
    return _own_file(request, request.path_params["name"])


async def _worker(request: Request) -> Response:
    return _own_file(request, "boat-worker.js")


def _own_file(request: Request, name: str) -> Response:
    if name not in STATIC:
        return said(request, 404, "There is no such page.")
    content = files("geneticlog.faces.pages").joinpath("static", name).read_bytes()
    return Response(content, media_type=STATIC[name], headers={"cache-control": "no-cache"})
