"""The geometry of a label stock: what fits on the page, on the label, on the vial, and in whole printer dots.

A stock is generic: sizes of labels, pages and vials, in millimetres. Sheets carry ``cols`` by ``rows`` slots;
on a roll one row of ``across`` labels is one page. ``content`` says what a slot is for: ``wrap`` goes round
the side of a vial, ``cap`` is a dot for its cap, ``both`` is a wrap with a dot to its right for one vial.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, pi

MM_PER_INCH = 25.4
QUIET_MODULES = 4  # white on every side of a symbol, ISO/IEC 18004 as its originator explains it
# Dots a module: below the first refused (our own floor), below the second warned of (the originator's guidance).
FEWEST_DOTS, SAFE_DOTS = 3, 4
LEAST_MODULE_MM = (
    0.25  # what a standard reader resolves, by the originator's guidance; no rule for phones is known
)
SMALL_TUBE_MM = (
    10.0  # our own choice: under this outside diameter a wrap carries text alone and the dot the symbol
)
SLACK_MM = 1e-6  # sizes given in inches do not add up exactly


def module_mm(dpi: float, dots: int) -> float:
    """Return the side of a module of a number of printer dots, mm."""
    return dots * MM_PER_INCH / dpi


def modules_a_side(version: int) -> int:
    """Return the modules a side of a QR symbol of a version, 1 to 40, without its quiet zone."""
    return 17 + 4 * version


def symbol_mm(version: int, module: float, *, quiet: bool = False) -> float:
    """Return the side of a QR symbol, mm; with ``quiet`` the four modules of white on all sides count."""
    return (modules_a_side(version) + 2 * QUIET_MODULES * quiet) * module


def widest_on_curve_mm(od_mm: float) -> float:
    """Return the widest symbol for a cylinder, mm: the tangents at its centre and edge differ by 30 degrees.

    GS1's general specifications have such a placement rule; the number of degrees is from memory, so it warns
    and refuses nothing.
    """
    return pi * od_mm / 6


def wrap_share(label_w_mm: float, od_mm: float) -> float:
    """Return the share of a vial's girth that a wrap covers; above 1 it covers its own text."""
    return label_w_mm / (pi * od_mm)


@dataclass(frozen=True)
class Stock:
    """One label stock. Sizes in mm; dots and dpi are the printer's."""

    name: str
    kind: str  # sheet, roll
    content: str  # wrap, cap, both
    label_w_mm: float
    label_h_mm: float
    about: str = ""
    shape: str = "rect"  # rect, round
    corner_r_mm: float = 0.0
    safe_inset_mm: float = 0.75
    rotate: int = 0  # 0, 90: how the label's content is turned
    cut: bool = False  # a plain sheet: lines are printed to cut along
    dpi: int = 600
    dots_per_module: int = 0  # 0: the fewest that make a module of 0.25 mm, never below 3
    # sheet
    page_w_mm: float = 0.0
    page_h_mm: float = 0.0
    margin_left_mm: float = 0.0
    margin_top_mm: float = 0.0
    cols: int = 0
    rows: int = 0
    pitch_x_mm: float = 0.0
    pitch_y_mm: float = 0.0
    no_print_margin_mm: float = 5.0
    # what a calibration page showed: slots are moved and spread by it, symbols keep their whole dots
    offset_x_mm: float = 0.0
    offset_y_mm: float = 0.0
    scale_x: float = 1.0
    scale_y: float = 1.0
    # roll
    across: int = 0
    gap_x_mm: float = 3.0
    gap_y_mm: float = 3.0
    liner_w_mm: float = 0.0
    max_print_w_mm: float = 0.0
    feed: str = "head first"  # head first, foot first
    # the dot beside a wrap
    dot_d_mm: float = 0.0
    dot_gap_mm: float = 3.0
    # the vial; 0 where it is not known
    od_mm: float = 0.0
    usable_height_mm: float = 0.0
    cap_diameter_mm: float = 0.0

    @property
    def dots(self) -> int:
        """Printer dots a module."""
        return self.dots_per_module or max(FEWEST_DOTS, ceil(LEAST_MODULE_MM * self.dpi / MM_PER_INCH))

    @property
    def module_mm(self) -> float:
        return module_mm(self.dpi, self.dots)

    @property
    def slot_w_mm(self) -> float:
        """Width of a slot: the label, and the dot beside it where there is one."""
        return self.label_w_mm + (self.dot_gap_mm + self.dot_d_mm if self.content == "both" else 0.0)

    @property
    def slot_h_mm(self) -> float:
        return max(self.label_h_mm, self.dot_d_mm if self.content == "both" else 0.0)

    @property
    def columns(self) -> int:
        return self.cols if self.kind == "sheet" else self.across

    @property
    def slots_a_page(self) -> int:
        return self.cols * self.rows if self.kind == "sheet" else self.across

    @property
    def sheet_w_mm(self) -> float:
        """Width of the page; of a roll, the labels abreast and the gaps between them, in whole dots."""
        if self.kind == "sheet":
            return self.page_w_mm
        return self._whole_dots(self.across * self.slot_w_mm + (self.across - 1) * self.gap_x_mm)

    @property
    def sheet_h_mm(self) -> float:
        """Height of the page; of a roll, that of a label in whole dots."""
        return self.page_h_mm if self.kind == "sheet" else self._whole_dots(self.slot_h_mm)

    @property
    def symbol_on_the_wrap(self) -> bool:
        """Whether the wrap carries a symbol: on a narrow tube with a dot it is text alone."""
        return self.content == "wrap" or (self.content == "both" and not 0 < self.od_mm < SMALL_TUBE_MM)

    def slot_at(self, slot: int) -> tuple[float, float]:
        """Return where the upper left corner of a slot is printed on its page, mm; slots count from 0.

        Calibrated: the page's own zero is moved by the offset, and distances are stretched by the scale.
        """
        row, column = divmod(slot % self.slots_a_page, self.columns)
        if self.kind == "sheet":
            x = self.margin_left_mm + column * self.pitch_x_mm
            y = self.margin_top_mm + row * self.pitch_y_mm
        else:
            x, y = column * (self.slot_w_mm + self.gap_x_mm), 0.0
        return x * self.scale_x + self.offset_x_mm, y * self.scale_y + self.offset_y_mm

    def _whole_dots(self, length_mm: float) -> float:
        return floor(length_mm * self.dpi / MM_PER_INCH + SLACK_MM) * MM_PER_INCH / self.dpi

    def to_dots(self, length_mm: float) -> float:
        """Return the length nearest to one given that is a whole number of printer dots, mm."""
        return round(length_mm * self.dpi / MM_PER_INCH) * MM_PER_INCH / self.dpi
