"""The service's own settings, but for how long a password's hash takes."""

from clubsetup.settings import *  # noqa: F403

PASSWORD_HASHERS = ["tests.quick_passwords.FewRounds"]
