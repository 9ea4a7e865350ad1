"""The WSGI application."""

import os

import django

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clubsetup.settings")
django.setup(set_prefix=False)

from clubsetup.site.wsgi_request import Handler  # noqa: E402 (after the settings)

application = Handler()
