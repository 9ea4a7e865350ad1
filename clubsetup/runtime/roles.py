"""The restricted role: made by whoever may make roles, owns nothing, cannot bypass row security."""

import psycopg
from psycopg import sql

from clubsetup.runtime.addresses import APP_ROLE, app_password

LIMITS = "NOSUPERUSER NOBYPASSRLS NOCREATEDB NOCREATEROLE NOREPLICATION "
# What a session of the service never needs. It may loosen these itself; they stop what runs away.
SETTINGS = {
    "statement_timeout": "60s",
    "lock_timeout": "30s",
    "idle_in_transaction_session_timeout": "5min",
}
# Only a superuser sets these, and the role cannot loosen them: what its sessions run is not shown
# to its other sessions (the service writes values into its statements), and what one sorts on the
# disk has a bound.
SETTINGS_OF_SUPERUSERS = {"track_activities": "off", "temp_file_limit": "1GB"}
KEPT_FOR_OTHERS = 10  # connections that the role leaves to the owner and administrators
# Functions that everybody may call and the service does not: to sleep, to end others' statements,
# to see what they run, to signal, to lock by number (but the one it locks with), large objects.
NOT_FOR_EVERYBODY = """
  SELECT oid::regprocedure::text FROM pg_proc WHERE pronamespace = 'pg_catalog'::regnamespace
  AND (proname IN ('pg_sleep', 'pg_sleep_for', 'pg_sleep_until', 'pg_cancel_backend',
      'pg_terminate_backend', 'pg_stat_get_activity', 'pg_stat_get_backend_activity', 'pg_notify',
      'loread', 'lowrite')
    OR proname LIKE 'lo\\_%' OR proname LIKE 'pg\\_%advisory%')
  AND oid <> 'pg_advisory_xact_lock(bigint)'::regprocedure
"""
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
                _set_limits(connection, role)
        except psycopg.errors.InsufficientPrivilege:
            may = None
        if not there and not may:
            raise RoleMissing(
                f"The database has no role {name}, and the owner may not make one. Let an "
                f"administrator run: CREATE ROLE {name} LOGIN PASSWORD '...'; "
                "and set DATABASE_APP_URL."
            )
        check_limits(connection, name)


def _set_limits(connection: psycopg.Connection, role: sql.Identifier) -> None:
    # First away with what the role may have set for itself.
    connection.execute(sql.SQL("ALTER ROLE {} RESET ALL").format(role))
    most = connection.execute(
        "SELECT greatest(current_setting('max_connections')::int - %s, 1)", [KEPT_FOR_OTHERS]
    ).fetchone()
    limit = sql.SQL("ALTER ROLE {} CONNECTION LIMIT {}")
    connection.execute(limit.format(role, sql.Literal(most[0] if most else 1)))
    settings = {**SETTINGS, **(SETTINGS_OF_SUPERUSERS if _is_superuser(connection) else {})}
    for name, value in settings.items():
        change = sql.SQL("ALTER ROLE {} SET {} = {}")
        connection.execute(change.format(role, sql.Identifier(name), sql.Literal(value)))


def _is_superuser(connection: psycopg.Connection) -> bool:
    row = connection.execute(
        "SELECT rolsuper FROM pg_roles WHERE rolname = current_user"
    ).fetchone()
    return bool(row and row[0])


def close_to_everybody(url: str) -> None:
    """Takes from everybody, in this database, what nobody here uses; as a superuser only."""
    with psycopg.connect(url, autocommit=True) as connection:
        if not _is_superuser(connection):
            return
        for (function,) in connection.execute(NOT_FOR_EVERYBODY).fetchall():
            connection.execute(f"REVOKE EXECUTE ON FUNCTION pg_catalog.{function} FROM PUBLIC")
        connection.execute("REVOKE SELECT ON pg_stat_activity FROM PUBLIC")


def check_limits(connection: psycopg.Connection, name: str) -> None:
    """Refuses a role that could see past the policies."""
    row = connection.execute(
        "SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = %s", [name]
    ).fetchone()
    if row and row[0]:
        raise RoleMissing(
            f"The role {name} may bypass row security; the service will not run as it."
        )
