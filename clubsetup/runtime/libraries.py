"""The libraries outside Python that printing needs, and how to get them."""

import ctypes
from collections.abc import Mapping

# What WeasyPrint loads, by its name for the loader -> the Debian package that brings it.
NEEDED: Mapping[str, str] = {
    "libgobject-2.0.so.0": "libglib2.0-0",
    "libpango-1.0.so.0": "libpango-1.0-0",
    "libpangoft2-1.0.so.0": "libpangoft2-1.0-0",
    "libharfbuzz.so.0": "libharfbuzz0b",
    "libharfbuzz-subset.so.0": "libharfbuzz-subset0",
    "libfontconfig.so.1": "libfontconfig1",
}


def missing_packages(needed: Mapping[str, str] = NEEDED) -> list[str]:
    """The Debian packages of the libraries that cannot be loaded here."""
    return sorted(package for library, package in needed.items() if not _loads(library))


def how_to_install(packages: list[str]) -> str:
    """What to tell whoever starts the service."""
    return (
        "Prints need system libraries that are not on this machine. On Debian or Ubuntu:\n"
        f"    sudo apt-get install {' '.join(packages)}\n"
        "Nothing was started."
    )


def _loads(library: str) -> bool:
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True
