"""The service on a port of this process, so that a picture can say which templates made it."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.core.servers.basehttp import ThreadedWSGIServer, WSGIRequestHandler
from django.core.wsgi import get_wsgi_application
from django.test.signals import template_rendered
from django.test.utils import setup_test_environment, teardown_test_environment


class _QuietHandler(WSGIRequestHandler):
    def log_message(self, format: str, *args: Any) -> None:
        """Nothing: the sheets say what happened."""


@contextmanager
def serving(rendered: set[str]) -> Iterator[str]:
    """Its address; the names of the templates that it renders are added to `rendered`."""

    def note(sender: Any, template: Any, **_: Any) -> None:
        if template.name:
            rendered.add(str(template.name))

    setup_test_environment()
    template_rendered.connect(note)
    server = ThreadedWSGIServer(("127.0.0.1", 0), _QuietHandler, connections_override={})
    server.set_app(StaticFilesHandler(get_wsgi_application()))
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://localhost:{server.server_port}"
    finally:
        server.shutdown()
        server.server_close()
        template_rendered.disconnect(note)
        teardown_test_environment()
