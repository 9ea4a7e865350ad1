"""The Celery application."""

import os

from celery import Celery
from django.conf import settings

# `celery -A clubsetup worker` starts here, before anything has named the settings.
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clubsetup.settings")

app = Celery("clubsetup")
app.config_from_object(settings.CELERY)
# Threads of the web process have no current application of their own; they send through this one.
app.set_default()
app.autodiscover_tasks()
