"""From HTML to a file: nothing but our own files, and the same bytes from the same input."""

import io
import socket
import subprocess
import sys

import pytest
from django.test import override_settings
from pypdf import PdfReader

from clubsetup.printing.render import BASE, NotOurFileError, Source, _fetcher, render, static_file

HTML = '<html lang="en"><title>Card</title><h1>Card</h1><p>46 5/16</p></html>'
STYLES = ("print.css",)


def test_a_print_reaches_no_network_and_no_other_file() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.2)
        port = server.getsockname()[1]
        page = (
            f'<link rel="stylesheet" href="http://127.0.0.1:{port}/a.css">'
            f'<img src="http://127.0.0.1:{port}/a.png"><img src="file:///etc/hostname">'
            f'<p style="background: url(http://127.0.0.1:{port}/b.png)">still printed</p>'
        )
        made = render(Source(page, STYLES))
        with pytest.raises(TimeoutError):
            server.accept()
    assert made.pages == 1


@pytest.mark.parametrize(
    "address",
    [
        "http://example.org/",
        "https://example.org/static/print.css",
        "file:///etc/hostname",
        "ftp://example.org/x",
        f"{BASE}/prints/",
        f"{BASE}/static/no-such-file.css",
        f"{BASE}/static/../settings/safety.py",
        f"{BASE}/static/%2e%2e/settings/safety.py",
    ],
)
def test_any_other_address_is_refused(address: str) -> None:
    with pytest.raises(NotOurFileError):
        _fetcher().fetch(address)


def test_our_static_files_and_inline_data_are_served() -> None:
    sheet = _fetcher().fetch(f"{BASE}/static/print.css")
    assert sheet.content_type == "text/css"
    assert sheet.read() == static_file("print.css").read_bytes()
    assert _fetcher().fetch("data:text/plain,lead").read() == b"lead"


def test_what_it_is_made_from_names_it() -> None:
    plain = Source(HTML, STYLES).digest()
    assert plain == Source(HTML, STYLES).digest()
    assert plain != Source(HTML + " ", STYLES).digest()
    assert plain != Source(HTML, ()).digest()
    # Each part is counted with its length: moving text from one to the next is another input.
    assert Source("ab", ()).digest() != Source("a", ()).digest()
    with override_settings(PRINT_PAPER="A4"):
        assert plain != Source(HTML, STYLES).digest()


@pytest.mark.parametrize(("paper", "points"), [("letter", "612"), ("A4", "595")])
def test_the_paper_is_the_club_s(paper: str, points: str) -> None:
    with override_settings(PRINT_PAPER=paper):
        made = render(Source(HTML, STYLES))
    width = PdfReader(io.BytesIO(made.content)).pages[0].mediabox.width
    assert str(width).startswith(points)


def test_another_process_makes_the_same_bytes() -> None:
    code = (
        "import os, sys, hashlib, django; os.environ['DJANGO_SETTINGS_MODULE'] = 'tests.settings';"
        "django.setup(); from clubsetup.printing.render import Source, render;"
        f"print(hashlib.sha256(render(Source({HTML!r}, {STYLES!r})).content).hexdigest())"
    )
    run = [sys.executable, "-c", code]
    told = {subprocess.run(run, capture_output=True, check=True).stdout for _ in range(2)}
    assert len(told) == 1
    assert len(told.pop().strip()) == 64
