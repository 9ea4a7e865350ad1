"""The processes that `up` starts, watches, starts again and stops."""

import contextlib
import ctypes
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

PR_SET_PDEATHSIG = 1  # prctl(2)
FIRST_PAUSE, LONGEST_PAUSE = 0.5, 30.0
# A child that ran this long before it ended is started again without a pause.
STEADY_SECONDS = 30.0
SECONDS_TO_END = 20.0


class Child:
    """One process, in a group of its own so that Ctrl-C reaches it through `up` only."""

    def __init__(
        self, name: str, command: Sequence[str], *, cwd: Path, env: Mapping[str, str] | None = None
    ) -> None:
        self.name, self.command, self.cwd = name, list(command), cwd
        self.env = dict(env or os.environ)
        self.process: subprocess.Popen[bytes] | None = None
        self.started = 0.0
        self.pause = FIRST_PAUSE
        self.due = 0.0

    def start(self) -> None:
        self.started = time.monotonic()
        self.process = subprocess.Popen(  # noqa: S603  # our own commands
            self.command,
            cwd=self.cwd,
            env=self.env,
            stdin=subprocess.DEVNULL,
            start_new_session=True,
            preexec_fn=_end_with_parent,  # noqa: PLW1509  # `up` has no threads
        )

    def look(self, say: Callable[[str], None]) -> None:
        """Starts it again if it ended, after a pause that grows while it keeps ending."""
        now = time.monotonic()
        if self.process is None:
            if now >= self.due:
                self.start()
            return
        code = self.process.poll()
        if code is None:
            return
        self.kill()  # what it left of its group
        self.pause = FIRST_PAUSE if now - self.started > STEADY_SECONDS else self.pause
        say(f"{self.name} ended ({_reason(code)}); starting it again.")
        self.process, self.due = None, now + self.pause
        self.pause = min(2 * self.pause, LONGEST_PAUSE)

    def start_anew(self) -> None:
        """Lets it finish, and starts it at once, however often it had failed."""
        self.ask_to_end()
        if self.process:
            with contextlib.suppress(subprocess.TimeoutExpired):
                self.process.wait(SECONDS_TO_END)
            self.kill()
        self.pause = FIRST_PAUSE
        self.start()

    def ask_to_end(self) -> None:
        """Lets it finish what it has in hand."""
        if self.process and self.process.poll() is None:
            self.process.terminate()

    def kill(self) -> None:
        """Ends it and its group, whatever they do."""
        if self.process:
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(self.process.pid, signal.SIGKILL)


def watch(
    children: Sequence[Child],
    *,
    say: Callable[[str], None],
    meanwhile: Callable[[], None],
    changed: Callable[[], Sequence[Path]] = tuple,
) -> None:
    """Starts the children and keeps them running until interrupted, then ends them.

    They start anew whenever `changed` tells of files.
    """
    try:
        while True:
            if files := changed():
                say(f"{files[0].name} changed; starting again.")
                for child in children:
                    child.start_anew()
            for child in children:
                child.look(say)
            meanwhile()
            time.sleep(0.2)
    finally:
        _end_all(children)


def _end_all(children: Sequence[Child]) -> None:
    for child in children:
        child.ask_to_end()
    end = time.monotonic() + SECONDS_TO_END
    for child in children:
        if child.process:
            with contextlib.suppress(subprocess.TimeoutExpired):
                child.process.wait(max(0.0, end - time.monotonic()))
        child.kill()


def _end_with_parent() -> None:
    # Linux ends the child when `up` itself is killed; elsewhere it has to be ended by hand.
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(PR_SET_PDEATHSIG, signal.SIGTERM)


def _reason(code: int) -> str:
    return f"killed by {signal.Signals(-code).name}" if code < 0 else f"with code {code}"
