"""One request computes at a time in each web process, the others wait for their turn.

Threads of one process share the interpreter: several that compute at once take longer for all of
them together than one after the other. What is slow without computing has no turn: a phone that
sends a photo over a bad line, and an answer on its way out.
"""

from collections.abc import Callable, Iterable
from tempfile import SpooledTemporaryFile
from threading import Lock
from typing import Any

Environ = dict[str, Any]
Application = Callable[[Environ, Any], Iterable[bytes]]

CHUNK = IN_MEMORY = 1 << 16
# Whoever has waited so long goes on beside the other: a slow page stops nobody.
LONGEST_WAIT = 2.0  # s


class TakeTurns:
    """A WSGI application that reads what is sent first, and then waits for its turn."""

    def __init__(self, application: Application, largest_body: int) -> None:
        """A larger body is left unread, for the application to refuse."""
        self.application, self.largest_body = application, largest_body
        self.turn = Lock()

    def __call__(self, environ: Environ, start_response: Any) -> Iterable[bytes]:
        if not self._has_read_body(environ):
            start_response("400 Bad Request", [("Content-Length", "0"), ("Connection", "close")])
            return []
        has_turn = self.turn.acquire(timeout=LONGEST_WAIT)
        try:
            return self.application(environ, start_response)
        finally:
            if has_turn:
                self.turn.release()

    def _has_read_body(self, environ: Environ) -> bool:
        """False where the line broke before all of it came: half a form reads like a whole one."""
        length = str(environ.get("CONTENT_LENGTH") or "0")
        if not length.isdecimal() or len(length) > 18 or not 0 < int(length) <= self.largest_body:
            return True
        body: Any = SpooledTemporaryFile(IN_MEMORY)  # noqa: SIM115  # it goes with the request
        left = int(length)
        while left and (chunk := environ["wsgi.input"].read(min(CHUNK, left))):
            body.write(chunk)
            left -= len(chunk)
        body.seek(0)
        environ["wsgi.input"] = body
        return not left
