"""What every page shares: the database, who is looking, and how an answer is made.

Pages call the verbs of work/ as the commands do. Each request is answered in a thread, with one connection at a time:
all threads together are fewer than the connections of the engine, so that no request waits for one. What takes long (a
photo, a report, a lab's file) has threads of its own, so that a fish is never behind it.
"""

from __future__ import annotations

import ipaddress
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache, partial
from typing import TYPE_CHECKING, Any, TypeVar

from anyio import CapacityLimiter, to_thread
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from geneticlog.errors import GeneticlogError, NotFound, Refused, StoreUnready
from geneticlog.faces.pages.guard import TooMuch
from geneticlog.faces.pages.page_words import on_a_page
from geneticlog.faces.pages.table_blocks import in_blocks
from geneticlog.rules.stamp import Stamp
from geneticlog.settings import local_time
from geneticlog.work.devices.devices import SESSION_LASTS, THIS_MACHINE, Paired, known, note_use

if TYPE_CHECKING:
    from sqlalchemy import Engine
    from sqlalchemy.orm import Session

COOKIE = "geneticlog_session"
THREADS, SLOW_THREADS = 10, 2  # together fewer than the 15 connections of an engine
LONGEST_WAIT = 8.0  # seconds for another program's write; then the page says so, and holds what it has
Got = TypeVar("Got")


@dataclass
class House:
    """One run of the server.

    person: who sits at this machine and needs no pairing on its own address; None: everybody has to pair
    read_only: whether nobody may write
    behind_proxy: requests come from a proxy of ours, which says whose they are (X-Forwarded-For)
    """

    engine: Engine
    person: str | None
    read_only: bool = False
    secure: bool = False
    addresses: tuple[str, ...] = ()
    behind_proxy: bool = False
    longest_wait: float = LONGEST_WAIT
    threads: CapacityLimiter = field(default_factory=lambda: CapacityLimiter(THREADS))
    slow_threads: CapacityLimiter = field(default_factory=lambda: CapacityLimiter(SLOW_THREADS))

    def __post_init__(self) -> None:
        self.engine = self.engine.execution_options(longest_wait=self.longest_wait)

    def now(self) -> datetime:
        return datetime.now(UTC)

    def look(self, question: Callable[[Session], Got]) -> Got:
        from geneticlog.store.engine import one_transaction

        with one_transaction(self.engine, writes=False) as session:
            return question(session)

    def write(self, deed: Callable[[Session], Got]) -> Got:
        from geneticlog.store.engine import one_transaction

        with one_transaction(self.engine, writes=True) as session:
            return deed(session)

    def who(self, request: Request) -> Paired | None:
        """Return who is looking; None for a device that is not paired, or no more."""
        if self.person is not None and _at_this_machine(request):
            return Paired(THIS_MACHINE, self.person, not self.read_only)
        secret = request.cookies.get(COOKIE)
        if not secret:
            return None
        now = self.now()
        device, noted = self.look(lambda session: known(session, secret, now=now))
        if device is None:
            return None
        if noted:
            self.write(lambda session: note_use(session, secret, now=now))
            request.state.renewed = secret
        return Paired(device.device, device.person, device.writes and not self.read_only)


def caller(house: House, request: Request) -> str:
    """Return the address a request comes from; a proxy of ours adds it to the end of a list."""
    told = request.headers.get("x-forwarded-for", "").rpartition(",")[2].strip() if house.behind_proxy else ""
    return told or (request.client.host if request.client else "?")


def _at_this_machine(request: Request) -> bool:
    """Whether a request comes from this machine and asks for it by its own address."""
    name = request.url.hostname or ""
    try:
        here = name == "localhost" or ipaddress.ip_address(name).is_loopback
        return here and request.client is not None and ipaddress.ip_address(request.client.host).is_loopback
    except ValueError:
        return False


Handler = Callable[["Visit"], Response]


@dataclass(frozen=True)
class Visit:
    """One request by somebody who may look."""

    house: House
    request: Request
    who: Paired
    form: Mapping[str, Any]

    @property
    def stamp(self) -> Stamp:
        return Stamp(self.house.now(), self.who.by)

    def page(self, template: str, **values: Any) -> Response:
        return page(template, who=self.who, **values)

    def field(self, name: str) -> str:
        """Return a field of the form as text; empty where it is absent."""
        value = self.form.get(name, "")
        return value.strip() if isinstance(value, str) else ""

    def fields(self, name: str) -> list[str]:
        """Return every value of a field that may be there several times."""
        values = self.form.getlist(name) if isinstance(self.form, FormData) else []
        return [value for value in values if isinstance(value, str) and value]


def handled(
    house: House, handler: Handler, *, writes: bool = False, slow: bool = False
) -> Callable[[Request], Awaitable[Response]]:
    """Return a handler as the server calls it: pairing checked, in a thread, faults in plain words."""

    async def answer(request: Request) -> Response:
        form: Mapping[str, Any] = {}
        if request.method == "POST":
            try:
                if request.headers.get("content-type", "").startswith("application/json"):
                    form = await request.json()
                    if not isinstance(form, dict):
                        raise ValueError
                else:
                    form = await request.form(max_files=1, max_fields=60)
            except (ValueError, KeyError):
                return said(request, 400, "This could not be read; go back and try again.")
            except TooMuch as fault:
                return said(request, fault.status, fault.text)
        try:
            return await to_thread.run_sync(
                partial(_answered, house, handler, request, form, writes),
                limiter=house.slow_threads if slow else house.threads,
            )
        finally:
            await request.close()  # an uploaded file goes with its request

    return answer


def _answered(
    house: House, handler: Handler, request: Request, form: Mapping[str, Any], writes: bool
) -> Response:
    who: Paired | None = None
    try:
        who = house.who(request)
        if who is None:
            if request.method == "GET" and not _wants_json(request):
                return RedirectResponse("/pair", 303)
            return said(request, 401, "This device is not paired; pair it again.")
        if writes and not who.writes:
            return said(request, 403, "This device may only look.", who)
        answer = handler(Visit(house, request, who, form))
        if secret := getattr(request.state, "renewed", None):
            give_session(answer, secret, house)
        return answer
    except NotFound as fault:
        return said(request, 404, on_a_page(str(fault)), who)
    except Refused as fault:
        return said(request, 409, on_a_page(str(fault)), who)
    except StoreUnready as fault:
        return said(request, 503, str(fault), who)
    except GeneticlogError as fault:
        return said(request, 422, on_a_page(str(fault)), who)
    except OSError:
        return said(request, 507, "The disk of this machine took nothing more; nothing was stored.", who)


def said(request: Request, status: int, text: str, who: Paired | None = None) -> Response:
    """Return a fault as a page, with the menu for who may look, or as JSON for a script."""
    if _wants_json(request):
        return JSONResponse({"fault": text}, status)
    return page("fault.html", http_status=status, who=who, title="Not done", text=text)


def _wants_json(request: Request) -> bool:
    return "application/json" in request.headers.get("accept", "")


def give_session(answer: Response, secret: str, house: House) -> None:
    """Set the cookie of a session; no script can read it, and no other site sends it."""
    answer.set_cookie(
        COOKIE, secret, max_age=int(SESSION_LASTS.total_seconds()), httponly=True, samesite="strict",
        secure=house.secure, path="/",
    )  # fmt: skip


@cache
def _templates() -> Any:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("geneticlog.faces.pages", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    from geneticlog.faces.app.numbers_in_words import percent, percent_range
    from geneticlog.rules.vialcode import printed

    environment.filters.update(percent=percent, printed=printed, moment=moment, in_blocks=in_blocks)
    environment.globals["percent_range"] = percent_range
    return environment


def moment(at: datetime | None) -> str:
    """Return a moment in local time, to the minute."""
    return "" if at is None else local_time(at)


def part(template: str, **values: Any) -> str:
    """Return a piece of a page of templates/ filled in; everything is escaped."""
    return str(_templates().get_template(template).render(**values))


def page(template: str, *, http_status: int = 200, **values: Any) -> Response:
    """Return a page of templates/ filled in; everything is escaped."""
    return HTMLResponse(part(template, **values), http_status)
