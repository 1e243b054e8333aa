"""Papers packed into compressed streams: the same pages, found sound by qpdf, which is not ours."""

from __future__ import annotations

import io

import pikepdf
import pypdfium2
import pytest

from geneticlog.faces.paper.packed import packed
from geneticlog.faces.paper.typeset import set_paper

DATA = {
    "paper": "us-letter", "title": "All lakes", "under": "", "foot": "foot", "states": [["known", 450]],
    "rows": [{"lake": f"Lake {at} stream endobj (\\)", "state": "known", "step": "nothing due"} for at in range(450)],
}  # fmt: skip


@pytest.fixture(scope="module")
def paper() -> bytes:
    return set_paper("lakes_report.typ", DATA)


def plain(pdf: bytes) -> bytes:
    """Return a PDF as qpdf writes it with each object for itself and one plain table."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(pdf)) as held:
        held.save(out, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    return out.getvalue()


def test_a_packed_paper_is_sound_and_small(paper: bytes) -> None:
    with pikepdf.open(io.BytesIO(paper)) as held:
        assert held.check_pdf_syntax() == []
        assert held.Root.StructTreeRoot is not None  # its tags for screen readers are there
        assert len(held.pages) > 5
    assert len(plain(paper)) > 1.5 * len(paper)


def test_packing_changes_no_page(paper: bytes) -> None:
    before = plain(paper)
    again = packed(before)
    assert len(again) < len(before) / 1.5
    with pikepdf.open(io.BytesIO(again)) as held:
        assert held.check_pdf_syntax() == []
    for one, other in zip(pypdfium2.PdfDocument(before), pypdfium2.PdfDocument(again), strict=True):
        assert one.get_textpage().get_text_range() == other.get_textpage().get_text_range()
    assert (
        pypdfium2.PdfDocument(before)[0].render(scale=1).to_numpy()
        == pypdfium2.PdfDocument(again)[0].render(scale=1).to_numpy()
    ).all()


def test_what_has_no_plain_table_stays_as_it_is(paper: bytes) -> None:
    assert packed(paper) == paper
