"""Sends again the prints that nobody works on, again and again until told to stop."""

import logging
import signal
import threading
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser
from django.db import Error, close_old_connections

from clubsetup.printing.sending import send_unheld

logger = logging.getLogger(__name__)


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
            send_unheld()
            return
        stop = threading.Event()
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda *_: stop.set())
        while not stop.wait(settings.PRINT_SWEEP_SECONDS):
            try:
                close_old_connections()
                send_unheld()
            except Error as problem:
                logger.warning("the sweeper could not reach the database: %s", problem)
