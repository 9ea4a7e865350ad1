"""The libraries outside Python that prints need, and how to get them.

Nothing but prints needs them: without them the service runs, and prints wait.
"""

import ctypes
from collections.abc import Iterable

# What WeasyPrint cannot do without, by its name for the loader. Tried with each of them away; it
# loads HarfBuzz's subsetter too where there is one, and does that work itself where there is none.
NEEDED = (
    "libgobject-2.0.so.0",
    "libpango-1.0.so.0",
    "libpangoft2-1.0.so.0",
    "libharfbuzz.so.0",
    "libfontconfig.so.1",
)
# These two bring all of them.
PACKAGES = ("libpango-1.0-0", "libpangoft2-1.0-0")
PRINTS_WAIT = (
    "Prints wait for Pango, a library that is not on this machine. On Debian or Ubuntu: "
    f"sudo apt-get install {' '.join(PACKAGES)}"
)


def missing_libraries(needed: Iterable[str] = NEEDED) -> list[str]:
    """Those that cannot be loaded now; one that was installed meanwhile can."""
    return [library for library in needed if not _loads(library)]


def prints_wait_for() -> str:
    """What to install before prints are made here, in one line; empty where they can be made."""
    return PRINTS_WAIT if missing_libraries() else ""


def _loads(library: str) -> bool:
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True
