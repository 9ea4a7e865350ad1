"""What the API tells of every record, and how it hands out files."""

import json
from typing import Any

from rest_framework.renderers import BaseRenderer

RECORD = ("id", "entry", "by", "created_at", "device_at")


class FileRenderer(BaseRenderer):
    """Lets a client ask for a kind of file; what goes wrong is still told as a problem."""

    charset = None

    def render(self, data: Any, *_: Any, **__: Any) -> bytes:
        """The problem's JSON; the file itself is not rendered."""
        return json.dumps(data, default=str).encode()
