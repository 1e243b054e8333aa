"""The working list of lakes and each lake's report, as the commands write them, live."""

from __future__ import annotations

import hashlib
import re
from base64 import b64encode
from threading import Lock
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from starlette.responses import HTMLResponse, Response

from geneticlog.errors import Refused
from geneticlog.faces.pages.house import Visit, part
from geneticlog.rules.stamp import Stamp

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

DRAWING = Lock()


def lakes(visit: Visit) -> Response:
    """Show the working list of lakes: the page that ``report lakes`` writes, as it is now."""
    from geneticlog.faces.report.portfolio import lakes_html
    from geneticlog.work.portfolio.working_list import working_list

    now = visit.house.now()

    def look(session: Session) -> Any:
        return working_list(session, today=now.date())

    listed = visit.house.look(look)
    links = {one.line.lake: f"/lakes/{quote(one.line.lake)}" for one in listed if one.last_survey_on}
    return with_pages(visit, lakes_html(listed, stamp=Stamp(now, visit.who.person), links=links))


def lake_report(visit: Visit) -> Response:
    """Show the report of a lake as it is now: the same page that ``report lake`` writes."""
    from geneticlog.faces.report.draw import lake_drawings
    from geneticlog.faces.report.html import lake_html
    from geneticlog.work.report.gather import gather_lake

    code = visit.request.path_params["lake"]
    facts = visit.house.look(lambda session: gather_lake(session, code, stamp=visit.stamp))
    with DRAWING:  # figures are drawn one at a time
        html = lake_html(facts, lake_drawings(facts))
    given = part("give.html", lake=facts.lake) if facts.main is not None and visit.who.writes else ""
    return with_pages(visit, html, on_top=given)


def given_report(visit: Visit) -> Response:
    """Send the report of a lake as a PDF to hand on, and keep in the record what was told, as ``report lake`` does."""
    from geneticlog.faces.report.draw import lake_drawings
    from geneticlog.faces.report.files import given, keep
    from geneticlog.faces.report.paper import lake_pdf
    from geneticlog.work.report.gather import gather_lake

    code = visit.request.path_params["lake"]
    facts = visit.house.look(lambda session: gather_lake(session, code, stamp=visit.stamp))
    if facts.main is None:
        raise Refused(f"lake {facts.lake} has no survey yet, so there is nothing to report")
    with DRAWING:
        pdf = lake_pdf(facts, lake_drawings(facts), paper="us-letter")
    name = visit.house.write(lambda session: keep(session, given(facts), visit.who.by))
    file = f"{facts.lake.lower()}-{name}.pdf"
    return Response(
        pdf,
        media_type="application/pdf",
        headers={"content-disposition": f'attachment; filename="{file}"', "cache-control": "no-store"},
    )


def with_pages(visit: Visit, html: str, *, on_top: str = "") -> Response:
    """Return a page of the reports with the way to the other pages, and what can be done here, on top.

    A report carries its style, and the list of lakes its script, inside: the policy names them by their digests, so
    that nothing else in the page can be either. Figures have style attributes; an attribute of style runs nothing.
    """

    def digests(tag: str) -> str:
        found = re.findall(rf"<{tag}>(.*?)</{tag}>", html, re.S)
        return " ".join(
            f"'sha256-{b64encode(hashlib.sha256(one.encode()).digest()).decode()}'" for one in found
        )

    policy = (
        f"default-src 'none'; style-src 'self' 'unsafe-inline'; style-src-elem 'self' {digests('style')};"
        f" style-src-attr 'unsafe-inline'; script-src 'self' {digests('script')}; img-src data:; form-action 'self';"
        " base-uri 'none'; frame-ancestors 'none'"
    )
    bar = part("pages.html", who=visit.who) + on_top
    html = html.replace("</head>", '<link rel="stylesheet" href="/static/pages.css"></head>', 1)
    html = html.replace("<body>", f"<body>{bar}", 1)
    return HTMLResponse(html, headers={"content-security-policy": policy})
