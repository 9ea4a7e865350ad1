"""A photo as it is kept: JPEG, the right way up, small enough, and nothing in it but the picture.

What a phone writes beside the picture (place, time, device, a preview of the whole scene) is left
behind: the picture alone is drawn on an empty one, which is then written. JPEG, PNG and WebP are
read; HEIC and AVIF are not, and browsers on phones send a JPEG in their place.
"""

import hashlib
import io
import struct
import threading
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from PIL import Image, ImageFile
from PIL.Image import Transpose

MOST_SENT = 20_000_000  # bytes
MOST_KEPT = 500_000  # bytes
MOST_SMALL = 40_000  # bytes
LONGEST, LONGEST_SMALL = 1600, 320  # pixels
# What is read, and how many pixels of it: a JPEG is drawn smaller while it is read, others whole.
MOST_PIXELS = {"JPEG": 64_000_000, "PNG": 24_000_000, "WEBP": 24_000_000}
# Sides and qualities tried in turn until the file is small enough; the last one always is.
SIDES = (1.0, 0.75, 0.5, 0.35, 0.25)
QUALITIES = (85, 75, 62, 50)
ORIENTATION = 0x0112  # CIPA DC-008 (Exif 2.3), 4.6.4 A
UPRIGHT = {
    2: Transpose.FLIP_LEFT_RIGHT,
    3: Transpose.ROTATE_180,
    4: Transpose.FLIP_TOP_BOTTOM,
    5: Transpose.TRANSPOSE,
    6: Transpose.ROTATE_270,
    7: Transpose.TRANSVERSE,
    8: Transpose.ROTATE_90,
}
# What a decoder raises on bytes that are not what they say.
BROKEN = (
    *(OSError, SyntaxError, ValueError, TypeError, IndexError, KeyError, EOFError, OverflowError),
    *(struct.error, zlib.error, Image.DecompressionBombError),
)
# One picture at a time in a process: what is not yet made smaller takes much memory.
_READING = threading.Lock()
# The kinds of an ISO base media file (ISO/IEC 14496-12, 4.3) that phones write pictures in.
PHONE_KINDS = {b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1", b"avif", b"avis"}


class NotAPhoto(Exception):
    """What was sent cannot be kept; the text says why, and what to do."""


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo as it is kept; `small` is the same to look at in a list."""

    picture: bytes
    small: bytes
    width: int
    height: int

    @property
    def sha256(self) -> str:
        """Of the picture, in hexadecimal (FIPS 180-4)."""
        return hashlib.sha256(self.picture).hexdigest()


def cleaned(sent: bytes) -> Photo:
    """The photo in what was sent. The same bytes give the same photo. Raises NotAPhoto."""
    if len(sent) > MOST_SENT:
        raise NotAPhoto(too_large())
    if sent[4:8] == b"ftyp" and sent[8:12] in PHONE_KINDS:
        raise NotAPhoto(
            "HEIC and AVIF pictures are not read. Set the camera to JPEG, or send a JPEG or PNG."
        )
    try:
        whole = _drawn(sent)
    except BROKEN as problem:
        raise NotAPhoto(
            "This is no picture that can be read. Send a JPEG, PNG or WebP file."
        ) from problem
    picture, (width, height) = _written(whole, LONGEST, MOST_KEPT)
    small, _ = _written(whole, LONGEST_SMALL, MOST_SMALL)
    return Photo(picture, small, width, height)


def too_large() -> str:
    """What is said of a file that is too large."""
    return f"This file is larger than {MOST_SENT // 1_000_000} MB. Send a smaller picture."


def _drawn(sent: bytes) -> Image.Image:
    """The pixels alone, upright, on white where they let through."""
    with _whole_only(), Image.open(io.BytesIO(sent), formats=tuple(MOST_PIXELS)) as read:
        _refuse_a_bomb(read)
        read.draft("RGB", (LONGEST, LONGEST))
        turn = UPRIGHT.get(_orientation(read))
        read.load()
        read.thumbnail((LONGEST, LONGEST))
        seen = read.convert("RGBA")
    upright = seen if turn is None else seen.transpose(turn)
    empty = Image.new("RGB", upright.size, "white")
    empty.paste(upright, mask=upright)
    return empty


@contextmanager
def _whole_only() -> Iterator[None]:
    """Half a picture is none, though who prints in the same process may have said otherwise."""
    with _READING:
        before, ImageFile.LOAD_TRUNCATED_IMAGES = ImageFile.LOAD_TRUNCATED_IMAGES, False
        try:
            yield
        finally:
            ImageFile.LOAD_TRUNCATED_IMAGES = before


def _refuse_a_bomb(read: Image.Image) -> None:
    # A phone may put a second picture behind the first, and Pillow then calls the JPEG an MPO.
    most = MOST_PIXELS.get(read.format or "", MOST_PIXELS["JPEG"])
    pixels = read.width * read.height
    if pixels > most:
        raise NotAPhoto(
            f"This picture has {pixels / 1e6:.0f} million pixels; at most {most // 1_000_000} "
            "million are read. Set the camera to a smaller picture."
        )


def _orientation(read: Image.Image) -> int:
    """How the camera was held; 1, upright, where it does not say so or says it badly."""
    try:
        held = read.getexif().get(ORIENTATION, 1)
    except BROKEN:
        return 1
    return held if isinstance(held, int) else 1


def _written(whole: Image.Image, longest: int, most: int) -> tuple[bytes, tuple[int, int]]:
    """As JPEG of at most so many pixels a side and so many bytes, and its size."""
    made, size = b"", (0, 0)
    for share in SIDES:
        side = round(longest * share)
        fitted = whole.copy()
        fitted.thumbnail((side, side))
        size = fitted.size
        for quality in QUALITIES:
            out = io.BytesIO()
            fitted.save(out, "JPEG", quality=quality, optimize=True)
            made = out.getvalue()
            if len(made) <= most:
                return made, size
    raise NotAPhoto("This picture cannot be made small enough. Send another one.")
