"""Sends again the prints, and what else the apps bring, that nobody works on, until told to stop.

Once in a while it also removes the prints that are kept no more, what died workers left, and what
was counted against limits that have ended.
"""

import logging
import signal
import threading
from itertools import chain
from time import monotonic
from typing import Any

from django.conf import settings
from django.core.cache import caches
from django.core.management.base import BaseCommand, CommandParser
from django.db import Error, close_old_connections

from clubsetup.access.counts import forget_old_counts
from clubsetup.access.swept_cache import SweptFileCache
from clubsetup.printing.sending import send_unheld
from clubsetup.printing.store import remove_old, sweep
from clubsetup.site.contributions import contributed

logger = logging.getLogger(__name__)
TIDY_SECONDS = 600


class Command(BaseCommand):
    """The sweeper. One is enough; two do no harm."""

    help = "Sends lost or abandoned prints to the worker again."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """`--once` for a timer of your own."""
        parser.add_argument("--once", action="store_true", help="look once and end")

    def handle(self, *args: Any, **options: Any) -> None:
        """Looks every PRINT_SWEEP_SECONDS; a database that is away is waited for."""
        if options["once"]:
            _send_again()
            _tidy()
            return
        stop = threading.Event()
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda *_: stop.set())
        tidied = float("-inf")
        while not stop.wait(settings.PRINT_SWEEP_SECONDS):
            try:
                close_old_connections()
                _send_again()
                if monotonic() - tidied > TIDY_SECONDS:
                    tidied = monotonic()
                    _tidy()
            except Error as problem:
                logger.warning("the sweeper could not reach the database: %s", problem)


def _send_again() -> None:
    """Prints, and whatever else of the apps a worker is to do."""
    send_unheld()
    for send in chain(*contributed("sent_again")):
        send()


def _tidy() -> None:
    """The rows first; a file that is left behind by a crash between them goes the next time."""
    try:
        remove_old()
        sweep()
        forget_old_counts()
        if isinstance(caches["default"], SweptFileCache):
            caches["default"].sweep()
    except OSError as problem:
        logger.warning("the sweeper could not remove old prints: %s", problem)
