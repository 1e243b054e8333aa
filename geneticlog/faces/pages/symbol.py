"""A symbol for a screen: the address that a phone scans to pair."""

from __future__ import annotations

import base64
import io


def symbol_data_url(text: str) -> str:
    """Return a QR symbol as a data URL of an SVG, level M, with its quiet zone."""
    import qrcode
    from qrcode.image.svg import SvgPathImage

    symbol = qrcode.QRCode(error_correction=qrcode.constants.ERROR_CORRECT_M, border=4)
    symbol.add_data(text)
    image = io.BytesIO()
    symbol.make_image(image_factory=SvgPathImage).save(image)
    return "data:image/svg+xml;base64," + base64.b64encode(image.getvalue()).decode()


def symbol_for_terminal(text: str) -> str:
    """Return a QR symbol in half blocks, for a terminal."""
    import qrcode

    symbol = qrcode.QRCode(border=2)
    symbol.add_data(text)
    drawn = io.StringIO()
    symbol.print_ascii(out=drawn, invert=True)
    return drawn.getvalue()
