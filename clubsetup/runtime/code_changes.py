"""Which files of the code have changed, for `up --reload`.

Django's own watcher does the looking: it is here already, and it polls. Rejected: gunicorn's
reload, which knows nothing of the worker and cannot load the service before it forks; watchfiles,
whose threads would run in the process that forks the others.
"""

import time
from collections.abc import Sequence
from pathlib import Path

from django.utils.autoreload import StatReloader

ROOMS = ("clubsetup", "teams", "cars", "events")
# A template is read once by a process that is not in debug, so it counts as code.
KINDS = ("**/*.py", "**/*.html", "**/*.jinja", "**/*.txt", "**/static/**/*")
SECONDS_BETWEEN = 1.0


class CodeChanges:
    """Looks at the house's code, templates and static files, and remembers what it saw."""

    def __init__(self, house: Path, seconds_between: float = SECONDS_BETWEEN) -> None:
        self._house, self._between = house, seconds_between
        self._watcher = StatReloader()
        for room in ROOMS:
            for kind in KINDS:
                self._watcher.watch_dir(house / room, kind)
        self._seen, self._looked = self._look(), time.monotonic()

    def since_last_time(self) -> Sequence[Path]:
        """The files written, made or removed since; it looks once a second at most."""
        if time.monotonic() - self._looked < self._between:
            return ()
        before, self._seen = self._seen, self._look()
        self._looked = time.monotonic()
        return sorted({path for path, _ in before.items() ^ self._seen.items()})

    def _look(self) -> dict[Path, float]:
        # What is imported from elsewhere changes with the environment alone.
        written = self._watcher.snapshot_files()
        return {path: at for path, at in written if path.is_relative_to(self._house)}
