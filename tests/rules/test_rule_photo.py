"""What is left of a picture that a phone sends, and what is refused."""

import hashlib
import io
import struct
import zlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageFile

from events.rules.photo import (
    LONGEST,
    LONGEST_SMALL,
    MOST_KEPT,
    MOST_SENT,
    MOST_SMALL,
    NotAPhoto,
    Photo,
    cleaned,
)
from tests.events.photographs import TOLD, drawn, encoded, exif_of, jpeg, noise, seen, telling
from tests.examples import examples


def both(photo: Photo) -> tuple[bytes, bytes]:
    return photo.picture, photo.small


# What is kept


def test_nothing_is_left_of_what_the_phone_wrote_beside_the_picture() -> None:
    sent = telling()
    assert all(told in sent for told in TOLD[1:])
    assert seen(sent).getexif().get_ifd(0x8825)
    for content in both(cleaned(sent)):
        assert not any(told in content for told in TOLD)
        picture = seen(content)
        assert not picture.getexif()
        assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}


def segments(content: bytes) -> list[int]:
    """The markers of a JPEG up to its pixels (ITU-T T.81, B.1.1)."""
    found, at = [], 2
    while content[at + 1] != 0xDA:
        found.append(content[at + 1])
        at += 2 + int.from_bytes(content[at + 2 : at + 4], "big")
    return found


def test_not_even_an_empty_place_for_it_is_left() -> None:
    for content in both(cleaned(telling())):
        # JFIF's own, then tables and the frame: no APP1 to APP15, no comment.
        assert set(segments(content)) <= {0xE0, 0xDB, 0xC0, 0xC4}
        assert content.endswith(b"\xff\xd9")


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_other_kinds_lose_it_too(kind: str) -> None:
    for content in both(cleaned(encoded(drawn(), kind, exif=exif_of()))):
        assert not any(told in content for told in TOLD)


TURNED = {
    1: drawn(),
    2: drawn().transpose(Image.Transpose.FLIP_LEFT_RIGHT),
    3: drawn().transpose(Image.Transpose.ROTATE_180),
    4: drawn().transpose(Image.Transpose.FLIP_TOP_BOTTOM),
    5: drawn().transpose(Image.Transpose.TRANSPOSE),
    6: drawn().transpose(Image.Transpose.ROTATE_90),
    7: drawn().transpose(Image.Transpose.TRANSVERSE),
    8: drawn().transpose(Image.Transpose.ROTATE_270),
}


@pytest.mark.parametrize("orientation", TURNED)
def test_it_stands_upright_however_the_phone_was_held(orientation: int) -> None:
    photo = cleaned(encoded(TURNED[orientation], quality=95, exif=exif_of(orientation)))
    assert (photo.width, photo.height) == (400, 300)
    upright = seen(photo.picture)
    for place, colour in {(50, 50): 0, (350, 50): 1, (50, 250): 2, (350, 250): 2}.items():
        pixel = upright.getpixel(place)
        assert isinstance(pixel, tuple)
        assert max(range(3), key=lambda n: pixel[n]) == colour


@pytest.mark.parametrize("held", [0, 9, 77])
def test_an_orientation_that_there_is_not_is_upright(held: int) -> None:
    assert cleaned(encoded(drawn(), exif=exif_of(held))).width == 400


@pytest.mark.parametrize(
    ("size", "kept"),
    [
        ((400, 300), (400, 300)),
        ((1600, 1200), (1600, 1200)),
        ((4000, 3000), (1600, 1200)),
        ((3000, 4000), (1200, 1600)),
        ((5000, 3), (1600, 1)),
        ((1, 1), (1, 1)),
    ],
)
def test_the_longer_side_is_cut_and_never_stretched(
    size: tuple[int, int], kept: tuple[int, int]
) -> None:
    photo = cleaned(jpeg(*size))
    assert (photo.width, photo.height) == kept == seen(photo.picture).size
    assert max(seen(photo.small).size) == min(max(size), LONGEST_SMALL)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_the_worst_picture_is_small_enough(kind: str) -> None:
    photo = cleaned(encoded(noise(1700, 1600), kind))
    assert len(photo.picture) <= MOST_KEPT
    assert len(photo.small) <= MOST_SMALL
    assert seen(photo.picture).size == (photo.width, photo.height)
    assert max(photo.width, photo.height) <= LONGEST


@pytest.mark.parametrize("mode", ["1", "L", "P", "LA", "RGBA", "I;16"])
def test_every_kind_of_pixel_is_read(mode: str) -> None:
    picture = drawn().convert("L").convert(mode) if mode == "I;16" else drawn().convert(mode)
    assert seen(cleaned(encoded(picture, "PNG")).picture).mode == "RGB"


def test_the_four_inks_of_a_printer_are_read() -> None:
    assert seen(cleaned(encoded(drawn().convert("CMYK"))).picture).mode == "RGB"


def test_what_lets_through_stands_on_white() -> None:
    clear = Image.new("RGBA", (20, 20), (255, 0, 0, 0))
    assert seen(cleaned(encoded(clear, "PNG")).picture).getpixel((10, 10)) == (255, 255, 255)


def test_a_phones_two_pictures_in_one_file_are_its_first() -> None:
    out = io.BytesIO()
    drawn().save(out, "MPO", save_all=True, append_images=[noise(90, 60)])
    photo = cleaned(out.getvalue())
    assert (photo.width, photo.height) == (400, 300)


def test_the_same_bytes_give_the_same_photo_and_its_hash() -> None:
    one, again = cleaned(telling()), cleaned(telling())
    assert one == again
    assert one.sha256 == hashlib.sha256(one.picture).hexdigest()


def test_a_photo_cleaned_twice_still_is_one() -> None:
    once = cleaned(telling())
    assert cleaned(once.picture).width == once.width


# What is refused


def bomb(width: int, height: int) -> bytes:
    """A PNG of a few bytes that says it is that large."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    data = zlib.compress(b"\0" * 10_000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        (b"", "no picture"),
        (b"%PDF-1.7", "no picture"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no picture"),
        (b"\xff\xd8\xff\xe0", "no picture"),
        (jpeg()[:900], "no picture"),
        (encoded(drawn(), "GIF"), "no picture"),
        (encoded(drawn(), "TIFF"), "no picture"),
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "Set the camera to JPEG"),
        (b"\0\0\0\x18ftypavif\0\0\0\0mif1", "Set the camera to JPEG"),
        (bomb(6_000, 6_000), "36 million pixels"),
        (bomb(60_000, 60_000), "no picture"),
        (b"\xff" * (MOST_SENT + 1), "larger than 20 MB"),
    ],
)
def test_what_is_no_photo_is_refused_in_words(sent: bytes, said: str) -> None:
    with pytest.raises(NotAPhoto, match=said):
        cleaned(sent)


@pytest.mark.parametrize("others_say", [True, False])
def test_half_a_picture_is_none_whatever_others_have_said(
    monkeypatch: pytest.MonkeyPatch, others_say: bool
) -> None:
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", others_say)
    for kind in ("JPEG", "PNG"):
        content = encoded(noise(300, 300), kind)
        with pytest.raises(NotAPhoto, match="no picture"):
            cleaned(content[: len(content) // 2])
    assert ImageFile.LOAD_TRUNCATED_IMAGES is others_say


@settings(max_examples=examples(60), deadline=None)
@given(data=st.data(), kind=st.sampled_from(["JPEG", "PNG", "WEBP"]))
def test_bytes_put_out_of_order_are_a_photo_or_refused(data: st.DataObject, kind: str) -> None:
    content = bytearray(encoded(drawn(60, 40), kind, exif=exif_of()))
    for _ in range(data.draw(st.integers(1, 6))):
        place = data.draw(st.integers(0, len(content) - 1))
        content[place] = data.draw(st.integers(0, 255))
    cut = data.draw(st.integers(1, len(content)))
    try:
        photo = cleaned(bytes(content[:cut]))
    except NotAPhoto:
        return
    assert seen(photo.picture).size == (photo.width, photo.height)
    assert not seen(photo.picture).getexif()
