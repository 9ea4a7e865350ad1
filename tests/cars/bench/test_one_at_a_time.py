"""One open bench a car and kind; every open one can be gone on with; a day's are told apart."""

import re
import threading
from datetime import date

import pytest
from django.db import connections
from django.test import Client

from cars.bench.actions import start_bench
from cars.models import Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import OpenAlready, close_sheet
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.markup import tight
from tests.people import People

DAY = date(2026, 3, 14)


def test_the_second_is_told_what_is_open(
    crew: Client, people: People, garage: Garage, sheet: Sheet
) -> None:
    path = f"/cars/{garage.car.pk}/bench/new"
    with viewing_as(people.crew.pk):
        take_typed(by=people.crew, sheet=sheet, typed={"ride-height.LF": "2"})
    assert f'href="/sheets/{sheet.pk}/bench/"' in crew.get(path).content.decode()
    targets = f"baseline:{garage.baseline.pk}"
    sent = {"role": "found", "targets": targets, "made_on": "2026-03-14"}
    answer = crew.post(path, sent)
    page = answer.content.decode()
    assert "As found 14 Mar 2026 is open already" in page
    assert str(people.crew) in page
    assert f'href="/sheets/{sheet.pk}/bench/"' in page
    api = crew.post(
        f"/api/v1/cars/{garage.car.pk}/benches", {"role": "found"}, content_type="application/json"
    )
    assert (api.status_code, api.json()["open"]) == (409, str(sheet.pk))
    plain = {"car": str(garage.car.pk), "role": "found", "surface": "paved"}
    api = crew.post("/api/v1/sheets", plain, content_type="application/json")
    assert (api.status_code, api.json()["open"]) == (409, str(sheet.pk))
    new = crew.post(f"/cars/{garage.car.pk}/sheets/new", {**sent, "surface": "paved"})
    assert "is open already" in new.content.decode()
    with viewing_as(people.crew.pk):
        assert Sheet.objects.count() == 1


def test_ones_own_empty_one_is_told_and_no_hindrance(
    crew: Client, chief: Client, people: People, garage: Garage, sheet: Sheet
) -> None:
    path = f"/cars/{garage.car.pk}/bench/new"
    sent = {"role": "found", "targets": f"baseline:{garage.baseline.pk}", "made_on": "2026-03-14"}
    other = chief.post(path, sent)
    assert "is open already" in other.content.decode(), "somebody else may be about to write on it"
    answer = crew.post(path, sent, follow=True)
    assert "As found 14 Mar 2026 is open too" in answer.content.decode()
    with viewing_as(people.crew.pk):
        assert Sheet.objects.filter(state="open").count() == 2


def test_a_sheet_as_set_follows_and_names_the_other(
    crew: Client, people: People, garage: Garage, sheet: Sheet
) -> None:
    with viewing_as(people.crew.pk):
        forgotten = garage.sheet(people.crew, role="set")
        for each in (sheet, forgotten):
            take_typed(by=people.crew, sheet=each, typed={"ride-height.LF": "2"})
        close_sheet(by=people.crew, sheet=sheet)
    answer = crew.post(f"/sheets/{sheet.pk}/bench/follow", follow=True)
    assert "As set 14 Mar 2026 is open too" in answer.content.decode()


def test_another_kind_and_a_closed_one_are_no_hindrance(
    people: People, garage: Garage, sheet: Sheet
) -> None:
    with viewing_as(people.crew.pk):
        start_bench(by=people.crew, car=garage.car, role="set")
        take_typed(by=people.crew, sheet=sheet, typed={"ride-height.LF": "2"})
        close_sheet(by=people.crew, sheet=sheet)
        start_bench(by=people.crew, car=garage.car, role="found")


def test_two_phones_at_once_open_one(committed: tuple[People, Garage, Sheet]) -> None:
    people, garage, sheet = committed
    with viewing_as(people.crew.pk):
        take_typed(by=people.crew, sheet=sheet, typed={"ride-height.LF": "2"})
        close_sheet(by=people.crew, sheet=sheet)
    together, said = threading.Barrier(2), []

    def phone(by: object) -> None:
        try:
            with viewing_as(by.pk):  # type: ignore[attr-defined]
                together.wait()
                said.append(start_bench(by=by, car=garage.car, role="found"))  # type: ignore[arg-type]
        except OpenAlready as refusal:
            said.append(refusal.sheet)
        finally:
            connections.close_all()

    phones = [threading.Thread(target=phone, args=[by]) for by in (people.crew, people.chief)]
    for each in phones:
        each.start()
    for each in phones:
        each.join()
    with viewing_as(people.crew.pk):
        assert Sheet.objects.filter(state="open").count() == 1
    assert len({each.pk for each in said}) == 1, "the second was told of the first"


@pytest.fixture
def two_open(people: People, garage: Garage, sheet: Sheet) -> list[Sheet]:
    """As they were opened before anybody asked; a closed sheet of a later day says more."""
    with viewing_as(people.crew.pk):
        other = garage.sheet(people.crew)
        later = garage.sheet(people.crew, role="set")
        take_typed(by=people.crew, sheet=later, typed={"ride-height.LF": "2"})
        close_sheet(by=people.crew, sheet=later)
    return [sheet, other]


@pytest.mark.parametrize("path", ["/", "/cars/", "/cars/{car}/"])
def test_every_open_one_can_be_gone_on_with(
    crew: Client, garage: Garage, two_open: list[Sheet], path: str
) -> None:
    page = tight(crew.get(path.format(car=garage.car.pk)).content.decode())
    for each in two_open:
        assert f'href="/sheets/{each.pk}/bench/">Measure tyres<' in page


def test_who_only_reads_is_not_asked_to_go_on(
    client: Client, people: People, garage: Garage, two_open: list[Sheet]
) -> None:
    client.force_login(people.guest)
    for path in ("/cars/", f"/cars/{garage.car.pk}/"):
        assert '/bench/">Measure' not in tight(client.get(path).content.decode())


def test_two_of_one_day_are_told_apart_by_the_time(
    crew: Client, garage: Garage, two_open: list[Sheet]
) -> None:
    page = tight(crew.get(f"/cars/{garage.car.pk}/sheets/").content.decode())
    assert len(re.findall(r"As found, 14 Mar 2026, opened \d+ \w+ \d{4} \d\d:\d\d</a>", page)) == 2
    assert re.search(r"As set, 14 Mar 2026</a>", page), "alone on its day, it needs no time"
