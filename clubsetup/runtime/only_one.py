"""One `up` for one data folder."""

import fcntl
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class AlreadyRunningError(Exception):
    """Another process has the folder; the text is what it left about itself."""


@contextmanager
def only_one(path: Path, about: str) -> Iterator[None]:
    """Holds the lock while the block runs.

    The kernel lets go of it when the process ends in whatever way, so none can be left behind.
    """
    with path.open("a+") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            file.seek(0)
            raise AlreadyRunningError(file.read()) from None
        file.truncate(0)
        file.write(about)
        file.flush()
        yield
        file.truncate(0)
