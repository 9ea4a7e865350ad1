"""A migrated database, made once for a whole run; everything that needs one starts from a copy.

Migrating an empty database takes longer than anything else that a test waits for. It lies in a
folder of the run's own; with CLUBSETUP_TEST_DATABASE_KEPT=folder in that one, where the next run
finds it, and makes it anew only where a migration or the catalogue is another.
"""

import atexit
import fcntl
import hashlib
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
from psycopg import sql

from clubsetup.runtime.addresses import EMBEDDED_OWNER
from clubsetup.runtime.embedded import Embedded
from clubsetup.runtime.passwords import SUPERUSER, password_file

VARIABLE = "CLUBSETUP_TEST_DATABASE_KEPT"
MIGRATED = "clubsetup"  # the database's name in every copy
HOUSE = Path(__file__).resolve().parent.parent
APPS = ("clubsetup", "teams", "cars", "events")
MADE_OF = (
    *("fixtures/catalogue.json", "clubsetup/runtime/roles.py", "clubsetup/runtime/passwords.py"),
    "uv.lock",
)


def folder_of_run() -> Path:
    """Where it lies. Whoever asks first makes it; workers and commands inherit its name."""
    if VARIABLE not in os.environ:
        os.environ[VARIABLE] = tempfile.mkdtemp(prefix="clubsetup-migrated-")
        atexit.register(shutil.rmtree, os.environ[VARIABLE], ignore_errors=True)
    return Path(os.environ[VARIABLE]).resolve()


def copy_migrated_server(to: Path) -> None:
    """Puts a server there that is stopped, has the database MIGRATED and keeps its passwords."""
    with _made_server() as made:
        to.parent.mkdir(parents=True, exist_ok=True)
        # Its owner too, as whom the server runs where the tests run as root.
        for source, copy in ((made, to), (password_file(made), password_file(to))):
            subprocess.run(["cp", "-a", source, copy], check=True)


def copy_database(server: Embedded, name: str, source: str = MIGRATED) -> None:
    """Another database on a server, as the source stands, to which nobody is connected."""
    words = {"name": sql.Identifier(name), "source": sql.Identifier(source)}
    owner = sql.Identifier(EMBEDDED_OWNER)
    with psycopg.connect(server.url("postgres", SUPERUSER), autocommit=True) as there:
        make = sql.SQL("CREATE DATABASE {name} TEMPLATE {source} OWNER {owner}")
        there.execute(make.format(owner=owner, **words))
        # What is granted on a database is not copied with it.
        close = sql.SQL("REVOKE CREATE, TEMPORARY ON DATABASE {name} FROM PUBLIC")
        there.execute(close.format(**words))


@contextmanager
def _made_server() -> Iterator[Path]:
    """The folder of the server, which one process at a time makes or copies."""
    folder = folder_of_run()
    folder.mkdir(parents=True, exist_ok=True)
    server = folder / "database"
    with (folder / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not is_made(server):
            _make(server)
            say_made(server)
        yield server


def _make(folder: Path) -> None:
    shutil.rmtree(folder, ignore_errors=True)
    password_file(folder).unlink(missing_ok=True)
    server = Embedded(folder)
    env = {
        **os.environ,
        "CLUBSETUP_DATA": str(folder.parent),
        "DATABASE_URL": server.prepare(MIGRATED),
        "DJANGO_SETTINGS_MODULE": "clubsetup.settings",
    }
    env.pop("DATABASE_APP_URL", None)
    command = [sys.executable, "manage.py", "migrate", "-v0"]
    try:
        subprocess.run(command, cwd=HOUSE, env=env, check=True)
    finally:
        server.stop()


def is_made(folder: Path) -> bool:
    """Whether the server in the folder was made of what stands in the files now."""
    stamp = _stamp(folder)
    return stamp.exists() and stamp.read_text() == _digest()


def say_made(folder: Path) -> None:
    """Everything in it is there."""
    _stamp(folder).write_text(_digest())


def _stamp(folder: Path) -> Path:
    return folder.with_name(f"{folder.name}.made-of")


def _digest() -> str:
    files = [HOUSE / name for name in MADE_OF]
    for app in APPS:
        files += sorted((HOUSE / app).rglob("migrations/*.py"))
    return hashlib.sha256(b"\n".join(file.read_bytes() for file in files)).hexdigest()
