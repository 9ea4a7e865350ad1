"""Everything with one command: database, tables, web server, worker, sweeper; Ctrl-C stops all.

What belongs to the rooms above (the demo club, the first steward) it runs as commands by name, as
clubsetup/urls.py names the rooms' addresses, so that nothing here imports a floor above.
"""

import os
import signal
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psycopg
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connections

from clubsetup.runtime import network
from clubsetup.runtime.addresses import embedded_folder, owner_url, queue_folder
from clubsetup.runtime.children import watch
from clubsetup.runtime.code_changes import CodeChanges
from clubsetup.runtime.embedded import Embedded
from clubsetup.runtime.file_queue import forget_drafts
from clubsetup.runtime.libraries import prints_wait_for
from clubsetup.runtime.only_one import AlreadyRunningError, only_one
from clubsetup.runtime.parts import parts
from clubsetup.runtime.postgres import EmbeddedError

OLDEST_POSTGRESQL = 15


SIGNALS = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


class Command(BaseCommand):
    """Runs the whole service in the foreground."""

    help = "Starts the database, the web server and the print worker; Ctrl-C stops them."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Where to listen, and what to start with."""
        parser.add_argument("--demo", action="store_true", help="load the invented demo club")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument(
            "--host", default="127.0.0.1", help="0.0.0.0 lets other devices on the network in"
        )
        parser.add_argument(
            "--reload", action="store_true", help="start again when code or a template changes"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Starts, says where, and stays until told to stop."""
        for number in SIGNALS:
            signal.signal(number, _interrupt)
        where = " ".join(network.addresses(options["host"], options["port"]))
        try:
            with only_one(settings.DATA_DIR / "up.lock", where), self._database() as keep:
                self._make_ready(demo=options["demo"])
                self._serve(options["host"], options["port"], keep, reload=options["reload"])
        except AlreadyRunningError as other:
            raise CommandError(f"It is already running from {settings.DATA_DIR}: {other}") from None
        except EmbeddedError as problem:
            raise CommandError(str(problem)) from None
        except KeyboardInterrupt:
            self._say("Stopped.")

    @contextmanager
    def _database(self) -> Iterator[Callable[[], None]]:
        """The database for the time of the block, and how to keep it running."""
        if os.environ.get("DATABASE_URL"):
            _check_server(owner_url())
            self._say("Using the database of DATABASE_URL.")
            yield lambda: None
            return
        self._say(f"Starting the database in {embedded_folder()}")
        embedded = Embedded(embedded_folder())
        try:
            embedded.prepare()
            yield lambda: self._keep(embedded)
        finally:
            connections.close_all()
            embedded.stop()

    def _keep(self, embedded: Embedded) -> None:
        if not embedded.is_running():
            self._say("The database ended; starting it again.")
            embedded.start_again()

    def _make_ready(self, *, demo: bool) -> None:
        call_command("migrate", verbosity=0)
        call_command("collectstatic", interactive=False, verbosity=0)
        call_command("load_demo" if demo else "first_steward", stdout=self.stdout)
        connections.close_all()
        if not os.environ.get("CELERY_BROKER_URL"):
            forget_drafts(queue_folder() / "taken")

    def _serve(self, host: str, port: int, keep: Callable[[], None], *, reload: bool) -> None:
        if not network.is_free(host, port):
            raise CommandError(f"Port {port} is taken on {host}. Choose another with --port.")
        children = parts(
            host=host, port=port, hosts=network.allowed_hosts(host), house=settings.BASE_DIR
        )
        is_announced = False

        def meanwhile() -> None:
            nonlocal is_announced
            keep()
            if not is_announced and network.answers(host, port):
                is_announced = True
                self._tell(host, port)

        changed = _code_changes(settings.BASE_DIR) if reload else tuple
        watch(children, say=self._say, meanwhile=meanwhile, changed=changed)

    def _tell(self, host: str, port: int) -> None:
        self._say("Clubsetup runs at " + " ".join(network.addresses(host, port)))
        if host in network.LOCAL:
            self._say("For this machine only; --host 0.0.0.0 lets the paddock's network in.")
        else:
            self._say(
                "Everybody on this network can reach it, and it speaks plain HTTP: passwords can "
                "be overheard. Use it on a network you trust; DEVELOPERS.md tells how to put TLS "
                "in front."
            )
        if waits_for := prints_wait_for():
            self._say(waits_for)
        self._say("Ctrl-C stops it.")

    def _say(self, line: str) -> None:
        self.stdout.write(line)
        self.stdout.flush()


def _code_changes(house: Path) -> Callable[[], Sequence[Path]]:
    """What changed since it was asked last; static files are collected before it is told."""
    code = CodeChanges(house)

    def changed() -> Sequence[Path]:
        if files := code.since_last_time():
            call_command("collectstatic", interactive=False, verbosity=0)
        return files

    return changed


def _interrupt(*_: Any) -> None:
    # One is enough: what is under way to stop is not to be torn in its turn.
    for number in SIGNALS:
        signal.signal(number, signal.SIG_IGN)
    raise KeyboardInterrupt


def _check_server(url: str) -> None:
    try:
        with psycopg.connect(url, connect_timeout=10) as connection:
            version = connection.info.server_version // 10000
    except psycopg.OperationalError as problem:
        raise CommandError(f"The database of DATABASE_URL does not answer: {problem}") from None
    if version < OLDEST_POSTGRESQL:
        raise CommandError(
            f"The database of DATABASE_URL is PostgreSQL {version}; it takes {OLDEST_POSTGRESQL}."
        )
