"""What is kept of a file that is sent, before anything looks at it."""

from typing import Any

import pytest
from django.core.exceptions import TooManyFilesSent
from django.core.files.uploadedfile import SimpleUploadedFile, UploadedFile
from django.test import RequestFactory

from events.rules.photo import MOST_SENT

CHUNK = 64 * 1024


def kept(content: bytes) -> bytes:
    sent = {"photo": SimpleUploadedFile("photo.jpg", content), "label": "27"}
    request = RequestFactory().post("/", sent)
    assert request.POST["label"] == "27"
    photo = request.FILES["photo"]
    assert isinstance(photo, UploadedFile)
    read: bytes = photo.read()
    return read


@pytest.mark.parametrize("in_memory", [2_500_000, 1])
def test_a_file_is_kept_whole_up_to_the_limit_and_little_beyond(
    settings: Any, in_memory: int
) -> None:
    settings.MOST_UPLOAD_BYTES = 200_000
    settings.FILE_UPLOAD_MAX_MEMORY_SIZE = in_memory
    whole = bytes(range(200)) * 1000
    assert kept(whole) == whole
    cut = kept(whole * 10)
    assert 200_000 < len(cut) <= 200_000 + CHUNK
    assert cut == (whole * 10)[: len(cut)]


def test_a_form_can_tell_that_what_was_cut_off_is_too_large(settings: Any) -> None:
    assert MOST_SENT < settings.MOST_UPLOAD_BYTES


def test_nobody_sends_files_by_the_dozen() -> None:
    many = {f"file{n}": SimpleUploadedFile("photo.jpg", b"x") for n in range(12)}
    with pytest.raises(TooManyFilesSent):
        _ = RequestFactory().post("/", many).FILES
