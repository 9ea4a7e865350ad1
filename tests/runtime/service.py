"""The service as a person runs it: `manage.py up`, used over HTTP, stopped or killed."""

import contextlib
import http.cookiejar
import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.parse
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import psutil
import psycopg
from psycopg.rows import dict_row

from clubsetup.runtime.addresses import embedded_url
from tests.migrated import copy_migrated_server

HOUSE = Path(__file__).resolve().parent.parent.parent
STEWARD = {
    "CLUBSETUP_CLUB_NAME": "Alder Bend Oval Club",
    "CLUBSETUP_STEWARD_NAME": "Avery Field",
    "CLUBSETUP_STEWARD_EMAIL": "avery@example.org",
    "CLUBSETUP_STEWARD_PASSWORD": "plum-gantry-9",
}
T = TypeVar("T")


def until(look: Callable[[], T], what: str, seconds: float = 300) -> T:
    """What `look` finds once it finds something; the limit is for a machine that hangs."""
    end = time.monotonic() + seconds
    while not (found := look()):
        if time.monotonic() > end:
            raise AssertionError(f"waited {seconds:.0f} s for {what}")
        time.sleep(0.05)
    return found


def free_port() -> int:
    """A TCP port that nobody has."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


class Service:
    """One data folder, whether or not it runs; `new` where it is to begin with an empty one."""

    def __init__(self, folder: Path, *, house: Path = HOUSE, new: bool = False, **env: str) -> None:
        self.folder, self.port, self.house = folder, free_port(), house
        self.log = folder.parent / f"{folder.name}.log"
        ours = ("DATABASE_URL", "DATABASE_APP_URL", "CELERY_BROKER_URL", "SECRET_KEY")
        kept = {name: value for name, value in os.environ.items() if name not in ours}
        self.env = {
            **kept,
            **STEWARD,
            "CLUBSETUP_DATA": str(folder),
            "DJANGO_SETTINGS_MODULE": "tests.runtime.settings",
            "PRINT_LEASE_SECONDS": "2",
            "PRINT_RESEND_SECONDS": "1",
            "PRINT_SWEEP_SECONDS": "1",
            **env,
        }
        if not new and "DATABASE_URL" not in env:
            copy_migrated_server(folder / "database")
        self.owner = env.get("DATABASE_URL") or embedded_url(folder / "database")
        self.up: subprocess.Popen[bytes] | None = None
        self.cookies = http.cookiejar.CookieJar()
        jar = urllib.request.HTTPCookieProcessor(self.cookies)
        self.browser = urllib.request.build_opener(jar, urllib.request.ProxyHandler({}))

    def command(self, *words: str, **more: Any) -> subprocess.Popen[bytes]:
        """Starts `manage.py ...`."""
        command = [sys.executable, "manage.py", *words]
        return subprocess.Popen(
            command,
            cwd=self.house,
            env=self.env,
            stderr=subprocess.STDOUT,
            start_new_session=True,
            **more,
        )

    def start(self, *words: str) -> None:
        """Starts it and waits for its address."""
        with self.log.open("wb") as log:
            up = self.up = self.command(
                "up", "--port", str(self.port), *words, stdout=log, stdin=subprocess.DEVNULL
            )
        until(lambda: "Clubsetup runs at" in self.said() or up.poll() is not None, "the address")
        assert up.poll() is None, self.said()

    def said(self) -> str:
        """What it wrote since it was started."""
        return self.log.read_text()

    def interrupt(self) -> int:
        """Ctrl-C; the exit code."""
        assert self.up
        self.up.send_signal(signal.SIGINT)
        return self.up.wait(180)

    def processes(self) -> list[psutil.Process]:
        """Everything of this folder that lives, by whomever it was started."""
        found = []
        for process in psutil.process_iter(["name", "status", "environ"]):
            theirs = process.info["environ"] or {}
            if theirs.get("CLUBSETUP_DATA") == str(self.folder) and process.pid != os.getpid():
                found.append(process)
        return [p for p in found if p.info["status"] != psutil.STATUS_ZOMBIE]

    def part(self, word: str) -> list[psutil.Process]:
        """The processes whose command line has this word, parents first."""
        found = [p for p in self.processes() if any(word in w for w in _command_line(p))]
        return sorted(found, key=lambda p: (p.create_time(), p.pid))

    def kill_everything(self) -> None:
        """Pulls the plug."""
        while alive := self.processes():
            for process in alive:
                _kill(process)
            time.sleep(0.02)
        if self.up:
            self.up.wait(60)

    def rows(self, query: str, *values: Any) -> list[dict[str, Any]]:
        """Rows as the tables' owner reads them."""
        with psycopg.connect(self.owner, row_factory=dict_row) as connection:
            return connection.execute(query, values).fetchall()

    def get(self, path: str) -> bytes:
        """A page or a file."""
        with self.browser.open(f"http://127.0.0.1:{self.port}{path}", timeout=180) as answer:
            return bytes(answer.read())

    def post(self, page: str, path: str, **fields: str) -> bytes:
        """Sends a form as the browser that opened `page`."""
        found = re.search(
            rb'name="csrfmiddlewaretoken" value="([^"]+)"|X-CSRFToken": "([^"]+)"', self.get(page)
        )
        assert found
        token = (found[1] or found[2]).decode()
        data = urllib.parse.urlencode({**fields, "csrfmiddlewaretoken": token}).encode()
        with self.browser.open(f"http://127.0.0.1:{self.port}{path}", data, timeout=180) as answer:
            return bytes(answer.read())

    def sign_in(self) -> None:
        """As the first steward."""
        page = "/accounts/login/"
        self.post(
            page,
            page,
            login=STEWARD["CLUBSETUP_STEWARD_EMAIL"],
            password=STEWARD["CLUBSETUP_STEWARD_PASSWORD"],
        )

    def ask_for_print(self) -> str:
        """Asks for the long list; the job's id."""
        club = self.rows("SELECT id FROM teams_club")[0]["id"]
        self.post("/prints/", "/prints/ask", document="test-long-list", subject_id=str(club))
        return str(self.rows("SELECT id FROM printing_printjob ORDER BY created_at")[-1]["id"])

    def job(self, job_id: str) -> dict[str, Any]:
        """The job's row."""
        return self.rows("SELECT * FROM printing_printjob WHERE id = %s", job_id)[0]

    def print_done(self, job_id: str) -> dict[str, Any]:
        """The job's row once it is over."""
        over = ("done", "failed")
        return until(lambda: row if (row := self.job(job_id))["state"] in over else {}, "the print")

    def done_lines(self, job_id: str) -> int:
        """How often the trail says that it was done."""
        query = "SELECT count(*) AS n FROM access_trailline WHERE on_id = %s AND did = 'done'"
        return int(self.rows(query, job_id)[0]["n"])


def _command_line(process: psutil.Process) -> list[str]:
    try:
        words: list[str] = process.cmdline()
        return words
    except psutil.Error:
        return []


def _kill(process: psutil.Process) -> None:
    with contextlib.suppress(psutil.NoSuchProcess):
        process.kill()


def described(processes: list[psutil.Process]) -> str:
    """For a failing assertion."""
    return json.dumps([" ".join(_command_line(p))[:120] for p in processes], indent=1)
