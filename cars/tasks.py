"""What the Celery worker does for cars."""

from uuid import UUID

from cars.exchange.actions.import_sending import TASK
from cars.exchange.actions.import_work import work_on
from clubsetup.celery import app


@app.task(name=TASK)
def bring_in(pk: str) -> None:
    """Brings one import in, if nobody else has it in hand. The id says only where to look."""
    work_on(UUID(pk))
