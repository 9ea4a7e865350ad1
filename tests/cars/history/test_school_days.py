"""School days: who plans, who sees which outing, the order, and what stands on paper."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.history.actions import school_days as actions
from cars.history.prints import school_day_cars_html, school_day_html
from cars.models import Car, Outing, SchoolDay, Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import close_sheet
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from teams.actions.drivers import add_driver
from teams.actions.erasing import erase_driver
from teams.actions.teams import link_coach, unlink_coach
from teams.models import CoachLink, Driver
from teams.queries.clocks import today_of
from teams.queries.roles import forget_roles
from tests.cars.garage import Garage
from tests.cars.history.fleet import rivals_car, set_sheet
from tests.cars.runs.test_api import EVERYBODY, SEES, caller, done, pointer
from tests.markup import one_line
from tests.people import People

NAME = "First evening with the school"


def browser(people: People, who: str) -> Client:
    client = Client()
    client.force_login(getattr(people, who))
    return client


def plan(people: People, garage: Garage, *cars: Car, shown: bool = True) -> SchoolDay:
    """The coach's, a week from now."""
    with viewing_as(people.coach.pk):
        school_day = actions.plan_school_day(
            by=people.coach,
            club=people.club,
            day=today_of(people.coach) + timedelta(days=7),
            name=NAME,
            note="Bring a helmet.",
            cars=cars or [garage.car],
        )
        if shown:
            actions.show_school_day(by=people.coach, school_day=school_day)
    return school_day


def outings(people: People, school_day: SchoolDay) -> list[Outing]:
    with viewing_as(people.coach.pk):
        return list(Outing.objects.filter(school_day=school_day).with_names())


@pytest.fixture
def sheet(people: People, garage: Garage) -> Sheet:
    """Closed, as set, with its driver."""
    return set_sheet(people.chief, garage.car, {"ride-height.RF": "2 1/2 in"})


@pytest.mark.parametrize("shown", [True, False])
@pytest.mark.parametrize("who", EVERYBODY)
def test_who_sees_a_plan(people: People, garage: Garage, who: str, *, shown: bool) -> None:
    school_day = plan(people, garage, shown=shown)
    client = browser(people, who)
    call = caller(client)
    sees = who == "coach" or (shown and who in SEES)
    (outing,) = outings(people, school_day)
    assert client.get(f"/school-days/{school_day.pk}/").status_code == (200 if sees else 404)
    assert (NAME in client.get("/school-days/").content.decode()) == sees
    assert call("get", f"school-days/{school_day.pk}").status_code == (200 if sees else 404)
    assert len(done(call("get", "school-days"))["results"]) == sees
    writes = 200 if who == "coach" else 403 if sees else 404
    change = {"day": "2027-01-09", "name": NAME}
    assert call("put", f"school-days/{school_day.pk}", change).status_code == writes
    assert call("put", f"outings/{outing.pk}", {"note": "Six laps."}).status_code == writes
    for page in (f"/school-days/{school_day.pk}/change", f"/outings/{outing.pk}/"):
        assert client.get(page).status_code == writes
    with viewing_as(getattr(people, who).pk):
        assert Outing.objects.exists() == sees
        assert SchoolDay.objects.exists() == sees


def rivals(people: People, garage: Garage) -> Car:
    """A car of another family that lets the same coach in."""
    with viewing_as(people.rival.pk):
        link_coach(by=people.rival, team=people.rival_team, coach=people.coach)
    forget_roles(people.coach)
    return rivals_car(people, garage, "88")


def test_a_family_sees_its_own_outings_and_no_other_familys(
    people: People, garage: Garage, sheet: Sheet
) -> None:
    """The other team lets the same coach in; each reads its own row on page, paper and API."""
    theirs = rivals(people, garage)
    set_sheet(people.rival, theirs, {"ride-height.RF": "2 1/8 in"})
    school_day = plan(people, garage, garage.car, theirs)
    for who, own, other in (
        ("chief", people.team, people.rival_team),
        ("rival", people.rival_team, people.team),
    ):
        client = browser(people, who)
        page = one_line(client.get(f"/school-days/{school_day.pk}/").content.decode())
        assert str(own) in page
        assert str(other) not in page
        answer = done(caller(client)("get", f"school-days/{school_day.pk}"))
        assert [row["team"] for row in answer["outings"]] == [str(own.pk)]
        with viewing_as(getattr(people, who).pk):
            row = SchoolDay.objects.get()
            for html in (school_day_html, school_day_cars_html):
                paper = html(row, getattr(people, who))
                assert str(own) in paper
                assert str(other) not in paper
    coachs = browser(people, "coach").get(f"/school-days/{school_day.pk}/").content.decode()
    assert str(people.team) in coachs
    assert str(people.rival_team) in coachs


def test_each_car_begins_as_it_was_set_last_with_that_driver(
    people: People, garage: Garage
) -> None:
    with viewing_as(people.chief.pk):
        driver = add_driver(by=people.chief, team=people.team, display_name="Juno")
        sheet = garage.sheet(people.chief, "set", driver=driver)
        take_typed(by=people.chief, sheet=sheet, typed={"ride-height.RF": "2 1/2 in"})
        close_sheet(by=people.chief, sheet=sheet)
    (outing,) = outings(people, plan(people, garage))
    assert (outing.sheet, outing.driver, outing.order) == (sheet, driver, 1)


def test_the_order_is_the_coachs(people: People, garage: Garage) -> None:
    """Sent out three times; the last goes first, then the middle one is taken out."""
    school_day = plan(people, garage, garage.car, rivals(people, garage), garage.car)
    first, middle, last = outings(people, school_day)
    with viewing_as(people.coach.pk):
        for _ in range(2):
            actions.move_outing(by=people.coach, outing=last, earlier=True)
        assert outings(people, school_day) == [last, first, middle]
        with pytest.raises(WrongState):
            actions.move_outing(by=people.coach, outing=last, earlier=True)
        actions.remove_outing(by=people.coach, outing=first)
    assert [(row, row.order) for row in outings(people, school_day)] == [(last, 1), (middle, 2)]


def test_a_plan_is_shown_hidden_and_taken_away(people: People, garage: Garage) -> None:
    school_day = plan(people, garage, shown=False)
    coach = browser(people, "coach")
    family = browser(people, "chief")
    page, at = f"/school-days/{school_day.pk}/", f"/cars/{garage.car.pk}/"
    assert NAME not in family.get(at).content.decode()
    assert "not shown to the family yet" in coach.get(at).content.decode()
    coach.post(f"{page}show")
    assert NAME in family.get(at).content.decode()
    assert NAME in family.get("/").content.decode()
    coach.post(f"{page}hide")
    assert family.get(page).status_code == 404
    coach.post(f"{page}show")
    assert family.get(f"{page}remove").status_code == 403
    assert "Take away the plan" in coach.get(f"{page}remove").content.decode()
    coach.post(f"{page}remove")
    with viewing_as(people.chief.pk):
        assert not Outing.objects.exists()
        did = list(TrailLine.objects.filter(team_id=people.team.pk).values_list("did", flat=True))
    # What the family saw, and that it is gone, stands in its trail.
    assert [did.count(each) for each in ("showed", "hid", "removed_outing")] == [2, 1, 1]


def test_an_empty_plan_is_not_shown(people: People, garage: Garage) -> None:
    with viewing_as(people.coach.pk):
        school_day = actions.plan_school_day(
            by=people.coach, club=people.club, day=date(2027, 1, 9), name=NAME
        )
        with pytest.raises(WrongState, match="No car goes out"):
            actions.show_school_day(by=people.coach, school_day=school_day)


def test_a_coach_whose_link_ended_reads_no_outing_of_that_car(
    people: People, garage: Garage
) -> None:
    school_day = plan(people, garage)
    with viewing_as(people.chief.pk):
        unlink_coach(by=people.chief, link=CoachLink.objects.get(coach=people.coach))
    forget_roles(people.coach)
    page = browser(people, "coach").get(f"/school-days/{school_day.pk}/")
    assert "No car goes out yet" in page.content.decode()
    with viewing_as(people.coach.pk), pytest.raises(NotAllowed):
        actions.send_out(by=people.coach, school_day=school_day, car=garage.car)


def test_only_a_coach_of_the_club_plans(people: People, garage: Garage) -> None:
    path = f"/clubs/{people.club.pk}/school-days/new"
    for who in ("chief", "steward", "official", "rival", "stranger"):
        assert browser(people, who).get(path).status_code == 404, who
        with viewing_as(getattr(people, who).pk), pytest.raises(NotAllowed):
            actions.plan_school_day(
                by=getattr(people, who), club=people.club, day=date(2027, 1, 9), name=NAME
            )
    assert browser(people, "coach").get(path).status_code == 200


def test_the_database_lets_no_familys_sheet_or_driver_into_anothers_outing(
    people: People, garage: Garage, sheet: Sheet
) -> None:
    """Past the actions: the row itself refuses."""
    theirs = rivals(people, garage)
    with viewing_as(people.rival.pk):
        driver = add_driver(by=people.rival, team=people.rival_team, display_name="Tove")
    (outing,) = outings(people, plan(people, garage))
    foreign = set_sheet(people.rival, theirs, {"ride-height.RF": "2 1/8 in"})
    for name, row in (("sheet", foreign), ("driver", driver)):
        with pytest.raises(IntegrityError):
            put(people, outing, name, row)
    with viewing_as(people.coach.pk):
        with pytest.raises(Invalid):
            actions.change_outing(by=people.coach, outing=outing, driver=driver)
        with pytest.raises(Invalid):
            actions.change_outing(by=people.coach, outing=outing, driver=None, sheet=foreign)


def put(people: People, outing: Outing, name: str, row: Any) -> None:
    with transaction.atomic(), viewing_as(people.coach.pk):
        Outing.objects.filter(pk=outing.pk).update(**{name: row})
        with connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")


def test_a_found_sheet_and_two_settings_are_refused(
    people: People, garage: Garage, sheet: Sheet
) -> None:
    with viewing_as(people.chief.pk):
        found = garage.sheet(people.chief, "found")
        take_typed(by=people.chief, sheet=found, typed={"ride-height.RF": "2 1/2 in"})
        close_sheet(by=people.chief, sheet=found)
    (outing,) = outings(people, plan(people, garage))
    call, path = caller(browser(people, "coach")), f"outings/{outing.pk}"
    assert pointer(call("put", path, {"sheet": str(found.pk)})) == "#/sheet"
    both = {"sheet": str(sheet.pk), "baseline": str(garage.baseline.pk)}
    assert pointer(call("put", path, both)) == "#/sheet"
    answer = done(call("put", path, {"baseline": str(garage.baseline.pk), "note": "Six laps."}))
    assert (answer["sheet"], answer["note"]) == (None, "Six laps.")
    assert str(garage.baseline) in answer["setting"]


def test_what_was_typed_stays_and_the_field_is_named(people: People, garage: Garage) -> None:
    coach = browser(people, "coach")
    sent = {"name": NAME, "day": "13/31/2026", "cars": [str(garage.car.pk)]}
    answer = coach.post(f"/clubs/{people.club.pk}/school-days/new", sent)
    page = one_line(answer.content.decode())
    assert "is a day. Write it as" in page
    assert NAME in page
    assert "checked" in page


def test_a_page_a_car_has_every_figure_it_is_set_to(
    people: People, garage: Garage, sheet: Sheet
) -> None:
    school_day = plan(people, garage, garage.car, garage.car)
    _, second = outings(people, school_day)
    with viewing_as(people.coach.pk):
        actions.change_outing(
            by=people.coach, outing=second, driver=None, baseline=garage.baseline, note="Six laps."
        )
        paper = one_line(school_day_cars_html(school_day, people.coach))
    assert paper.count('class="car"') == 1
    assert "Outing 1: as set" in paper
    assert "Outing 2: baseline" in paper
    assert "Six laps." in paper
    assert "2 1/2" in paper


def test_an_erased_driver_is_named_in_no_plan(people: People, garage: Garage) -> None:
    with viewing_as(people.chief.pk):
        driver = add_driver(by=people.chief, team=people.team, display_name="Juno")
    school_day = plan(people, garage)
    (outing,) = outings(people, school_day)
    with viewing_as(people.coach.pk):
        actions.change_outing(by=people.coach, outing=outing, driver=driver, note="Juno lifts.")
        actions.change_school_day(
            by=people.coach,
            school_day=school_day,
            day=school_day.day,
            track=None,
            name="Juno's first day",
            note="Juno, bring a helmet.",
        )
    with viewing_as(people.chief.pk):
        erase_driver(by=people.chief, driver=Driver.objects.get(pk=driver.pk))
    for who in ("coach", "chief"):
        page = browser(people, who).get(f"/school-days/{school_day.pk}/").content.decode()
        assert "Juno" not in page
        assert "the driver lifts." in page


def test_as_many_queries_for_one_outing_as_for_six(people: People, garage: Garage) -> None:
    counts = []
    for cars in ([garage.car], [garage.car] * 6):
        school_day = plan(people, garage, *cars)
        client = browser(people, "coach")
        client.get(f"/school-days/{school_day.pk}/")
        with CaptureQueriesContext(connection) as asked:
            client.get(f"/school-days/{school_day.pk}/")
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_sent_twice_it_is_planned_once(people: People, garage: Garage) -> None:
    call, sent = caller(browser(people, "coach")), new_plan(people, garage)
    first, again = call("post", "school-days", sent), call("post", "school-days", sent)
    assert (first.status_code, again.status_code) == (201, 200)
    with viewing_as(people.coach.pk):
        assert SchoolDay.objects.count() == 1
        assert Outing.objects.count() == 1


def new_plan(people: People, garage: Garage) -> dict[str, Any]:
    return {
        "id": str(new_id()),
        "club": str(people.club.pk),
        "day": "2027-01-09",
        "name": NAME,
        "cars": [str(garage.car.pk)],
    }
