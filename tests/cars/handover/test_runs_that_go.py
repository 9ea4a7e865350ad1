"""Runs, own targets, plans and ballast: each goes only when it is ticked, and tells what it may."""

import json
from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from cars.catalogue.queries import catalogue
from cars.handover.actions.handovers import take_car_back
from cars.handover.presenters.package import together_words
from cars.handover.prints import DOCUMENTS
from cars.handover.queries.goods import WITH_DRIVER, goods_of
from cars.handover.queries.hidden_weight import (
    U_SHARE,
    ballast_within,
    hidden_weight_within,
    plan_within,
    together,
)
from cars.handover.queries.ticks import Tick, ticks_of
from cars.models import (
    Car,
    Chassis,
    Feel,
    HandedRun,
    HandedSheet,
    Handover,
    Laps,
    Run,
    RunDetails,
    Sheet,
)
from cars.runs.actions.runs import FeelSaid, RunFacts, note_feel, note_run, strike_run
from cars.sheets.actions.conflicts import OVER_ANYTHING
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.units import Units
from teams.actions.erasing import erase_driver
from teams.actions.teams import link_coach
from tests.cars.handover.giving import DAMAGE, DAY, NAME, REASON, RUN_NOTE, Giving
from tests.people import People, join


def browser(user: Any) -> Client:
    client = Client()
    client.force_login(user)
    return client


def known(giving: Giving, people: People, history: str = "set") -> list[Tick]:
    with viewing_as(people.chief.pk):
        car = Car.objects.get(pk=giving.garage.car.pk)
        return ticks_of(goods_of(car, history, season=DAY.year), catalogue())


def handed_with(giving: Giving, people: People, *sorts: str) -> Handover:
    """The car taken with everything of these sorts ticked."""
    ticked = [tick.pk for tick in known(giving, people) if tick.sort in sorts]
    offer, code = giving.offer(people.chief, "set", ticked)
    giving.take(code)
    return offer


def test_a_run_that_is_ticked_goes_as_a_copy_on_the_copy_of_its_sheet(
    giving: Giving, people: People
) -> None:
    handed_with(giving, people, "run")
    with viewing_as(giving.receiver.pk):
        handed = HandedRun.objects.select_related("run__sheet__handed").get()
        run = handed.run
        assert handed.source == giving.run.pk != run.pk
        assert run.sheet is not None
        assert run.sheet.handed.source == giving.set.pk
        assert run.ran_at == giving.run.ran_at
        laps = Laps.objects.get(run=run)
        assert ([str(time) for time in laps.times], laps.timed_by) == (["7.412", "7.523"], "hand")
        (feel,) = Feel.objects.filter(run=run)
        assert (feel.said_by, feel.exit) == ("handler", "loose")
        details = RunDetails.objects.get(run=run)
        assert (details.kind, details.driver, details.note, details.damage) == (
            "heat",
            None,
            "",
            "",
        )
        assert run.car_state["figures"]["pressure.LF"]
        assert not {name.partition(".")[0] for name in run.car_state["figures"]} & WITH_DRIVER
        told = json.dumps(handed.content)
    for words in (NAME, RUN_NOTE, DAMAGE):
        assert words not in told
    with viewing_as(people.chief.pk):
        own = Run.objects.get(pk=giving.run.pk)
        assert Feel.objects.filter(run=own).count() == 2
        assert RunDetails.objects.get(run=own).note == RUN_NOTE


@pytest.mark.parametrize(
    ("sort", "goes"), [("run-note", RUN_NOTE), ("run-damage", DAMAGE), ("run-driver", NAME)]
)
def test_words_of_a_run_go_only_when_they_are_ticked_themselves(
    giving: Giving, people: People, sort: str, goes: str
) -> None:
    handed_with(giving, people, "run", sort)
    with viewing_as(giving.receiver.pk):
        told = json.dumps(HandedRun.objects.get().content)
        assert goes in told
        assert not Feel.objects.filter(said_by="driver").exists()
    others = {RUN_NOTE, DAMAGE} - {goes}
    assert not [words for words in others if words in told]


def test_what_the_driver_said_goes_only_when_it_is_ticked_with_its_run(
    giving: Giving, people: People
) -> None:
    handed_with(giving, people, "run", "run-said")
    with viewing_as(giving.receiver.pk):
        assert Feel.objects.get(said_by="driver").entry == "pushes"


def test_nothing_of_a_run_goes_without_the_run(giving: Giving, people: People) -> None:
    handed_with(giving, people, "run-said", "run-note", "run-driver")
    with viewing_as(giving.receiver.pk):
        assert not Run.objects.exists()
        assert RUN_NOTE not in json.dumps(Handover.objects.get().package)


def test_own_targets_go_as_a_named_copy_and_those_of_loads_when_ticked(
    giving: Giving, people: People
) -> None:
    offer, _ = giving.offer(people.chief, "set")
    (row,) = offer.package["own_targets"]
    assert (row["measure"], row["target"], row["reason"]) == ("ride-height", "2 1/8", "")
    page = browser(people.chief).get(f"/handovers/{offer.pk}/").content.decode()
    assert "Their own targets" in page
    assert REASON not in page


@pytest.mark.parametrize(("sort", "shows"), [("plan", "51.9"), ("fitted", "7.31 lb")])
def test_plans_and_ballast_go_when_they_are_ticked(
    giving: Giving, people: People, sort: str, shows: str
) -> None:
    page = f"/cars/{giving.garage.car.pk}/handover"
    chosen = browser(people.chief).get(page, {"history": "set"}).content.decode()
    package = chosen.split('id="h-package"')[1]
    assert shows not in package
    assert shows in chosen
    offer = handed_with(giving, people, sort)
    got = browser(giving.receiver).get(f"/handovers/{offer.pk}/").content.decode()
    assert shows in got
    # Never a load.
    assert "32.9" not in got


def test_what_tells_the_weight_says_how_closely(giving: Giving, people: People) -> None:
    telling = {tick.sort: tick for tick in known(giving, people) if tick.tells_weight}
    assert set(telling) == {"loads", "plan", "fitted", "own-target"}
    assert telling["plan"].within == pytest.approx(plan_within(142.0, 0.519, 0.509), rel=1e-3)
    page = browser(people.chief).get(
        f"/cars/{giving.garage.car.pk}/handover",
        {"history": "set", "ticked": [telling["loads"].pk, telling["plan"].pk]},
    )
    assert "With all that is ticked the driver&#x27;s weight can be worked out" in (
        page.content.decode()
    )


def test_ballast_tells_it_where_the_class_has_a_minimum(giving: Giving, people: People) -> None:
    """Whoever takes the car to be at the minimum is off by what it was above it."""
    with viewing_as(people.chief.pk):
        goods = goods_of(Car.objects.get(pk=giving.garage.car.pk), "set")
        (tick,) = (t for t in ticks_of(goods, catalogue()) if t.sort == "fitted")
        assert tick.within is None
        limited = replace(goods, minimum=141.0)
        (tick,) = (t for t in ticks_of(limited, catalogue()) if t.sort == "fitted")
        total = sum((72.5, 66.0, 96.5, 78.0)) * 0.45359237
    assert tick.within == pytest.approx(total - 141.0, abs=1e-3)


def test_how_closely_plans_and_ballast_tell_it_by_hand() -> None:
    """u(W) = (m + W) root 2 u(s) / |dc| of a plan; with its first cross as one share."""
    moved = 2 * 2**0.5 * U_SHARE * 140.0 / 0.01
    share = hidden_weight_within(140.0, {"cross": 0.55})
    assert share is not None
    assert plan_within(140.0, 0.55, 0.56) == pytest.approx((share**-2 + moved**-2) ** -0.5)
    assert plan_within(140.0, 0.5, 0.5) is None
    assert (ballast_within(150.0, 147.0), ballast_within(150.0, 150.0)) == (3.0, 0.25)
    assert together([3.0, None, 4.0]) == pytest.approx(2.4)
    assert together([None]) is None


def test_together_says_nothing_where_nothing_tells() -> None:
    plain = Tick(pk="a", of="Car", sort="note", says="x")
    vague = Tick(pk="b", of="Car", sort="fitted", says="x", tells_weight=True)
    assert together_words([plain, vague], ["a"], Units.imperial()) == ""
    assert "may be worked out" in together_words([plain, vague], ["a", "b"], Units.imperial())


def test_taken_back_the_copies_of_runs_are_gone_and_so_is_the_package(
    giving: Giving, people: People
) -> None:
    offer = handed_with(giving, people, "run", "run-said", "plan", "fitted")
    with viewing_as(people.chief.pk):
        take_car_back(by=people.chief, handover=offer)
        assert Run.objects.get().pk == giving.run.pk
    with viewing_as(giving.receiver.pk):
        assert not Run.objects.exists()
        assert not HandedRun.objects.exists()
        assert not Laps.objects.exists()
        left = Handover.objects.get().package
        assert (left["sheets"], left["runs"], left["fitted"], left["own_targets"]) == ([],) * 4
    page = browser(people.chief).get(f"/handovers/{offer.pk}/").content.decode()
    assert "stands here no more" in page
    assert browser(giving.receiver).get(f"/handovers/{offer.pk}/").status_code == 404


@pytest.mark.parametrize("wrote", ["a feel", "a strike"])
def test_what_the_receiver_wrote_on_a_run_keeps_the_car(
    giving: Giving, people: People, wrote: str
) -> None:
    offer = handed_with(giving, people, "run")
    by = giving.receiver
    with viewing_as(by.pk):
        run = Run.objects.select_related("team").get()
        if wrote == "a feel":
            feel = FeelSaid(entry="loose")
            note_feel(by=by, run=run, said_by="driver", feel=feel, expected=OVER_ANYTHING)
        else:
            strike_run(by=by, run=run, reason="Not ours.")
    with viewing_as(people.chief.pk), pytest.raises(WrongState, match="has written"):
        take_car_back(by=people.chief, handover=offer)


def test_erasing_the_driver_reaches_runs_plans_and_ballast(giving: Giving, people: People) -> None:
    every = {tick.sort for tick in known(giving, people)}
    handed_with(giving, people, *every)
    with viewing_as(people.chief.pk):
        erase_driver(by=people.chief, driver=giving.driver)
    with viewing_as(giving.receiver.pk):
        rows = [row.content for row in HandedRun.objects.all()]
        rows += [row.content for row in HandedSheet.objects.all()]
        told = json.dumps([*rows, Handover.objects.get().package])
        assert NAME not in told
        assert '"plans"' not in told
        assert "7.31" not in told
        assert not Feel.objects.filter(said_by="driver").exists()


def test_the_receiver_makes_the_chassis_of_what_came_along(giving: Giving, people: People) -> None:
    offer, code = giving.offer(people.chief, "set")
    made = {"chassis": None, "chassis_name": "Osprey 6 of the Wrens"}
    giving.take(code, **made)
    with viewing_as(giving.receiver.pk):
        chassis = Car.objects.select_related("chassis").get().chassis
        assert (chassis.club_id, chassis.name) == (people.other_club.pk, made["chassis_name"])
        assert chassis.geometry == giving.garage.chassis.geometry
        assert "another club" in chassis.note
    with viewing_as(people.chief.pk):
        take_car_back(by=people.chief, handover=offer)
    with viewing_as(giving.receiver.pk):
        assert not Chassis.objects.filter(name=made["chassis_name"]).exists()


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"chassis_name": ""}, "chassis"),
        ({"chassis_name": "osprey as Marl Heath has it"}, "chassis_name"),
        ({"chassis_name": "x" * 61}, "chassis_name"),
    ],
)
def test_a_chassis_that_cannot_be_made_names_the_field(
    giving: Giving, people: People, given: dict[str, Any], field: str
) -> None:
    _, code = giving.offer(people.chief, "none")
    with pytest.raises(Invalid) as refusal:
        giving.take(code, chassis=None, **given)
    assert refusal.value.field == field


def test_in_ones_own_club_no_chassis_is_made(giving: Giving, people: People) -> None:
    _, code = giving.offer(people.chief, "none")
    answer = browser(people.rival).post(
        "/handovers/take",
        {
            **{"code": code, "confirm": "yes", "team": people.rival_team.pk, "number": "8"},
            **{"chassis": "", "chassis_name": "Another"},
        },
    )
    assert answer.status_code == 400
    assert "Choose a chassis of your own club" in answer.content.decode()
    assert 'value="Another"' in answer.content.decode()


def test_both_print_what_goes_along_and_nobody_else(giving: Giving, people: People) -> None:
    offer = handed_with(giving, people, "run")
    (document,) = DOCUMENTS
    for chief, team in ((people.chief, people.team), (giving.receiver, giving.to_team)):
        with viewing_as(chief.pk):
            row = document.subject(offer.pk)
            page = document.page(row, chief)
            assert "7.412" in page
            assert document.team_of(row) == team.pk
    for other in (people.crew, people.coach, people.stranger):
        asked = browser(other).post(
            reverse("print-ask"), {"document": "handover", "subject_id": offer.pk}
        )
        assert asked.status_code == 404


def test_a_coach_of_both_teams_reads_both_copies(giving: Giving, people: People) -> None:
    handed_with(giving, people, "run")
    join(people.other_steward, people.coach, people.other_club, "coach")
    with viewing_as(giving.receiver.pk):
        link_coach(by=giving.receiver, team=giving.to_team, coach=people.coach)
    with viewing_as(people.coach.pk):
        assert Sheet.objects.filter(pk=giving.set.pk).exists()
        assert HandedSheet.objects.get().source == giving.set.pk
    page = browser(people.chief).get(f"/cars/{giving.garage.car.pk}/handed")
    assert page.status_code == 404
    got = browser(giving.receiver).get(f"/cars/{giving.garage.car.pk}/handed").content.decode()
    assert "coach whom both teams let in" in " ".join(got.split())


def test_the_pages_of_what_came_are_the_teams_own(giving: Giving, people: People) -> None:
    handed_with(giving, people, "run", "run-note")
    with viewing_as(giving.receiver.pk):
        copy = HandedRun.objects.get().run_id
    for who, status in (
        (giving.receiver, 200),
        (people.chief, 404),
        (people.coach, 404),
        (people.stranger, 404),
    ):
        answer = browser(who).get(f"/runs/{copy}/handed")
        assert answer.status_code == status, who
        assert (RUN_NOTE in answer.content.decode()) is (status == 200)


def many(giving: Giving, people: People, count: int) -> None:
    """So many runs beside the one that is there."""
    with viewing_as(people.chief.pk):
        for at in range(count):
            when = datetime(2026, 3, 16, 10, at, tzinfo=people.club.zone())
            facts = RunFacts(surface="paved", note=f"Note {at}.")
            note_run(by=people.chief, car=giving.garage.car, facts=facts, ran_at=when)


def test_what_goes_along_costs_as_many_queries_for_three_runs_as_for_one(
    giving: Giving, people: People
) -> None:
    client, page = browser(people.chief), f"/cars/{giving.garage.car.pk}/handover"
    chosen = {"history": "set", "season": str(DAY.year)}
    client.get(page, chosen)
    with CaptureQueriesContext(connection) as one:
        client.get(page, chosen)
    many(giving, people, 2)
    with CaptureQueriesContext(connection) as three:
        answer = client.get(page, chosen)
    assert "Note 1." in answer.content.decode()
    assert len(three) == len(one)


def test_runs_are_chosen_season_by_season_and_what_is_ticked_stays_ticked(
    giving: Giving, people: People
) -> None:
    page = f"/cars/{giving.garage.car.pk}/handover"
    client = browser(people.chief)
    plain = client.get(page, {"history": "set"}).content.decode()
    assert RUN_NOTE not in plain
    assert f'<option value="{DAY.year}">' in plain
    of_season = client.post(page, {"history": "set", "season": DAY.year}).content.decode()
    assert RUN_NOTE in of_season
    run = f"run:{giving.run.pk}"
    kept = client.post(page, {"history": "set", "season": "", "ticked": [run], "show": "yes"})
    assert "7.412" in kept.content.decode().split('id="h-package"')[1]
    wrong = client.post(page, {"history": "set", "season": "soon"})
    assert wrong.status_code == 400
