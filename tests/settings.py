"""The service's settings in a folder of their own; the fixture brings the database."""

import os
import tempfile

os.environ["CLUBSETUP_DATA"] = tempfile.mkdtemp(prefix="clubsetup-test-")
os.environ["DATABASE_URL"] = "postgresql://nobody@localhost:1/not-set-yet"
os.environ["DATABASE_APP_URL"] = "postgresql://nobody@localhost:1/not-set-yet"

from clubsetup.settings import *  # noqa: F403

INSTALLED_APPS = [*INSTALLED_APPS, "tests.printing"]  # noqa: F405
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
STORAGES["staticfiles"] = {  # noqa: F405
    "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
}
COUNTS_IN_CACHE = True  # as with Redis; the table has tests of its own
CACHES = {"default": {"BACKEND": "tests.clocks.CacheWithoutExpiry"}}
ALLOWED_HOSTS = ["*"]
LOOK_PAGE = True
