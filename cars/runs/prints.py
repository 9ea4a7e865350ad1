"""What runs can print: a card to note them by hand, eight runs a page."""

from datetime import tzinfo

from django.template.loader import render_to_string

from cars.models import Car
from cars.runs.presenters.feel_pictures import questions
from clubsetup.access.models import User
from clubsetup.printing.registry import Document

RUNS_A_PAGE = 8


def card_title(car: Car) -> str:
    """The print's title, and its file's name."""
    return f"Run card, car {car.number}"


def card_html(car: Car, viewer: User) -> str:
    """Pictures to circle and lines to write on; nothing that was noted stands on it."""
    context = {
        "car": car,
        "questions": questions(),
        "runs": range(1, RUNS_A_PAGE + 1),
        "title": card_title(car),
    }
    return render_to_string("cars/runs/run_card.html", context)


def _clock(car: Car) -> tzinfo:
    return car.team.club.zone()


DOCUMENTS = (
    Document(
        key="run-card",
        name="Run card",
        model=Car,
        title=card_title,
        html=card_html,
        clock=_clock,
        styles=("cars/sheets/paper.css", "cars/runs/feel.css", "cars/runs/run_card.css"),
    ),
)
