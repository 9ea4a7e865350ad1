"""A real PostgreSQL for the whole run; every test connects as the restricted role."""

import gc
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core import mail
from django.core.cache import cache
from django.core.mail import EmailMessage
from django.db import connections
from hypothesis import settings as hypothesis_settings
from pytest_django.plugin import DjangoDbBlocker

from clubsetup.printing import render, work
from clubsetup.runtime.embedded import Embedded
from clubsetup.runtime.libraries import prints_wait_for
from clubsetup.runtime.passwords import SUPERUSER
from tests.clocks import let_no_limit_end, let_tests_set_the_database_clock
from tests.examples import register_profiles
from tests.figures import Figures
from tests.guards.world import WORLD_DATABASE, World, standing_world
from tests.here import need_prints
from tests.made_once import MadeOnce
from tests.migrated import (
    copy_database,
    copy_migrated_server,
    folder_of_run,
    point_connections_at,
)
from tests.owner import let_tests_act_as_the_owner
from tests.people import People
from tests.rows import let_tests_put_rows_back
from tests.standing_people import make_standing_people, standing_people

Capture = Callable[..., AbstractContextManager[Any]]

# What a test has that needs a database, a browser or processes of its own.
SLOW_FIXTURES = {"db", "transactional_db", "django_db_setup", "embedded"}
SLOW_MARKS = ("django_db", "browser", "servers")
# Files that take long for what they are: services of their own, a browser, prints looked at, the
# doubt of a calibration simulated. Half a minute and more each, or of a kind that does.
LONG_FOLDERS = {"benchmarks", "browser", "printing", "runtime"}
LONG_FILES = {
    *("test_blocks.py", "test_calibration_simulated.py", "test_label_places.py"),
    *("test_laying_down.py", "test_pictures.py", "test_privacy.py"),
}
# Of the long ones those that begin: nobody waits for anybody while one worker makes the databases.
FIRST_FILES = {"test_blocks.py", "test_calibration_simulated.py"}
# Nothing but Python, and much of it: four seconds and more for one test.
SLOW_FILES = {
    *("test_chassis_reference.py", "test_helped_simulated.py", "test_quantity_round_trip.py"),
}

# A run starts some sixty processes; each compiles everything anew where the shell says not to
# keep what is compiled.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

register_profiles()


def pytest_configure(config: pytest.Config) -> None:
    """Counts what is tried against the walls; the fast tests alone try fewer examples."""
    folder_of_run()
    config.pluginmanager.register(Figures(), "figures")
    if config.option.markexpr == "fast" and not config.getoption("--hypothesis-profile", None):
        hypothesis_settings.load_profile("fast")


def _is_long(item: pytest.Item) -> bool:
    room = item.path.relative_to(Path(__file__).parent).parts[0]
    return room in LONG_FOLDERS or item.path.name in LONG_FILES


def _is_fast(item: pytest.Item) -> bool:
    needs = SLOW_FIXTURES.intersection(getattr(item, "fixturenames", ()))
    marked = any(item.get_closest_marker(mark) for mark in SLOW_MARKS)
    return not (needs or marked or _is_long(item) or item.path.name in SLOW_FILES)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Marks what is fast and what takes long, before `-m` chooses.

    The long files begin, so that no worker is left with one while the others have nothing to do.
    """
    for item in items:
        if _is_long(item):
            item.add_marker("long")
        elif _is_fast(item):
            item.add_marker("fast")
    items.sort(key=lambda item: (item.path.name not in FIRST_FILES, not _is_long(item)))


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Iterator[None]:
    """All that is collected stays to the end of the run, so the collector of garbage leaves it
    alone; looking through it again and again took more than half of the time."""
    gc.disable()
    try:
        return (yield)
    finally:
        gc.collect()
        gc.freeze()
        gc.enable()


@pytest.fixture(scope="session")
def embedded() -> Iterator[Embedded]:
    """The server of this process, in its own data folder, with a migrated database."""
    folder = Path(settings.DATA_DIR) / "database"
    copy_migrated_server(folder)
    server = Embedded(folder)
    yield server
    server.stop()
    shutil.rmtree(settings.DATA_DIR, ignore_errors=True)


@pytest.fixture(scope="session")
def django_db_setup(embedded: Embedded, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """Two copies, the tests' and the guards'; the tests use `default`, the restricted role."""
    copy_database(embedded, "tests")
    with django_db_blocker.unblock():
        point_connections_at(embedded.prepare("tests"))
        let_tests_set_the_database_clock()
        let_tests_act_as_the_owner()
        let_tests_put_rows_back(embedded.url("tests", SUPERUSER))
        connections.close_all()
        copy_database(embedded, WORLD_DATABASE, "tests")
        make_standing_people()
    yield
    with django_db_blocker.unblock():
        connections.close_all()


@pytest.fixture(autouse=True)
def _no_limit_carries_over_or_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    cache.clear()
    let_no_limit_end(monkeypatch)


@pytest.fixture(autouse=True)
def _a_print_needs_its_library(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there is none, a test that comes to make a print is skipped there, and says so."""
    if not prints_wait_for():
        return
    for made_by in (work, render):
        for name in {"make_print", "render"} & set(vars(made_by)):
            monkeypatch.setattr(made_by, name, lambda *_: need_prints())
    monkeypatch.setattr(render.Source, "digest", lambda _: need_prints())


@pytest.fixture
def people(db: None) -> People:
    """Two clubs with everybody in them; see tests/people.py."""
    return standing_people()


@pytest.fixture(scope="session")
def once(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Callable[..., MadeOnce[Any]]:
    """For a fixture of a module or of the session: see tests/made_once.py."""

    def made(make: Callable[..., Any], *on: MadeOnce[Any]) -> MadeOnce[Any]:
        with django_db_blocker.unblock():
            return MadeOnce(make, *on)

    return made


@pytest.fixture(scope="module")
def world(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[World]:
    """A row of everything; see tests/guards/world.py."""
    with django_db_blocker.unblock(), standing_world() as made:
        yield made


@pytest.fixture
def mail_is_on(settings: Any) -> None:
    """As where EMAIL_HOST is given."""
    settings.MAIL_IS_SET_UP = True
    settings.ACCOUNT_EMAIL_VERIFICATION = "mandatory"


@pytest.fixture
def letters(
    mail_is_on: None, django_capture_on_commit_callbacks: Capture
) -> Callable[[Callable[[], Any]], list[EmailMessage]]:
    """The letters that come of doing something."""

    def of(do: Callable[[], Any]) -> list[EmailMessage]:
        mail.outbox.clear()
        with django_capture_on_commit_callbacks(execute=True):
            do()
        return list(mail.outbox)

    return of
