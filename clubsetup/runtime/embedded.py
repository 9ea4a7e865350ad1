"""The embedded PostgreSQL: a real server from a wheel, in the data folder, on a socket.

Its socket lies in its own folder, which only the user who started it may enter, and it takes no
connection without a password (clubsetup/runtime/passwords.py).
"""

import os
import time
from pathlib import Path

import psutil
import psycopg
from psycopg import sql

from clubsetup.runtime import postgres
from clubsetup.runtime.addresses import EMBEDDED_OWNER, embedded_url
from clubsetup.runtime.passwords import SUPERUSER, draw_passwords, password_file, password_of
from clubsetup.runtime.postgres import EmbeddedError
from clubsetup.runtime.roles import close_to_everybody, ensure_app_role

# A socket's path holds at most 107 bytes on Linux, and PostgreSQL adds its own name.
LONGEST_FOLDER = 107 - len("/.s.PGSQL.5432")
# A server that was killed in the middle of much work replays it before it answers.
SECONDS_TO_RECOVER = 300
SECONDS_TO_HEAR = 30


class Embedded:
    """One running server. A killed one is found and recovered on the next start."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()
        if len(os.fsencode(self.folder)) > LONGEST_FOLDER:
            raise EmbeddedError(
                f"The database's folder has too long a name for its socket: {self.folder}. "
                "Set CLUBSETUP_DATA to a shorter one, such as /srv/clubsetup."
            )
        self.folder.parent.mkdir(parents=True, exist_ok=True)
        postgres.make(self.folder)
        self.start_again()

    def url(self, database: str, user: str = EMBEDDED_OWNER) -> str:
        """The address of a database on this server."""
        return embedded_url(self.folder, database, user)

    def prepare(self, database: str = "clubsetup") -> str:
        """Makes owner, restricted role and database where missing; the owner's address."""
        admin = self.url("postgres", SUPERUSER)
        owner = sql.Identifier(EMBEDDED_OWNER)
        with psycopg.connect(admin, autocommit=True) as connection:
            if not _there(connection, "pg_roles WHERE rolname", EMBEDDED_OWNER):
                connection.execute(sql.SQL("CREATE ROLE {} LOGIN").format(owner))
            _set_password(connection, self.folder, EMBEDDED_OWNER)
            if not _there(connection, "pg_database WHERE datname", database):
                make = sql.SQL("CREATE DATABASE {} OWNER {}")
                connection.execute(make.format(sql.Identifier(database), owner))
            for other in ("postgres", "template1"):
                connection.execute(f"REVOKE CONNECT ON DATABASE {other} FROM PUBLIC")
        ensure_app_role(admin)
        close_to_everybody(self.url(database, SUPERUSER))
        return self.url(database)

    def is_running(self) -> bool:
        """Whether its process lives; one that ended and was not buried does not."""
        return _leader(self.folder) is not None

    def start_again(self) -> None:
        """After it was killed: waits for what is left of it, and recovers what was committed."""
        _settle(self.folder)
        if not self.is_running():
            postgres.start(self.folder, SECONDS_TO_RECOVER)
        if postgres.trusts(self.folder) or not password_file(self.folder).exists():
            self._ask_for_passwords()

    def _ask_for_passwords(self) -> None:
        """A folder of before there were any, or one whose file was lost, gets them."""
        postgres.ask_how(self.folder, "trust")
        draw_passwords(self.folder)
        with _first_connection(self.folder) as connection:
            for name in (SUPERUSER, EMBEDDED_OWNER):
                if _there(connection, "pg_roles WHERE rolname", name):
                    _set_password(connection, self.folder, name)
        postgres.ask_how(self.folder, "scram-sha-256")

    def stop(self) -> None:
        """Stops the server after its last transaction."""
        if self.is_running():
            postgres.stop(self.folder)


def _there(connection: psycopg.Connection, where: str, name: str) -> bool:
    query = sql.SQL(f"SELECT 1 FROM {where} = %s")  # noqa: S608  # our own words
    return connection.execute(query, [name]).fetchone() is not None


def _set_password(connection: psycopg.Connection, folder: Path, name: str) -> None:
    # Only what the server keeps is sent, so that its log can tell nobody the password.
    secret = connection.pgconn.encrypt_password(
        password_of(folder, name).encode(), name.encode(), b"scram-sha-256"
    )
    change = sql.SQL("ALTER ROLE {} PASSWORD {}")
    connection.execute(change.format(sql.Identifier(name), sql.Literal(secret.decode())))


def _first_connection(folder: Path) -> psycopg.Connection:
    """Waits until the server has heard that it is to trust its folder for a moment."""
    end = time.monotonic() + SECONDS_TO_HEAR
    while True:
        try:
            return psycopg.connect(
                host=str(folder), user=SUPERUSER, dbname="postgres", autocommit=True
            )
        except psycopg.OperationalError:
            if time.monotonic() > end:
                raise
            time.sleep(0.05)


def _settle(folder: Path) -> None:
    """Waits until the folder has either a server that answers or nothing left of a killed one.

    The process id in `postmaster.pid` may by now be any other process's, after a power cut say,
    or a dead one's that nobody has buried, in a container say. It is believed only while a
    PostgreSQL process works in this folder.
    """
    end = time.monotonic() + SECONDS_TO_RECOVER
    while processes := _processes(folder):
        if _leader(folder, ready=True):
            return
        if time.monotonic() > end:
            raise EmbeddedError(
                f"PostgreSQL processes {', '.join(processes)} hold {folder} and do not answer. "
                "See the file `log` in it; end them and start again."
            )
        time.sleep(0.1)
    # Nothing of it lives: both of its notes name a process that is gone.
    for leftover in (folder / "postmaster.pid", folder / ".s.PGSQL.5432.lock"):
        leftover.unlink(missing_ok=True)


def _leader(folder: Path, *, ready: bool = False) -> psutil.Process | None:
    """The process that the folder's note names, if it lives and is this folder's server."""
    try:
        lines = (folder / "postmaster.pid").read_text().split("\n")
        process = psutil.Process(int(lines[0]))
        ours = process.name() == "postgres" and process.cwd() == str(folder)
        lives = ours and process.status() != psutil.STATUS_ZOMBIE
    except (FileNotFoundError, ValueError, psutil.Error):
        return None
    is_ready = len(lines) >= 8 and lines[7].strip() == "ready"
    return process if lives and (is_ready or not ready) else None


def _processes(folder: Path) -> list[str]:
    processes = []
    for process in psutil.process_iter(["pid", "name", "cwd"]):
        if process.info["name"] == "postgres" and process.info["cwd"] == str(folder):
            processes.append(str(process.info["pid"]))
    return processes
