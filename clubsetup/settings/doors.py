"""The doors to other processes: database, broker, mail."""

import os
from typing import Any

from django.core.exceptions import ImproperlyConfigured

from clubsetup.runtime.addresses import broker_settings, database_settings

# `default` is the restricted role every request, task and test uses; `owner` runs migrations only.
DATABASES: dict[str, dict[str, Any]] = database_settings()

CELERY: dict[str, Any] = {
    **broker_settings(),
    "task_ignore_result": True,
    "task_acks_late": True,
    "task_reject_on_worker_lost": True,
    "worker_prefetch_multiplier": 1,
    "broker_connection_retry_on_startup": True,
    "worker_enable_remote_control": False,
    "task_serializer": "json",
    "accept_content": ["json"],
    "timezone": "UTC",
}
# Seconds a worker may hold a print before another may take it, seconds after which what nobody
# works on is sent again, and how often the sweeper looks.
PRINT_LEASE_SECONDS = int(os.environ.get("PRINT_LEASE_SECONDS", "60"))
PRINT_RESEND_SECONDS = int(os.environ.get("PRINT_RESEND_SECONDS", "20"))
PRINT_SWEEP_SECONDS = int(os.environ.get("PRINT_SWEEP_SECONDS", "5"))
PRINT_MOST_ATTEMPTS = 5
# Days for which a finished print is kept; asked for again after them it is made again. Records are
# not prints: they stay.
PRINT_KEEP_DAYS = int(os.environ.get("PRINT_KEEP_DAYS", "30"))
if PRINT_KEEP_DAYS < 1:
    raise ImproperlyConfigured("PRINT_KEEP_DAYS: give a number of days, 1 or more.")
# The paper in the club's printer: a CSS page size, such as "letter" or "A4".
PRINT_PAPER = os.environ.get("PRINT_PAPER", "letter")

# Whether mail leaves here at all. Where it does not, nothing that would be a secret of a letter is
# written to the log instead.
MAIL_IS_SET_UP = bool(os.environ.get("EMAIL_HOST"))
EMAIL_BACKEND = (
    "django.core.mail.backends.smtp.EmailBackend"
    if MAIL_IS_SET_UP
    else "django.core.mail.backends.dummy.EmailBackend"
)
EMAIL_HOST = os.environ.get("EMAIL_HOST", "localhost")
EMAIL_PORT = int(os.environ.get("EMAIL_PORT", "25"))
EMAIL_HOST_USER = os.environ.get("EMAIL_HOST_USER", "")
EMAIL_HOST_PASSWORD = os.environ.get("EMAIL_HOST_PASSWORD", "")
EMAIL_USE_TLS = os.environ.get("EMAIL_USE_TLS", "") == "1"
EMAIL_TIMEOUT = 15
DEFAULT_FROM_EMAIL = os.environ.get("DEFAULT_FROM_EMAIL", "clubsetup@localhost")
