"""Paper: the one place that calls the typesetter.

A page is a template in faces/templates and data handed over as JSON. The template reads
``json("data.json")``, its own files by their names (``read``, ``image``) and other templates by
``#import "house.typ": house``. Fonts are those inside the typesetter and DejaVu Sans, which comes with
matplotlib; the machine's own fonts are never looked at, so a page is the same everywhere, down to the bytes.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from geneticlog.errors import GeneticlogError, Refused
from geneticlog.faces.paper.packed import packed

TEMPLATES = Path(__file__).parent.parent / "templates"


class PaperFault(GeneticlogError):
    """A page could not be set."""


def set_paper(
    template: str,
    data: Mapping[str, Any],
    *,
    files: Mapping[str, bytes] | None = None,
    at: datetime | None = None,
) -> bytes:
    """Return a PDF set from a template and its data.

    template
        file name within faces/templates, such as ``labels.typ``.
    data
        what the template reads from ``json("data.json")``; plain values only.
    files
        further files the template may read, name to content: figures, symbols, a logo.
    at
        the moment written into the PDF as its date of making; without it the same data give the same bytes.
    raises
        Refused with the template's own sentence where it refuses (``panic("...")``: something does not fit);
        PaperFault for a template that does not exist or cannot be set.
    """
    return packed(_set(template, data, files, at))


def _set(
    template: str,
    data: Mapping[str, Any],
    files: Mapping[str, bytes] | None,
    at: datetime | None,
) -> bytes:
    import typst

    given = {path.name: path.read_bytes() for path in TEMPLATES.glob("*.typ")} | dict(files or {})
    if template not in given:
        raise PaperFault(f"there is no page template {template!r}")
    given["main.typ"] = given[template]
    given["data.json"] = json.dumps(data, ensure_ascii=False, allow_nan=False).encode()
    typeset: Any = typst.compile
    try:
        pages: bytes = typeset(given, font_paths=_fonts(), format="pdf", timestamp=at)
    except typst.TypstError as fault:
        raise _in_plain_words(str(fault), template) from fault
    return pages


def _in_plain_words(fault: str, template: str) -> GeneticlogError:
    refusal = fault.splitlines()[0].removeprefix("panicked with: ")
    if refusal != fault.splitlines()[0]:
        return Refused(json.loads(refusal) if refusal.startswith('"') else refusal)
    return PaperFault(f"the page {template} could not be set: {fault.splitlines()[0]}")


@cache
def _fonts() -> Any:
    import typst

    matplotlib = find_spec("matplotlib")  # found, not imported: that takes a third of a second
    if matplotlib is None or not matplotlib.submodule_search_locations:
        raise PaperFault(
            "matplotlib is not installed, and the sans-serif font comes with it; install geneticlog again"
        )
    fonts = Path(matplotlib.submodule_search_locations[0]) / "mpl-data" / "fonts" / "ttf"
    return typst.Fonts(include_system_fonts=False, font_paths=[str(fonts)])
