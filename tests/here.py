"""What a machine may lack for some tests, and the words in which they then say so."""

from pathlib import Path
from shutil import which

import pytest

from clubsetup.runtime.libraries import prints_wait_for

CHROMIUM = which("chromium") or "/usr/bin/chromium"
NO_BROWSER = "no Chromium here; on Debian 12: apt-get install chromium"
NO_POSTGRESQL = "no PostgreSQL server here: apt-get install postgresql"
NO_REDIS = "no Redis server here: apt-get install redis-server"


def need_browser() -> None:
    """Skips where there is none."""
    if not Path(CHROMIUM).exists():
        pytest.skip(NO_BROWSER)


def need_prints() -> None:
    """Skips where none can be made."""
    if lacks := prints_wait_for():
        pytest.skip(lacks)
