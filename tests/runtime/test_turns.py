"""Requests of one web process: one computes, the others wait without holding it up."""

from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from threading import Event, Thread
from typing import Any

import pytest

from clubsetup.runtime import turns
from clubsetup.runtime.turns import TakeTurns

LONG = 30.0  # s; nothing waits so long unless it is broken


class Page:
    """An application whose first request stays until it is let go."""

    def __init__(self) -> None:
        self.began, self.go = Event(), Event()
        self.came: list[bytes] = []

    def __call__(self, environ: dict[str, Any], _: Any) -> list[bytes]:
        self.came.append(environ["wsgi.input"].read())
        if len(self.came) == 1:
            self.began.set()
            assert self.go.wait(LONG)
        return [b"done"]


class SlowBody:
    """What a phone sends over a bad line."""

    def __init__(self) -> None:
        self.reading, self.arrives = Event(), Event()

    def read(self, _: int) -> bytes:
        self.reading.set()
        assert self.arrives.wait(LONG)
        return b"slow"


def _sent(body: Any, length: int) -> dict[str, Any]:
    return {"wsgi.input": body, "CONTENT_LENGTH": str(length)}


@contextmanager
def _asked(app: TakeTurns, environ: dict[str, Any]) -> Iterator[Thread]:
    thread = Thread(target=lambda: list(app(environ, None)), daemon=True)
    thread.start()
    yield thread
    thread.join(LONG)
    assert not thread.is_alive()


def test_a_second_request_waits_for_the_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(turns, "LONGEST_WAIT", LONG)
    page = Page()
    app = TakeTurns(page, 100)
    with _asked(app, _sent(BytesIO(b"one"), 3)):
        assert page.began.wait(LONG)
        read = BytesIO(b"two")
        with _asked(app, _sent(read, 3)):
            assert page.came == [b"one"]
            page.go.set()
    assert page.came == [b"one", b"two"]


def test_whoever_has_waited_long_goes_on_beside(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(turns, "LONGEST_WAIT", 0.01)
    page = Page()
    app = TakeTurns(page, 100)
    with _asked(app, _sent(BytesIO(b"one"), 3)):
        assert page.began.wait(LONG)
        assert list(app(_sent(BytesIO(b"two"), 3), None)) == [b"done"]
        page.go.set()
    # A turn that was never had is not given back: the next one waits again.
    assert app.turn.acquire(blocking=False)


def test_what_still_comes_in_has_no_turn() -> None:
    page, slow = Page(), SlowBody()
    page.go.set()
    app = TakeTurns(page, 100)
    with _asked(app, _sent(slow, 4)):
        assert slow.reading.wait(LONG)
        assert list(app(_sent(BytesIO(b"quick"), 5), None)) == [b"done"]
        slow.arrives.set()
    assert page.came == [b"quick", b"slow"]


@pytest.mark.parametrize("length", ["101", "9" * 19, "x", "-1", ""])
def test_too_much_is_left_for_the_application_to_refuse(length: str) -> None:
    page, body = Page(), BytesIO(b"much")
    page.go.set()
    environ = {"wsgi.input": body, "CONTENT_LENGTH": length}
    list(TakeTurns(page, 100)(environ, None))
    assert environ["wsgi.input"] is body


def test_a_turn_ends_with_an_error() -> None:
    def breaks(*_: Any) -> list[bytes]:
        raise RuntimeError

    app = TakeTurns(breaks, 100)
    with pytest.raises(RuntimeError):
        app(_sent(BytesIO(), 0), None)
    assert app.turn.acquire(blocking=False)


def test_half_a_form_is_no_form() -> None:
    """A phone that loses its line: what came of the laps so far would read like all of them."""
    page, said = Page(), []
    app = TakeTurns(page, 100)
    environ = _sent(BytesIO(b"laps=7.41+7.52"), 40)
    assert list(app(environ, lambda status, _: said.append(status))) == []
    assert said == ["400 Bad Request"]
    assert page.came == []
    assert app.turn.acquire(blocking=False)
