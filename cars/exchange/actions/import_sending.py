"""Ringing the worker's bell for an import. The row is what counts: a lost id is sent again."""

import logging
from uuid import UUID

from django.conf import settings
from django.db import connection

from clubsetup.celery import app
from clubsetup.printing.sending import ONCE_MORE

logger = logging.getLogger(__name__)
TASK = "bring_in"
KEPT_DAYS = 7  # of a draft that nobody confirms


def send(pk: UUID) -> bool:
    """Sends an import's id to the worker; False, and a line in the log, where no broker answers."""
    try:
        app.send_task(TASK, (str(pk),), retry=True, retry_policy=ONCE_MORE)
    # Every transport has errors of its own, and none of them may fail the request that asked.
    except Exception as problem:
        logger.warning("import %s not sent, will be sent again: %s", pk, problem)
        return False
    return True


def send_unheld_imports() -> int:
    """Sends again what nobody works on; how many."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.take_unheld_imports(%s)", [settings.PRINT_RESEND_SECONDS])
        ids = [row[0] for row in cursor.fetchall()]
    return sum(send(pk) for pk in ids)


def drop_old_drafts() -> int:
    """Drops the drafts that nobody confirmed, with their cells; how many."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.drop_old_imports(%s)", [KEPT_DAYS])
        (dropped,) = cursor.fetchone()
    return int(dropped)


SENT_AGAIN = [send_unheld_imports, drop_old_drafts]
