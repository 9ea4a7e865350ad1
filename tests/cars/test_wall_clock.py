"""An evening in the garage stays on its own day, whichever door it comes in by."""

from collections.abc import Callable
from datetime import UTC, date, datetime

import pytest
from django.test import Client
from django.urls import reverse

from cars.models import Ownership, Sheet
from cars.sheets.actions.comments import add_comment
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.registry import document_for
from tests.answers import Answer
from tests.cars.garage import Garage
from tests.clocks import keep_time, stand_still
from tests.people import People

CHICAGO = "America/Chicago"
# Four past seven in the evening of the 5th in Chicago.
EVENING = datetime(2026, 11, 6, 1, 4, tzinfo=UTC)
FIFTH = date(2026, 11, 5)


@pytest.fixture
def evening(people: People, garage: Garage, monkeypatch: pytest.MonkeyPatch) -> Garage:
    keep_time(people.steward, people.club, CHICAGO)
    stand_still(monkeypatch, EVENING)
    return garage


@pytest.fixture
def crew(people: People, evening: Garage) -> Client:
    client = Client()
    client.force_login(people.crew)
    return client


def sent(client: Client, what: str, given: dict[str, str]) -> Answer:
    return client.post(f"/api/v1/{what}", given, content_type="application/json")


@pytest.mark.parametrize(
    ("name", "of"),
    [
        ("bench-start", lambda g: g.car.pk),
        ("sheet-open", lambda g: g.car.pk),
        ("car-new", lambda g: g.car.team_id),
    ],
)
def test_forms_begin_with_the_evenings_day(
    evening: Garage, crew: Client, name: str, of: Callable[[Garage], object]
) -> None:
    page = crew.get(reverse(name, args=[of(evening)])).content.decode()
    assert 'value="2026-11-05"' in page
    assert "2026-11-06" not in page


def test_what_the_api_is_not_told_is_of_the_evenings_day(
    people: People, evening: Garage, crew: Client
) -> None:
    car = evening.car
    made = sent(
        crew,
        "cars",
        {"team": str(car.team_id), "number": "88", "chassis": str(car.chassis_id)},
    )
    assert made.status_code == 201, made.content
    sheet = sent(crew, "sheets", {"car": made.json()["id"], "role": "found", "surface": "paved"})
    assert sheet.status_code == 201, sheet.content
    assert sheet.json()["made_on"] == "2026-11-05"
    assert sheet.json()["created_at"] == "2026-11-06T01:04:00Z"
    with viewing_as(people.crew.pk):
        assert Ownership.objects.get(car_id=made.json()["id"]).since == FIFTH


def test_a_sheet_tells_when_it_was_spoken_of_by_the_clubs_clock(
    people: People, evening: Garage, crew: Client
) -> None:
    by = people.crew
    with viewing_as(by.pk):
        sheet = evening.sheet(by)
        add_comment(by=by, sheet=sheet, text="Wet floor.")
    page = crew.get(reverse("sheet", args=[sheet.pk])).content.decode()
    assert "5 Nov 2026 19:04" in page
    with viewing_as(by.pk):
        document, kept = document_for("sheet"), Sheet.objects.get(pk=sheet.pk)
        printed = document.page(document.subject(kept.pk), by)
    assert "Crew, 5 Nov 2026" in printed


def test_its_history_names_the_zone_once(people: People, evening: Garage, crew: Client) -> None:
    by = people.crew
    with viewing_as(by.pk):
        sheet = evening.sheet(by)
    page = crew.get(reverse("sheet-history", args=[sheet.pk])).content.decode()
    assert page.count("CST, America/Chicago") == 1
    assert "5 Nov 2026 19:04:00</td>" in page
