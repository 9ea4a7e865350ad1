"""A car on an older version is told what changed, and its crew may move it."""

import pytest
from django.test import Client

from cars.baselines.actions.baselines import (
    copy_baseline,
    publish_baseline,
    remove_baseline_value,
)
from cars.baselines.actions.chassis import add_chassis
from cars.baselines.actions.preferences import move_to_baseline
from cars.baselines.queries.versions import newer_than
from cars.models import Baseline, Car, Measure, Sheet
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import TARGETS, Garage, published, set_target, typed
from tests.people import People

SEES_CAR = {"chief", "crew", "guest", "coach"}
EVERYBODY = (
    *("chief", "crew", "guest", "coach", "unlinked_coach", "official", "steward"),
    *("other_official", "other_steward", "rival", "stranger"),
)


def retarget(by: User, draft: Baseline, box: str, target: str, tolerance: str) -> None:
    slug, spot = box.split(".")
    measure = Measure.objects.get(pk=slug)
    set_target(
        by=by,
        baseline=draft,
        measure=measure,
        spot=spot,
        target=typed(measure, target),
        tolerance=typed(measure, tolerance),
        source="club",
    )


@pytest.fixture
def second(people: People, garage: Garage) -> Baseline:
    """Version 2: a target more, one fewer, one other, one as near as before, one nearer."""
    by = people.steward
    with viewing_as(by.pk):
        draft = copy_baseline(by=by, baseline=garage.baseline, note="After the wet weekend.")
        retarget(by, draft, "stagger.rear", "1 3/4", "1/8")
        retarget(by, draft, "ride-height.LF", "2 3/8", "1/16")
        retarget(by, draft, "pressure.LF", "9", "0.25")
        retarget(by, draft, "pressure.RR", "14", "0.5")
        lead = Measure.objects.get(pk="lead")
        remove_baseline_value(by=by, baseline=draft, measure=lead, spot="car")
        return publish_baseline(by=by, baseline=draft)


def test_what_changed_is_said_target_by_target(
    people: People, garage: Garage, second: Baseline
) -> None:
    with viewing_as(people.crew.pk):
        newer = newer_than(garage.baseline, people.crew)
    assert newer is not None
    assert (newer.old.version, newer.new.version) == (1, 2)
    assert [(each.box, each.was, each.now) for each in newer.changes] == [
        ("Cold pressure LF", "9 psi ± 0.5 psi", "9 psi ± 0.25 psi"),
        ("Stagger rear", "", "1 3/4 in"),
        ("Lead", "1/2 in", ""),
        ("Ride height LF", "2 1/4 in", "2 3/8 in"),
    ]


def test_the_newest_is_told_nothing(people: People, garage: Garage, second: Baseline) -> None:
    with viewing_as(people.crew.pk):
        assert newer_than(second, people.crew) is None
        assert newer_than(None, people.crew) is None


def test_a_draft_is_no_news(people: People, garage: Garage) -> None:
    with viewing_as(people.steward.pk):
        copy_baseline(by=people.steward, baseline=garage.baseline)
        assert newer_than(garage.baseline, people.steward) is None


def car_page(who: User, car: Car) -> str:
    client = Client()
    client.force_login(who)
    return " ".join(client.get(f"/cars/{car.pk}/").content.decode().split())


def test_the_car_and_its_open_sheet_say_so(
    people: People, garage: Garage, second: Baseline
) -> None:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
    told = "Version 2 is published; your car is on version 1"
    client = Client()
    client.force_login(people.crew)
    for text in (
        car_page(people.crew, garage.car),
        " ".join(client.get(f"/sheets/{sheet.pk}/").content.decode().split()),
    ):
        assert told in text
        assert "2 1/4 in → 2 3/8 in" in text
        assert "Move the car to version 2" in text
    for who in (people.guest, people.coach):
        assert told in car_page(who, garage.car)
        assert "Move the car" not in car_page(who, garage.car)


def test_a_closed_sheet_of_another_day_is_left_in_peace(
    people: People, garage: Garage, second: Baseline
) -> None:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        Sheet.objects.filter(pk=sheet.pk).update(
            state="closed", closed_at=sheet.created_at, closed_by=people.crew
        )
    client = Client()
    client.force_login(people.crew)
    assert "is published; your car" not in client.get(f"/sheets/{sheet.pk}/").content.decode()


def test_the_crew_moves_it(people: People, garage: Garage, second: Baseline) -> None:
    client = Client()
    client.force_login(people.crew)
    path = f"/cars/{garage.car.pk}/baseline"
    assert client.post(path, {"baseline": str(second.pk)}).status_code == 302
    with viewing_as(people.crew.pk):
        assert Car.objects.get(pk=garage.car.pk).baseline == second
    assert "your car is on version" not in car_page(people.crew, garage.car)
    with viewing_as(people.chief.pk):
        line = TrailLine.objects.get(did="moved_to_baseline")
    assert (line.detail["was"], line.detail["now"]) == (1, 2)


@pytest.mark.parametrize("name", EVERYBODY)
def test_who_may_move_it(people: People, garage: Garage, second: Baseline, name: str) -> None:
    who = getattr(people, name)
    client = Client()
    client.force_login(who)
    answer = client.post(f"/cars/{garage.car.pk}/baseline", {"baseline": str(second.pk)})
    crew = {"chief", "crew"}
    assert answer.status_code == (302 if name in crew else 403 if name in SEES_CAR else 404)
    if name not in crew:
        with viewing_as(who.pk), pytest.raises(NotAllowed):
            move_to_baseline(by=who, car=garage.car, baseline=second)
    assert Client().post(f"/cars/{garage.car.pk}/baseline").status_code == 302


@pytest.mark.parametrize("sent", ["", "x", "01900000-0000-7000-8000-000000000000"])
def test_no_such_baseline(people: People, garage: Garage, sent: str) -> None:
    client = Client()
    client.force_login(people.crew)
    answer = client.post(f"/cars/{garage.car.pk}/baseline", {"baseline": sent})
    assert answer.status_code == 404


def test_only_to_the_one_in_force_of_its_chassis(
    people: People, garage: Garage, second: Baseline
) -> None:
    with viewing_as(people.steward.pk):
        chassis = add_chassis(by=people.steward, club=people.club, name="Wheatear 2")
        other = published(people.steward, chassis, {"cross.car": TARGETS["cross.car"]})
    with viewing_as(people.crew.pk):
        with pytest.raises(Invalid):
            move_to_baseline(by=people.crew, car=garage.car, baseline=other)
        with pytest.raises(WrongState):  # retired by the second
            move_to_baseline(by=people.crew, car=garage.car, baseline=garage.baseline)
        move_to_baseline(by=people.crew, car=garage.car, baseline=second)
        with pytest.raises(WrongState):
            move_to_baseline(by=people.crew, car=garage.car, baseline=second)
