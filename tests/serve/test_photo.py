"""Photographs: made small, upright and silent; whatever else is sent is refused in words."""

from io import BytesIO
from typing import Any

import pytest
from PIL import Image

from care_planner.serve.photo import HEIC, LONGEST_SIDE, OTHER, TOO_LARGE, CannotRead, small_photo

GPS = 0x8825
ORIENTATION = 0x0112
MAKER = 0x010F


def picture(kind: str, size: tuple[int, int] = (40, 20), mode: str = "RGB", **options: Any) -> bytes:
    out = BytesIO()
    Image.new(mode, size, options.pop("colour", "red")).save(out, kind, **options)
    return out.getvalue()


def camera_exif() -> Image.Exif:
    exif = Image.Exif()
    exif[MAKER], exif[ORIENTATION] = "a camera", 6
    exif[GPS] = {1: "N", 2: (37.0, 45.0, 0.0)}
    return exif


def opened(data: bytes) -> Image.Image:
    return Image.open(BytesIO(data), formats=["JPEG"])


def test_it_is_small_upright_and_tells_nothing_of_the_camera_or_the_place() -> None:
    sent = picture("JPEG", (2400, 1200), exif=camera_exif(), comment=b"of me")
    made = opened(small_photo(sent))
    assert made.size == (LONGEST_SIDE // 2, LONGEST_SIDE)  # turned as the camera was held
    assert dict(made.getexif()) == {} and "comment" not in made.info


def test_the_place_is_kept_where_asked_and_nothing_else() -> None:
    made = opened(small_photo(picture("JPEG", exif=camera_exif()), keep_place=True))
    assert set(made.getexif()) == {GPS} and made.getexif().get_ifd(GPS)[1] == "N"


def test_what_is_see_through_becomes_white() -> None:
    made = opened(small_photo(picture("PNG", mode="RGBA", colour=(0, 0, 0, 0))))
    assert made.getpixel((5, 5)) == (255, 255, 255)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"\0\0\0\x20ftypheic" + bytes(100), HEIC),
        (b"", OTHER),
        (b"<svg onload='x'/>", OTHER),
        (picture("GIF"), OTHER),
        (picture("JPEG", (900, 900))[:2000], OTHER),
        (picture("PNG", (6000, 6000), mode="1", colour=0), TOO_LARGE),
        (picture("PNG", (20_000, 20_000), mode="1", colour=0), TOO_LARGE),
    ],
    ids=["heic", "empty", "svg", "gif", "cut-off", "many-pixels", "a-bomb"],
)
def test_anything_else_is_refused(data: bytes, words: str) -> None:
    with pytest.raises(CannotRead) as why:
        small_photo(data)
    assert str(why.value) == words
