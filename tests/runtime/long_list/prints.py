"""A long list: it takes the worker long enough to be killed in the middle."""

from django.utils.html import format_html, format_html_join

from clubsetup.access.models import User
from clubsetup.printing.registry import Document
from teams.models import Club

ROWS = 500


def _html(club: Club, viewer: User) -> str:
    rows = format_html_join(
        "", "<tr><td>{}<td>{}<td>{}", ((n, n * n, club.name) for n in range(ROWS))
    )
    return format_html(
        '<html lang="en"><title>{}</title><h1>{}</h1><table>{}</table></html>',
        club.name,
        viewer.name,
        rows,
    )


DOCUMENTS = (
    Document(
        key="test-long-list",
        name="Long list",
        model=Club,
        title=lambda club: f"Long list {club.name}",
        html=_html,
        clock=lambda club: club.zone(),
    ),
)
