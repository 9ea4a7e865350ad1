"""What a steward may know of what teams run: at least five of them, together, and rounded."""

import statistics
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cars.baselines.actions.baselines import copy_baseline
from cars.baselines.queries.fleet_spread import Run, what_teams_run
from cars.catalogue.keys import Key
from cars.figures.derived import add_derived, figures_of
from cars.models import Baseline, Car, Reading, Sheet
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.actions.places import add_race_class
from tests.cars.baselines.club_of_teams import (
    LONG_AGO,
    Figures,
    Meadow,
    asked_at,
    last_monday,
    make_meadow,
    this_week,
)
from tests.cars.garage import Garage
from tests.clocks import database_at
from tests.examples import examples
from tests.guards.world import undone
from tests.owner import bend
from tests.people import People, join

HEIGHT = Key("ride-height", "LF")
STEP = Decimal("3.175")  # two sixteenths of an inch
EVERYBODY = (
    *("chief", "crew", "guest", "coach", "unlinked_coach", "official", "other_official"),
    *("other_steward", "rival", "stranger"),
)


@pytest.fixture
def meadow(people: People, garage: Garage) -> Meadow:
    return make_meadow(people, garage)


def asked(who: User, baseline: Baseline) -> dict[Key, Run]:
    with viewing_as(who.pk), database_at(asked_at()):
        return what_teams_run(baseline)


def heights(*values: str) -> list[Figures]:
    return [{"ride-height.LF": value} for value in values]


FIVE = heights("50.8", "57.15", "57.15", "60.325", "63.5")


def test_five_teams_are_told_of_together(meadow: Meadow) -> None:
    meadow.each(FIVE)
    spread = asked(meadow.people.steward, meadow.baseline)
    assert set(spread) == {HEIGHT}
    # Quartiles 57.15 and 60.325, both a whole number of rounded steps.
    assert spread[HEIGHT] == Run(5, Decimal("57.15"), STEP)


def test_four_teams_are_not_however_many_cars_and_sheets_they_have(meadow: Meadow) -> None:
    for place in range(4):
        for number in "123":
            car = meadow.car(place, number)
            for day in (1, 2):
                meadow.sheet(car, FIVE[place], day=day)
    assert asked(meadow.people.steward, meadow.baseline) == {}


def test_a_box_that_only_four_of_six_teams_read_is_held_back(meadow: Meadow) -> None:
    meadow.each([{**FIVE[0], "toe.front": "1"}] * 4 + [FIVE[1]] * 2)
    assert set(asked(meadow.people.steward, meadow.baseline)) == {HEIGHT}


def test_a_team_with_many_cars_speaks_once(meadow: Meadow) -> None:
    meadow.each(heights("50.8", "50.8", "50.8", "50.8"))
    for number in ("21", "22", "23", "24", "25", "26"):
        meadow.sheet(meadow.car(5, number), {"ride-height.LF": "101.6"})
    spread = asked(meadow.people.steward, meadow.baseline)[HEIGHT]
    assert (spread.teams, spread.median) == (5, Decimal("50.8"))


def test_nobody_else_is_told_anything(meadow: Meadow) -> None:
    meadow.each(FIVE)
    assert asked(meadow.people.steward, meadow.baseline)
    for name in EVERYBODY:
        assert asked(getattr(meadow.people, name), meadow.baseline) == {}
    assert asked(meadow.keeper, meadow.baseline) == {}
    with viewing_as(None), database_at(asked_at()):
        assert what_teams_run(meadow.baseline) == {}


def test_the_stewards_own_team_is_not_one_of_the_five(meadow: Meadow) -> None:
    """Who knows one of five figures must not be told of the other four."""
    people = meadow.people
    meadow.each(FIVE)
    join(meadow.keeper, people.steward, people.club, "guest", meadow.teams[0])
    assert asked(people.steward, meadow.baseline) == {}
    meadow.sheet(meadow.car(5), FIVE[0])
    assert asked(people.steward, meadow.baseline)[HEIGHT].teams == 5


def test_one_sheet_more_this_week_changes_nothing(meadow: Meadow) -> None:
    """Asking before and after a team closes a sheet does not single it out."""
    meadow.each(FIVE)
    before = asked(meadow.people.steward, meadow.baseline)
    meadow.sheet(meadow.car(5), {"ride-height.LF": "120"}, closed_at=this_week())
    meadow.sheet(meadow.car(0, "9"), {"ride-height.LF": "120"}, closed_at=last_monday())
    assert asked(meadow.people.steward, meadow.baseline) == before
    just_before = last_monday() - timedelta(seconds=1)
    meadow.sheet(meadow.car(6), {"ride-height.LF": "120"}, closed_at=just_before)
    assert asked(meadow.people.steward, meadow.baseline)[HEIGHT].teams == 6


def test_only_the_latest_sheet_as_set_on_this_surface_counts(meadow: Meadow) -> None:
    meadow.each(heights("50.8", "50.8", "50.8", "50.8"))
    car = meadow.car(4)
    for unlike in (
        {"day": 20, "role": "found"},
        {"day": 20, "surface": "dirt"},
        {"day": 20, "closed_at": None},
    ):
        meadow.sheet(car, {"ride-height.LF": "101.6"}, **unlike)
    assert asked(meadow.people.steward, meadow.baseline) == {}
    older = meadow.sheet(car, {"ride-height.LF": "101.6"}, day=2)
    meadow.sheet(car, {"toe.front": "1"}, day=3)
    assert asked(meadow.people.steward, meadow.baseline) == {}  # its latest has no such figure
    with undone():
        meadow.sheet(car, {"ride-height.LF": "50.8"}, day=4)
        assert asked(meadow.people.steward, meadow.baseline)[HEIGHT].teams == 5
    meadow.sheet(car, {"ride-height.LF": "50.8"}, day=5, corrects=older)
    assert asked(meadow.people.steward, meadow.baseline)[HEIGHT] == Run(5, Decimal("50.8"), STEP)


def test_a_baseline_for_a_class_hears_the_cars_of_that_class(meadow: Meadow) -> None:
    steward = meadow.people.steward
    with viewing_as(steward.pk):
        junior = add_race_class(by=steward, club=meadow.people.club, name="Novice")
        draft = copy_baseline(by=steward, baseline=meadow.baseline)
    bend(draft, race_class=junior)
    for place, figures in enumerate(FIVE):
        meadow.sheet(meadow.car(place, race_class=junior if place else None), figures)
    assert asked(steward, meadow.baseline)[HEIGHT].teams == 5
    assert asked(steward, draft) == {}


def test_computed_figures_are_those_of_the_sheet(meadow: Meadow) -> None:
    """The database computes stagger, lead and shares as the pages do."""
    figures = {
        **{"circumference.LF": "850.9", "circumference.RF": "863.6"},
        **{"circumference.LR": "857.25", "circumference.RR": "908.05"},
        **{"wheelbase.left": "1174.75", "wheelbase.right": "1187.45"},
        **{"weight.LF": "34", "weight.RF": "27.5", "weight.LR": "40", "weight.RR": "28.5"},
    }
    meadow.each([figures] * 5)
    spread = asked(meadow.people.steward, meadow.baseline)
    with viewing_as(meadow.keeper.pk):
        rows = Reading.objects.filter(sheet=Sheet.objects.filter(role="set")[0])
        wanted = add_derived(figures_of(rows))
    assert set(spread) == set(wanted)
    assert {"stagger", "lead", "cross", "left-share", "rear-share", "total-weight"} <= {
        key.measure for key in spread
    }
    for key, run in spread.items():
        # Rounded to two steps, each of at most a sixteenth, half a pound or a tenth of a percent.
        assert abs(run.median - wanted[key].value) <= Decimal("1.6"), key
        assert run.spread > 0  # all alike, and even so not said to be


# What one car's sheets are: (day, height in mm, whether it counts).
CAR = st.lists(
    st.tuples(
        st.integers(1, 28),
        st.decimals(Decimal(40), Decimal(90), places=2),
        st.sampled_from(["counts", "counts", "counts", "found", "dirt", "open", "this week"]),
    ),
    max_size=2,
    unique_by=lambda sheet: sheet[0],
)
TEAMS = st.lists(st.lists(CAR, max_size=2), max_size=7)
UNSEEN = {
    "counts": {},
    "found": {"role": "found"},
    "dirt": {"surface": "dirt"},
    "open": {"closed_at": None},
}


def told_by(meadow: Meadow, car: Car, sheets: list[tuple[int, Decimal, str]]) -> Decimal | None:
    """Makes the sheets of a car and returns the height that speaks for it."""
    for day, height, why in sheets:
        given = UNSEEN.get(why, {"closed_at": this_week()})
        figures = {"ride-height.LF": str(height)}
        meadow.sheet(car, figures, day=day, **given)  # type: ignore[arg-type]
    counted = [(day, height) for day, height, why in sheets if why == "counts"]
    return max(counted)[1] if counted else None


@settings(
    max_examples=examples(30),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(teams=TEAMS)
def test_never_anything_of_fewer_than_five_teams(
    meadow: Meadow, teams: list[list[list[tuple[int, Decimal, str]]]]
) -> None:
    with undone():
        by_team = []
        for place, cars in enumerate(teams):
            said = [told_by(meadow, meadow.car(place, str(n)), car) for n, car in enumerate(cars)]
            heard = [height for height in said if height is not None]
            if heard:
                by_team.append(statistics.median(heard))
        spread = asked(meadow.people.steward, meadow.baseline)
        if len(by_team) < 5:
            assert spread == {}
        else:
            run = spread[HEIGHT]
            assert run.teams == len(by_team)
            assert abs(run.median - statistics.median(by_team)) <= STEP / 2
            assert run.median % STEP == 0
            assert run.spread % STEP == 0
            quarters = statistics.quantiles(by_team, n=4, method="inclusive")
            assert abs(run.spread - max(quarters[2] - quarters[0], STEP)) <= STEP / 2


def test_no_figure_of_a_team_stands_on_the_page(meadow: Meadow) -> None:
    odd = ["50.11", "52.22", "57.33", "58.44", "59.55"]
    meadow.each(heights(*odd))
    client = Client()
    client.force_login(meadow.people.steward)
    with database_at(asked_at()):
        page = client.get(f"/baselines/{meadow.baseline.pk}/review").content.decode()
    assert "fewer than five teams" in page  # the boxes nobody read
    assert page.count(">5</td>") == 1
    for secret in (*odd, *(team.name for team in meadow.teams), meadow.keeper.name):
        assert secret not in page


@pytest.mark.parametrize("name", [*EVERYBODY, "steward"])
def test_the_page_is_the_stewards(meadow: Meadow, name: str) -> None:
    client = Client()
    client.force_login(getattr(meadow.people, name))
    answer = client.get(f"/baselines/{meadow.baseline.pk}/review")
    outside = {"other_official", "other_steward", "stranger"}
    assert answer.status_code == (200 if name == "steward" else 404 if name in outside else 403)
    assert Client().get(f"/baselines/{meadow.baseline.pk}/review").status_code == 302


def test_as_many_queries_for_seven_teams_as_for_none(meadow: Meadow) -> None:
    client = Client()
    client.force_login(meadow.people.steward)
    path = f"/baselines/{meadow.baseline.pk}/review"

    def counted() -> int:
        client.get(path)
        with CaptureQueriesContext(connection) as asked_for, database_at(asked_at()):
            assert client.get(path).status_code == 200
        return len(asked_for)

    none = counted()
    meadow.each([*FIVE, *FIVE[:2]])
    assert counted() == none


def test_a_sheet_of_long_ago_is_before_this_week() -> None:
    assert last_monday() > LONG_AGO
