"""The form that opens a sheet: a few earlier ones to choose from, and a search for the others."""

import re
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.garage.actions.cars import add_car
from cars.models import Sheet
from cars.sheets.actions.sheets import open_sheet
from clubsetup.access.viewer import viewing_as
from teams.actions.drivers import add_driver
from tests.cars.garage import Garage
from tests.people import People

DAY = date(2025, 1, 1)
OPTION = re.compile(r'<option value="([0-9a-f-]*)"( selected)?>\s*(.*?)\s*</option>', re.DOTALL)


@pytest.fixture
def sheets(garage: Garage, people: People) -> list[Sheet]:
    """Forty, the oldest first; the seventh is Pip's target."""
    with viewing_as(people.chief.pk):
        pip = add_driver(by=people.chief, team=people.team, display_name="Pip")
        return [
            open_sheet(
                by=people.chief,
                car=garage.car,
                role="target" if number == 6 else "found",
                made_on=DAY + timedelta(days=number),
                surface="paved",
                driver=pip if number == 6 else None,
            )
            for number in range(40)
        ]


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


def address(garage: Garage) -> str:
    return f"/cars/{garage.car.pk}/sheets/new"


def offered(page: str) -> dict[str, str]:
    """The sheets to choose from, by id, but for 'None'."""
    select = page[page.index('name="based_on"') :].partition("</select>")[0]
    return {pk: label for pk, _, label in OPTION.findall(select) if pk}


def chosen(page: str) -> str:
    select = page[page.index('name="based_on"') :].partition("</select>")[0]
    return next((pk for pk, selected, _ in OPTION.findall(select) if selected), "")


def test_the_newest_thirty_are_offered(chief: Client, garage: Garage, sheets: list[Sheet]) -> None:
    page = chief.get(address(garage)).content.decode()
    assert list(offered(page)) == [str(sheet.pk) for sheet in sheets[:9:-1]]
    assert offered(page)[str(sheets[-1].pk)] == "As found 9 Feb 2025"
    assert chosen(page) == ""


def test_an_older_one_that_was_followed_is_offered_too_and_chosen(
    chief: Client, garage: Garage, sheets: list[Sheet]
) -> None:
    page = chief.get(address(garage), {"after": str(sheets[0].pk)}).content.decode()
    assert len(offered(page)) == 31
    assert chosen(page) == str(sheets[0].pk)
    nonsense = chief.get(address(garage), {"after": "nonsense"})
    assert nonsense.status_code == 200
    assert chosen(nonsense.content.decode()) == ""


@pytest.mark.parametrize(
    ("find", "found"),
    [
        ("pip", [6]),
        ("target", [6]),
        ("2025-01-0", [8, 7, 6, 5, 4, 3, 2, 1, 0]),
        ("3 Jan 2025", [30, 29, 22, 12, 2]),
        ("jan pip", [6]),
        ("feb pip", []),
        ("%", []),
    ],
)
def test_a_search_looks_through_all_of_them(
    chief: Client, garage: Garage, sheets: list[Sheet], find: str, found: list[int]
) -> None:
    page = chief.get(address(garage), {"find": find}).content.decode()
    assert set(offered(page)) == {str(sheets[number].pk) for number in found}
    assert f'value="{find}"' in page
    assert (f"No sheet of this car fits “{find}”." in page) == (not found)


def test_what_was_chosen_stays_through_a_search(
    chief: Client, garage: Garage, sheets: list[Sheet]
) -> None:
    given = {"find": "pip", "based_on": str(sheets[20].pk), "after": str(sheets[1].pk)}
    page = chief.get(address(garage), given).content.decode()
    assert set(offered(page)) == {str(sheets[6].pk), str(sheets[20].pk)}
    assert chosen(page) == str(sheets[20].pk)
    assert "No sheet of this car fits" not in page


def test_a_search_that_finds_none_says_so_beside_what_was_chosen(
    chief: Client, garage: Garage, sheets: list[Sheet]
) -> None:
    given = {"find": "<moon>", "based_on": str(sheets[20].pk)}
    page = chief.get(address(garage), given).content.decode()
    assert set(offered(page)) == {str(sheets[20].pk)}
    assert "No sheet of this car fits “&lt;moon&gt;”." in page
    # A script puts it in its place, too.
    assert 'hx-select-oob="#id_based_on_found"' in page
    assert 'id="id_based_on_found"' in page


def test_without_a_script_the_search_keeps_what_was_typed_and_opens_nothing(
    chief: Client, garage: Garage, sheets: list[Sheet], people: People
) -> None:
    sent = {
        "role": "set",
        "made_on": "2026-02-03",
        "fuel": "half",
        "note": "Windy <b>",
        "find": "pip",
    }
    page = chief.post(address(garage), {**sent, "search": "1"}).content.decode()
    assert list(offered(page)) == [str(sheets[6].pk)]
    assert 'value="half"' in page
    assert 'value="2026-02-03"' in page
    assert "Windy &lt;b&gt;" in page
    assert re.search(r'value="set"[^>]*checked', page)
    assert 'class="errorlist"' not in page
    with viewing_as(people.chief.pk):
        assert Sheet.objects.count() == 40


def test_one_that_is_refused_keeps_an_older_sheet_and_the_search(
    chief: Client, garage: Garage, sheets: list[Sheet]
) -> None:
    sent = {"role": "target", "made_on": "2026-02-03", "based_on": str(sheets[2].pk)}
    page = chief.post(address(garage), {**sent, "fuel": "half", "find": "pip"}).content.decode()
    assert chosen(page) == str(sheets[2].pk)
    assert 'value="pip"' in page
    done = chief.post(address(garage), {**sent, "fuel": "1/2 gal"}, follow=True)
    assert done.status_code == 200
    assert "As found 3 Jan 2025" in done.content.decode()


def test_another_cars_sheet_is_not_offered(
    chief: Client, garage: Garage, sheets: list[Sheet], people: People
) -> None:
    with viewing_as(people.chief.pk):
        other = add_car(by=people.chief, team=people.team, number="77", chassis=garage.chassis)
        elsewhere = open_sheet(by=people.chief, car=other, role="found", surface="paved")
    page = chief.get(address(garage), {"after": str(elsewhere.pk)}).content.decode()
    assert len(offered(page)) == 30
    assert str(elsewhere.pk) not in offered(page)


def test_as_many_queries_for_forty_sheets_as_for_three(
    chief: Client, garage: Garage, people: People
) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            chief.get(address(garage))
        return len(queries)

    with viewing_as(people.chief.pk):
        for _ in range(3):
            open_sheet(by=people.chief, car=garage.car, role="found", made_on=DAY, surface="paved")
    asked()  # the first visit reads what is kept for a while
    few = asked()
    with viewing_as(people.chief.pk):
        for _ in range(40):
            open_sheet(by=people.chief, car=garage.car, role="found", made_on=DAY, surface="paved")
    assert asked() == few
