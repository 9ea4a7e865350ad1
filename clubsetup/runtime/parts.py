"""What `up` runs: the web server, the worker that makes prints, the sweeper."""

import os
import sys
from pathlib import Path

from clubsetup.runtime.addresses import app_url
from clubsetup.runtime.children import Child

# By measurement (tests/benchmarks/load_people.py, two cores, mixed reads and saves; answers a
# second for 8 and for 40 at once). Threads that compute at once: 2 processes of 4 threads 36 and
# 37, 3 of 4 34 and 29, 2 of 2 45 and 36, 2 of 1 43 and 46. Threads that take turns (turns.py), 2
# of 4: 42 and 46. So more at once get no less, and four slow phones stop nobody. Each thread keeps
# one connection to the database.
WEB_WORKERS, WEB_THREADS = "2", "4"
# Longer than somebody reads: a browser that asks again has its connection still.
KEEP_ALIVE = 20  # s


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
    workers = os.environ.get("CLUBSETUP_WEB_WORKERS", WEB_WORKERS)
    threads = os.environ.get("CLUBSETUP_WEB_THREADS", WEB_THREADS)
    options = f"--worker-class gthread --workers {workers} --threads {threads}"
    times = f"--keep-alive {KEEP_ALIVE} --graceful-timeout 10"
    quiet = f"{times} --preload --no-control-socket --log-level warning"
    command = f"-m gunicorn {options} {quiet} --bind {where} clubsetup.wsgi:application"
    return [sys.executable, *command.split()]


def _worker() -> list[str]:
    # One process that renders one print after another: with nothing behind it, whoever kills it
    # has killed all of it.
    options = "--pool solo --without-gossip --without-mingle --without-heartbeat --loglevel WARNING"
    command = f"-m celery --quiet -A clubsetup.celery worker {options}"
    # Its advice against running as root is for workers that take pickles; ours takes ids.
    return [sys.executable, "-W", "ignore::UserWarning:celery.platforms", *command.split()]
