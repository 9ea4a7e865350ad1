"""Ringing the worker's bell. The row is what counts: an id that is lost here is sent again."""

import logging
from uuid import UUID

from django.conf import settings
from django.db import connection

logger = logging.getLogger(__name__)

# A connection that went stale is opened anew at once; a broker that is away is not waited for.
ONCE_MORE = {"max_retries": 1, "interval_start": 0, "interval_step": 0, "interval_max": 0}


def send(job_id: UUID) -> bool:
    """Sends a job's id to the worker; False, and a line in the log, where no broker answers."""
    from clubsetup.printing.tasks import make_print  # noqa: PLC0415  # needs the loaded apps

    try:
        make_print.apply_async((str(job_id),), retry=True, retry_policy=ONCE_MORE)
    # Every transport has errors of its own, and none of them may fail the request that asked.
    except Exception as problem:
        logger.warning("print %s not sent, will be sent again: %s", job_id, problem)
        return False
    return True


def send_unheld() -> int:
    """Sends again what nobody works on; how many."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.take_unheld_print_jobs(%s)", [settings.PRINT_RESEND_SECONDS])
        ids = [row[0] for row in cursor.fetchall()]
    return sum(send(job_id) for job_id in ids)
