"""`collectstatic`, quick enough to run at every start."""

import hashlib
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.contrib.staticfiles.management.commands import collectstatic
from whitenoise.compress import Compressor
from whitenoise.storage import (
    CompressedManifestStaticFilesStorage,
)

IMPORT = (
    r"""(?m)^(?P<matched>import (?P<names>.+) from "(?P<url>\.\.?/.+\.js)";)$""",
    """import %(names)s from "%(url)s";""",
)


class _Collected(CompressedManifestStaticFilesStorage):  # type: ignore[misc]
    """Hashed files with gzip beside them; Brotli at its best takes a minute for the same files."""

    keep_only_hashed_files = True
    # A module imports others by their plain names. Django's own pattern for this takes words in the
    # comments of some libraries for names of files.
    patterns = (*CompressedManifestStaticFilesStorage.patterns, ("*.js", (IMPORT,)))

    def create_compressor(self, **kwargs: Any) -> Compressor:
        """As WhiteNoise's, without Brotli."""
        return Compressor(use_brotli=False, **kwargs)


class Command(collectstatic.Command):
    """Django's, which does nothing while no static file has changed since it last ran through."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.storage = _Collected()

    def handle(self, **options: Any) -> str | None:
        """Collects if anything changed; `--clear` always does."""
        stamp = Path(settings.DATA_DIR) / "static.stamp"
        now = _state_of_all()
        if not options["clear"] and stamp.exists() and stamp.read_text() == now:
            return None
        stamp.unlink(missing_ok=True)
        summary = super().handle(**options)
        if not options["dry_run"]:
            stamp.write_text(now)
        return summary


def _state_of_all() -> str:
    hasher = hashlib.sha256(str(settings.STATIC_ROOT).encode())
    for finder in get_finders():
        for name, storage in finder.list([]):
            state = Path(storage.path(name)).stat()
            hasher.update(f"{name} {state.st_mtime_ns} {state.st_size}\n".encode())
    return hasher.hexdigest()
