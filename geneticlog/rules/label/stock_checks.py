"""Every check a label stock has to pass before a vial depends on it: page, label, printer dots, vial."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot, isfinite

from geneticlog.rules.label.label_stock import (
    FEWEST_DOTS,
    LEAST_MODULE_MM,
    QUIET_MODULES,
    SAFE_DOTS,
    SLACK_MM,
    Stock,
    symbol_mm,
    widest_on_curve_mm,
    wrap_share,
)

PARTS = {  # key of a stock -> what it is to a person
    "label_w": "label width", "label_h": "label height", "page_w": "page width", "page_h": "page height",
    "pitch_x": "pitch across", "pitch_y": "pitch down", "offset_x": "offset across", "offset_y": "offset down",
    "scale_x": "scale across", "scale_y": "scale down", "max_print_w": "printed width", "liner_w": "liner width",
    "dot_d": "cap dot", "dpi": "printer", "dots_per_module": "symbol", "od": "vial", "usable_height": "vial side",
    "cap_diameter": "cap", "cols": "columns", "across": "labels across", "rotate": "turn of the label",
}  # fmt: skip


@dataclass(frozen=True)
class Doubt:
    """What is wrong with a stock: the key it hangs on, a sentence, and whether printing is refused for it."""

    key: str
    text: str
    refused: bool

    @property
    def sentence(self) -> str:
        """What is doubted in words; a refusal names its key, too, for that is what is put right in the file."""
        part = PARTS.get(self.key, self.key.replace("_", " "))
        return f"{part} ({self.key}): {self.text}" if self.refused else f"{part}: {self.text}"


def check(stock: Stock) -> list[Doubt]:
    """Return all that is wrong with a stock, refusals first; an empty list for a sound one."""
    doubts = list(_words(stock)) + list(_numbers(stock))
    if not doubts:  # geometry of nonsense is nonsense
        page = _sheet(stock) if stock.kind == "sheet" else _roll(stock)
        doubts = [*page, *_dots(stock), *_symbol(stock), *_vial(stock)]
    return sorted(doubts, key=lambda doubt: not doubt.refused)


def _words(stock: Stock) -> Iterator[Doubt]:
    choices = {
        "kind": ("sheet", "roll"),
        "content": ("wrap", "cap", "both"),
        "shape": ("rect", "round"),
        "rotate": (0, 90),
        "feed": ("head first", "foot first"),
    }
    for key, allowed in choices.items():
        if (value := getattr(stock, key)) not in allowed:
            yield Doubt(key, f"{value!r} is none of {', '.join(map(str, allowed))}", True)
    if stock.shape == "round" and stock.content != "cap":
        yield Doubt("shape", "a round label is a cap dot: its content has to be cap", True)
    if stock.kind == "roll" and stock.content == "both":
        yield Doubt("content", "a wrap with a dot beside it comes on sheets only; use a roll of each", True)


def _numbers(stock: Stock) -> Iterator[Doubt]:
    needed = ["label_w", "label_h"]
    needed += ["page_w", "page_h", "pitch_x", "pitch_y"] if stock.kind == "sheet" else ["max_print_w"]
    needed += ["dot_d"] if stock.content == "both" else []
    for key in [name.removesuffix("_mm") for name in Stock.__dataclass_fields__ if name.endswith("_mm")]:
        value = getattr(stock, f"{key}_mm")
        least = 0.1 if key in needed else -50 if key.startswith("offset") else 0
        if not isfinite(value) or not least <= value <= 2000:
            yield Doubt(key, f"{value:g} mm is not a size for it", True)
    for key in ("cols", "rows") if stock.kind == "sheet" else ("across",):
        if not 1 <= getattr(stock, key) <= 200:
            yield Doubt(key, f"{getattr(stock, key)} is not a number of labels, 1 to 200", True)
    if not 100 <= stock.dpi <= 4800:
        yield Doubt("dpi", f"{stock.dpi} is not a printer's dots per inch, 100 to 4800", True)
    if stock.dots_per_module < 0:
        yield Doubt("dots_per_module", f"{stock.dots_per_module} is not a number of dots", True)
    for key in ("scale_x", "scale_y"):
        if not 0.9 <= getattr(stock, key) <= 1.1:
            yield Doubt(
                key, f"{getattr(stock, key):g} is more than 10 % off; check the printer's own scaling", True
            )


def _sheet(stock: Stock) -> Iterator[Doubt]:
    last = stock.cols * stock.rows - 1
    for axis, across, size, page, slot in (
        ("x", "right", stock.slot_w_mm, stock.page_w_mm, stock.cols - 1),
        ("y", "lower", stock.slot_h_mm, stock.page_h_mm, last),
    ):
        margin, pitch = f"margin_{'left' if axis == 'x' else 'top'}", getattr(stock, f"pitch_{axis}_mm")
        count = stock.cols if axis == "x" else stock.rows
        if count > 1 and pitch < size - SLACK_MM:
            yield Doubt(f"pitch_{axis}", f"{pitch:.2f} mm is less than the label's {size:.2f} mm", True)
        place = 0 if axis == "x" else 1
        first, end = stock.slot_at(0)[place], stock.slot_at(slot)[place] + size
        if end > page - stock.no_print_margin_mm + SLACK_MM:
            yield Doubt(
                f"pitch_{axis}",
                f"the last label's {across} edge is at {end:.2f} mm, past the {page:.2f} mm page less"
                f" {stock.no_print_margin_mm:g} mm the printer leaves blank",
                True,
            )
        if first < stock.no_print_margin_mm - SLACK_MM:
            yield Doubt(
                margin,
                f"the first label starts at {first:.2f} mm, inside the {stock.no_print_margin_mm:g} mm that"
                " the printer leaves blank",
                True,
            )


def _roll(stock: Stock) -> Iterator[Doubt]:
    width = stock.across * stock.slot_w_mm + (stock.across - 1) * stock.gap_x_mm
    for key, limit, what in (
        ("max_print_w", stock.max_print_w_mm, "the printer prints"),
        ("liner_w", stock.liner_w_mm, "the liner is wide"),
    ):
        if 0 < limit < width - SLACK_MM:
            yield Doubt(key, f"labels abreast take {width:.2f} mm, more than the {limit:.2f} mm {what}", True)

    for key in ("offset_x", "offset_y"):
        if abs(getattr(stock, f"{key}_mm")) > stock.safe_inset_mm + SLACK_MM:
            text = f"{getattr(stock, f'{key}_mm'):g} mm moves the print off the label; set the roll straight"
            yield Doubt(key, text, True)


def _dots(stock: Stock) -> Iterator[Doubt]:
    about = f"{stock.dots} dots a module at {stock.dpi} dpi make {stock.module_mm:.3f} mm"
    if stock.dots < FEWEST_DOTS:
        yield Doubt("dots_per_module", f"{about}; fewer than {FEWEST_DOTS} dots do not print", True)
    elif stock.module_mm < LEAST_MODULE_MM - SLACK_MM:
        yield Doubt("dots_per_module", f"{about}, below {LEAST_MODULE_MM} mm: phones may not read it", False)
    if FEWEST_DOTS <= stock.dots < SAFE_DOTS:
        yield Doubt("dots_per_module", f"{about}; below {SAFE_DOTS} dots one dot of ink spread shows", False)


def _symbol(stock: Stock) -> Iterator[Doubt]:
    bare = symbol_mm(1, stock.module_mm)
    quiet = symbol_mm(1, stock.module_mm, quiet=True)
    round_mm = {"cap": stock.label_w_mm if stock.shape == "round" else 0.0, "both": stock.dot_d_mm}
    diameter = round_mm.get(stock.content, 0.0)
    key = "dot_d" if stock.content == "both" else "label_w"
    if stock.shape == "round" and abs(stock.label_w_mm - stock.label_h_mm) > SLACK_MM:
        yield Doubt("label_h", "a round label is as high as it is wide", True)
    if diameter:
        corner = hypot(bare, bare) / 2
        white = (diameter / 2 - corner) / stock.module_mm
        if corner > diameter / 2 - stock.safe_inset_mm + SLACK_MM:
            yield Doubt(
                key,
                f"the symbol's corners reach {corner:.2f} mm from the centre, past the {diameter:.2f} mm dot"
                f" less its inset of {stock.safe_inset_mm:g} mm",
                True,
            )
        elif white < QUIET_MODULES:
            text = f"the symbol's corners keep {white:.1f} modules of white; {QUIET_MODULES} are wished"
            yield Doubt(key, text, False)
    if stock.shape == "rect" and (stock.content == "cap" or stock.symbol_on_the_wrap):
        for side in ("w", "h"):
            room = getattr(stock, f"label_{side}_mm") - 2 * stock.safe_inset_mm
            if quiet > room + SLACK_MM:
                yield Doubt(
                    f"label_{side}",
                    f"the symbol with its quiet zone takes {quiet:.2f} mm, and the label has {room:.2f} mm"
                    f" inside its inset of {stock.safe_inset_mm:g} mm",
                    True,
                )


def _vial(stock: Stock) -> Iterator[Doubt]:
    bare = symbol_mm(1, stock.module_mm)
    round_vial, girth = stock.content != "cap" and stock.od_mm > 0, stock.label_w_mm
    if round_vial and stock.symbol_on_the_wrap and bare > (widest := widest_on_curve_mm(stock.od_mm)):
        yield Doubt(
            "od",
            f"the symbol is {bare:.2f} mm wide; on a vial of {stock.od_mm:g} mm more than {widest:.2f} mm"
            " bends out of sight at its edges",
            False,
        )
    if round_vial and (share := wrap_share(girth, stock.od_mm)) > 1:
        yield Doubt(
            "od", f"the wrap goes round {100 * share:.0f} % of the vial and covers its own text", False
        )
    if stock.content != "cap" and 0 < stock.usable_height_mm < stock.label_h_mm:
        text = f"the label is {stock.label_h_mm:g} mm high, the vial's side has {stock.usable_height_mm:g} mm"
        yield Doubt("usable_height", text, False)
    dot = stock.dot_d_mm if stock.content == "both" else stock.label_w_mm if stock.content == "cap" else 0.0
    if 0 < stock.cap_diameter_mm < dot:
        text = f"the dot is {dot:g} mm across, the cap {stock.cap_diameter_mm:g} mm"
        yield Doubt("cap_diameter", text, False)
