"""What print buttons say."""

import os

from django import template

from clubsetup.printing.models import PrintJob
from clubsetup.printing.registry import zip_keys
from clubsetup.runtime.libraries import prints_wait_for

register = template.Library()


@register.simple_tag
def prints_wait() -> str:
    """What to install before prints come, where the worker runs on this machine, as under `up`.

    A worker behind a broker may run anywhere; what it lacks it writes on the job itself.
    """
    return "" if os.environ.get("CELERY_BROKER_URL") else prints_wait_for()


@register.filter
def opens(job: PrintJob) -> str:
    """What the link to a finished file says."""
    return "Download the archive" if job.document in zip_keys() else "Open the PDF"
