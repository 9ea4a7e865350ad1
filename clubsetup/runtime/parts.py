"""What `up` runs: the web server, the worker that makes prints, the sweeper."""

import os
import sys
from pathlib import Path

from clubsetup.runtime.addresses import app_url
from clubsetup.runtime.children import Child


def parts(*, host: str, port: int, hosts: list[str], house: Path) -> list[Child]:
    """The children, ready to start, with the restricted role's address and never the owner's."""
    given = [name for name in os.environ.get("ALLOWED_HOSTS", "").split(",") if name]
    env = {
        **os.environ,
        "DATABASE_URL": app_url(),
        "DATABASE_APP_URL": app_url(),
        "ALLOWED_HOSTS": ",".join([*given, *hosts]),
    }
    return [
        Child("The web server", _web(host, port), cwd=house, env=env),
        Child("The print worker", _worker(), cwd=house, env=env),
        Child("The sweeper", [sys.executable, "manage.py", "sweep"], cwd=house, env=env),
    ]


def _web(host: str, port: int) -> list[str]:
    where = f"[{host}]:{port}" if ":" in host and not host.startswith("[") else f"{host}:{port}"
    options = "--worker-class gthread --workers 2 --threads 4 --graceful-timeout 10"
    quiet = "--preload --no-control-socket --log-level warning"
    command = f"-m gunicorn {options} {quiet} --bind {where} clubsetup.wsgi:application"
    return [sys.executable, *command.split()]


def _worker() -> list[str]:
    # One process that renders one print after another: with nothing behind it, whoever kills it
    # has killed all of it.
    options = "--pool solo --without-gossip --without-mingle --without-heartbeat --loglevel WARNING"
    command = f"-m celery --quiet -A clubsetup.celery worker {options}"
    # Its advice against running as root is for workers that take pickles; ours takes ids.
    return [sys.executable, "-W", "ignore::UserWarning:celery.platforms", *command.split()]
