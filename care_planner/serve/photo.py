"""A picture as a phone sends it -> a small JPEG without what it should not tell. Pure, and bounded."""

from io import BytesIO
from typing import Any

LONGEST_SIDE = 1600  # pixels: a branch fills a screen, and a season of photographs stays small
SMALL_SIDE = 640  # shown on the page, and kept by phones for when they are away from the network
QUALITY = 82
# Bounds the memory: a JPEG is decoded at a part of its size, unless it is progressive.
MOST_PIXELS = {"JPEG": 64_000_000, "PNG": 24_000_000}
MOST_PIXELS_PROGRESSIVE = 24_000_000
# A picture in ever finer scans is decoded once for each: of 30 octets a scan a file can hold hours of work.
# Cameras write one scan, progressive files about ten; PNG has a part for every 8 KB. Starting values.
MOST_SCANS = 50
MOST_PARTS = 4_000
_SCAN = b"\xff\xda"
_JPEG_START, _PNG_START = b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n"
_GPS = 0x8825  # Exif 2.32, GPS IFD
_HEIF = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif")

HEIC = (
    "This is a HEIC picture, which cannot be read here. In the phone's camera settings choose the most "
    "compatible format, JPEG, or send a picture of the screen."
)
OTHER = "This is no JPEG or PNG picture that can be read. Nothing was kept."
TOO_LARGE = "This picture has too many pixels. Send a smaller one."


class CannotRead(Exception):
    """Why a picture is not taken, for people."""


def small_photo(data: bytes, keep_place: bool = False, side: int = LONGEST_SIDE) -> bytes:
    """The picture upright, at most `side` pixels a side, as JPEG. Of what the camera wrote into it nothing
    is kept but the place, and that only where `keep_place`. Raises CannotRead."""
    if data[4:8] == b"ftyp" and data[8:12] in _HEIF:
        raise CannotRead(HEIC)
    from PIL import ImageOps
    from PIL.JpegImagePlugin import JpegImageFile
    from PIL.PngImagePlugin import PngImageFile

    readers = {_JPEG_START: JpegImageFile, _PNG_START: PngImageFile}
    reader = next((reader for start, reader in readers.items() if data.startswith(start)), None)
    if reader is None:
        raise CannotRead(OTHER)
    if (reader is JpegImageFile and data.count(_SCAN) > MOST_SCANS) or _parts(data) > MOST_PARTS:
        raise CannotRead(OTHER)
    # Whatever a hostile file makes the library raise, it is no picture.
    try:
        with reader(BytesIO(data)) as picture:
            _check(picture)
            picture.draft("RGB", (side, side))
            place = picture.getexif().get_ifd(_GPS) if keep_place else {}
            picture.thumbnail((side, side))
            upright = _on_white(ImageOps.exif_transpose(picture))
            return _jpeg(upright, dict(place))
    except CannotRead:
        raise
    except Exception:
        raise CannotRead(OTHER) from None


def _parts(data: bytes) -> int:
    """The parts of a JPEG before its first scan, or of a PNG; not counted further than too many."""
    at, parts = (2, 0) if data.startswith(_JPEG_START) else (len(_PNG_START), 0)
    while at + 4 <= len(data) and parts <= MOST_PARTS:
        parts += 1
        if data.startswith(_PNG_START):
            at += 12 + int.from_bytes(data[at : at + 4], "big")
        elif data[at : at + 2] == _SCAN:
            break
        elif data[at] == 0xFF and data[at + 1] not in (0x00, 0xFF):
            at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        else:
            at += 1  # filling
    return parts


def _check(picture: Any) -> None:
    most = MOST_PIXELS[picture.format]
    if picture.info.get("progressive"):
        most = MOST_PIXELS_PROGRESSIVE
    if picture.width * picture.height > most:
        raise CannotRead(TOO_LARGE)


def _on_white(picture: Any) -> Any:
    """In plain colours; what is see-through becomes white."""
    from PIL import Image

    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        ground = Image.new("RGB", picture.size, "white")
        seen = picture.convert("RGBA")
        ground.paste(seen, mask=seen.getchannel("A"))
        return ground
    return picture.convert("RGB")


def _jpeg(picture: Any, place: dict[int, Any]) -> bytes:
    from PIL import Image

    kept = Image.Exif()
    if place:
        kept[_GPS] = place
    out = BytesIO()
    clean = Image.new("RGB", picture.size)
    clean.paste(picture)  # pixels alone: no comment, profile or thumbnail goes along
    clean.save(out, "JPEG", quality=QUALITY, exif=kept.tobytes() if place else b"")
    return out.getvalue()
