"""The restricted role: made by whoever may make roles, owns nothing, cannot bypass row security."""

import psycopg
from psycopg import sql

from clubsetup.runtime.addresses import APP_ROLE, app_password

LIMITS = "NOSUPERUSER NOBYPASSRLS NOCREATEDB NOCREATEROLE NOREPLICATION "
MAY_MAKE_ROLES = (
    "SELECT 1 FROM pg_roles WHERE rolname = current_user AND (rolsuper OR rolcreaterole)"
)


class RoleMissing(Exception):
    """The restricted role is not there and this address may not make it."""


def ensure_app_role(url: str, *, name: str = APP_ROLE, password: str | None = None) -> None:
    """Makes the role, or brings its password up to date.

    Raises RoleMissing, saying what to run, where `url` may not make roles and there is none.
    """
    role, login = sql.Identifier(name), sql.SQL("LOGIN PASSWORD ")
    with psycopg.connect(url, autocommit=True) as connection:
        there = connection.execute("SELECT 1 FROM pg_roles WHERE rolname = %s", [name]).fetchone()
        may = connection.execute(MAY_MAKE_ROLES).fetchone()
        # Before PostgreSQL 16 only a superuser may even say NOSUPERUSER of a role that is there.
        start = sql.SQL("ALTER ROLE {} ") if there else sql.SQL("CREATE ROLE {} " + LIMITS)
        # Only what the server would keep is sent, so that its log can tell nobody the password.
        secret = connection.pgconn.encrypt_password(
            (password or app_password()).encode(), name.encode(), b"scram-sha-256"
        )
        try:
            if may:
                connection.execute(start.format(role) + login + sql.Literal(secret.decode()))
        except psycopg.errors.InsufficientPrivilege:
            may = None
        if not there and not may:
            raise RoleMissing(
                f"The database has no role {name}, and the owner may not make one. Let an "
                f"administrator run: CREATE ROLE {name} LOGIN PASSWORD '...'; "
                "and set DATABASE_APP_URL."
            )
        check_limits(connection, name)


def check_limits(connection: psycopg.Connection, name: str) -> None:
    """Refuses a role that could see past the policies."""
    row = connection.execute(
        "SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = %s", [name]
    ).fetchone()
    if row and row[0]:
        raise RoleMissing(
            f"The role {name} may bypass row security; the service will not run as it."
        )
