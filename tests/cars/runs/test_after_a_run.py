"""After a run: damage to be looked at, the same run noted on two phones, and a card on paper."""

import io
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone
from pypdf import PdfReader

from cars.catalogue.queries import catalogue
from cars.models import Run
from cars.runs.actions.runs import RunFacts, note_run
from cars.runs.presenters.damage import steps_due
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.registry import document_for
from clubsetup.printing.render import Source, render
from tests.cars.plans.evening import Evening
from tests.markup import one_line
from tests.people import People


def noted(evening: Evening, by: User, ago: int = 0, **facts: object) -> Run:
    with viewing_as(by.pk):
        return note_run(
            by=by,
            car=evening.garage.car,
            facts=RunFacts(**facts),  # type: ignore[arg-type]
            ran_at=timezone.now() - timedelta(minutes=ago),
        )


@pytest.mark.parametrize(
    ("spots", "due", "not_due"),
    [
        (["RF"], "Kingpin", "Rear axle"),
        (["rear"], "Rear axle", "Kingpin"),
        (["right"], "Kingpin", ""),
        ([], "Rear axle", ""),
    ],
)
def test_a_hit_makes_the_steps_there_due(
    evening: Evening, spots: list[str], due: str, not_due: str
) -> None:
    steps = steps_due(spots, catalogue())
    assert due in steps
    assert "Scales" in steps
    assert not_due not in steps


def test_the_page_of_a_run_with_damage_says_what_to_check(
    client: Client, evening: Evening, people: People
) -> None:
    run = noted(evening, people.chief, damage="hit the wall", damage_spots=["RF"])
    client.force_login(people.chief)
    page = one_line(client.get(f"/runs/{run.pk}/").content.decode())
    assert "Hit the wall, RF. Check before the next run:" in page
    assert "kingpin" in page


def test_a_run_noted_on_two_phones_is_offered_as_one(
    client: Client, evening: Evening, people: People
) -> None:
    first = noted(evening, people.chief, 3)
    second = noted(evening, people.crew, 1)
    later = noted(evening, people.crew, 20)
    client.force_login(people.crew)
    page = one_line(client.get(f"/runs/{second.pk}/").content.decode())
    assert f"/runs/{first.pk}/" in page
    assert "Is it the same one?" in page
    assert "Is it the same one?" not in client.get(f"/runs/{later.pk}/").content.decode()
    client.post(f"/runs/{second.pk}/strike", {"reason": "The same as run 1, noted on two phones."})
    with viewing_as(people.chief.pk):
        assert set(Run.objects.current()) == {first, later}
    client.force_login(people.chief)
    assert "Is it the same one?" not in client.get(f"/runs/{first.pk}/").content.decode()


@pytest.mark.parametrize("paper", ["letter", "A4"])
def test_a_run_card_is_one_page_of_eight_runs(
    evening: Evening, people: People, settings: Any, paper: str
) -> None:
    settings.PRINT_PAPER = paper
    document = document_for("run-card")
    with viewing_as(people.crew.pk):
        html = document.html(evening.garage.car, people.crew)
    assert html.count("<svg") == 8 * (3 * 3 + 4 + 3)
    made = render(Source(html, document.styles))
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(made.content)).pages)
    assert made.pages == 1
    assert text.count("Changed before it") == 8
