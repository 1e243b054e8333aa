"""Setting pages: data in, PDF out, refusals in plain words."""

from __future__ import annotations

import io
import subprocess
import sys
from datetime import UTC, datetime

import pypdfium2
import pytest

from geneticlog.errors import Refused
from geneticlog.faces.paper.typeset import PaperFault, set_paper

PAGE = b"""
#import "house.typ": house
#let data = json("data.json")
#show: house.with(paper: "a5", title: data.title)
#if data.title.len() > 40 { panic("The title \\"" + data.title + "\\" does not fit.") }
= #data.title
#image("mark.svg", width: 20mm)
"""
MARK = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 2 2"><path d="M0 0h1v1h-1z"/></svg>'


def page(title: str) -> bytes:
    return set_paper("page.typ", {"title": title}, files={"page.typ": PAGE, "mark.svg": MARK})


def words(pdf: bytes) -> str:
    return "".join(p.get_textpage().get_text_bounded() for p in pypdfium2.PdfDocument(pdf))


def test_a_page_shows_its_data_as_it_is() -> None:
    # text of the typesetter's own language stays text
    assert "Lake #1 *not bold* $x$ Żółw" in words(page("Lake #1 *not bold* $x$ Żółw"))


def test_the_same_data_give_the_same_bytes() -> None:
    assert page("Lake") == page("Lake")
    assert page("Lake") != page("Pond")


def test_the_fonts_are_those_that_come_with_us() -> None:
    document = pypdfium2.PdfDocument(page("Lake"))
    fonts = {
        item.get_font().get_base_name()
        for item in document[0].get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_TEXT])
    }
    assert fonts
    assert all("DejaVuSans" in font for font in fonts), fonts


def test_the_moment_of_making_is_written_when_it_is_given() -> None:
    plain = b"#set document(date: auto)\nHello"
    made = set_paper("p.typ", {}, files={"p.typ": plain}, at=datetime(2026, 4, 12, 9, 30, tzinfo=UTC))
    assert "20260412093000" in pypdfium2.PdfDocument(io.BytesIO(made)).get_metadata_value("CreationDate")


def test_what_a_template_refuses_is_refused_in_its_words() -> None:
    with pytest.raises(Refused, match=f'^The title "{"x" * 41}" does not fit.$'):
        page("x" * 41)


def test_a_template_at_fault_is_one_sentence() -> None:
    with pytest.raises(PaperFault, match=r"page template 'none.typ'"):
        set_paper("none.typ", {})
    with pytest.raises(PaperFault, match=r"p.typ could not be set") as fault:
        set_paper("p.typ", {}, files={"p.typ": b"#missing"})
    assert "\n" not in str(fault.value)


def test_setting_a_page_does_not_load_matplotlib() -> None:
    code = (
        "import sys; from geneticlog.faces.paper.typeset import set_paper;"
        "set_paper('p.typ', {}, files={'p.typ': b'hello'}); print('matplotlib' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
