"""Pictures as phones send them, drawn for the tests."""

import io
from typing import Any

from PIL import Image, ImageCms
from PIL.TiffImagePlugin import IFDRational

PLACE = "Fern Lane 7"
TOLD = (b"GPS", PLACE.encode(), b"Wisp Phone", b"2026:06:06", b"<x:xmpmeta", b"acsp", b"behind")


def drawn(width: int = 400, height: int = 300) -> Image.Image:
    """Red in the upper left quarter, green in the upper right, blue below."""
    picture = Image.new("RGB", (width, height), "blue")
    picture.paste("red", (0, 0, width // 2, height // 2))
    picture.paste("lime", (width // 2, 0, width, height // 2))
    return picture


def encoded(picture: Image.Image, kind: str = "JPEG", **more: Any) -> bytes:
    """The picture as a file."""
    out = io.BytesIO()
    picture.save(out, kind, **more)
    return out.getvalue()


def jpeg(width: int = 400, height: int = 300, **more: Any) -> bytes:
    """A plain JPEG."""
    return encoded(drawn(width, height), quality=90, **more)


def noise(width: int, height: int) -> Image.Image:
    """What cannot be compressed."""
    return Image.effect_noise((width, height), 120).convert("RGB")


def exif_of(orientation: int = 1) -> Image.Exif:
    """What a phone writes: device, time, how it was held, and where it was."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0110] = "Wisp Phone", "Wisp Phone 4"
    exif[0x0112], exif[0x0132] = orientation, "2026:06:06 09:30:00"
    exif[0x010E] = PLACE
    north = tuple(IFDRational(n) for n in (51, 30, 26))
    exif.get_ifd(0x8825).update({1: "N", 2: north, 3: "W", 4: north})
    return exif


def telling(orientation: int = 1) -> bytes:
    """A JPEG that tells where, when and with what it was taken, in every way that there is."""
    made = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    # Bytes 24 to 35 of the header are when it was made (ICC.1), and would differ by the second.
    profile = made[:24] + bytes(12) + made[36:]
    xmp = f"<x:xmpmeta>{PLACE}</x:xmpmeta>".encode()
    told: dict[str, Any] = {
        "exif": exif_of(orientation),
        "comment": PLACE,
        "xmp": xmp,
        "icc_profile": profile,
    }
    return encoded(drawn(), quality=90, **told) + b"behind the end"


def seen(content: bytes) -> Image.Image:
    """The picture in a file."""
    picture = Image.open(io.BytesIO(content))
    picture.load()
    return picture
