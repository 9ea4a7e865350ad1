"""The WSGI application."""

import gc
import logging
import os
from importlib import import_module

import django
from django.conf import settings

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clubsetup.settings")
django.setup(set_prefix=False)

from clubsetup.runtime.turns import TakeTurns  # noqa: E402
from clubsetup.site.log_secrets import HideSecrets  # noqa: E402
from clubsetup.site.wsgi_request import Handler  # noqa: E402 (after the settings)

application = TakeTurns(
    Handler(),
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE
    + settings.MOST_UPLOAD_BYTES * settings.DATA_UPLOAD_MAX_NUMBER_FILES,
)

# All pages with what they compute with, before the web server's processes part: they share it, and
# nobody's first request waits for it. Of scipy each part is loaded where it is first asked for, so
# that no command waits for it.
for name in (settings.ROOT_URLCONF, "scipy.optimize", "scipy.special"):
    import_module(name)

# What stands by now stays. The collector leaves it alone: looking through all of it took a
# hundred milliseconds of somebody's request each time, and copied pages that the processes share.
gc.collect()
gc.freeze()

# The web server has a log of its own.
logging.getLogger("gunicorn.error").addFilter(HideSecrets())
