"""A test database that outlives the run, so that the next one need not make it again.

With CLUBSETUP_TEST_DATABASE_KEPT=folder the server in that folder is started or found running, is
left running, and is migrated only where something that the database is made of has changed since.
It serves one process at a time (`-n 0`). Stop it with the folder's own `postgres` process; throwing
the folder away then loses nothing.
"""

import hashlib
import os
from pathlib import Path

import psycopg
import pytest
from psycopg import sql

from clubsetup.runtime.embedded import Embedded
from clubsetup.runtime.passwords import SUPERUSER

VARIABLE = "CLUBSETUP_TEST_DATABASE_KEPT"
HOUSE = Path(__file__).resolve().parent.parent
APPS = ("clubsetup", "teams", "cars", "events")
MADE_OF = (
    *("fixtures/catalogue.json", "clubsetup/runtime/roles.py", "clubsetup/runtime/passwords.py"),
    *("tests/clocks.py", "tests/owner.py"),
)


def kept_folder() -> Path | None:
    """Where it is kept; None where each run makes its own."""
    named = os.environ.get(VARIABLE)
    if not named:
        return None
    if "PYTEST_XDIST_WORKER" in os.environ:
        raise pytest.UsageError(f"{VARIABLE} serves one process: run with -n 0")
    return Path(named).resolve()


def is_made(folder: Path) -> bool:
    """Whether the database in the folder was made of what stands in the files now."""
    stamp = _stamp(folder)
    return stamp.exists() and stamp.read_text() == _digest()


def say_made(folder: Path) -> None:
    """Everything in it is there."""
    _stamp(folder).write_text(_digest())


def drop_databases(server: Embedded, *names: str) -> None:
    """What an earlier run made of other files, or did not finish making."""
    _stamp(server.folder).unlink(missing_ok=True)
    with psycopg.connect(server.url("postgres", SUPERUSER), autocommit=True) as there:
        for name in names:
            drop = sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)")
            there.execute(drop.format(sql.Identifier(name)))


def _stamp(folder: Path) -> Path:
    return folder.with_name(f"{folder.name}.made-of")


def _digest() -> str:
    files = [HOUSE / name for name in MADE_OF]
    for app in APPS:
        files += sorted((HOUSE / app).rglob("migrations/*.py"))
    return hashlib.sha256(b"\n".join(file.read_bytes() for file in files)).hexdigest()
