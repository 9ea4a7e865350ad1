"""Celery's queue as files in a folder, each put there whole and taken by one worker only.

Kombu's own file transport writes a message where a worker may read half of it, which ends that
worker. Here both ways are one rename.
"""

import logging
import os
import time
from pathlib import Path
from queue import Empty
from typing import Any
from uuid import uuid4

from kombu.transport import filesystem
from kombu.utils.json import dumps, loads

logger = logging.getLogger(__name__)


class Channel(filesystem.Channel):
    """Messages are files `<time>_<id>.<queue>.msg`; the oldest is taken first."""

    def _put(  # type: ignore[override]  # the two above it differ
        self, queue: str, payload: dict[str, Any], **_: Any
    ) -> None:
        name = f"{time.time_ns()}_{uuid4()}.{queue}.msg"
        draft = Path(self.processed_folder) / f"{name}.draft"
        draft.write_text(dumps(payload))
        draft.replace(Path(self.data_folder_out) / name)

    def _get(self, queue: str, timeout: float | None = None) -> Any:
        for path in sorted(Path(self.data_folder_in).glob(f"*.{queue}.msg")):
            taken = Path(self.processed_folder) / f"{path.name}.{os.getpid()}"
            try:
                path.rename(taken)
            except FileNotFoundError:
                continue  # another worker was quicker
            text = taken.read_text()
            taken.unlink()
            try:
                return loads(text)
            except ValueError:
                logger.warning("dropped a message that cannot be read: %s", path.name)
        raise Empty


class Transport(filesystem.Transport):
    """Celery's `broker_transport` where no CELERY_BROKER_URL is given."""

    Channel = Channel


def forget_drafts(folder: Path) -> None:
    """Removes what killed processes left half written or half read; its jobs are sent again."""
    for path in folder.iterdir():
        path.unlink()
