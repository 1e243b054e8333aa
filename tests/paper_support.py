"""Looking at PDF pages in tests: how full a page is, and how small its letters are."""

from __future__ import annotations

import numpy as np
import pypdfium2


def fullness(page: pypdfium2.PdfPage) -> float:
    """Return how far down a page there is ink, as a share of its height; its foot is left out."""
    grey = np.asarray(page.render(scale=0.5, grayscale=True).to_numpy()).squeeze()
    body = grey[: int(grey.shape[0] * 0.93)]
    return float(np.flatnonzero((body < 200).any(axis=1)).max(initial=0) / body.shape[0])


def least_type(page: pypdfium2.PdfPage, every: int = 7) -> float:
    """Return the size in points of the smallest letters looked at, upright or turned.

    The box of a line is as high as its type, a few hundredths less in this typeface.
    """
    text = page.get_textpage()
    sizes = []
    for at in range(0, text.count_chars(), every):
        left, bottom, right, top = text.get_charbox(at, loose=True)
        sizes.append(float(max(right - left, top - bottom)))
    return min((size for size in sizes if size), default=99.0)
