"""The request as the web server hands it over, before any middleware has seen it."""

from typing import Any

from django.core.handlers.wsgi import WSGIHandler, WSGIRequest
from django.http.multipartparser import MultiPartParserError
from django.utils.http import parse_header_parameters


class Request(WSGIRequest):
    """Always read as UTF-8: what else a Content-Type names is refused by the edge, not tried.

    The framework reads the address in that encoding while it makes the request, where nothing
    can answer yet; some of Python's encodings are of no text at all.
    """

    def _set_content_type_params(self, meta: dict[str, Any]) -> None:
        """As WSGIRequest; a head that cannot be read names no kind of content."""
        try:
            kind, params = parse_header_parameters(meta.get("CONTENT_TYPE", ""))
        except (LookupError, ValueError):
            kind, params = "", {"charset": "unknown"}
        self.content_type, self.content_params = kind, params

    def parse_file_upload(self, *args: Any) -> Any:
        """As HttpRequest; a part whose head names an unknown encoding is a torn form."""
        try:
            return super().parse_file_upload(*args)
        except LookupError as error:
            raise MultiPartParserError(f"Unreadable part: {error}") from error


class Handler(WSGIHandler):
    """The application, with such requests."""

    request_class = Request
