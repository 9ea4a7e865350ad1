"""The embedded server takes no connection without the password that stands in a file."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psycopg
import pytest

from clubsetup.runtime import postgres
from clubsetup.runtime.addresses import APP_ROLE, EMBEDDED_OWNER, app_password
from clubsetup.runtime.embedded import Embedded
from clubsetup.runtime.passwords import SUPERUSER, password_file

EVERYBODY = (SUPERUSER, EMBEDDED_OWNER, APP_ROLE)


@pytest.fixture
def folder(tmp_path: Path) -> Iterator[Path]:
    made = tmp_path / "database"
    yield made
    if (made / "postmaster.pid").exists():
        postgres.stop(made)


def refused_without_password(server: Embedded) -> bool:
    """Whoever may enter the folder is asked for a password, and a wrong one is no use."""
    for name in EVERYBODY:
        for password in (None, "postgres"):
            with pytest.raises(psycopg.OperationalError, match="password"):
                psycopg.connect(
                    host=str(server.folder),
                    user=name,
                    dbname="postgres",
                    passfile="",
                    password=password,
                )
    return True


def test_the_role_has_one_database(folder: Path) -> None:
    server = Embedded(folder)
    owner = server.prepare()
    role: dict[str, Any] = {"user": APP_ROLE, "password": app_password()}
    with psycopg.connect(owner, **role) as connection:
        assert connection.execute("SELECT current_user").fetchone() == (APP_ROLE,)
    for database in ("postgres", "template1"):
        with pytest.raises(psycopg.OperationalError, match="permission denied for database"):
            psycopg.connect(owner, dbname=database, **role)


def test_a_new_folder_asks_everybody_for_a_password(folder: Path) -> None:
    server = Embedded(folder)
    owner = server.prepare()
    assert refused_without_password(server)
    passwords = password_file(folder)
    assert passwords.stat().st_mode & 0o777 == 0o600
    assert passwords.stat().st_uid == os.geteuid()
    with psycopg.connect(owner) as connection:
        assert connection.execute("SELECT current_user").fetchone() == (EMBEDDED_OWNER,)
    for line in passwords.read_text().splitlines():
        assert line.rpartition(":")[2] not in owner
        assert line.rpartition(":")[2] not in (folder / "log").read_text()


@pytest.mark.parametrize("running", [False, True])
def test_a_folder_of_before_is_closed_at_the_next_start(folder: Path, running: bool) -> None:
    server = Embedded(folder)
    with psycopg.connect(server.prepare()) as connection:
        connection.execute("CREATE TABLE kept AS SELECT 7 AS seven")
    # As it was: whoever enters the folder is let in, and there is no file.
    postgres.ask_how(folder, "trust")
    password_file(folder).unlink()
    if not running:
        server.stop()
    again = Embedded(folder)
    with psycopg.connect(again.prepare()) as connection:
        assert connection.execute("SELECT seven FROM kept").fetchone() == (7,)
    assert not postgres.trusts(folder)
    assert refused_without_password(again)


def test_passwords_that_were_lost_are_drawn_anew(folder: Path) -> None:
    server = Embedded(folder)
    server.prepare()
    before = password_file(folder).read_text()
    password_file(folder).unlink()
    server.stop()
    again = Embedded(folder)
    with psycopg.connect(again.prepare()) as connection:
        assert connection.execute("SELECT 1").fetchone() == (1,)
    assert password_file(folder).read_text() != before
    assert refused_without_password(again)
