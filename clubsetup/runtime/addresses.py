"""Where the database and the broker are, from the environment or from the embedded ones.

`DATABASE_URL` is the owner's address: it makes and migrates the tables and nothing else.
Everything that serves people connects as a role that owns nothing (`APP_ROLE`). Its address is
`DATABASE_APP_URL`, or the owner's with that role and a password derived from the secret key.
"""

import hashlib
import hmac
import os
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlsplit

import dj_database_url

from clubsetup.runtime.folder import data_folder, secret_key
from clubsetup.runtime.passwords import OWNER, password_file

EMBEDDED_OWNER = OWNER
APP_ROLE = os.environ.get("CLUBSETUP_APP_ROLE", "clubsetup_app")


def app_password() -> str:
    """The restricted role's password: derived, so that it is written down nowhere."""
    return hmac.new(secret_key().encode(), b"app role", hashlib.sha256).hexdigest()


def embedded_folder() -> Path:
    """Where the embedded server keeps its data and its socket."""
    return data_folder() / "database"


def embedded_url(folder: Path, database: str = "clubsetup", user: str = EMBEDDED_OWNER) -> str:
    """The address of a database on the embedded server of this folder; it names the file that
    has the password."""
    host, passwords = (quote(str(path), safe="") for path in (folder, password_file(folder)))
    return f"postgresql://{user}@{host}/{database}?passfile={passwords}"


def owner_url() -> str:
    """The owner's address: given, or the embedded server's in the data folder."""
    return os.environ.get("DATABASE_URL") or embedded_url(embedded_folder())


def app_url() -> str:
    """The restricted role's address on the same database."""
    if given := os.environ.get("DATABASE_APP_URL"):
        return given
    parts = urlsplit(owner_url())
    host = parts.netloc.rpartition("@")[2]
    return parts._replace(netloc=f"{APP_ROLE}:{app_password()}@{host}").geturl()


# What is asked more often than this on a connection is prepared there: with row security PostgreSQL
# takes longer to plan a small statement than to answer it. Values are then sent beside the
# statement and never within it.
PREPARED = {"server_side_binding": True, "prepare_threshold": 2}


def any_database(url: str) -> dict[str, Any]:
    return {
        **dj_database_url.parse(url),
        "CONN_MAX_AGE": 300,
        "CONN_HEALTH_CHECKS": True,
        "ATOMIC_REQUESTS": False,
    }


def restricted_database(url: str) -> dict[str, Any]:
    """Looks names up in `shown` first: what the restricted role is shown of people lies there.

    Without it the role would find the tables themselves, on which it has no rights at all.
    """
    database = any_database(url)
    given = database.get("OPTIONS", {})
    options = f"{given.get('options', '')} -c search_path=shown,public".strip()
    return {**database, "OPTIONS": {**PREPARED, **given, "options": options}}


def database_settings() -> dict[str, dict[str, Any]]:
    """Django's DATABASES."""
    return {
        "default": restricted_database(app_url()),
        # Another connection to the same, for what counts outside the request's transaction.
        "counts": restricted_database(app_url()),
        "owner": {**any_database(owner_url()), "CONN_MAX_AGE": 0},
    }


def queue_folder() -> Path:
    """The file queue's folder, readable by its owner alone; made if missing."""
    queue = data_folder() / "queue"
    queue.mkdir(mode=0o700, exist_ok=True)
    for name in ("in", "control", "taken"):
        (queue / name).mkdir(exist_ok=True)
    return queue


def broker_settings() -> dict[str, Any]:
    """Celery's broker: `CELERY_BROKER_URL`, or a queue of files in the data folder."""
    if given := os.environ.get("CELERY_BROKER_URL"):
        # A Redis that does not answer must not hold up a request; the sweeper comes back to it.
        quick = {"socket_connect_timeout": 2} if given.startswith(("redis", "valkey")) else {}
        return {"broker_url": given, "broker_transport_options": quick}
    queue = queue_folder()
    return {
        "broker_url": "filesystem://localhost/",
        "broker_transport": "clubsetup.runtime.file_queue:Transport",
        "broker_transport_options": {
            # One folder both ways: what the web process sends, the worker takes.
            "data_folder_in": str(queue / "in"),
            "data_folder_out": str(queue / "in"),
            "processed_folder": str(queue / "taken"),
            "control_folder": str(queue / "control"),
            "polling_interval": 0.1,
        },
    }
