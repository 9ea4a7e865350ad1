"""The data folder: where the embedded database, the key, the prints and the queue live."""

import os
import secrets
from pathlib import Path

_HOUSE = Path(__file__).resolve().parent.parent.parent


def data_folder() -> Path:
    """`CLUBSETUP_DATA`, or `.clubsetup` beside manage.py; made if missing."""
    folder = Path(os.environ.get("CLUBSETUP_DATA", _HOUSE / ".clubsetup")).resolve()
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def secret_key() -> str:
    """`SECRET_KEY` from the environment, else one drawn once and kept in the data folder."""
    if given := os.environ.get("SECRET_KEY"):
        return given
    path = data_folder() / "secret.key"
    if not path.exists():
        draft = path.with_suffix(f".{os.getpid()}")
        draft.touch(mode=0o600)
        draft.write_text(secrets.token_urlsafe(64))
        try:
            # A hard link fails when another process was first; its key then holds for both.
            os.link(draft, path)
        except FileExistsError:
            pass
        finally:
            draft.unlink()
    return path.read_text()
