"""What the Celery worker does."""

from uuid import UUID

from clubsetup.celery import app
from clubsetup.printing import work


@app.task(name="make_print")
def make_print(job_id: str) -> None:
    """Makes one print, if nobody else has it in hand. The id says only where to look."""
    work.make_print(UUID(job_id))
