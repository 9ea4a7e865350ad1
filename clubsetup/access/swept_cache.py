"""The cache of one machine: files in a folder, which is not listed each time one is written.

Django's own looks through the folder at each write, and past a number of files removes some by
chance: whoever makes many would have others' counts forgotten. Here the sweeper removes what has
run out, and nothing else does.
"""

from pathlib import Path
from typing import IO, TYPE_CHECKING

from django.core.cache.backends.filebased import FileBasedCache


class SweptFileCache(FileBasedCache):
    """Removes nothing as it writes."""

    if TYPE_CHECKING:  # Django's own, which its stubs leave out
        _dir: str

        def _is_expired(self, file: IO[bytes]) -> bool: ...

    def _cull(self) -> None:
        """Left to `sweep`."""

    def sweep(self) -> None:
        """Removes the files that have run out."""
        for path in Path(self._dir).glob(f"*{self.cache_suffix}"):
            try:
                with path.open("rb") as file:
                    self._is_expired(file)  # and if it is, removes it
            except FileNotFoundError:
                continue
