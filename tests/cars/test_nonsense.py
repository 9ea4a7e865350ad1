"""What no car, tool or track can have is refused beside its box, in the units typed."""

from typing import Any

import pytest
from django.test import Client

from cars.models import BallastMount, Chassis
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import GEOMETRY, Garage
from tests.people import People

SOUND = {
    "wheelbase_left": "47 13/16",
    "wheelbase_right": "48 3/16",
    "track_front": "34 1/2",
    "track_rear": "34",
    **dict(zip(("spring_y_LF", "spring_y_RF"), ("12", "-12"), strict=True)),
    **dict(zip(("spring_y_LR", "spring_y_RR"), ("11 1/2", "-11 1/2"), strict=True)),
    **{f"spring_rate_{spot}": "100" for spot in ("LF", "RF", "LR", "RR")},
    **{f"motion_ratio_{spot}": "0.9" for spot in ("LF", "RF", "LR", "RR")},
    **{f"thread_{spot}": "1/16" for spot in ("LF", "RF", "LR", "RR")},
    **{f"tyre_rate_{spot}": "500" for spot in ("LF", "RF", "LR", "RR")},
    **{f"height_x_{spot}": "43" for spot in ("LF", "RF")},
    **{f"height_x_{spot}": "4 3/4" for spot in ("LR", "RR")},
    **{f"height_y_{spot}": "9" for spot in ("LF", "LR")},
    **{f"height_y_{spot}": "-9" for spot in ("RF", "RR")},
}


def answer(client: Client, garage: Garage, people: People, **wrong: str) -> Any:
    client.force_login(people.steward)
    sent = {"name": "Osprey 6", **SOUND, **wrong}
    return client.post(f"/chassis/{garage.chassis.pk}/change", sent)


def test_a_sound_geometry_is_kept(client: Client, garage: Garage, people: People) -> None:
    assert answer(client, garage, people).status_code == 302
    with viewing_as(people.steward.pk):
        assert Chassis.objects.get(pk=garage.chassis.pk).geometry["track_rear"] == 863.6


@pytest.mark.parametrize(
    ("box", "typed", "says"),
    [
        ("wheelbase_right", "59 13/16", "This is 12 in from the left one"),
        ("wheelbase_right", "1519 mm", "more than about 5 7/8 in apart"),
        ("wheelbase_left", "47 mm", "a wheelbase is between 762 mm and 3302 mm"),
        ("thread_RF", "6", "6 in cannot be right: the seat's travel for one turn"),
        ("thread_RF", "15 mm", "between 0.3 mm and 10 mm"),
        ("motion_ratio_LR", "7", "never more than 2.5"),
        ("spring_rate_LF", "3", "3 lb/in cannot be right: a spring rate"),
        ("spring_y_LF", "20", "20 in is outside the tyre"),
        ("spring_y_LF", "-13", "The left spring must stand left of the right one"),
        ("height_x_LF", "100", "100 in ahead of the rear axle is outside the car"),
        ("height_y_RR", "-28", "-28 in is outside the car"),
        ("height_x_LF", "2", "The front point must lie ahead of the rear one"),
    ],
)
def test_what_no_car_has_is_said_beside_its_box(
    client: Client, garage: Garage, people: People, box: str, typed: str, says: str
) -> None:
    came = answer(client, garage, people, **{box: typed})
    assert came.status_code == 200
    errors = came.context["form"].errors
    assert list(errors) == [box]
    said = errors[box][0]
    assert says.replace("about ", "") in said.replace("about ", ""), said
    assert f'value="{typed}"' in came.content.decode(), "what was typed is still there"


@pytest.mark.parametrize(
    ("change", "where", "says"),
    [
        ({"wheelbase_right": 1500.0}, "geometry.wheelbase_right", "Wheelbase, right: This is"),
        ({"thread": [2.0, 152.4, 2.0, 2.0]}, "geometry.thread", "Seat travel per turn, RF: 152.4"),
        ({"motion_ratio": [7, 1, 1, 1]}, "geometry.motion_ratio", "7 cannot be right"),
        (
            {"height_points": [[1000, 711.2], [1000, -250], [100, 250], [100, -250]]},
            "geometry.height_points",
            "Height point y, LF: 711.2 mm is outside the car",
        ),
    ],
)
def test_the_api_refuses_the_same(
    client: Client, garage: Garage, people: People, change: dict[str, Any], where: str, says: str
) -> None:
    client.force_login(people.steward)
    came = client.patch(
        f"/api/v1/chassis/{garage.chassis.pk}",
        {"geometry": {**GEOMETRY, **change}},
        "application/json",
    )
    assert came.status_code == 400
    problem = came.json()
    assert problem["errors"][0]["pointer"] == f"#/{where}"
    assert says in problem["detail"]


def test_a_mount_outside_its_chassis_is_refused_on_page_and_api(
    client: Client, garage: Garage, people: People
) -> None:
    client.force_login(people.steward)
    sent = {"name": "Nose", "x": "40", "y": "28", "capacity": "10 lb"}
    page = client.post(f"/chassis/{garage.chassis.pk}/mounts/new", sent)
    assert "28 in is outside this chassis" in page.context["form"].errors["y"][0]
    api = client.post(
        "/api/v1/ballast-mounts",
        {**sent, "x": "2200 mm", "y": "0 mm", "chassis": str(garage.chassis.pk)},
        "application/json",
    )
    assert api.json()["errors"][0]["pointer"] == "#/x"
    assert "2200 mm ahead of the rear axle is outside this chassis" in api.json()["detail"]
    with viewing_as(people.steward.pk):
        assert not BallastMount.objects.filter(name="Nose").exists()


def test_what_was_typed_of_a_mount_is_what_the_api_tells(
    client: Client, garage: Garage, people: People
) -> None:
    client.force_login(people.steward)
    sent = {"name": "Nose", "x": " 17 1/2", "y": "-2 in", "capacity": "10 lb"}
    made = client.post(
        "/api/v1/ballast-mounts", {**sent, "chassis": str(garage.chassis.pk)}, "application/json"
    ).json()
    told = {name: made[name]["typed"] for name in ("x", "y", "capacity")}
    assert told == {"x": "17 1/2", "y": "-2 in", "capacity": "10 lb"}


@pytest.mark.parametrize("text", ["110", "110 %", "5"])
def test_a_cross_that_no_car_has_is_no_target(
    client: Client, garage: Garage, people: People, text: str
) -> None:
    client.force_login(people.steward)
    page = client.post(f"/chassis/{garage.chassis.pk}/baselines/new", {"surface": "dirt"})
    sent = {"box": "cross.car", "target": text, "tolerance": "0.5", "source": "maker"}
    errors = client.post(page.headers["Location"], sent).context["form"].errors
    assert "cross is between 20% and 80%" in errors["target"][0]


def test_a_change_beyond_any_car_is_refused(client: Client, garage: Garage, people: People) -> None:
    client.force_login(people.crew)
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
    sent = {"adjuster": "spring-seat", "spot": "LF", "amount": "400", "unit": "turn"}
    came = client.post(f"/sheets/{sheet.pk}/changes/new", sent)
    assert "400 cannot be right" in came.content.decode()
