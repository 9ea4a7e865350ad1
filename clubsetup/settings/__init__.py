"""Settings: one set for everybody, moved by a few environment variables (README.md lists them)."""

from clubsetup.settings.base import *  # noqa: F403
from clubsetup.settings.doors import *  # noqa: F403
from clubsetup.settings.people import *  # noqa: F403
from clubsetup.settings.safety import *  # noqa: F403
