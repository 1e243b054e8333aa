"""A look at the XML inside a workbook before anything is built from it: whole, and without a document type.

A document type can declare entities that unfold to gigabytes or name files of this machine; no workbook needs one. The
hardened readers (defusedxml) refuse it in the same way, by expat's own callbacks, but call back for each element, which
takes seconds for a large sheet. Once a part has passed, any reader may read it.
"""

from __future__ import annotations

import io
import zipfile
from xml.parsers import expat

from geneticlog.errors import SheetFault

CHUNK = 1 << 20
SAVE_ANEW = "open it where it was made and save it again"


def require_plain_xml(content: bytes, file: str) -> None:
    """Raise SheetFault for a package with a part of XML that is broken or declares a document type."""
    if not content.startswith(b"PK"):
        return
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as package:
            for part in package.infolist():
                if part.filename.endswith((".xml", ".rels")):
                    _look_at(package, part, file)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError):
        return  # damaged or locked: the reader of workbooks says which


def _look_at(package: zipfile.ZipFile, part: zipfile.ZipInfo, file: str) -> None:
    parser = expat.ParserCreate()

    def refuse(*_arguments: object) -> None:
        raise SheetFault(
            f"its part {part.filename} declares a document type, which no workbook needs", file=file
        )

    parser.StartDoctypeDeclHandler = refuse
    parser.EntityDeclHandler = refuse
    try:
        with package.open(part) as opened:
            while chunk := opened.read(CHUNK):
                parser.Parse(chunk, False)
        parser.Parse(b"", True)
    except expat.ExpatError as fault:
        raise SheetFault(
            f"the workbook is damaged: its part {part.filename} breaks off or is garbled at line {fault.lineno}",
            file=file, way_out=SAVE_ANEW,
        ) from None  # fmt: skip
