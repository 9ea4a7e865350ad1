"""`up --reload`: what is written in the house is served without anybody starting it again."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import psutil
import pytest

from clubsetup.runtime.code_changes import CodeChanges
from tests.runtime.service import HOUSE, Service, until


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """A copy to write in."""
    copy = tmp_path / "house"
    for room in ("clubsetup", "teams", "cars", "events", "fixtures"):
        shutil.copytree(HOUSE / room, copy / room, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(HOUSE / "manage.py", copy / "manage.py")
    return copy


@pytest.fixture
def service(house: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """Running from the copy; a short path, because the database's socket lies in it."""
    folder = tmp_path_factory.mktemp("re") / "data"
    service = Service(folder, house=house, DJANGO_SETTINGS_MODULE="clubsetup.settings")
    service.env.pop("PYTHONPATH", None)
    try:
        service.start("--reload")
        yield service
    finally:
        service.kill_everything()


def _write(path: Path, old: str, new: str) -> None:
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))


def _page(service: Service) -> str:
    try:
        return service.get("/accounts/login/").decode()
    except OSError:
        return ""


def _ids(parts: list[psutil.Process]) -> set[int]:
    return {part.pid for part in parts}


def test_what_is_written_is_served(service: Service, house: Path) -> None:
    assert "Sign in by the river" not in _page(service)
    workers = _ids(service.part("celery"))
    template = house / "clubsetup" / "templates" / "base.html"
    _write(template, "</body>", "<p>Sign in by the river</p></body>")
    until(lambda: "base.html changed; starting again." in service.said(), "what it says")
    until(lambda: "Sign in by the river" in _page(service), "the template")
    until(lambda: (now := _ids(service.part("celery"))) and not now & workers, "a new worker")

    wsgi = house / "clubsetup" / "wsgi.py"
    whole = wsgi.read_text()
    wsgi.write_text(whole + "\nthis is no Python\n")
    until(lambda: "The web server ended" in service.said(), "the server to fail")
    # It comes back by itself once the file is mended.
    wsgi.write_text(whole)
    _write(template, "Sign in by the river", "Sign in by the lake")
    until(lambda: "Sign in by the lake" in _page(service), "the mended server")
    assert service.interrupt() == 0


def test_it_sees_what_is_written_made_and_removed(tmp_path: Path) -> None:
    page = tmp_path / "cars" / "templates" / "page.html"
    page.parent.mkdir(parents=True)
    page.write_text("one")
    code = CodeChanges(tmp_path, seconds_between=0)
    assert not code.since_last_time()
    os.utime(page, (1, 1))
    assert code.since_last_time() == [page]
    assert not code.since_last_time()
    new = tmp_path / "teams" / "static" / "teams" / "new.css"
    new.parent.mkdir(parents=True)
    new.write_text("")
    assert new in code.since_last_time()
    page.unlink()
    assert code.since_last_time() == [page]
    (tmp_path / "notes.py").write_text("")
    (page.parent / "draft.html~").write_text("")
    assert not code.since_last_time()


def test_it_looks_once_an_hour_where_it_is_told_so(tmp_path: Path) -> None:
    code = CodeChanges(tmp_path, seconds_between=3600)
    (tmp_path / "cars").mkdir()
    (tmp_path / "cars" / "new.py").write_text("")
    assert not code.since_last_time()
