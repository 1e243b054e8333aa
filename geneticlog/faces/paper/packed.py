"""Make a PDF smaller: its small objects, written out one by one by the typesetter, go into compressed streams.

Most of a tagged PDF is the tags of its table cells, a hundred bytes each. Object streams and cross-reference streams:
ISO 32000-1:2008, 7.5.7 and 7.5.8 (PDF 1.5 and later). Nothing on the pages changes.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Sequence

MOST = 200  # objects in one stream: a reader takes a stream apart as a whole
WIDTHS = (1, 4, 2)  # bytes of the three fields of an entry: its kind, where it is, its place there


def packed(pdf: bytes) -> bytes:
    """Return a PDF with every object that is no stream in a compressed one; as it is where it has no plain table.

    pdf
        one with a single cross-reference table over all its objects, as the typesetter writes it.
    """
    start = int(re.findall(rb"startxref\s+(\d+)", pdf)[-1])
    table = re.match(
        rb"xref\s+0 (\d+)\s+((?:\d{10} \d{5} [nf]\s*)+)trailer\s*<<(.*)>>\s*startxref", pdf[start:], re.S
    )
    if table is None:
        return pdf
    entries = [(int(at), kind == b"n") for at, kind in re.findall(rb"(\d{10}) \d{5} ([nf])", table[2])]
    offsets = sorted(at for at, used in entries if used)
    end_of = dict(zip(offsets, [*offsets[1:], start], strict=True))
    objects = {number: pdf[at : end_of[at]].strip() for number, (at, used) in enumerate(entries) if used}
    small = [number for number, body in objects.items() if not body.endswith(b"endstream\nendobj")]
    out = bytearray(pdf[: offsets[0]])
    where: list[tuple[int, int, int]] = [(0, 0, 65535)] * len(entries)
    for number, body in objects.items():
        if body.endswith(b"endstream\nendobj"):
            where[number] = (1, len(out), 0)
            out += body + b"\n"
    for first in range(0, len(small), MOST):
        some, number = small[first : first + MOST], len(where)
        for place, one in enumerate(some):
            where[one] = (2, number, place)
        where.append((1, len(out), 0))
        out += _object_stream(number, {one: _inside(objects[one]) for one in some})
    keys = re.sub(rb"/Size\s+\d+", b"", table[3]).strip()
    return bytes(out + _cross_references(where, keys, at=len(out)))


def _inside(body: bytes) -> bytes:
    return body.partition(b"obj")[2].removesuffix(b"endobj").strip()


def _object_stream(number: int, objects: dict[int, bytes]) -> bytes:
    places, content = [], bytearray()
    for one, inside in objects.items():
        places.append(b"%d %d" % (one, len(content)))
        content += inside + b"\n"
    heading = b" ".join(places) + b"\n"
    return _stream(number, b"/Type/ObjStm/N %d/First %d" % (len(objects), len(heading)), heading + content)


def _cross_references(where: Sequence[tuple[int, int, int]], keys: bytes, *, at: int) -> bytes:
    """Return the stream that says where every object is, itself the last, and the end of the file."""
    rows = [*where, (1, at, 0)]
    content = b"".join(
        value.to_bytes(width, "big") for row in rows for value, width in zip(row, WIDTHS, strict=True)
    )
    widths = b" ".join(b"%d" % width for width in WIDTHS)
    words = b"/Type/XRef/Size %d/W[%s]%s" % (len(rows), widths, keys)
    return _stream(len(where), words, content) + b"startxref\n%d\n%%%%EOF\n" % at


def _stream(number: int, words: bytes, content: bytes) -> bytes:
    small = zlib.compress(content, 9)
    return b"%d 0 obj\n<<%s/Length %d/Filter/FlateDecode>>\nstream\n%s\nendstream\nendobj\n" % (
        number, words, len(small), small,
    )  # fmt: skip
