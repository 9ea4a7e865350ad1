"""Finished prints as files named by what they were made from: the same input is the same file."""

import errno
import os
import shutil
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import BinaryIO, ClassVar, Protocol
from uuid import UUID

from django.conf import settings
from django.db import connection
from django.utils import timezone

from clubsetup.printing.models import StoredPrint

PART = ".part"
SUFFIXES = (".pdf", ".zip")
LEFT_AFTER = 3600  # seconds: whoever writes one that old writes it no more
FULL = (errno.ENOSPC, errno.EDQUOT)


class Input(Protocol):
    """All that a file is made from."""

    suffix: ClassVar[str]

    def hashed(self) -> bytes:
        """What the file's name is the SHA-256 of."""
        ...

    def digest(self) -> str:
        """That SHA-256, in hexadecimal."""
        ...


def path_of(digest: str, suffix: str = ".pdf") -> Path:
    """Where the print of this digest is, or would be."""
    return Path(settings.PRINTS_ROOT) / digest[:2] / f"{digest}{suffix}"


def drafts() -> Path:
    """Where files that will be packed are made: on the disk where they end."""
    folder = Path(settings.PRINTS_ROOT) / "drafts"
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    return folder


def find(source: Input) -> StoredPrint | None:
    """The print of this source if it was made before and its file is whole.

    The database hashes the source itself: only who has all of it learns of the print.
    """
    digest = source.digest()
    path = path_of(digest, source.suffix)
    if not path.is_file():
        return None
    with connection.cursor() as cursor:
        cursor.execute("SELECT bytes, pages FROM access.stored_print_of(%s)", [source.hashed()])
        row = cursor.fetchone()
    if row is None or row[0] != path.stat().st_size:
        return None
    return StoredPrint(digest=digest, bytes=row[0], pages=row[1])


def finish(job_id: UUID, lease: UUID, source: Input, stored: StoredPrint) -> bool:
    """Notes the print of this source, and that the job is done with it if the lease is its own."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT access.finish_print_job(%s, %s, %s, %s, %s, %s)",
            [job_id, lease, source.hashed(), stored.bytes, stored.pages, timezone.now()],
        )
        row = cursor.fetchone()
    return bool(row and row[0])


def write(source: Input, fill: Callable[[BinaryIO], object]) -> int:
    """Writes the file, whole or not at all, and has it on the disk before anyone hears of it.

    `fill` writes its content. Returns how many bytes that was.
    """
    path = path_of(source.digest(), source.suffix)
    for folder in (path.parent.parent, path.parent):
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    draft = path.with_suffix(f".{os.getpid()}{PART}")
    try:
        with draft.open("wb") as file:
            fill(file)
            file.flush()
            size = file.tell()
            os.fsync(file.fileno())
        draft.replace(path)
    except OSError:
        draft.unlink(missing_ok=True)
        raise
    folder_handle = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder_handle)
    finally:
        os.close(folder_handle)
    return size


def remove(digests: Iterable[str]) -> int:
    """Removes the files of prints that are kept no more; how many there were."""
    named = (path_of(digest, suffix) for digest in digests for suffix in SUFFIXES)
    paths = [path for path in named if path.is_file()]
    for path in paths:
        path.unlink(missing_ok=True)
    return len(paths)


def sweep() -> int:
    """Removes what a worker that died has left: parts of files, and files of no print."""
    before = time.time() - LEFT_AFTER
    root = Path(settings.PRINTS_ROOT)
    old = [file for file in root.glob("??/*") if _modified(file) < before]
    parts = [file for file in old if file.suffix == PART]
    for part in parts:
        part.unlink(missing_ok=True)
    for draft in drafts().iterdir():
        if _modified(draft) < before:
            shutil.rmtree(draft, ignore_errors=True)
    files = [file.stem for file in old if file.suffix in SUFFIXES]
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM access.prints_of_nobody(%s)", [files])
        return len(parts) + remove(row[0] for row in cursor.fetchall())


def remove_old() -> int:
    """Removes the prints that were finished longer ago than PRINT_KEEP_DAYS."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM access.take_old_prints(%s)", [settings.PRINT_KEEP_DAYS])
        return remove(row[0] for row in cursor.fetchall())


def _modified(file: Path) -> float:
    try:
        return file.stat().st_mtime
    except FileNotFoundError:  # somebody else removed it meanwhile
        return time.time()
