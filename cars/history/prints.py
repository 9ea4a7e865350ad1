"""What the history prints: sheets side by side."""

from datetime import tzinfo

from django.conf import settings
from django.http import Http404
from django.template.loader import render_to_string
from django.utils import timezone

from cars.history.actions.comparisons import DOCUMENT
from cars.history.presenters.comparison import show_comparison
from cars.history.queries.comparison import compare_sheets, sheets_named
from cars.models import Comparison
from clubsetup.access.errors import Invalid
from clubsetup.access.models import User
from clubsetup.printing.registry import Document


def title(comparison: Comparison) -> str:
    """The print's title, and its file's name."""
    return str(comparison)


def comparison_html(comparison: Comparison, viewer: User) -> str:
    """As the page has it, across the paper where there are more than four."""
    try:
        compared = compare_sheets(comparison.sheets)
    except Invalid as gone:
        raise Http404(gone.message) from gone
    # A paper lies about, and outlives the right to see the codes of parts.
    view = show_comparison(compared, viewer, with_parts=False)
    context = {"view": view, "title": title(comparison), "paper": settings.PRINT_PAPER}
    return render_to_string("cars/history/comparison_paper.html", context)


def _clock(comparison: Comparison) -> tzinfo:
    first = next(iter(sheets_named(comparison.sheets[:1])), None)
    return first.team.club.zone() if first else timezone.get_default_timezone()


DOCUMENTS = (
    Document(
        key=DOCUMENT,
        name="Comparison",
        model=Comparison,
        title=title,
        html=comparison_html,
        clock=_clock,
        styles=("cars/sheets/paper.css", "cars/history/comparison_paper.css"),
    ),
)
