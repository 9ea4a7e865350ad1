"""Starting a bench towards a target, and going on from the found sheet to the left one."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import ProgrammingError, transaction
from django.test import Client

from cars.bench.actions import start_bench
from cars.bench.presenters.bench_view import bench_view
from cars.catalogue.keys import Key
from cars.catalogue.queries import catalogue
from cars.garage.actions.cars import add_car
from cars.lookups import find_sheet
from cars.models import Sheet, SheetTargetSource
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import open_set_sheet
from cars.sheets.actions.sheets import close_sheet, correct_sheet, open_sheet
from cars.sheets.presenters.sheet_view import sheet_view
from cars.sheets.presenters.target_sources import choice_name
from cars.sheets.queries.targets import (
    TargetSource,
    target_source_of,
    target_sources,
    targets_of,
)
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.actions.places import add_track
from teams.models import Track
from tests.cars.bench.conftest import as_user
from tests.cars.garage import Garage
from tests.people import People

HEIGHTS = {"ride-height.LF": "2 1/4", "ride-height.RF": "2 3/8"}


@pytest.fixture
def track(people: People) -> Track:
    with viewing_as(people.steward.pk):
        return add_track(by=people.steward, club=people.club, name="Long Field", surface="paved")


def set_at(by: User, garage: Garage, track: Track, day: date, height: str) -> Sheet:
    """A closed sheet as set."""
    with viewing_as(by.pk):
        sheet = open_sheet(by=by, car=garage.car, role="set", made_on=day, track=track)
        take_typed(by=by, sheet=sheet, typed={**HEIGHTS, "ride-height.LF": height})
        return close_sheet(by=by, sheet=sheet)


def start(by: User, garage: Garage, **given: Any) -> Sheet:
    with viewing_as(by.pk):
        return start_bench(by=by, car=garage.car, **{"role": "found", **given})


def test_the_choices_are_baselines_own_targets_and_the_last_set_at_each_track(
    people: People, garage: Garage, track: Track
) -> None:
    set_at(people.crew, garage, track, date(2026, 4, 1), "2 1/8")
    last = set_at(people.crew, garage, track, date(2026, 5, 1), "2 3/16")
    with viewing_as(people.crew.pk):
        own = garage.sheet(people.crew, role="target")
        sources = target_sources(garage.car)
    assert [choice_name(choice) for choice in sources] == [
        "Baseline: Osprey 6, paved, version 1",
        "As set last time at Long Field, 1 May 2026",
        "Our own target of 14 Mar 2026",
    ]
    assert [source.sheet for source in sources] == [None, last, own]


def test_towards_the_baseline(people: People, garage: Garage) -> None:
    sheet = start(people.crew, garage, baseline=garage.baseline, surface="paved")
    with viewing_as(people.crew.pk):
        assert target_source_of(sheet) == TargetSource(garage.baseline)
        targets = targets_of(sheet, TargetSource(), catalogue())
    assert sheet.baseline == garage.baseline
    assert targets[Key("ride-height", "LF")].target == Decimal("57.15")


def test_towards_the_sheet_left_last_time_here(
    people: People, garage: Garage, track: Track
) -> None:
    last = set_at(people.crew, garage, track, date(2026, 5, 1), "3")
    sheet = start(people.crew, garage, target=last, track=track)
    assert (sheet.surface, sheet.baseline, sheet.track) == ("paved", garage.baseline, track)
    with viewing_as(people.crew.pk):
        assert target_source_of(sheet).sheet == last
        targets = targets_of(sheet, TargetSource(sheet=last), catalogue())
        take_typed(by=people.crew, sheet=sheet, typed={"ride-height.LF": "3"})
        here = bench_view(sheet, people.crew, "ride-heights")
        whole = find_sheet(sheet.pk)
        assert whole is not None
        # The whole sheet's page says the same as the bench.
        assert sheet_view(whole, people.crew).box("ride-height", "LF").words == "on target"
    assert targets[Key("ride-height", "LF")].target == Decimal("76.2")
    # A sheet states no tolerance: the baseline's.
    assert targets[Key("ride-height", "LF")].tolerance == Decimal("1.5875")
    assert Key("ride-height", "RR") not in targets
    box = here.view.box("ride-height", "LF")
    assert (box.target, box.words) == ("3", "on target")


def test_a_target_where_the_baseline_says_nothing_has_the_usual_tolerance(
    people: People, garage: Garage, track: Track
) -> None:
    with viewing_as(people.crew.pk):
        own = garage.sheet(people.crew, role="target")
        take_typed(by=people.crew, sheet=own, typed={"camber.left": "1.5", "toe.front": "1/16"})
        sheet = start(people.crew, garage, target=own)
        targets = targets_of(sheet, TargetSource(sheet=own), catalogue())
    assert targets[Key("camber", "left")].tolerance == Decimal("0.5")
    assert targets[Key("toe", "front")].tolerance == Decimal("1.5875")


def test_computed_targets_follow_from_the_sheets_own_readings(
    people: People, garage: Garage
) -> None:
    with viewing_as(people.crew.pk):
        own = garage.sheet(people.crew, role="target")
        wheelbases = {"wheelbase.left": "46", "wheelbase.right": "46 3/4"}
        take_typed(by=people.crew, sheet=own, typed=wheelbases)
        sheet = start(people.crew, garage, target=own)
        targets = targets_of(sheet, TargetSource(sheet=own), catalogue())
    assert targets[Key("lead", "car")].target == Decimal("19.05")


@pytest.mark.parametrize("role", ["target", "", "nonsense"])
def test_a_bench_is_found_or_set(people: People, garage: Garage, role: str) -> None:
    with pytest.raises(Invalid) as refusal:
        start(people.crew, garage, role=role, surface="paved")
    assert refusal.value.field == "role"


def test_another_cars_sheet_is_no_target(people: People, garage: Garage) -> None:
    with viewing_as(people.chief.pk):
        given: dict[str, Any] = {
            "number": "8",
            "name": "",
            "chassis": garage.chassis,
            "since": date(2025, 1, 1),
        }
        other = add_car(by=people.chief, team=people.team, **given)
        sheet = open_sheet(by=people.chief, car=other, role="set", surface="paved")
    with pytest.raises(Invalid) as refusal:
        start(people.crew, garage, target=sheet)
    assert refusal.value.field == "target"
    with viewing_as(people.crew.pk):
        assert not Sheet.objects.filter(car=garage.car).exists()


class TestFollowing:
    @pytest.fixture
    def found(self, people: People, garage: Garage, track: Track) -> Sheet:
        last = set_at(people.crew, garage, track, date(2026, 5, 1), "3")
        sheet = start(people.crew, garage, target=last)
        with viewing_as(people.crew.pk):
            take_typed(by=people.crew, sheet=sheet, typed=HEIGHTS)
        return sheet

    def test_an_open_sheet_is_not_followed(self, people: People, found: Sheet) -> None:
        with viewing_as(people.crew.pk), pytest.raises(WrongState, match="Close the sheet"):
            open_set_sheet(by=people.crew, sheet=found)

    def test_the_set_sheet_has_its_figures_and_its_target(
        self, people: People, found: Sheet
    ) -> None:
        with viewing_as(people.crew.pk):
            found = close_sheet(by=people.crew, sheet=found)
            as_set = open_set_sheet(by=people.crew, sheet=found)
            assert (as_set.role, as_set.based_on, as_set.state) == ("set", found, "open")
            assert {r.spot: r.typed for r in as_set.readings.all()} == {
                "LF": "2 1/4",
                "RF": "2 3/8",
            }
            assert target_source_of(as_set) == target_source_of(found)
            assert SheetTargetSource.objects.count() == 2
            # What was found stands beside it, and is not what is left.
            here = bench_view(as_set, people.crew, "ride-heights")
            assert here.rows[0].boxes[0].last_found == "2 1/4"
            with pytest.raises(WrongState, match="already"):
                open_set_sheet(by=people.crew, sheet=found)

    def test_a_target_is_chosen_once(self, people: People, found: Sheet) -> None:
        with viewing_as(people.crew.pk):
            row = SheetTargetSource.objects.get(sheet=found)
            with pytest.raises(ProgrammingError, match="permission denied"), transaction.atomic():
                SheetTargetSource.objects.filter(pk=row.pk).update(created_at=row.created_at)


WHO = ("guest", "coach", "official", "unlinked_coach", "steward", "rival", "stranger")


@pytest.mark.parametrize("who", WHO)
def test_who_may_not_start_one(people: People, garage: Garage, who: str) -> None:
    with pytest.raises(NotAllowed):
        start(getattr(people, who), garage, surface="paved")


class TestThePage:
    def test_starts_and_opens_at_the_first_step(
        self, people: People, garage: Garage, crew: Client
    ) -> None:
        path = f"/cars/{garage.car.pk}/bench/new"
        assert b"Baseline: Osprey 6, paved" in crew.get(path).content
        targets = f"baseline:{garage.baseline.pk}"
        answer = crew.post(
            path, {"role": "found", "targets": targets, "made_on": "2026-03-14"}, follow=True
        )
        assert answer.redirect_chain[-1][0].endswith("/bench/tyres/")
        with viewing_as(people.crew.pk):
            sheet = Sheet.objects.get(car=garage.car)
        assert (sheet.role, sheet.surface, sheet.baseline) == ("found", "paved", garage.baseline)

    def test_a_sheet_left_somewhere_brings_its_track(
        self, people: People, garage: Garage, track: Track, crew: Client
    ) -> None:
        last = set_at(people.crew, garage, track, date(2026, 2, 1), "3")
        given = {"role": "set", "targets": f"sheet:{last.pk}", "made_on": "2026-03-14"}
        crew.post(f"/cars/{garage.car.pk}/bench/new", given)
        with viewing_as(people.crew.pk):
            sheet = Sheet.objects.get(car=garage.car, state="open")
            assert sheet.track == track
            assert target_source_of(sheet).sheet == last

    def test_another_teams_sheet_cannot_be_chosen(
        self, people: People, garage: Garage, crew: Client
    ) -> None:
        given = {"role": "found", "targets": f"sheet:{people.team.pk}", "made_on": "2026-03-14"}
        answer = crew.post(f"/cars/{garage.car.pk}/bench/new", given)
        assert answer.status_code == 200
        assert b"is not among its choices" in answer.content

    @pytest.mark.parametrize(("who", "status"), [("guest", 403), ("coach", 403), ("rival", 404)])
    def test_is_not_for(self, people: People, garage: Garage, who: str, status: int) -> None:
        client = as_user(getattr(people, who))
        assert client.get(f"/cars/{garage.car.pk}/bench/new").status_code == status


def test_a_corrected_found_sheet_is_followed_from_its_newest_version(
    client: Client, people: People, garage: Garage
) -> None:
    first = start(people.crew, garage)
    with viewing_as(people.crew.pk):
        take_typed(by=people.crew, sheet=first, typed=HEIGHTS)
        closed = close_sheet(by=people.crew, sheet=first)
        second = correct_sheet(by=people.crew, sheet=closed, reason="LF was misread")
        with pytest.raises(WrongState, match="Version 2 corrects this sheet"):
            open_set_sheet(by=people.crew, sheet=closed)
        assert not Sheet.objects.filter(role="set").exists()
    client.force_login(people.crew)
    text = client.get(f"/sheets/{first.pk}/bench/done").content.decode()
    assert "Set the car" not in text
    assert f'href="/sheets/{second.pk}/bench/done">Go on with version 2' in text
