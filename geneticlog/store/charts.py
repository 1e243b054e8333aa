"""What the charts of a workbook say: their titles, those of their axes, and the names of their series."""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree import ElementTree

from geneticlog.store.beside_cells import CHART, MOST_NOTES, Note

_TITLES = ("title", "subtitle", "footer")


def of_xlsx_chart(part: bytes) -> tuple[Note, ...]:
    """Return what a chart of an XLSX workbook says (ECMA-376 Part 1, 21.2; c:title and c:tx of c:ser)."""
    notes = []
    for element in ElementTree.fromstring(part).iter():
        tag = _local(element.tag)
        if tag == "title" and (text := _written(element)):
            notes.append((f"{CHART}, its title", text))
        elif tag in ("ser", "series"):
            name = next((child for child in element if _local(child.tag) == "tx"), None)
            if name is not None and (text := _written(name)):
                notes.append((f"{CHART}, the name of a series", text))
    return tuple(dict.fromkeys(notes))[:MOST_NOTES]


def of_open_chart(part: bytes) -> tuple[Note, ...]:
    """Return what a chart of an open document says in its titles."""
    notes = []
    for element in ElementTree.fromstring(part).iter():
        is_title = "chart" in element.tag and _local(element.tag) in _TITLES
        if is_title and (text := " ".join("".join(element.itertext()).split())):
            notes.append((f"{CHART}, its title", text))
    return tuple(dict.fromkeys(notes))[:MOST_NOTES]


def objects_in(table: ElementTree.Element) -> Iterator[str]:
    """The folders of the objects that a table of an open document shows."""
    for element in table.iter():
        if _local(element.tag) == "object":
            for key, value in element.attrib.items():
                if _local(key) == "href":
                    yield value.removeprefix("./").rstrip("/")


def _written(element: ElementTree.Element) -> str:
    """The text written there, or that of the cell it is taken from (c:v), as it was when the file was saved."""
    texts = [each.text or "" for each in element.iter() if _local(each.tag) in ("t", "v")]
    return " ".join(" ".join(texts).split())


def _local(tag: str) -> str:
    return tag.rpartition("}")[2]
