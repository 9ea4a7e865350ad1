"""What runs can print: a card to note them by hand, and a card of what to try in figures."""

from datetime import tzinfo

from django.template.loader import render_to_string

from cars.models import Car
from cars.runs.presenters.feel_pictures import questions
from cars.runs.presenters.what_to_try import show_card
from cars.runs.queries.what_to_try import card_for
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


def try_title(car: Car) -> str:
    """The print's title, and its file's name."""
    return f"What to try, car {car.number}"


def try_html(car: Car, viewer: User) -> str:
    """Every suggestion for the surface that the car ran on last, in its figures as it stands."""
    units = viewer.units(car.team.club.units())
    context = {
        "car": car,
        "title": try_title(car),
        "card": show_card(card_for(car, viewer), units),
    }
    return render_to_string("cars/runs/try_card.html", context)


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
    Document(
        key="what-to-try",
        name="Card of what to try",
        model=Car,
        title=try_title,
        html=try_html,
        clock=_clock,
        styles=("cars/sheets/paper.css", "cars/runs/try_card.css"),
    ),
)
