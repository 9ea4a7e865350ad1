"""A folder of files as one ZIP. The same files give the same bytes."""

import hashlib
import shutil
import zipfile
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import BinaryIO, ClassVar

# Counts up when the packing itself changes, so that old files are not taken for new ones.
PACKING = b"zip 1"
# The earliest day that a ZIP can say; when its files were made stands in them.
NO_DAY = (1980, 1, 1, 0, 0, 0)
STORED_AS_IT_IS = (".pdf", ".xlsx", ".jpg", ".zip")


@dataclass(frozen=True)
class Folder:
    """What an archive is made from: every file below a folder."""

    path: Path
    suffix: ClassVar[str] = ".zip"

    @cached_property
    def files(self) -> list[tuple[str, Path]]:
        """Each with its name in the archive, in the order of the names."""
        found = [one for one in self.path.rglob("*") if one.is_file()]
        return sorted((one.relative_to(self.path).as_posix(), one) for one in found)

    @cached_property
    def _hashed(self) -> bytes:
        parts = [PACKING]
        for name, path in self.files:
            with path.open("rb") as file:
                parts += [name.encode(), hashlib.file_digest(file, "sha256").digest()]
        return b"".join(b"%d:" % len(part) + part for part in parts)

    def hashed(self) -> bytes:
        """Each name and the SHA-256 of its file: whoever can say it has all of them."""
        return self._hashed

    def digest(self) -> str:
        """SHA-256 of all that it is made from."""
        return hashlib.sha256(self._hashed).hexdigest()

    def pack(self, to: BinaryIO) -> None:
        """Writes the ZIP, a file at a time."""
        with zipfile.ZipFile(to, "w") as archive:
            for name, path in self.files:
                entry = zipfile.ZipInfo(name, NO_DAY)
                entry.external_attr = 0o644 << 16
                packed = path.suffix not in STORED_AS_IT_IS
                entry.compress_type = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
                entry.file_size = path.stat().st_size
                with path.open("rb") as file, archive.open(entry, "w") as inside:
                    shutil.copyfileobj(file, inside, 1 << 20)
