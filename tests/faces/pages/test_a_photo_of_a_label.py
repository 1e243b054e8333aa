"""Photos of labels by the tests' camera, read on the server; and what is no photo of one label."""

from __future__ import annotations

import io

import cv2
import numpy as np
import pytest
from label_camera import Light, photograph, printed_dots

from geneticlog.errors import Refused
from geneticlog.faces.label.stocks import load_stocks
from geneticlog.faces.pages.symbols_in_photos import texts_in, vial_in_photo

CODE = "BG4F7Q2KR"


def picture(code: str = CODE, **light: object) -> np.ndarray:
    stock = load_stocks(None)["roll-2-300"]
    chance = np.random.default_rng(5)
    return np.asarray(photograph(printed_dots(stock, code), stock, code, Light(**light), chance))  # type: ignore[arg-type]


def png(image: np.ndarray) -> bytes:
    return cv2.imencode(".png", image)[1].tobytes()


@pytest.mark.parametrize("light", [{}, {"blur": 0.3}, {"tilted": 20.0}, {"pixels": (10.0, 12.0)}])
def test_a_photo_gives_its_code(light: dict[str, object]) -> None:
    assert texts_in(png(picture(**light))) == [CODE]


def test_a_photo_as_phones_of_one_maker_take_it_is_read() -> None:
    import pillow_heif
    from PIL import Image

    made = io.BytesIO()
    pillow_heif.from_pillow(Image.fromarray(picture()).convert("RGB")).save(made, quality=60)
    assert made.getvalue()[4:12] == b"ftypheic"
    assert vial_in_photo(made.getvalue()) == CODE


def test_a_photo_is_read_in_a_process_of_its_own() -> None:
    assert vial_in_photo(png(picture())) == CODE


def test_cap_and_side_that_differ_are_refused() -> None:
    side, cap = picture(pixels=(6.0, 6.0), turned=0.0), picture("BG000001J", pixels=(6.0, 6.0), turned=0.0)
    high = max(side.shape[0], cap.shape[0])
    both = np.hstack(
        [
            cv2.copyMakeBorder(one, 0, high - one.shape[0], 40, 40, cv2.BORDER_CONSTANT, value=200)
            for one in (side, cap)
        ]
    )
    with pytest.raises(Refused, match=r"BG 000 001 J and BG 4F7 Q2K R.*do not belong together"):
        vial_in_photo(png(both))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "not a picture"),
        (b"not a picture", "not a picture"),
        (png(np.full((300, 300), 255, np.uint8)), "no symbol could be read"),
    ],
)
def test_what_is_no_photo_of_a_label_is_said(content: bytes, words: str) -> None:
    with pytest.raises(Refused, match=words):
        vial_in_photo(content)


def test_a_picture_of_too_many_pixels_is_never_decoded() -> None:
    from PIL import Image

    bomb = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(bomb, "PNG")
    assert len(bomb.getvalue()) < 100_000
    with pytest.raises(Refused, match="too large"):
        vial_in_photo(bomb.getvalue())
