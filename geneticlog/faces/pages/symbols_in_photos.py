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
from multiprocessing.process import BaseProcess
from threading import Lock

from geneticlog.errors import Refused
from geneticlog.rules.vialcode import VialCodeError, parse, printed
from geneticlog.store.reading_room import limit_memory, limits

MOST_PIXELS = 60_000_000
MOST_SIDE = 4000  # a larger photo is halved first
SECONDS = 20
PICTURES_A_PROCESS = 500


class NoSymbol(Refused):
    """A picture without a symbol that can be read: a camera looks again."""


def vial_in_photo(content: bytes) -> str:
    """Return the one vial code that a photo shows.

    Raises Refused, with what to do, for a file that is no picture, NoSymbol for a photo without a symbol that can be
    read, Refused for one with another symbol, and one whose symbols say different codes (a cap on another vial).
    """
    found = READER.texts(content)
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
        raise Refused("the symbol in the photo is not a vial code; type the last four characters instead")
    raise NoSymbol(
        "no symbol could be read; turn or shade the vial and try again, or type its last four characters"
    )


class Reader:
    """One process that reads pictures: started when it is first needed, ended when one takes too long or breaks it."""

    def __init__(self) -> None:
        self._one_at_a_time = Lock()
        self._process: BaseProcess | None = None
        self._here: Connection | None = None
        self._n_read = 0

    def texts(self, content: bytes) -> list[str]:
        """Return the texts of the symbols in a picture. Raises Refused for one that cannot be read, in words."""
        with self._one_at_a_time:
            try:
                answer = self._answer(content)
            except (EOFError, OSError):  # the process died over it
                self.end()
                raise Refused(
                    "this picture could not be read; photograph the label again, or type its code"
                ) from None
            self._n_read += 1
            if self._n_read >= PICTURES_A_PROCESS:
                self.end()
        if isinstance(answer, str):
            raise Refused(answer)
        return answer

    def _answer(self, content: bytes) -> list[str] | str:
        if self._process is None or not self._process.is_alive():
            self.end()
            context = multiprocessing.get_context("spawn")
            self._here, far_end = context.Pipe()
            self._process = context.Process(target=_read_pictures, args=(far_end,), daemon=True)
            self._process.start()
            far_end.close()
        assert self._here is not None
        self._here.send_bytes(content)
        if not self._here.poll(SECONDS):
            self.end()
            return "this picture took too long to read; photograph the label closer, or type its code"
        answer: list[str] | str = self._here.recv()
        return answer

    def end(self) -> None:
        """End the process, whatever it does; the next picture starts another."""
        if self._process is not None:
            self._process.kill()
            self._process.join()
            self._process.close()
        if self._here is not None:
            self._here.close()
        self._process, self._here, self._n_read = None, None, 0


READER = Reader()


def _read_pictures(far_end: Connection) -> None:
    limit_memory(limits().memory_mb)
    while True:
        try:
            content = far_end.recv_bytes()
        except (EOFError, OSError):  # the server is gone
            return
        try:
            far_end.send(texts_in(content))
        except MemoryError:
            far_end.send("this picture is too large; photograph the label with fewer pixels")


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
        picture.draft(
            "L", (MOST_SIDE, MOST_SIDE)
        )  # a JPEG is decoded without its colours: a third of the memory
        grey = ImageOps.exif_transpose(picture).convert("L")
    except MemoryError:
        raise
    except Exception:  # whatever a decoder raises over a bad picture
        return "this file is not a picture that can be read; take a photo of the label"
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
