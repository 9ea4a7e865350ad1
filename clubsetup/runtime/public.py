"""The address that other devices reach the service under, for what is printed."""

import os

from django.conf import settings


def public_address() -> str:
    """`CLUBSETUP_ADDRESS`; else what the running `up` of this data folder says of itself, the
    address for other devices where it has one; empty where nothing is known. No slash behind."""
    if given := os.environ.get("CLUBSETUP_ADDRESS", ""):
        return given.rstrip("/")
    try:
        running = (settings.DATA_DIR / "up.lock").read_text().split()
    except FileNotFoundError:
        return ""
    return running[-1].rstrip("/") if running else ""
