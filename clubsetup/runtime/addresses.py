"""Where the database and the broker are, from the environment or from the embedded ones.

`DATABASE_URL` is the owner's address: it makes and migrates the tables and nothing else.
Everything that serves people connects as a role that owns nothing (`APP_ROLE`). Its address is
`DATABASE_APP_URL`, or the owner's with that role and a password derived from the secret key.
"""

import hashlib
import hmac
import json
import os
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlsplit

import dj_database_url

from clubsetup.runtime.folder import data_folder, secret_key

APP_ROLE = os.environ.get("CLUBSETUP_APP_ROLE", "clubsetup_app")


def app_password() -> str:
    """The restricted role's password: derived, so that it is written down nowhere."""
    return hmac.new(secret_key().encode(), b"app role", hashlib.sha256).hexdigest()


def address_note() -> Path:
    """The file in which a running `up` notes the embedded database's address for other commands."""
    return data_folder() / "address.json"


def owner_url() -> str:
    """The owner's address: given, noted by a running `up`, or where the embedded one would be."""
    if given := os.environ.get("DATABASE_URL"):
        return given
    note = address_note()
    if note.exists():
        return str(json.loads(note.read_text())["owner"])
    socket = quote(str(data_folder() / "database"), safe="")
    return f"postgresql://postgres@{socket}/clubsetup"


def app_url() -> str:
    """The restricted role's address on the same database."""
    if given := os.environ.get("DATABASE_APP_URL"):
        return given
    parts = urlsplit(owner_url())
    host = parts.netloc.rpartition("@")[2]
    return parts._replace(netloc=f"{APP_ROLE}:{app_password()}@{host}").geturl()


def _database(url: str) -> dict[str, Any]:
    return {
        **dj_database_url.parse(url),
        "CONN_MAX_AGE": 300,
        "CONN_HEALTH_CHECKS": True,
        "ATOMIC_REQUESTS": False,
    }


def database_settings() -> dict[str, dict[str, Any]]:
    """Django's DATABASES."""
    return {"default": _database(app_url()), "owner": {**_database(owner_url()), "CONN_MAX_AGE": 0}}


def broker_settings() -> dict[str, Any]:
    """Celery's broker: `CELERY_BROKER_URL`, or a queue of files in the data folder."""
    if given := os.environ.get("CELERY_BROKER_URL"):
        return {"broker_url": given}
    queue = data_folder() / "queue"
    for name in ("in", "done", "control"):
        (queue / name).mkdir(parents=True, exist_ok=True)
    return {
        "broker_url": "filesystem://",
        "broker_transport_options": {
            # One folder both ways: what the web process sends, the worker takes.
            "data_folder_in": str(queue / "in"),
            "data_folder_out": str(queue / "in"),
            "processed_folder": str(queue / "done"),
            "control_folder": str(queue / "control"),
            "polling_interval": 0.1,
        },
    }
