"""The embedded server's passwords, in a file beside its folder that only the service's user reads.

The file is as libpq reads one (`passfile` in an address), so that no address and no command line
holds a password: `PGPASSFILE=.clubsetup/database.passwords pg_dump -h .clubsetup/database ...`.
"""

import os
import secrets
from pathlib import Path

SUPERUSER, OWNER = "postgres", "clubsetup_owner"


def password_file(folder: Path) -> Path:
    """Where the passwords of the server in this folder are."""
    return folder.with_name(f"{folder.name}.passwords")


def draw_passwords(folder: Path) -> None:
    """Draws them once; they are there before the server hears of them."""
    path = password_file(folder)
    if path.exists():
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    lines = (f"*:*:*:{name}:{secrets.token_urlsafe(32)}\n" for name in (SUPERUSER, OWNER))
    draft = path.with_suffix(f".{os.getpid()}")
    draft.touch(mode=0o600)
    draft.write_text("".join(lines))
    draft.replace(path)


def password_of(folder: Path, name: str) -> str:
    for line in password_file(folder).read_text().splitlines():
        *_, whose, password = line.split(":")
        if whose == name:
            return password
    raise KeyError(name)
