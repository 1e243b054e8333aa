"""The server: every address with its handler, behind the guard."""

from __future__ import annotations

from collections.abc import Collection
from importlib.resources import files

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from geneticlog.faces.pages import boat_pages, desk_pages, pairing_pages, return_pages
from geneticlog.faces.pages.guard import App, Guard
from geneticlog.faces.pages.house import House, handled, said

STATIC = {
    "style.css": "text/css; charset=utf-8",
    "boat.css": "text/css; charset=utf-8",
    "boat.js": "text/javascript; charset=utf-8",
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
        ("/lakes", desk_pages.lakes),
        ("/lakes/{lake}", desk_pages.lake_report),
        ("/vial", desk_pages.vial),
        ("/labels", desk_pages.labels),
        ("/boat/{survey}", boat_pages.boat),
        ("/boat/{survey}/state", boat_pages.state),
        ("/devices", pairing_pages.devices),
        ("/returns", return_pages.returns),
        ("/returns/{file}", return_pages.account),
    ):
        look.append(Route(path, handled(house, handler), methods=["GET"]))
    for path, handler in (
        ("/inbox/{finding}", desk_pages.decided),
        ("/labels", desk_pages.printed_labels),
        ("/photo", desk_pages.photo),
        ("/returns/look", return_pages.looked),
        ("/returns/{file}", return_pages.answered),
        ("/returns/{file}/store", return_pages.stored),
        ("/boat/{survey}/fish", boat_pages.log),
        ("/boat/{survey}/undo", boat_pages.take_out),
        ("/boat/{survey}/correct", boat_pages.correct),
        ("/boat/{survey}/open", boat_pages.show_open),
        ("/devices/pair", pairing_pages.offered),
        ("/devices/revoke", pairing_pages.revoked),
    ):
        change.append(Route(path, handled(house, handler, writes=True), methods=["POST"]))
    own = [
        Route("/pair", pairing_pages.asked(house), methods=["GET"]),
        Route("/pair", pairing_pages.taken(house), methods=["POST"]),
        Route("/static/{name}", _static, methods=["GET"]),
    ]

    async def not_there(request: Request, _fault: Exception) -> Response:
        return said(request, 404, "There is no such page.")

    async def broken(request: Request, _fault: Exception) -> Response:
        return said(request, 500, "Something went wrong here; nothing was stored. Go back and try again.")

    handlers = {404: not_there, 405: not_there, 500: broken}
    return Guard(Starlette(routes=[*own, *look, *change], exception_handlers=handlers), hosts)


async def _static(request: Request) -> Response:
    """Return one of our own files; the name is looked up in a table, and no path is made of it."""
    name = request.path_params["name"]
    if name not in STATIC:
        return said(request, 404, "There is no such page.")
    content = files("geneticlog.faces.pages").joinpath("static", name).read_bytes()
    return Response(content, media_type=STATIC[name], headers={"cache-control": "no-cache"})
