"""Who reaches which page of cars, and what the pages other than a sheet's do."""

from dataclasses import dataclass
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.baselines.actions.baselines import copy_baseline, draft_baseline
from cars.baselines.actions.chassis import add_chassis
from cars.figures.geometry_boxes import flat
from cars.garage.actions.ballast import add_ballast_piece
from cars.garage.actions.cars import add_car
from cars.garage.actions.parts import add_part
from cars.models import BallastPiece, Baseline, Car, Chassis, Part, Sheet
from cars.sheets.actions.comments import add_comment
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage, typed
from tests.people import People

EVERYBODY = (
    *("chief", "crew", "guest", "coach", "unlinked_coach", "official", "other_official"),
    *("steward", "other_steward", "rival", "stranger"),
)
TEAM = {"chief": 200, "crew": 200, "guest": 200, "coach": 200}
CREW_WRITES = {"chief": 200, "crew": 200, "guest": 403, "coach": 403}
# People of the club see that the team is there, and may not look further.
CLUB_403 = dict.fromkeys(("unlinked_coach", "official", "steward", "rival"), 403)
MEMBERS = dict.fromkeys(
    (*TEAM, "unlinked_coach", "official", "steward", "rival"), 200
)  # fmt: skip
STEWARDS_ONLY = {**dict.fromkeys(MEMBERS, 403), "steward": 200}


@dataclass
class World:
    """One of everything that has a page."""

    ids: dict[str, str]


@pytest.fixture
def world(garage: Garage, people: People) -> World:
    with viewing_as(people.chief.pk):
        sheet = garage.sheet(people.chief)
        take_typed(by=people.chief, sheet=sheet, typed={"ride-height.LF": "2 1/4"})
        piece = add_ballast_piece(
            by=people.chief,
            team=people.team,
            label="7 Blue",
            marked_mass=typed("mass", "4.5 lb"),
            car=garage.car,
        )
        part = add_part(by=people.chief, team=people.team, sort="damper", code="red dot")
    with viewing_as(people.steward.pk):
        draft = copy_baseline(by=people.steward, baseline=garage.baseline)
    rows = {
        "car": garage.car,
        "sheet": sheet,
        "team": people.team,
        "club": people.club,
        "chassis": garage.chassis,
        "baseline": garage.baseline,
        "draft": draft,
        "piece": piece,
        "part": part,
    }
    return World({name: str(row.pk) for name, row in rows.items()})


PAGES: dict[str, dict[str, int]] = {
    "/cars/{car}/": TEAM,
    "/cars/{car}/sheets/": TEAM,
    "/cars/{car}/change": CREW_WRITES,
    "/cars/{car}/sheets/new": CREW_WRITES,
    "/sheets/{sheet}/": TEAM,
    "/sheets/{sheet}/readings": CREW_WRITES,
    "/sheets/{sheet}/history": TEAM,
    "/sheets/{sheet}/change": CREW_WRITES,
    "/sheets/{sheet}/correct": CREW_WRITES,
    "/sheets/{sheet}/changes/new": CREW_WRITES,
    "/teams/{team}/cars/new": {**CREW_WRITES, **CLUB_403},
    "/teams/{team}/parts/": {**TEAM, "coach": 403, **CLUB_403},
    "/teams/{team}/parts/new": {**CREW_WRITES, **CLUB_403},
    "/teams/{team}/ballast/": {**TEAM, **CLUB_403},
    "/teams/{team}/ballast/new": {**CREW_WRITES, **CLUB_403},
    "/parts/{part}/code": {"chief": 200, "crew": 200, "guest": 403},
    "/ballast-pieces/{piece}/move": CREW_WRITES,
    "/clubs/{club}/chassis/": MEMBERS,
    "/clubs/{club}/chassis/new": STEWARDS_ONLY,
    "/chassis/{chassis}/": MEMBERS,
    "/chassis/{chassis}/change": STEWARDS_ONLY,
    "/chassis/{chassis}/mounts/new": STEWARDS_ONLY,
    "/chassis/{chassis}/baselines/new": STEWARDS_ONLY,
    "/baselines/{baseline}/": MEMBERS,
    "/baselines/{draft}/": {"steward": 200},
    "/cars/": dict.fromkeys(EVERYBODY, 200),
}


@pytest.mark.parametrize("path", PAGES)
def test_who_reaches_it(path: str, world: World, people: People) -> None:
    url = path.format(**world.ids)
    reached = {}
    for name in EVERYBODY:
        client = Client()
        client.force_login(getattr(people, name))
        reached[name] = client.get(url).status_code
    assert reached == {name: PAGES[path].get(name, 404) for name in EVERYBODY}
    signed_out = Client().get(url)
    assert signed_out.status_code == 302
    assert "/accounts/login/" in signed_out["Location"]


POSTS: dict[str, dict[str, int]] = {
    "/sheets/{sheet}/readings": {**CREW_WRITES, "chief": 302, "crew": 302},
    "/sheets/{sheet}/close": {**CREW_WRITES, "chief": 302, "crew": 302},
    "/sheets/{sheet}/comments": {"chief": 302, "crew": 302, "coach": 302, "guest": 403},
    "/ballast-pieces/{piece}/retire": {**CREW_WRITES, "chief": 302, "crew": 302},
    "/baselines/{draft}/publish": {"steward": 302},
    "/baselines/{baseline}/copy": {**dict.fromkeys(MEMBERS, 403), "steward": 302},
    "/baselines/{baseline}/": {**dict.fromkeys(MEMBERS, 403), "steward": 200},
}
SENT = {"ride-height.RF": "2 3/8", "text": "Well done."}


@pytest.mark.parametrize("path", POSTS)
@pytest.mark.parametrize("name", EVERYBODY)
def test_who_may_do_it(path: str, name: str, world: World, people: People) -> None:
    client = Client()
    client.force_login(getattr(people, name))
    answer = client.post(path.format(**world.ids), SENT)
    assert answer.status_code == POSTS[path].get(name, 404)
    assert Client().post(path.format(**world.ids), SENT).status_code == 302


def test_a_car_page_shows_drawing_ballast_and_sheets(
    client: Client, world: World, people: People
) -> None:
    client.force_login(people.guest)
    page = client.get(f"/cars/{world.ids['car']}/").content.decode()
    assert 'aria-label="The car from above, front at the top"' in page
    assert ">2 1/4</text>" in page
    assert "4.5 lb" in page
    assert "New sheet" not in page  # a guest cannot open one
    client.force_login(people.crew)
    assert "New sheet" in client.get(f"/cars/{world.ids['car']}/").content.decode()


def counted(who: User, path: str) -> int:
    client = Client()
    client.force_login(who)
    client.get(path)  # what is only asked for once, such as the session
    with CaptureQueriesContext(connection) as captured:
        assert client.get(path).status_code == 200
    return len(captured)


@pytest.mark.parametrize("path", ["/cars/", "/"])
def test_as_many_queries_for_one_car_as_for_three(
    path: str, world: World, garage: Garage, people: People
) -> None:
    one = counted(people.chief, path)
    with viewing_as(people.chief.pk):
        for number in ("8", "9"):
            car = add_car(by=people.chief, team=people.team, number=number, chassis=garage.chassis)
            sheet = Garage(garage.chassis, garage.baseline, car).sheet(people.chief)
            weights = {f"weight.{spot}": "80" for spot in ("LF", "RF", "LR", "RR")}
            take_typed(by=people.chief, sheet=sheet, typed=weights)
    assert counted(people.chief, path) == one


def test_as_many_queries_for_one_sheet_as_for_three(
    world: World, garage: Garage, people: People
) -> None:
    paths = [f"/cars/{world.ids['car']}/", f"/cars/{world.ids['car']}/sheets/"]
    before = [counted(people.chief, path) for path in paths]
    with viewing_as(people.chief.pk):
        for _ in range(2):
            sheet = garage.sheet(people.chief)
            take_typed(by=people.chief, sheet=sheet, typed={"ride-height.LF": "2"})
    assert [counted(people.chief, path) for path in paths] == before


def grow(garage: Garage, people: People, sheet: Sheet, number: int) -> None:
    """One more of everything that the pages below list."""
    chief, steward = people.chief, people.steward
    with viewing_as(chief.pk):
        spot = ("LF", "RF", "LR", "RR")[number]
        take_typed(
            by=chief, sheet=sheet, typed={f"ride-height.{spot}": "2", f"weight.{spot}": "80"}
        )
        add_comment(by=chief, sheet=sheet, text=f"Remark {number}")
        half = Decimal("0.5")
        note_change(
            by=chief, sheet=sheet, adjuster="spring-seat", spot=spot, amount=half, unit="turn"
        )
        add_part(by=chief, team=people.team, sort="damper", code=f"dot {number}")
        mass = typed("mass", "4.5 lb")
        label = f"{number} Red"
        add_ballast_piece(by=chief, team=people.team, label=label, marked_mass=mass, car=garage.car)
    with viewing_as(steward.pk):
        chassis = add_chassis(by=steward, club=people.club, name=f"Frame {number}")
        draft_baseline(by=steward, chassis=chassis, surface="dirt", note="First.")
        draft_baseline(by=steward, chassis=garage.chassis, surface="dirt", note="More.")


@pytest.mark.parametrize(
    ("path", "who"),
    [
        ("/sheets/{sheet}/", "chief"),
        ("/sheets/{sheet}/history", "chief"),
        ("/cars/{car}/", "chief"),
        ("/teams/{team}/parts/", "chief"),
        ("/teams/{team}/ballast/", "chief"),
        ("/clubs/{club}/chassis/", "steward"),
        ("/chassis/{chassis}/", "steward"),
    ],
)
def test_as_many_queries_for_one_row_as_for_three(
    path: str, who: str, world: World, garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        sheet = garage.sheet(people.chief, role="set")
    url = path.format(**{**world.ids, "sheet": str(sheet.pk)})
    grow(garage, people, sheet, 1)
    one = counted(getattr(people, who), url)
    for number in (2, 3):
        grow(garage, people, sheet, number)
    assert counted(getattr(people, who), url) == one


def test_the_start_page_has_what_each_came_for(world: World, people: People) -> None:
    def start(who: User) -> str:
        client = Client()
        client.force_login(who)
        return client.get("/").content.decode()

    assert "My cars" in start(people.crew)
    assert "Cars I coach" in start(people.coach)
    steward = start(people.steward)
    assert "Chassis and baselines" in steward
    assert "version 2" in steward
    for who in (people.unlinked_coach, people.official, people.stranger):
        page = start(who)
        assert "My cars" not in page
        assert "Cars I coach" not in page


def test_a_crew_member_adds_a_car_a_part_and_ballast(
    client: Client, garage: Garage, people: People
) -> None:
    client.force_login(people.crew)
    team = people.team.pk
    car = {"number": "12", "name": "Red", "chassis": garage.chassis.pk, "since": "2026-01-02"}
    assert client.post(f"/teams/{team}/cars/new", car).status_code == 302
    again = client.post(f"/teams/{team}/cars/new", car).content.decode()
    assert "has a car 12 already" in again
    client.post(f"/teams/{team}/parts/new", {"sort": "spring", "rate": "110", "code": "2 blue"})
    wrong = client.post(f"/teams/{team}/parts/new", {"sort": "tyre", "rate": "110"})
    assert "Only a spring has a rate" in wrong.content.decode()
    piece = {"label": "12", "marked_mass": "6 lb 8 oz"}
    client.post(f"/teams/{team}/ballast/new", piece)
    heavy = client.post(f"/teams/{team}/ballast/new", {**piece, "marked_mass": "heavy"})
    assert 'value="heavy"' in heavy.content.decode()
    with viewing_as(people.crew.pk):
        added = Car.objects.get(number="12")
        part, kept = Part.objects.get(), BallastPiece.objects.get()
        assert (part.rate_typed, kept.marked_mass_typed) == ("110", "6 lb 8 oz")
    client.post(f"/parts/{part.pk}/code", {"code": "3 blue", "note": "cut"})
    client.post(f"/ballast-pieces/{kept.pk}/move", {"car": added.pk})
    assert "3 blue" in client.get(f"/teams/{team}/parts/").content.decode()
    assert "car 12 Red" in client.get(f"/teams/{team}/ballast/").content.decode()
    edit = {"number": "12", "name": "Green", "chassis": garage.chassis.pk}
    client.post(f"/cars/{added.pk}/change", {**edit, "baseline": garage.baseline.pk})
    page = " ".join(client.get("/cars/").content.decode().split())
    assert '<span class="plate">12</span> Green' in page


def test_a_steward_keeps_chassis_and_baselines(
    client: Client, garage: Garage, people: People
) -> None:
    client.force_login(people.steward)
    half = {"name": "Kite 2", "wheelbase_left": "46 1/4"}
    page = client.post(f"/clubs/{people.club.pk}/chassis/new", half).content.decode()
    assert "leave the whole geometry empty" in page
    assert 'value="46 1/4"' in page
    client.post(f"/clubs/{people.club.pk}/chassis/new", {"name": "Kite 2"})
    with viewing_as(people.steward.pk):
        kite = Chassis.objects.get(name="Kite 2")
    form = client.get(f"/chassis/{garage.chassis.pk}/change").context["form"]
    whole = {name: form.initial.get(name, "") for name in form.fields}
    client.post(f"/chassis/{kite.pk}/change", {**whole, "name": "Kite 2"})
    client.post(f"/chassis/{garage.chassis.pk}/change", whole)
    mount = {"name": "Nose", "x": "40 in", "y": "-2", "capacity": "10 lb"}
    client.post(f"/chassis/{kite.pk}/mounts/new", mount)
    with viewing_as(people.steward.pk):
        kite.refresh_from_db()
        # Read off the page of another chassis, a figure is as good as it is told there.
        assert flat(kite.geometry) == pytest.approx(flat(garage.chassis.geometry), rel=1e-3)
        before = garage.chassis.geometry
        assert Chassis.objects.get(pk=garage.chassis.pk).geometry == before, "to the last digit"
        assert kite.mounts.get().y == Decimal("-50.8")
    made = client.post(f"/chassis/{kite.pk}/baselines/new", {"surface": "dirt"}, follow=True)
    draft = made.redirect_chain[-1][0]
    target = {"box": "ride-height.LF", "target": "2 1/4", "tolerance": "1/16", "source": "maker"}
    assert "cannot be right" in client.post(draft, {**target, "target": "22"}).content.decode()
    page = client.post(draft, target, follow=True).content.decode()
    assert "2 1/4 in" in page
    client.post(f"{draft}targets/remove", {"box": "ride-height.LF"})
    assert "no target yet" in client.post(f"{draft}publish", follow=True).content.decode()
    client.post(draft, target)
    assert "in force" in client.post(f"{draft}publish", follow=True).content.decode()
    with viewing_as(people.chief.pk):
        assert Baseline.objects.get(chassis=kite).state == "published"
        assert not Sheet.objects.filter(baseline__chassis=kite).exists()
