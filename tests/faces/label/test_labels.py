"""Label sheets: rendered as a printer would, and read by readers that are not ours."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import cv2
import numpy as np
import pypdfium2
import pytest
import zxingcpp

from geneticlog.errors import Refused
from geneticlog.faces.label.labels import (
    SPECIMEN,
    calibration_pdf,
    dot_text,
    doubts_of,
    label_pdf,
    symbol_svg,
    wrap_face,
)
from geneticlog.faces.label.stocks import load_stocks
from geneticlog.rules.vialcode import VialCodeError, mint, parse, printed

STOCKS = load_stocks()
CODES = [code for n in range(70_000, 70_400) if (code := mint("BG", n))]


def pages(pdf: bytes, dpi: int = 600) -> list[np.ndarray[Any, Any]]:
    """Return the pages as grey pictures of so many dots per inch; a page of whole dots has no dot more."""
    return [
        page.render(scale=dpi / 72 * (1 - 1e-7), grayscale=True).to_numpy().squeeze()
        for page in pypdfium2.PdfDocument(pdf)
    ]


def read(page: np.ndarray[Any, Any]) -> list[str]:
    return [found.text for found in zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode)]


def words(pdf: bytes) -> str:
    return " ".join("".join(p.get_textpage().get_text_bounded() for p in pypdfium2.PdfDocument(pdf)).split())


@pytest.mark.parametrize("name", STOCKS)
def test_every_label_of_a_full_page_is_read_back(name: str) -> None:
    stock = STOCKS[name]
    codes = CODES[: stock.slots_a_page]
    pdf = label_pdf(stock, codes, corner="CEDAR 2026")
    (page,) = pages(pdf)
    assert page.shape == (
        pytest.approx(stock.sheet_h_mm / 25.4 * 600, abs=1),
        pytest.approx(stock.sheet_w_mm / 25.4 * 600, abs=1),
    )
    times = 2 if stock.content == "both" else 1
    assert sorted(read(page)) == sorted(codes * times)
    if stock.content != "cap":
        text = words(pdf)
        for code in codes:
            assert printed(code) in text
        assert text.count("CEDAR 2026") == len(codes)


def test_a_second_reader_agrees() -> None:
    # OpenCV's own detector, one label of a roll at a time
    reader = cv2.QRCodeDetector()
    codes = CODES[:12]
    pictures = pages(label_pdf(STOCKS["roll-1-600"], codes))
    assert [reader.detectAndDecode(picture)[0] for picture in pictures] == codes


@pytest.mark.parametrize(
    "name", ["letter-wrap", "roll-1-203", "roll-2-300", "letter-scissors", "letter-wrap-caps"]
)
def test_modules_are_whole_printer_dots_without_a_grey_one(name: str) -> None:
    """At the printer's own resolution a symbol has black and white dots alone, in squares of whole dots."""
    stock = STOCKS[name]
    page = pages(label_pdf(stock, CODES[:1]), stock.dpi)[0]
    found = zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode)[0]
    left, top = found.position.top_left.x, found.position.top_left.y
    near = page[max(top - 3, 0) : top + 21 * stock.dots + 4, max(left - 3, 0) : left + 21 * stock.dots + 4]
    assert set(np.unique(near)) <= {0, 1, 254, 255}  # a step of 255 is the rounding of the renderer
    near = (near > 127) * 255
    dark = np.argwhere(near == 0)
    (y0, x0), (y1, x1) = dark.min(axis=0), dark.max(axis=0) + 1
    assert (y1 - y0, x1 - x0) == (21 * stock.dots, 21 * stock.dots)
    tiles = near[y0:y1, x0:x1].reshape(21, stock.dots, 21, stock.dots)
    assert (tiles == tiles[:, :1, :, :1]).all()


def test_the_quiet_zone_is_white_beside_text_and_cutting_lines() -> None:
    stock = STOCKS["letter-scissors"]
    page = pages(label_pdf(stock, CODES[: stock.slots_a_page], corner="CEDAR 2026"))[0]
    quiet = 4 * stock.dots
    for found in zxingcpp.read_barcodes(page, formats=zxingcpp.BarcodeFormat.QRCode):
        left, top = found.position.top_left.x - 1, found.position.top_left.y - 1
        side = 21 * stock.dots + 2
        ring = page[
            top - quiet + 2 : top + side + quiet - 2, left - quiet + 2 : left + side + quiet - 2
        ].copy()
        ring[quiet - 2 : quiet - 2 + side, quiet - 2 : quiet - 2 + side] = 255
        assert ring.min() == 255


def test_a_part_used_sheet_goes_on_at_its_first_free_slot() -> None:
    stock = STOCKS["letter-wrap"]
    found = pages(label_pdf(stock, CODES[:90], start_slot=23, note="Run 1"))
    assert [len(read(page)) for page in found] == [78, 12]
    first = zxingcpp.read_barcodes(found[0], formats=zxingcpp.BarcodeFormat.QRCode)
    upper_left = min(first, key=lambda code: (round(code.position.top_left.y, -2), code.position.top_left.x))
    assert upper_left.text == CODES[0]
    x, y = stock.slot_at(22)
    assert upper_left.position.top_left.x * 25.4 / 600 == pytest.approx(x + 0.75 + 4 * 0.254, abs=0.1)
    assert y < upper_left.position.top_left.y * 25.4 / 600 < y + stock.label_h_mm
    # the note is on the sheet already, and begins the next one
    assert words(label_pdf(stock, CODES[:90], start_slot=23, note="Run 1")).count("Run 1") == 1


@pytest.mark.parametrize("slot", [0, -1, 101])
def test_a_slot_that_is_not_on_the_sheet_is_refused(slot: int) -> None:
    with pytest.raises(Refused, match="slots 1 to 100"):
        label_pdf(STOCKS["letter-wrap"], CODES[:1], start_slot=slot)


ROLL = STOCKS["roll-1-300"]


@pytest.mark.parametrize("stock", [ROLL, replace(ROLL, rotate=90, label_w_mm=12.7, label_h_mm=32.5)])
def test_a_turned_or_reversed_label_reads_the_same(stock: Any) -> None:
    for feed in ("head first", "foot first"):
        pdf = label_pdf(replace(stock, feed=feed), CODES[:2], corner="CEDAR 2026")
        assert [read(page) for page in pages(pdf)] == [[code] for code in CODES[:2]]
        page = pages(pdf)[0]
        edge = max(2, int(0.6 * 600 / 25.4))
        page[edge:-edge, edge:-edge] = 255
        assert page.min() == 255  # nothing is printed within the inset, so nothing is cut off


def test_a_dot_shows_the_end_of_its_code_and_which_wrap_it_belongs_to() -> None:
    stock = load_stocks()["letter-wrap-caps"]
    codes = CODES[:12]
    pdf = label_pdf(stock, codes)
    assert sorted(read(pages(pdf)[0])) == sorted(codes * 2)
    text = words(pdf).split()
    for code in codes:
        assert "".join(printed(code).split(" ")[2:]) in text
    # a bar joins each wrap with its own dot; the gap to the next wrap is white
    page = pages(pdf, dpi=600)[0]
    per_mm = 600 / 25.4
    for slot in range(stock.cols - 1):
        x, y = stock.slot_at(slot)
        row = page[round((y + stock.slot_h_mm / 2) * per_mm)]
        own = row[round((x + stock.label_w_mm + 0.3) * per_mm) : round((x + stock.label_w_mm + 2.2) * per_mm)]
        end = x + stock.slot_w_mm
        to_next = row[round((end + 0.2) * per_mm) : round((x + stock.pitch_x_mm - 0.2) * per_mm)]
        assert own.max() < 128
        assert to_next.min() > 128


def test_loose_dots_have_a_guide_at_each_row() -> None:
    stock = load_stocks()["letter-caps"]
    codes = CODES[:30]
    text = words(label_pdf(stock, codes, start_slot=5))
    for row, first in ((1, codes[0]), (2, codes[9]), (3, codes[22])):
        assert f"{row} {''.join(printed(first).split(' ')[2:])}" in text
    assert sorted(read(pages(label_pdf(stock, codes, start_slot=5))[0])) == sorted(codes)


def test_a_dot_too_small_for_text_keeps_its_symbol_in_the_middle() -> None:
    stock = replace(load_stocks()["letter-caps"], label_w_mm=9.2, label_h_mm=9.2)
    assert dot_text(stock, CODES[0], 9.2) == (0.0, None)
    assert sorted(read(pages(label_pdf(stock, CODES[:3]))[0])) == sorted(CODES[:3])


def test_a_narrow_tube_has_the_symbol_on_the_dot_and_text_on_the_wrap() -> None:
    stock = replace(STOCKS["letter-wrap-caps"], od_mm=8.0, label_w_mm=22.0)
    codes = CODES[:5]
    pdf = label_pdf(stock, codes)
    assert sorted(read(pages(pdf)[0])) == sorted(codes)
    text = words(pdf)
    assert all(printed(code) in text for code in codes)
    assert read(pages(label_pdf(STOCKS["letter-wrap-caps"], codes, caps=False))[0]).__len__() == len(codes)


def test_the_readable_code_has_letters_of_two_millimetres_or_is_refused() -> None:
    for stock in STOCKS.values():
        if stock.content != "cap":
            face = wrap_face(stock, CODES[0], "CEDAR 2026")
            assert " ".join(w.text for w in face.words[:-1]) == printed(CODES[0])
            assert min(w.letter_mm for w in face.words[:-1]) >= 2.0
    narrow = replace(STOCKS["letter-wrap"], label_w_mm=13.0)
    with pytest.raises(Refused, match="letters of 1"):
        wrap_face(narrow, CODES[0])
    assert [(doubt.key, doubt.refused) for doubt in doubts_of(narrow)] == [("label_w", True)]
    with pytest.raises(
        Refused, match=r"cannot be printed on: label width \(label_w\): the readable code has room"
    ):
        label_pdf(narrow, CODES[:1])


def test_a_corner_that_does_not_fit_is_refused_not_clipped() -> None:
    with pytest.raises(Refused, match="wider label"):
        label_pdf(STOCKS["letter-wrap"], CODES[:1], corner="A LAKE WITH A LONG NAME 2026")


def test_a_stock_that_fails_its_checks_is_not_printed_on() -> None:
    with pytest.raises(
        Refused,
        match=r"cannot be printed on: pitch across \(pitch_x\): the last label's right edge is at 233\.",
    ) as fault:
        label_pdf(replace(STOCKS["letter-wrap"], cols=6), CODES[:1])
    assert fault.value.exit_code == 4


def test_a_note_without_room_is_left_out_and_the_labels_stay() -> None:
    stock = STOCKS["letter-wrap"]
    assert "Run 1" in words(label_pdf(stock, CODES[:3], note="Run 1"))
    long = label_pdf(stock, CODES[:3], note="Run 1 " * 60)
    assert "Run 1" not in words(long)
    assert sorted(read(pages(long)[0])) == sorted(CODES[:3])


def test_progress_is_counted_label_by_label_and_has_no_end_while_pages_are_set() -> None:
    seen: list[tuple[str, int, int]] = []
    label_pdf(STOCKS["letter-wrap"], CODES[:7], progress=lambda *step: seen.append(step))
    assert [step[1:] for step in seen] == [*((n, 7) for n in range(1, 8)), (0, 0)]
    assert seen[-1][0] == "Step 3 of 3: setting 1 page"


@pytest.mark.parametrize("name", STOCKS)
def test_a_calibration_page_scans_and_is_no_vial_code(name: str) -> None:
    pdf = calibration_pdf(STOCKS[name])
    (page,) = pages(pdf)
    assert read(page) == [SPECIMEN]
    with pytest.raises(VialCodeError):
        parse(SPECIMEN)


def test_the_rulers_of_a_calibration_page_are_a_hundred_millimetres() -> None:
    (page,) = pages(calibration_pdf(STOCKS["letter-wrap"]))
    dark = page < 128
    longest = {"across": 0, "down": 0}
    for name, lines in (("across", dark), ("down", dark.T)):
        for line in lines:
            edges = np.flatnonzero(np.diff(np.concatenate(([0], line.astype(np.int8), [0]))))
            runs = [end - start for start, end in zip(edges[::2], edges[1::2], strict=True)]
            longest[name] = max([longest[name], *(run for run in runs if abs(run - 100 / 25.4 * 600) < 12)])
    assert longest["across"] * 25.4 / 600 == pytest.approx(100, abs=0.4)
    assert longest["down"] * 25.4 / 600 == pytest.approx(100, abs=0.4)


def test_a_symbol_is_one_path() -> None:
    svg = symbol_svg("BG4F7Q2KR")
    assert svg.count("<path") == 1
    assert "<rect" not in svg
