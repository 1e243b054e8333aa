"""Read the vial code in a photo of a label, on the server: a page on a plain hotspot has no camera stream.

A picture is decoded in a process of its own, bounded in pixels, memory and time: a bad one cannot stop the server.
Measured on synthetic photos: never shrink below about 2,600 pixels before the first look; a second and third look at
half and quarter size, sharpened, read a blur of half a module in 96 instead of 68 of 100 photos.
"""

from __future__ import annotations

import io
import multiprocessing
from collections.abc import Iterable
from multiprocessing.connection import Connection

from geneticlog.errors import Refused
from geneticlog.rules.vialcode import VialCodeError, parse, printed

MOST_PIXELS = 60_000_000
MOST_SIDE = 4000  # a larger photo is halved first
SECONDS = 20
MEMORY_BYTES = 2_000_000_000


def vial_in_photo(content: bytes) -> str:
    """Return the one vial code that a photo shows.

    Raises Refused, with what to do, for a file that is no picture, a photo without a symbol that can be read, one with
    another symbol, and one whose symbols say different codes (a cap on another vial).
    """
    found = _read_apart(content)
    codes, others = set(), []
    for text in found:
        try:
            codes.add(parse(text))
        except VialCodeError:
            others.append(text)
    if len(codes) == 1:
        return codes.pop()
    if codes:
        named = " and ".join(printed(code) for code in sorted(codes))
        raise Refused(
            f"the photo shows {named}: one vial at a time; if they are the cap and the side of one vial, they do not"
            " belong together, so set that vial aside"
        )
    if others:
        raise Refused("the symbol in the photo is no vial code; type the four last characters instead")
    raise Refused(
        "no symbol could be read; turn or shade the vial and try again, or type its last four characters"
    )


def _read_apart(content: bytes) -> list[str]:
    """Return the texts of the symbols in a picture, read in another process that ends whatever happens."""
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe(duplex=False)
    reader = context.Process(target=_read, args=(content, there), daemon=True)
    reader.start()
    there.close()
    try:
        if not here.poll(SECONDS):
            raise Refused("this picture took too long to read; photograph the label closer, or type its code")
        answer = here.recv()
    except EOFError:
        raise Refused(
            "this picture could not be read; photograph the label again, or type its code"
        ) from None
    finally:
        reader.kill()
        reader.join()
        here.close()
    if isinstance(answer, str):
        raise Refused(answer)
    return list(answer)


def _read(content: bytes, out: Connection) -> None:
    try:
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    except (ImportError, ValueError, OSError):  # not on Windows
        pass
    try:
        out.send(texts_in(content))
    except MemoryError:
        out.send("this picture is too large; photograph the label with fewer pixels")


def texts_in(content: bytes) -> list[str] | str:
    """Return the texts of all symbols in a picture, each once; or why it is none, in words."""
    import zxingcpp
    from PIL import Image, ImageFilter, ImageOps

    try:
        from pi_heif import register_heif_opener

        register_heif_opener()
    except ImportError:
        pass
    Image.MAX_IMAGE_PIXELS = None  # bounded below, before anything is decoded
    try:
        picture = Image.open(io.BytesIO(content))
        if picture.width * picture.height > MOST_PIXELS:
            return "this picture is too large; photograph the label with fewer pixels"
        grey = ImageOps.exif_transpose(picture).convert("L")
    except Exception:  # whatever a decoder raises over a bad picture
        return "this file is no picture that can be read; take a photo of the label"
    while max(grey.size) > MOST_SIDE:
        grey = grey.reduce(2)
    wanted = zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode)
    for shrink in (1, 2, 4):
        looked = grey if shrink == 1 else grey.reduce(shrink).filter(ImageFilter.UnsharpMask(2, 200, 0))
        if found := _texts(zxingcpp.read_barcodes(looked, formats=wanted)):
            return found
    return []


def _texts(symbols: Iterable[object]) -> list[str]:
    return list(dict.fromkeys(str(symbol.text) for symbol in symbols if symbol.text))  # type: ignore[attr-defined]
