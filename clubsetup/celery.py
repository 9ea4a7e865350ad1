"""The Celery application."""

from celery import Celery
from django.conf import settings

app = Celery("clubsetup")
app.config_from_object(settings.CELERY)
app.autodiscover_tasks()
