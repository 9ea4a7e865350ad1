"""A comparison on paper: which sheets, kept for the print."""

from collections.abc import Sequence
from uuid import UUID

from cars.history.queries.comparison import compare_sheets
from cars.models import Comparison
from clubsetup.access.actions import action, record
from clubsetup.access.models import User
from clubsetup.printing.actions.ask import ask_for_print
from clubsetup.printing.models import PrintJob

DOCUMENT = "comparison"


@action
def print_comparison(*, by: User, sheets: Sequence[UUID], job_id: UUID | None = None) -> PrintJob:
    """Asks for a print of these sheets side by side. Raises Invalid as the comparison does."""
    compare_sheets(sheets)
    kept, is_new = Comparison.objects.get_or_create(by=by, sheets=list(sheets))
    if is_new:
        record(by=by, did="compared", on=kept, sheets=[str(pk) for pk in sheets])
    return ask_for_print(by=by, document=DOCUMENT, subject_id=kept.pk, job_id=job_id)
