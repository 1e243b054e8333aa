"""Labels on a stock: where symbol and readable code stand, and the page handed to the typesetter.

A symbol is QR version 1, level H, alphanumeric, holding the bare code; it is one path of runs of modules, as
large as a whole number of printer dots and placed on a whole dot. The readable code stands beside it in the
largest letters that fit. Nothing is shrunk below what can be read or cut off: what does not fit is refused.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby
from math import hypot
from typing import Any

from geneticlog.errors import Refused
from geneticlog.faces.paper.typeset import set_paper
from geneticlog.rules.label.label_stock import Stock, symbol_mm
from geneticlog.rules.label.stock_checks import Doubt, check
from geneticlog.rules.sentences import n_of
from geneticlog.rules.vialcode import printed

# DejaVu Sans Mono, in parts of the type size: how far one letter advances, how high a capital is.
ADVANCE, CAP_HEIGHT = 1233 / 2048, 1493 / 2048
LEAST_LETTER_MM = 2.0  # height of the letters of a readable code
MOST_LETTER_MM = 3.1
CORNER_LETTER_MM = 1.5
LEAST_CORNER_LETTER_MM = 1.2
DOT_LETTER_MM = 1.2  # of the end of a code under the symbol of a cap dot
GUIDE_LETTER_MM = 1.4  # of the guide beside a row of loose dots
TIE_MM = 0.4  # the bar from a wrap to its own dot
LEADING = 1.45  # from baseline to baseline, in heights of a capital
SAMPLE = "BG4F7Q2KR"  # any code: in one width of letters all are as long
SPECIMEN = "SPECIMEN"  # on a calibration page: it scans and is no vial code

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True)
class Words:
    """Text at a place of its label: upper left corner of the letters, mm."""

    text: str
    x: float
    y: float
    letter_mm: float


@dataclass(frozen=True)
class Face:
    """One label as it is read, mm: the bare symbol's corner (None: text alone), words, room for them."""

    symbol: tuple[float, float] | None
    words: tuple[Words, ...]
    room: float


def symbol_svg(text: str) -> str:
    """Return the symbol of a text as SVG; see ``symbols_svg``."""
    return symbols_svg([text])[text]


def symbols_svg(texts: Sequence[str]) -> dict[str, str]:
    """Return the symbol of each text as SVG: one path, a rectangle for each run of black modules in a row."""
    from geneticlog.faces.label.symbols import SIDE, symbols_of

    box = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {SIDE} {SIDE}">'
    return {
        text: f'{box}<path d="{_path(modules.tolist())}"/></svg>'
        for text, modules in zip(texts, symbols_of(texts), strict=True)
    }


def _path(modules: list[list[bool]]) -> str:
    """Return the path of a symbol."""
    return "".join(
        row_path.replace("#", str(y)) for y, row in enumerate(modules) if (row_path := _row(tuple(row)))
    )


@lru_cache(maxsize=8192)
def _row(row: tuple[bool, ...]) -> str:
    """Return the path of one row of modules, with ``#`` where the row's number goes."""
    path, x = [], 0
    for black, run in ((black, len(list(same))) for black, same in groupby(row)):
        if black:
            path.append(f"M{x} #h{run}v1h-{run}z")
        x += run
    return "".join(path)


def wrap_face(stock: Stock, code: str, corner: str = "") -> Face:
    """Return the face of a wrap: symbol at the left, the code in groups beside it, lake and year above.

    Raises Refused where letters of 2 mm, or the corner's text, do not fit.
    """
    width, height = stock.label_w_mm, stock.label_h_mm
    if stock.rotate:
        width, height = height, width
    inset, quiet = stock.safe_inset_mm, symbol_mm(1, stock.module_mm, quiet=True)
    left, symbol = inset, None
    if stock.symbol_on_the_wrap:
        symbol = (inset + 4 * stock.module_mm, (height - quiet) / 2 + 4 * stock.module_mm)
        left = inset + quiet
    room = width - inset - left
    above = CORNER_LETTER_MM * LEADING if corner else 0.0
    groups = printed(code).split(" ")
    splits = [
        [" ".join(groups)],
        [" ".join(groups[:2]), " ".join(groups[2:])],
        [groups[0], *groups[1:3], groups[3]],
    ]
    lines, letter = splits[0], 0.0
    for split in splits:
        fits_across = room / max(len(line) for line in split) / ADVANCE * CAP_HEIGHT
        fits_down = (height - 2 * inset - above) / (1 + (len(split) - 1) * LEADING)
        if min(fits_across, fits_down, MOST_LETTER_MM) > letter:
            lines, letter = split, min(fits_across, fits_down, MOST_LETTER_MM)
    if letter < LEAST_LETTER_MM - 1e-6:
        raise Refused(
            f"label stock {stock.name}: the readable code has room for letters of {max(letter, 0):.1f} mm;"
            f" {LEAST_LETTER_MM:g} mm are needed; take a larger label, or one without text"
        )
    block = letter * (1 + (len(lines) - 1) * LEADING)
    top = inset + above + (height - 2 * inset - above - block) / 2
    words = [Words(line, left, top + n * letter * LEADING, letter) for n, line in enumerate(lines)]
    if corner:
        small = min(CORNER_LETTER_MM, room / len(corner) / ADVANCE * CAP_HEIGHT)
        if small < LEAST_CORNER_LETTER_MM:
            raise Refused(
                f"label stock {stock.name}: {corner!r} has room for letters of {small:.1f} mm in the corner,"
                f" {LEAST_CORNER_LETTER_MM:g} mm are needed; take a wider label"
            )
        wide = len(corner) * ADVANCE / CAP_HEIGHT * small
        words.append(Words(corner, width - inset - wide, inset, small))
    return Face(symbol, tuple(words), room)


def label_pdf(
    stock: Stock,
    codes: Sequence[str],
    *,
    corner: str | Mapping[str, str] = "",
    start_slot: int = 1,
    caps: bool = True,
    note: str = "",
    progress: Progress | None = None,
) -> bytes:
    """Return the PDF of labels for vial codes, in their order.

    corner
        lake code and year, small in the corner of each wrap: one for all, or by code; empty where not known.
    start_slot
        the first free slot of a part-used sheet, counted from 1 along the rows.
    caps
        whether the dots beside the wraps are printed, on a stock that has them.
    note
        a line above the labels of each page, left out on a part-used sheet, where one stands already.
    progress
        called with the step, how much of it is done and how much there is (0: not known).
    raises
        Refused for a stock that fails its checks, a slot that is not on it, or text that does not fit.
    """
    refuse_unsound(stock)
    if not 1 <= start_slot <= stock.slots_a_page:
        raise Refused(
            f"label stock {stock.name} has slots 1 to {stock.slots_a_page}; there is no slot"
            f" {start_slot} to start at"
        )
    pages: dict[int, list[dict[str, Any]]] = {}
    symbols = symbols_svg(codes)
    for n, code in enumerate(codes):
        slot = start_slot - 1 + n
        page = pages.setdefault(slot // stock.slots_a_page, [])
        text = corner if isinstance(corner, str) else corner.get(code, "")
        page.extend(_placed(stock, slot, code, text, caps))
        if progress:
            progress("Step 2 of 3: placing labels", n + 1, len(codes))
    if progress:
        progress(f"Step 3 of 3: setting {n_of(len(pages), 'page')}", 0, 0)
    ties: dict[int, list[dict[str, float]]] = {}
    for n in pages:
        on_page = [
            slot
            for slot in range(start_slot - 1, start_slot - 1 + len(codes))
            if slot // stock.slots_a_page == n
        ]
        if stock.content == "both" and caps and not stock.cut:
            ties[n] = _ties(stock, on_page)
        if stock.content == "cap" and stock.kind == "sheet":
            pages[n].extend(
                _row_guides(stock, on_page[0], codes[on_page[0] - start_slot + 1 :][: len(on_page)])
            )
    note_y = (stock.no_print_margin_mm + stock.margin_top_mm) / 2
    room_for_note = stock.kind == "sheet" and stock.margin_top_mm - stock.no_print_margin_mm >= 4
    data = {
        "title": "Vial labels",
        "page": {"w": stock.sheet_w_mm, "h": stock.sheet_h_mm},
        "symbol_mm": symbol_mm(1, stock.module_mm),
        "cap_height": CAP_HEIGHT,
        "symbols": symbols,
        "pages": [
            {
                "items": items,
                "ties": ties.get(n, []),
                "outlines": _outlines(stock, caps) if stock.cut else [],
                "note": note if room_for_note and (n or start_slot == 1) else "",
            }
            for n, items in pages.items()
        ],
        "note_at": [stock.margin_left_mm, note_y, stock.page_w_mm - 2 * stock.margin_left_mm],
    }
    return set_paper("labels.typ", data)


def calibration_pdf(stock: Stock) -> bytes:
    """Return a page to print once at 100 %: rulers both ways, corner ticks, outlines of all slots, a symbol.

    Rulers are drawn as they are, slots as offset and scale of the stock move them: the printed rulers tell
    the scale to enter, the outlines held against a label sheet tell whether they meet.
    """
    refuse_unsound(stock)
    width, height = stock.sheet_w_mm, stock.sheet_h_mm
    sheet = stock.kind == "sheet"
    data = {
        "stock": stock.name,
        "about": stock.about,
        "sheet": sheet,
        "page": {"w": width, "h": height},
        "edge": stock.no_print_margin_mm if sheet else stock.safe_inset_mm,
        "outlines": _outlines(stock, caps=True),
        "ruler_mm": 100,
        "symbol": symbol_svg(SPECIMEN),
        "symbol_mm": symbol_mm(1, stock.module_mm),
        "module_mm": stock.module_mm,
        "dots": stock.dots,
        "dpi": stock.dpi,
        "offset": [stock.offset_x_mm, stock.offset_y_mm],
        "scale": [stock.scale_x, stock.scale_y],
    }
    return set_paper("calibration.typ", data)


def doubts_of(stock: Stock) -> list[Doubt]:
    """Return all that is wrong with a stock: its checks, and whether the readable code has room on a wrap."""
    doubts = check(stock)
    if stock.content != "cap" and not any(doubt.refused for doubt in doubts):
        try:
            wrap_face(stock, SAMPLE)
        except Refused as fault:
            doubts.insert(0, Doubt("label_w", str(fault).partition(": ")[2], True))
    return doubts


def refuse_unsound(stock: Stock) -> None:
    """Raise Refused, with all its refusals, for a stock that does not pass its checks."""
    if refusals := [doubt.sentence for doubt in doubts_of(stock) if doubt.refused]:
        raise Refused(f"label stock {stock.name} cannot be printed on: " + "; ".join(refusals))


def _placed(stock: Stock, slot: int, code: str, corner: str, caps: bool) -> Iterator[dict[str, Any]]:
    """Yield the symbols and words of one slot at their places on the page."""
    x, y = stock.slot_at(slot)
    side = symbol_mm(1, stock.module_mm)
    if stock.content == "cap":
        yield from _dot(stock, code, x + stock.label_w_mm / 2, y + stock.label_h_mm / 2, stock.label_w_mm)
        return
    y += (stock.slot_h_mm - stock.label_h_mm) / 2
    face = wrap_face(stock, code, corner)
    if face.symbol:
        u, v = face.symbol
        at = (x + stock.label_w_mm - v - side, y + u) if stock.rotate else (x + u, y + v)
        yield _symbol(stock, code, *at)
    for words in face.words:
        at = (x + stock.label_w_mm - words.y, y + words.x) if stock.rotate else (x + words.x, y + words.y)
        yield _words(stock, words, *at, face.room)
    if stock.content == "both" and caps:
        centre_x = x + stock.label_w_mm + stock.dot_gap_mm + stock.dot_d_mm / 2
        centre_y = y + stock.label_h_mm / 2
        yield from _dot(stock, code, centre_x, centre_y, stock.dot_d_mm)


def dot_text(stock: Stock, code: str, diameter: float) -> tuple[float, Words | None]:
    """Return how far the symbol of a cap dot moves up, and the last characters of the code below it, from the
    dot's centre; without the text where the dot has no room for both.

    The code's last group and its check character tell the dots of one print run apart by eye.
    """
    # four modules of white are wished for and have no room on a small dot; every symbol so set is read back in tests
    side, quiet = symbol_mm(1, stock.module_mm), 1.5 * stock.module_mm
    text = "".join(printed(code).split(" ")[2:])
    wide = len(text) * ADVANCE / CAP_HEIGHT * DOT_LETTER_MM
    radius = diameter / 2 - stock.safe_inset_mm / 2
    round_dot = stock.content == "both" or stock.shape == "round"
    up = (DOT_LETTER_MM + quiet) / 2
    top, foot = side / 2 + up, side / 2 - up + quiet + DOT_LETTER_MM
    if round_dot:
        fits = hypot(side / 2, top) <= radius and hypot(wide / 2, foot) <= radius
    else:
        fits = max(top, foot, side / 2, wide / 2) <= radius
    if not fits:
        return 0.0, None
    return up, Words(text, -wide / 2, foot - DOT_LETTER_MM, DOT_LETTER_MM)


def _dot(stock: Stock, code: str, x: float, y: float, diameter: float) -> Iterator[dict[str, Any]]:
    """Yield the symbol of a cap dot about its centre, and the text below it where there is room."""
    side = symbol_mm(1, stock.module_mm)
    up, words = dot_text(stock, code, diameter)
    yield _symbol(stock, code, x - side / 2, y - side / 2 - up)
    if words is not None:
        yield _words(stock, words, x + words.x, y + words.y, diameter)


def _ties(stock: Stock, slots: Sequence[int]) -> list[dict[str, float]]:
    """Return a bar from each wrap to its own dot, across the gap between them: the next wrap stands as near."""
    bars = []
    for slot in slots:
        x, y = stock.slot_at(slot)
        middle = y + stock.slot_h_mm / 2
        bars.append({"x": x + stock.label_w_mm, "y": middle - TIE_MM / 2, "w": stock.dot_gap_mm, "h": TIE_MM})
    return bars


def _row_guides(stock: Stock, first: int, codes: Sequence[str]) -> list[dict[str, Any]]:
    """Return a guide at the left of each row of loose dots: the row's number and the end of its first code."""
    guides = []
    for at, code in enumerate(codes):
        row, column = divmod((first + at) % stock.slots_a_page, stock.columns)
        if column and at:
            continue
        x, y = stock.slot_at((first + at) // stock.columns * stock.columns)
        text = f"{row + 1} {''.join(printed(code).split(' ')[2:])}"
        wide = len(text) * ADVANCE / CAP_HEIGHT * GUIDE_LETTER_MM
        left = max(x - wide - 0.8, stock.no_print_margin_mm)
        room = x - 0.3 - left
        if room < wide - 0.02:
            continue
        middle = y + stock.label_h_mm / 2 - GUIDE_LETTER_MM / 2
        guides.append(_words(stock, Words(text, 0, 0, GUIDE_LETTER_MM), left, middle, room))
    return guides


def _symbol(stock: Stock, code: str, x: float, y: float) -> dict[str, Any]:
    side = symbol_mm(1, stock.module_mm)
    if stock.kind == "roll" and stock.feed == "foot first":
        x, y = stock.sheet_w_mm - x - side, stock.sheet_h_mm - y - side
    # PDF counts from the lower left corner, and so do the dots of a printer that is given one
    lower = stock.to_dots(stock.sheet_h_mm - y - side)
    return {"symbol": code, "x": stock.to_dots(x), "y": stock.sheet_h_mm - lower - side}


def _words(stock: Stock, words: Words, x: float, y: float, room: float) -> dict[str, Any]:
    turned = stock.rotate
    if stock.kind == "roll" and stock.feed == "foot first":
        x, y, turned = stock.sheet_w_mm - x, stock.sheet_h_mm - y, turned + 180
    return {"text": words.text, "x": x, "y": y, "turned": turned, "letter_mm": words.letter_mm, "room": room}


def _outlines(stock: Stock, caps: bool) -> list[dict[str, float]]:
    """Return the outline of every label of a page: corner, size and radius of its corners, mm."""
    outlines = []
    for slot in range(stock.slots_a_page):
        x, y = stock.slot_at(slot)
        w, h = stock.label_w_mm, stock.label_h_mm
        radius = w / 2 if stock.shape == "round" else stock.corner_r_mm
        middle = y + stock.slot_h_mm / 2
        outlines.append({"x": x, "y": middle - h / 2, "w": w, "h": h, "r": radius})
        if stock.content == "both" and caps:
            d = stock.dot_d_mm
            outlines.append({"x": x + w + stock.dot_gap_mm, "y": middle - d / 2, "w": d, "h": d, "r": d / 2})
    return outlines
