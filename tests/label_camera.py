"""A camera for printed labels: bends a label round a vial, smears, blurs and hides it as a boat does, all seeded.

Synthetic pictures: they tell how symbol, size and damage compare, not what one phone does in one hand.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import cv2
import numpy as np
import pypdfium2
import zxingcpp
from numpy.typing import NDArray

from geneticlog.faces.label.labels import label_pdf, wrap_face
from geneticlog.rules.label.label_stock import Stock, symbol_mm

Picture = NDArray[np.uint8]
PRINT_PX_MM = 48  # pixels a millimetre in the picture of the print, nearly
OVER = 2  # the camera's picture is made so much finer, then averaged down


@dataclass(frozen=True)
class Light:
    """What happens to a label between printer and reader; lengths in modules, shares of the view 0 to 1."""

    od_mm: float = 12.7  # 0: flat
    pixels: tuple[float, float] = (3.0, 8.0)  # camera pixels a module
    blur: float = 0.25  # standard deviation, modules
    turned: float = 180.0  # in the picture, degrees either way
    rolled: float = 10.0  # symbol's centre off the camera's axis round the vial, degrees either way
    tilted: float = 12.0  # vial's axis out of the picture, degrees either way
    noise: float = 6.0  # standard deviation, of 255
    black: int = 30
    white: int = 225
    spread_dots: int = 0  # ink spread: every black dot grows by so many
    glare: float = 0.0  # width of a white streak, share of the view
    torn: float = 0.0  # share of the symbol's side torn off at one corner
    quiet_modules: float | None = None  # None: as printed; else what is beyond is black


@lru_cache(maxsize=64)
def printed_labels(stock: Stock, codes: tuple[str, ...]) -> list[Picture]:
    """Return labels of a roll as the printer's dots, 0 black and 255 white, one pixel a dot."""
    scale = stock.dpi / 72 * (1 - 1e-7)
    pages = [
        page.render(scale=scale, grayscale=True).to_numpy().squeeze()
        for page in pypdfium2.PdfDocument(label_pdf(stock, codes))
    ]
    assert len(pages) == len(codes)
    return [np.where(grey > 127, 255, 0).astype(np.uint8) for grey in pages]


def printed_dots(stock: Stock, code: str) -> Picture:
    """Return one label as `printed_labels` does."""
    return printed_labels(stock, (code,))[0]


def photograph(dots: Picture, stock: Stock, code: str, light: Light, chance: np.random.Generator) -> Picture:
    """Return the picture a camera takes of the symbol of a label of a roll (its first label is at the left)."""
    module = stock.module_mm
    if light.spread_dots:
        dots = cv2.erode(dots, np.ones((1 + light.spread_dots,) * 2, np.uint8))
    dot_px = round(PRINT_PX_MM * 25.4 / stock.dpi)
    mm_px = stock.dpi / 25.4 * dot_px
    print_ = dots.repeat(dot_px, axis=0).repeat(dot_px, axis=1)
    corner = wrap_face(stock, code).symbol
    assert corner is not None
    side = symbol_mm(1, module)
    middle = (stock.to_dots(corner[0]) + side / 2, stock.to_dots(corner[1]) + side / 2)
    if light.torn:
        _tear(
            print_,
            (middle[0] - side / 2) * mm_px,
            (middle[1] - side / 2) * mm_px,
            side * mm_px,
            light.torn,
            chance,
        )
    if light.quiet_modules is not None:
        _crowd(print_, middle, side, light.quiet_modules * module, mm_px)

    pixels = chance.uniform(*light.pixels)
    view_mm = 36 * module
    n = int(view_mm / module * pixels) * OVER
    across = (np.arange(n) + 0.5) / n * view_mm - view_mm / 2
    x, y = np.meshgrid(across, across)
    turn = np.deg2rad(chance.uniform(-light.turned, light.turned))
    x, y = x * np.cos(turn) - y * np.sin(turn), x * np.sin(turn) + y * np.cos(turn)
    roll = np.deg2rad(chance.uniform(-light.rolled, light.rolled))
    y = y / np.cos(np.deg2rad(chance.uniform(-light.tilted, light.tilted)))
    if light.od_mm:
        radius = light.od_mm / 2
        seen = np.abs(x + radius * np.sin(roll)) < radius * 0.999
        round_mm = (
            radius * np.arcsin(np.clip((x + radius * np.sin(roll)) / radius, -0.999, 0.999)) - radius * roll
        )
    else:
        seen, round_mm = np.ones_like(x, dtype=bool), x
    picture = cv2.remap(
        print_,
        ((round_mm + middle[0]) * mm_px).astype(np.float32),
        ((y + middle[1]) * mm_px).astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=200,
    ).astype(np.float64)
    picture[~seen] = 90  # beside the vial
    if light.blur:
        picture = cv2.GaussianBlur(picture, (0, 0), light.blur * pixels * OVER)
    picture = light.black + picture / 255 * (light.white - light.black)
    if light.glare:
        _glare(picture, light.glare, chance)
    small = cv2.resize(picture, (n // OVER, n // OVER), interpolation=cv2.INTER_AREA)
    small = small + chance.normal(0, light.noise, small.shape)
    return np.clip(small, 0, 255).astype(np.uint8)


def _tear(
    print_: Picture, left: float, top: float, side: float, share: float, chance: np.random.Generator
) -> None:
    """Tear a triangle off one corner of the symbol, down to what is below: grey."""
    legs = share * side
    x, y = left + side * chance.integers(2), top + side * chance.integers(2)
    into_x, into_y = (1 if x == left else -1), (1 if y == top else -1)
    beyond = 6 * side / 21
    points = [(-beyond, -beyond), (legs + beyond, -beyond), (-beyond, legs + beyond)]
    triangle = np.array([(x + into_x * px, y + into_y * py) for px, py in points], np.int32)
    cv2.fillPoly(print_, [triangle], 140)


def _crowd(print_: Picture, middle: tuple[float, float], side: float, quiet: float, mm_px: float) -> None:
    """Blacken all that is farther from the symbol than its quiet zone."""
    keep = np.zeros_like(print_)
    half = side / 2 + quiet
    x0, y0 = (round((m - half) * mm_px) for m in middle)
    x1, y1 = (round((m + half) * mm_px) for m in middle)
    keep[max(y0, 0) : y1, max(x0, 0) : x1] = 1
    print_[keep == 0] = 0


def _glare(picture: NDArray[np.float64], share: float, chance: np.random.Generator) -> None:
    """Lay a white streak with soft edges along the vial's axis or aslant, somewhere over the symbol."""
    n = picture.shape[0]
    y, x = np.mgrid[0:n, 0:n] / n - 0.5
    angle = np.deg2rad(chance.uniform(0, 180))
    off = chance.uniform(-0.25, 0.25)
    away = np.abs(x * np.cos(angle) + y * np.sin(angle) - off)
    strength = np.clip((share / 2 + 0.01 - away) / 0.02, 0, 1)
    picture += (255 - picture) * strength


def read(picture: Picture) -> str:
    """Return what zxing-cpp reads in a picture, or nothing."""
    found = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)
    return found[0].text if found else ""


def read_by_second(picture: Picture, detector: Any) -> str:
    """Return what OpenCV reads in a picture, or nothing."""
    try:
        return str(detector.detectAndDecode(picture)[0])
    except cv2.error:  # its decoder gives up on some pictures with an error of its own
        return ""


def share_read(stock: Stock, codes: list[str], light: Light, seed: int, *, second: bool = False) -> float:
    """Return the share of labels that are read back rightly, one picture each."""
    chance = np.random.default_rng(seed)
    detector = cv2.QRCodeDetector() if second else None
    n_right = 0
    for code, dots in zip(codes, printed_labels(stock, tuple(codes)), strict=True):
        picture = photograph(dots, stock, code, light, chance)
        n_right += (read_by_second(picture, detector) if second else read(picture)) == code
    return n_right / len(codes)
