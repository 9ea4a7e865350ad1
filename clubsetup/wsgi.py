"""The WSGI application."""

import logging
import os

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clubsetup.settings")
django.setup(set_prefix=False)

from clubsetup.site.log_secrets import HideSecrets  # noqa: E402
from clubsetup.site.wsgi_request import Handler  # noqa: E402 (after the settings)

application = Handler()

# The web server has a log of its own.
logging.getLogger("gunicorn.error").addFilter(HideSecrets())
