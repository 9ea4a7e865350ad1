"""HTML to PDF with WeasyPrint, from our own files and nothing else."""

import functools
import hashlib
import mimetypes
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar
from urllib.parse import unquote, urlsplit

from django.conf import settings
from django.contrib.staticfiles import finders
from django.core.exceptions import SuspiciousFileOperation

# Printed pages name static files by path; this host is reserved never to exist (RFC 6761).
BASE = "http://prints.invalid"
# Counts up when the rendering itself changes, so that old files are not taken for new ones.
RENDERING = "2"
# What every print is set in, before its own style sheets: the typeface, colours, figures.
LOOK = ("look/fonts.css", "look/tokens.css", "look/paper.css")


class NotOurFileError(ValueError):
    """A printed page asked for something that is not a static file of ours."""


@dataclass(frozen=True)
class Made:
    """A rendered print."""

    content: bytes
    pages: int


@dataclass(frozen=True)
class Source:
    """All that a print is made from."""

    html: str
    styles: tuple[str, ...]
    suffix: ClassVar[str] = ".pdf"

    def digest(self) -> str:
        """SHA-256 of all that it is made from."""
        return hashlib.sha256(self.hashed()).hexdigest()

    def hashed(self) -> bytes:
        """HTML, paper, style sheets and renderer, each with its length before it."""
        import weasyprint  # noqa: PLC0415  # loads Pango: only the worker needs it

        parts = (
            RENDERING,
            weasyprint.__version__,
            paper(),
            self.html,
            *map(style, (*LOOK, *self.styles)),
        )
        return b"".join(b"%d:" % len(data) + data for data in (part.encode() for part in parts))


def paper() -> str:
    """The paper as a style sheet; it comes first, so that a document may say otherwise."""
    return f"@page {{ size: {settings.PRINT_PAPER} }}"


@functools.cache
def style(name: str) -> str:
    """The text of a static style sheet."""
    return static_file(name).read_text()


def static_file(name: str) -> Path:
    """The static file of this name: as collected (hashed) or where its app keeps it."""
    collected = (Path(settings.STATIC_ROOT) / name).resolve()
    if collected.is_relative_to(Path(settings.STATIC_ROOT).resolve()) and collected.is_file():
        return collected
    try:
        path = finders.find(name)
    except SuspiciousFileOperation:
        path = None  # a path that leads out of the folder
    if not path:
        raise NotOurFileError(f"There is no static file {name}.")
    return Path(str(path))


def render(source: Source) -> Made:
    """The PDF. The same source gives the same bytes."""
    document = lay_out(source)
    content = document.write_pdf(pdf_identifier=bytes.fromhex(source.digest())[:16])
    return Made(content, len(document.pages))


def lay_out(source: Source) -> Any:
    """The pages as WeasyPrint lays them out, before they are written: a weasyprint.Document."""
    from weasyprint import CSS, HTML  # noqa: PLC0415
    from weasyprint.text.fonts import FontConfiguration  # noqa: PLC0415

    fetcher, fonts = _fetcher(), FontConfiguration()
    sheets = [CSS(string=paper(), url_fetcher=fetcher)]
    for name in (*LOOK, *source.styles):
        sheets.append(
            CSS(
                string=style(name),
                base_url=f"{BASE}{settings.STATIC_URL}{name}",
                url_fetcher=fetcher,
                font_config=fonts,
            )
        )
    page = HTML(string=source.html, base_url=BASE, url_fetcher=fetcher)
    return page.render(stylesheets=sheets, font_config=fonts)


@functools.cache
def _fetcher() -> Any:
    from weasyprint.urls import URLFetcher, URLFetcherResponse  # noqa: PLC0415

    class OurFiles(URLFetcher):  # type: ignore[misc]
        """Serves static files and inline data; refuses every other address."""

        def fetch(self, url: str, headers: Any = None) -> Any:
            if url.startswith("data:"):
                return super().fetch(url, headers)
            where = f"{BASE}{settings.STATIC_URL}"
            if not url.startswith(where):
                raise NotOurFileError(f"A print may not fetch {url}")
            name = unquote(urlsplit(url).path).removeprefix(settings.STATIC_URL)
            kind = mimetypes.guess_type(name)[0] or "application/octet-stream"
            return URLFetcherResponse(url, static_file(name).read_bytes(), {"Content-Type": kind})

    return OurFiles(allowed_protocols=["data"])
