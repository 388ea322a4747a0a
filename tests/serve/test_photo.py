"""Photographs: made small, upright and silent; whatever else is sent is refused in words."""

from io import BytesIO
from pathlib import Path
from typing import Any
from zlib import crc32

import pytest
from PIL import Image

from care_planner.serve.photo import HEIC, LONGEST_SIDE, OTHER, TOO_LARGE, CannotRead, small_photo
from care_planner.serve.write_photo import write_photo

PRIVATE = bytes(4) + b"prIv" + crc32(b"prIv").to_bytes(4, "big")  # an empty part of a PNG
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


def test_a_folder_of_photographs_that_leads_out_is_not_written_through(tmp_path: Path) -> None:
    yard, outside = tmp_path / "yard", tmp_path / "outside"
    yard.mkdir()
    outside.mkdir()
    (yard / "photos").symlink_to(outside)
    with pytest.raises(OSError, match="leads out of the collection"):
        write_photo(yard, "a.jpg", b"x")
    assert list(outside.iterdir()) == []


def in_many_scans(scans: int) -> bytes:
    """A JPEG whose last scan is there again and again: a few octets each, the whole picture to go over."""
    data = picture("JPEG", (800, 800), progressive=True)
    return data[:-2] + data[data.rindex(b"\xff\xda") : -2] * scans + data[-2:]


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


def test_a_progressive_picture_is_taken() -> None:
    assert opened(small_photo(in_many_scans(1))).size == (800, 800)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"\0\0\0\x20ftypheic" + bytes(100), HEIC),
        (b"", OTHER),
        (b"<svg onload='x'/>", OTHER),
        (picture("GIF"), OTHER),
        (picture("JPEG", (900, 900))[:2000], OTHER),
        (in_many_scans(2_000), OTHER),
        (picture("JPEG").replace(b"\xff\xd8", b"\xff\xd8" + b"\xff" * 100_000, 1), OTHER),
        (picture("JPEG").replace(b"\xff\xd8", b"\xff\xd8" + b"\xff\xfe\0\2" * 20_000, 1), OTHER),
        (picture("PNG")[:33] + PRIVATE * 20_000 + picture("PNG")[33:], OTHER),
        (picture("PNG", (6000, 6000), mode="1", colour=0), TOO_LARGE),
        (picture("PNG", (20_000, 20_000), mode="1", colour=0), TOO_LARGE),
    ],
    ids=[
        "heic",
        "empty",
        "svg",
        "gif",
        "cut-off",
        "many-scans",
        "filling",
        "comments",
        "chunks",
        "many-pixels",
        "a-bomb",
    ],
)
def test_anything_else_is_refused(data: bytes, words: str) -> None:
    with pytest.raises(CannotRead) as why:
        small_photo(data)
    assert str(why.value) == words
