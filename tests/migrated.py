"""A migrated database, made once for a whole run; everything that needs one starts from a copy.

Migrating an empty database takes longer than anything else that a test waits for; the demo that
the browser's tests look at is loaded once, too. They lie in a folder of the run's own; with
CLUBSETUP_TEST_DATABASE_KEPT=folder in that one, where the next run finds them, and makes them anew
only where what they are made of is another. The demo is the one without runs, which is as fast as
ever; with them it is another folder, made only where somebody asks for it.
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
from django.conf import settings
from django.db import connections
from psycopg import sql

from clubsetup.runtime import addresses
from clubsetup.runtime.addresses import EMBEDDED_OWNER
from clubsetup.runtime.embedded import Embedded
from clubsetup.runtime.passwords import SUPERUSER, password_file
from clubsetup.runtime.signing_key import store_signing_key

VARIABLE = "CLUBSETUP_TEST_DATABASE_KEPT"
MIGRATED = "clubsetup"  # the database's name in every copy
DEMO = "demo"
DEMO_WITH_RUNS = "demo-with-runs"
LOADS = {DEMO: ["load_demo", "--no-runs"], DEMO_WITH_RUNS: ["load_demo"]}
HOUSE = Path(__file__).resolve().parent.parent
APPS = ("clubsetup", "teams", "cars", "events")
MADE_OF = (
    *("fixtures/catalogue.json", "clubsetup/runtime/roles.py", "clubsetup/runtime/passwords.py"),
    *("tests/quick_passwords.py", "uv.lock"),
)

# manage.py, in a short life of which nothing is worth being looked for as garbage: migrating makes
# the models anew after each migration, and the collector took a third of that.
WITHOUT_COLLECTOR = (
    "import gc, sys; gc.disable(); from django.core.management import execute_from_command_line;"
    "execute_from_command_line(['manage.py', *sys.argv[1:]])"
)


def folder_of_run() -> Path:
    """Where it lies. Whoever asks first makes it; workers and commands inherit its name."""
    if VARIABLE not in os.environ:
        os.environ[VARIABLE] = tempfile.mkdtemp(prefix="clubsetup-migrated-")
        atexit.register(shutil.rmtree, os.environ[VARIABLE], ignore_errors=True)
    return Path(os.environ[VARIABLE]).resolve()


def copy_migrated_server(to: Path) -> None:
    """Puts a server there that is stopped, has the database MIGRATED and keeps its passwords."""
    with _locked() as folder:
        to.parent.mkdir(parents=True, exist_ok=True)
        _copy_server(_migrated(folder), to)


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


def copy_demo(to: Path, which: str = DEMO) -> None:
    """Puts a data folder there: a stopped server with the demo in MIGRATED, and static files."""
    make_demo(which)
    with _locked() as folder:
        subprocess.run(["cp", "-a", folder / which, to], check=True)


def make_demo(which: str) -> None:
    """Loads it where it is not there. Of several all are loaded before a process turns to one."""
    with _locked() as folder:
        demo = folder / which
        if not is_made(demo):
            _make_demo(_migrated(folder), demo)
            say_made(demo)


def point_connections_at(owner: str) -> None:
    """From here on all connections lead to this database; each process signs with its own key."""
    connections.close_all()
    os.environ["DATABASE_URL"] = owner
    os.environ.pop("DATABASE_APP_URL", None)
    for alias, there in (
        ("owner", addresses.any_database(owner)),
        ("default", addresses.restricted_database(addresses.app_url())),
        ("counts", addresses.restricted_database(addresses.app_url())),
    ):
        connections[alias].settings_dict.update(there)
    store_signing_key("owner")


@contextmanager
def _locked() -> Iterator[Path]:
    folder = folder_of_run()
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield folder


def _migrated(folder: Path) -> Path:
    server = folder / "database"
    if not is_made(server):
        shutil.rmtree(server, ignore_errors=True)
        password_file(server).unlink(missing_ok=True)
        _manage(folder, ["migrate", "-v0"])
        say_made(server)
    return server


def _make_demo(migrated: Path, demo: Path) -> None:
    shutil.rmtree(demo, ignore_errors=True)
    demo.mkdir()
    _copy_server(migrated, demo / "database")
    collect = ["collectstatic", "--noinput", "-v0"]
    _manage(demo, ["migrate", "-v0"], LOADS[demo.name], collect)


def _copy_server(source: Path, to: Path) -> None:
    # Its owner too, as whom the server runs where the tests run as root.
    for one, copy in ((source, to), (password_file(source), password_file(to))):
        subprocess.run(["cp", "-a", one, copy], check=True)


def _manage(data: Path, *commands: list[str]) -> None:
    """Runs commands with the server of a data folder, which is stopped afterwards."""
    server = Embedded(data / "database")
    try:
        env = service_env(data, server.prepare(MIGRATED))
        for command in commands:
            start = ["-c", WITHOUT_COLLECTOR] if command[0] == "migrate" else ["manage.py"]
            run = [sys.executable, *start, *command]
            subprocess.run(run, cwd=HOUSE, env=env, check=True)
    finally:
        server.stop()


def service_env(data: Path, owner: str) -> dict[str, str]:
    """The environment of the service itself, with this process's key."""
    env = {
        **os.environ,
        "CLUBSETUP_DATA": str(data),
        "DATABASE_URL": owner,
        "DJANGO_SETTINGS_MODULE": "tests.service_settings",
        "CLUBSETUP_LOOK": "1",
        # The restricted role's password comes from it, and this process set that.
        "SECRET_KEY": settings.SECRET_KEY,
    }
    env.pop("DATABASE_APP_URL", None)
    return env


def is_made(folder: Path) -> bool:
    """Whether what lies in the folder was made of what stands in the files now."""
    stamp = _stamp(folder)
    return stamp.exists() and stamp.read_text() == _digest(folder)


def say_made(folder: Path) -> None:
    """Everything in it is there."""
    _stamp(folder).write_text(_digest(folder))


def _stamp(folder: Path) -> Path:
    return folder.with_name(f"{folder.name}.made-of")


def _digest(folder: Path) -> str:
    """Of the migrations; for the demo of all that the service is, with its scripts and styles."""
    is_demo = folder.name in LOADS
    which = "*" if is_demo else "migrations/*.py"
    files = [HOUSE / name for name in MADE_OF]
    if is_demo:
        files += sorted((HOUSE / "fixtures" / "demo").glob("*.json"))
    for app in APPS:
        files += sorted(file for file in (HOUSE / app).rglob(which) if file.is_file())
    kept = (file for file in files if file.suffix != ".pyc")
    return hashlib.sha256(b"\n".join(file.read_bytes() for file in kept)).hexdigest()
