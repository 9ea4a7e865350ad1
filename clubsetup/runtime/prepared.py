"""How many prepared statements a connection keeps, so that plans outlive the pages between them.

The driver forgets the one used longest ago, and what it has forgotten it counts from nothing: with
the usual hundred a mix of a dozen pages, each with statements of its own, would have none prepared.
"""

from typing import Any

import psycopg
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.signals import connection_created

MOST_PREPARED = 500


def keep_more(connection: BaseDatabaseWrapper, **_: Any) -> None:
    """On a connection that was just made."""
    if isinstance(connection.connection, psycopg.Connection):
        connection.connection.prepared_max = MOST_PREPARED


def connect() -> None:
    """To every connection that is made."""
    connection_created.connect(keep_more, dispatch_uid="prepared statements")
