"""Chassis, cars, parts and ballast through the actions."""

from collections.abc import Callable
from datetime import date
from functools import partial
from typing import Any

import pytest

from cars.baselines.actions.chassis import add_chassis, edit_chassis
from cars.baselines.actions.mounts import add_mount
from cars.baselines.geometry import mechanics_of
from cars.garage.actions.ballast import add_ballast_piece, retire_ballast_piece
from cars.garage.actions.cars import add_car, edit_car
from cars.garage.actions.parts import add_part, set_part_code
from cars.models import BallastPiece, Car, Chassis, Ownership, Part, PartCode
from cars.sheets.actions.ballast import move_ballast_piece
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import GEOMETRY, Garage, typed
from tests.people import People


def refused(field: str, act: Callable[[], Any]) -> str:
    with pytest.raises(Invalid) as refusal:
        act()
    assert refusal.value.field == field
    return refusal.value.message


def test_a_chassis_is_a_car_the_mechanics_can_make(garage: Garage) -> None:
    car = mechanics_of(garage.chassis.geometry)
    assert car is not None
    assert car.lead == pytest.approx(12.7)
    assert garage.chassis.geometry["rear_axle"] == "solid"
    assert mechanics_of({}) is None


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"wheelbase_left": -1}, "geometry.wheelbase_left"),
        ({"spring_rate": [1, 2, 3]}, "geometry.corners"),
        ({"spring_rate": [1, 2, 3, 0]}, "geometry.spring_rate RR"),
        ({"spring_y": [-280, 280, 300, -300]}, "geometry.spring_y front"),
        ({"track_front": None}, "geometry.track_front"),
        ({"wings": 4}, "geometry.wings"),
        ({"height_points": [[1, 2]]}, "geometry.height_points"),
        ({"height_points": 5}, "geometry"),
        ({"thread": "2 mm"}, "geometry.thread"),
        ({"rear_axle": "floating"}, "geometry.rear_axle"),
    ],
)
def test_a_geometry_no_car_has_is_refused_by_its_part(
    garage: Garage, people: People, changed: dict[str, Any], field: str
) -> None:
    by = people.steward
    with viewing_as(by.pk):
        wrong = {**GEOMETRY, **changed}
        refused(field, lambda: edit_chassis(by=by, chassis=garage.chassis, geometry=wrong))
        del wrong[next(iter(wrong))]
        with pytest.raises(Invalid):
            add_chassis(by=by, club=people.club, name="Half", geometry=wrong)
        assert not Chassis.objects.filter(name="Half").exists()
        assert Chassis.objects.get(pk=garage.chassis.pk).geometry == garage.chassis.geometry


def test_names_and_numbers_are_used_once(garage: Garage, people: People) -> None:
    with viewing_as(people.steward.pk):
        for name in ("Osprey 6", " "):
            refused("name", partial(add_chassis, by=people.steward, club=people.club, name=name))
    with viewing_as(people.chief.pk):
        for number in ("7", "", "1234567"):
            refused(
                "number",
                partial(
                    add_car,
                    by=people.chief,
                    team=people.team,
                    number=number,
                    chassis=garage.chassis,
                ),
            )


def test_a_new_car_belongs_to_its_team_from_that_day(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        first = Ownership.objects.get(car=garage.car)
        assert (first.team, first.since, first.until) == (people.team, date(2025, 3, 1), None)


def test_a_car_keeps_to_its_club_and_chassis(garage: Garage, people: People) -> None:
    with viewing_as(people.other_steward.pk):
        foreign = add_chassis(by=people.other_steward, club=people.other_club, name="Elsewhere")
    with viewing_as(people.steward.pk):
        second = add_chassis(by=people.steward, club=people.club, name="Kite 2")
    with viewing_as(people.chief.pk):

        def edit(**changed: Any) -> Car:
            same = {"number": "7", "name": "", "race_class": None, "baseline": None}
            given = {**same, "chassis": garage.chassis, **changed}
            return edit_car(by=people.chief, car=garage.car, **given)

        refused("chassis", lambda: edit(chassis=foreign))
        refused("baseline", lambda: edit(chassis=second, baseline=garage.baseline))
        assert edit(chassis=second, name=" Red ").name == "Red"


def test_ballast_is_added_moved_and_retired(garage: Garage, people: People) -> None:
    ten = typed("mass", "10 lb")
    with viewing_as(people.steward.pk):
        length = typed("length", "10 in")
        mount = add_mount(
            by=people.steward, chassis=garage.chassis, name="Nose", x=length, y=length, capacity=ten
        )
        again: dict[str, Any] = {"name": "Nose", "x": length, "y": length, "capacity": ten}
        refused("name", lambda: add_mount(by=people.steward, chassis=garage.chassis, **again))
    by = people.crew
    with viewing_as(by.pk):
        piece = add_ballast_piece(by=by, team=people.team, label="7", marked_mass=ten)
        assert (piece.car, piece.marked_mass_typed) == (None, "10 lb")
        refused("mount", lambda: move_ballast_piece(by=by, piece=piece, car=None, mount=mount))
        moved = move_ballast_piece(by=by, piece=piece, car=garage.car, mount=mount)
        assert (moved.car, moved.mount) == (garage.car, mount)
        retire_ballast_piece(by=by, piece=piece)
        kept = BallastPiece.objects.get(pk=piece.pk)
        assert (kept.car, kept.mount) == (None, None)
        for late in (
            lambda: move_ballast_piece(by=by, piece=kept, car=garage.car),
            lambda: retire_ballast_piece(by=by, piece=kept),
        ):
            with pytest.raises(WrongState, match="retired"):
                late()


def test_ballast_of_nothing_and_without_a_name(garage: Garage, people: People) -> None:
    by = people.crew
    with viewing_as(by.pk):
        given: dict[str, Any] = {"by": by, "team": people.team}
        for label, mass, field in ((" ", "5 lb", "label"), ("7", "0", "marked_mass")):
            refused(
                field,
                partial(add_ballast_piece, label=label, marked_mass=typed("mass", mass), **given),
            )


def test_part_codes_stay_with_the_team(garage: Garage, people: People) -> None:
    by = people.crew
    with viewing_as(by.pk):
        rate = typed("spring_rate", "110")
        part = add_part(by=by, team=people.team, sort="spring", code="two blue", rate=rate)
        other = add_part(by=by, team=people.team, sort="damper")
        refused("rate", lambda: add_part(by=by, team=people.team, sort="tyre", rate=rate))
        refused("code", lambda: set_part_code(by=by, part=other, code="two blue"))
        set_part_code(by=by, part=part, code="two blue", note="110, cut once")
        assert "blue" not in str(list(TrailLine.objects.values_list("detail", flat=True)))
    seen = {who: PartCode.objects.count() for who in _looking(people)}
    assert seen == {"chief": 1, "guest": 1}
    with viewing_as(people.rival.pk), pytest.raises(NotAllowed):
        set_part_code(by=people.rival, part=part, code="mine")


def _looking(people: People) -> Any:
    """Everybody's name in turn, while they look, where they see any code."""
    names = [
        "chief",
        "guest",
        "coach",
        "unlinked_coach",
        "official",
        "steward",
        "rival",
        "other_official",
        "stranger",
    ]
    for name in names:
        with viewing_as(getattr(people, name).pk):
            if PartCode.objects.exists():
                yield name
            else:
                assert not Part.objects.exists()


def test_who_may_keep_what(garage: Garage, people: People) -> None:
    ten = typed("mass", "10 lb")
    crew_only: list[Callable[[Any], Any]] = [
        lambda by: add_car(by=by, team=people.team, number="9", chassis=garage.chassis),
        lambda by: add_ballast_piece(by=by, team=people.team, label="7", marked_mass=ten),
        lambda by: add_part(by=by, team=people.team, sort="tyre"),
    ]
    for name in (
        *("guest", "coach", "unlinked_coach", "official", "steward", "rival"),
        *("other_official", "other_steward", "stranger"),
    ):
        who = getattr(people, name)
        with viewing_as(who.pk):
            for act in crew_only:
                with pytest.raises(NotAllowed):
                    act(who)
            if name != "steward":
                with pytest.raises(NotAllowed):
                    add_chassis(by=who, club=people.club, name="Mine")


def test_without_its_line_in_the_trail_nothing_is_saved(
    garage: Garage, people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise RuntimeError("no trail")

    monkeypatch.setattr(TrailLine, "save", fails)
    by, ten = people.chief, typed("mass", "10 lb")
    with viewing_as(by.pk):
        for act in (
            lambda: add_car(by=by, team=people.team, number="9", chassis=garage.chassis),
            lambda: add_ballast_piece(by=by, team=people.team, label="7", marked_mass=ten),
            lambda: add_part(by=by, team=people.team, sort="tyre", code="x"),
        ):
            with pytest.raises(RuntimeError):
                act()
        assert list(Car.objects.all()) == [garage.car]
        assert Ownership.objects.count() == 1
        assert not BallastPiece.objects.exists()
        assert not Part.objects.exists()
        assert not PartCode.objects.exists()
