"""What handovers can print: all that goes along, for both chiefs."""

from datetime import tzinfo
from uuid import UUID

from django.template.loader import render_to_string

from cars.handover.presenters.handover_view import own_side, package_of
from cars.models import Handover
from clubsetup.access.models import User
from clubsetup.printing.registry import Document


def _title(handover: Handover) -> str:
    return f"Handover of car {handover.package['number']}"


def _html(handover: Handover, viewer: User) -> str:
    context = {
        "handover": handover,
        "package": package_of(handover, viewer),
        "title": _title(handover),
    }
    return render_to_string("cars/handover/package_print.html", context)


def _team_of(handover: Handover) -> UUID:
    """The reader's own: the other team is told nothing of who prints."""
    return own_side(handover).pk


def _clock(handover: Handover) -> tzinfo:
    return own_side(handover).club.zone()


DOCUMENTS = (
    Document(
        key="handover",
        name="What goes along",
        model=Handover,
        title=_title,
        html=_html,
        clock=_clock,
        team_of=_team_of,
        styles=("print.css", "cars/handover/package.css"),
    ),
)
