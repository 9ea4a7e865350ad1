"""Lists of sheets, parts, pieces, baselines and own targets come page by page and lose nothing."""

from datetime import date, timedelta

import pytest
from django.test import Client

from cars.baselines.actions.baselines import draft_baseline
from cars.baselines.actions.own_targets import set_own_target
from cars.baselines.pages import chassis as chassis_pages
from cars.baselines.presenters import own_targets
from cars.garage.actions.ballast import add_ballast_piece
from cars.garage.actions.parts import add_part
from cars.garage.pages import cars, parts
from cars.models import Measure, OwnTarget
from cars.sheets.actions.sheets import open_sheet
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage, typed
from tests.people import People
from tests.walking_pages import all_pages

DAY = date(2026, 3, 1)


def signed_in(who: User) -> Client:
    client = Client()
    client.force_login(who)
    return client


def test_sheets_by_day_two_on_a_page(
    garage: Garage, people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two of one day, the one opened last first; an older day noted later comes after them."""
    by = people.chief
    with viewing_as(by.pk):
        first, second, older, newest = (
            open_sheet(by=by, car=garage.car, role="found", made_on=day, surface="paved")
            for day in (DAY, DAY, DAY - timedelta(9), DAY + timedelta(9))
        )
    monkeypatch.setattr(cars, "A_PAGE", 2)
    row = r'href="/sheets/([0-9a-f-]{36})/"'
    pages = all_pages(signed_in(by), f"/cars/{garage.car.pk}/sheets/", row)
    assert pages == [[str(newest.pk), str(second.pk)], [str(first.pk), str(older.pk)]]


def test_parts_by_sort_and_code(
    garage: Garage, people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One without a code comes after those of its sort that have one."""
    with viewing_as(people.chief.pk):
        for code in ("b", "", "a", "c"):
            add_part(by=people.chief, team=people.team, sort="damper", code=code)
    monkeypatch.setattr(parts, "A_PAGE", 3)
    path = f"/teams/{people.team.pk}/parts/"
    first, second = all_pages(signed_in(people.chief), path, r'href="/parts/([0-9a-f-]{36})/code"')
    assert [len(first), len(second)] == [3, 1]
    codes = [all_pages(signed_in(people.chief), path, r"<b>([abc])</b>")[n] for n in (0, 1)]
    assert codes == [["a", "b", "c"], []]


def test_pieces_on_the_car_and_on_the_shelf(
    garage: Garage, people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    with viewing_as(people.chief.pk):
        for label, car in (("2", None), ("4", garage.car), ("1", None), ("3", garage.car)):
            mass = typed("mass", "4.5 lb")
            by, team = people.chief, people.team
            add_ballast_piece(by=by, team=team, label=label, marked_mass=mass, car=car)
    monkeypatch.setattr(parts, "A_PAGE", 3)
    pages = all_pages(
        signed_in(people.chief), f"/teams/{people.team.pk}/ballast/", r"</b> marked (\d)<"
    )
    assert pages == [["3", "4", "1"], ["2"]]


@pytest.mark.parametrize("path", ["/clubs/{club}/chassis/", "/chassis/{chassis}/"])
def test_baselines_the_newest_version_first(
    path: str, garage: Garage, people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    by = people.steward
    with viewing_as(by.pk):
        for surface in ("paved", "dirt", "paved"):
            draft_baseline(by=by, chassis=garage.chassis, surface=surface, note="Next.")
    monkeypatch.setattr(chassis_pages, "A_PAGE", 2)
    there = path.format(club=people.club.pk, chassis=garage.chassis.pk)
    first, second = all_pages(signed_in(by), there, r'href="/baselines/([0-9a-f-]{36})/"')
    assert len(first) == len(second) == 2
    assert second[-1] == str(garage.baseline.pk), "version 1 of the last surface"
    assert not set(first) & set(second)


def test_own_targets_before_the_newest_first(
    garage: Garage, people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    with viewing_as(people.chief.pk):
        measure = Measure.objects.get(pk="ride-height")
        for number in range(5):
            set_own_target(
                by=people.chief,
                car=garage.car,
                measure=measure,
                spot="LF",
                surface="",
                target=typed(measure, f"2.{number}"),
                tolerance=typed(measure, "0.1"),
                reason=f"Reason {number}.",
            )
    monkeypatch.setattr(own_targets, "A_PAGE", 3)
    client, path = signed_in(people.chief), f"/cars/{garage.car.pk}/own-targets"
    pages = all_pages(client, path, r"Reason (\d)")
    assert pages == [["4", "3", "2", "1"], ["4", "0"]], "what stands is on each page"
    there = f"/api/v1{path}"
    first = client.get(there).json()
    second = client.get(there, {"before": first["earlier"]}).json()
    told = [row["reason"] for page in (first, second) for row in page["before"]]
    assert told == [f"Reason {number}." for number in (3, 2, 1, 0)]
    assert second["earlier"] is None
    with viewing_as(people.chief.pk):
        standing = OwnTarget.objects.current().get()
    refused = client.get(there, {"before": str(standing.pk)})
    assert refused.status_code == 400
    assert refused.json()["errors"][0]["parameter"] == "before"
