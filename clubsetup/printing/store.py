"""Finished prints as files named by what they were made from: the same input is the same file."""

import os
from pathlib import Path

from django.conf import settings

from clubsetup.printing.models import StoredPrint


def path_of(digest: str) -> Path:
    """Where the print of this digest is, or would be."""
    return Path(settings.PRINTS_ROOT) / digest[:2] / f"{digest}.pdf"


def find(digest: str) -> StoredPrint | None:
    """The print of this digest if it was made before and its file is whole."""
    path = path_of(digest)
    if not path.is_file():
        return None
    return StoredPrint.objects.filter(pk=digest, bytes=path.stat().st_size).first()


def write(digest: str, content: bytes) -> None:
    """Writes the file, whole or not at all, and has it on the disk before anyone hears of it."""
    path = path_of(digest)
    for folder in (path.parent.parent, path.parent):
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    draft = path.with_suffix(f".{os.getpid()}.part")
    with draft.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    draft.replace(path)
    folder_handle = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder_handle)
    finally:
        os.close(folder_handle)
