"""How long parts have run: what counts, what it came with, and what is told before a limit."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.garage.actions.cars import add_car
from cars.garage.actions.parts import add_part
from cars.history.actions.parts_life import remove_part_limit, set_part_limit, set_part_start
from cars.history.presenters.parts_life import count, life_words, limit_words
from cars.history.queries.parts_life import Counted, limits_of, lives, states
from cars.models import Car, Part, PartLimit, PartStart, Run
from cars.runs.actions.after_run import note_run_part
from cars.runs.actions.runs import RunFacts, TimedLaps, note_run, strike_run
from cars.runs.actions.track_changes import note_track_change
from cars.runs.queries.run_parts import parts_in
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.parts_fitted import fit_part
from cars.sheets.actions.sheets import open_sheet
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from teams.actions.teams import link_coach
from teams.models import Club, Team
from tests.cars.plans.evening import Evening
from tests.cars.runs.test_api import EVERYBODY, caller, done, pointer
from tests.markup import one_line
from tests.people import People

LAPS = TimedLaps([Decimal("7.5"), Decimal("7.0"), Decimal("7.3")], ["first", "", ""], "hand")
# Nine in the evening at the club is the next day in UTC.
EVENING = datetime(2026, 3, 15, 2, 0, tzinfo=UTC)


@pytest.fixture
def chain(evening: Evening) -> Part:
    """On the car by its open sheet as set."""
    part = made(evening, "chain", "C-2")
    fit(evening, part)
    return part


def made(evening: Evening, sort: str, code: str) -> Part:
    with viewing_as(evening.by.pk):
        return add_part(by=evening.by, team=evening.garage.car.team, sort=sort, code=code)


def fit(evening: Evening, part: Part | None, sort: str = "chain", spot: str = "car") -> None:
    with viewing_as(evening.by.pk):
        fit_part(
            by=evening.by,
            sheet=evening.sheet,
            sort=part.sort if part else sort,
            spot=spot,
            part=part,
            seen=OVER_ANYTHING,
        )


def ran(
    evening: Evening, *, laps: TimedLaps | None = LAPS, days: int = 0, car: Car | None = None
) -> Run:
    by = evening.by
    with viewing_as(by.pk):
        return note_run(
            by=by,
            car=car or evening.garage.car,
            facts=RunFacts(),
            laps=laps,
            ran_at=EVENING + timedelta(days=days),
        )


def life_of(evening: Evening, part: Part) -> Any:
    with viewing_as(evening.by.pk):
        team = Team.objects.select_related("club").get(pk=part.team_id)
        return lives([part], team)[part.pk]


def test_runs_laps_nights_and_hours_count_while_it_is_on(
    evening: Evening, chain: Part, people: People
) -> None:
    """Nights by the club's clock."""
    with viewing_as(people.steward.pk):
        Club.objects.filter(pk=people.club.pk).update(time_zone="America/Chicago")
    for days in (0, 0, 1):
        ran(evening, days=days)
    ran(evening, days=1, laps=None)
    counted = life_of(evening, chain).counted
    assert (counted.runs, counted.laps, counted.nights, counted.untimed) == (4, 9, 2, 1)
    assert counted.hours == pytest.approx(Decimal("65.4") / 3600)
    assert [str(day) for day in (counted.first, counted.last)] == ["2026-03-14", "2026-03-15"]
    words = life_words(life_of(evening, chain))
    assert words == "2 nights, 4 runs, at least 9 laps, at least 0 hours"


def test_without_any_laps_they_are_not_known_and_not_none(evening: Evening, chain: Part) -> None:
    ran(evening, laps=None)
    assert life_words(life_of(evening, chain)) == "1 night, 1 run, laps not known, hours not known"


def test_it_counts_the_runs_that_have_it_on(evening: Evening, chain: Part, people: People) -> None:
    """Swapped at the track, said of a run, struck, taken off, put on another car: as each run's own
    page has it."""
    by, other = evening.by, made(evening, "chain", "C-3")
    tyre = made(evening, "tyre", "T-1")
    fit(evening, tyre, spot="RR")
    runs = [ran(evening)]
    with viewing_as(by.pk):
        note_track_change(
            by=by,
            sheet=evening.sheet,
            adjuster="chain",
            spot="car",
            amount=Decimal(1),
            unit="1",
            made_at=EVENING + timedelta(hours=1),
        )
    runs += [ran(evening, days=1), ran(evening, days=1)]
    with viewing_as(by.pk):
        said: dict[str, Any] = {"by": by, "sort": "chain", "spot": "car", "expected": None}
        note_run_part(run=runs[1], part=other, **said)
        note_run_part(run=runs[2], part=chain, **said)
        note_run_part(run=runs[0], part=None, by=by, sort="tyre", spot="RR", expected=None)
    fit(evening, other)
    runs.append(ran(evening, days=2))
    struck = ran(evening, days=3)
    with viewing_as(by.pk):
        strike_run(by=by, run=struck, reason="Noted twice.")
        car = add_car(by=by, team=people.team, number="88", chassis=evening.garage.chassis)
        sheet = open_sheet(by=by, car=car, role="set", surface="paved", made_on=EVENING.date())
        fit_part(by=by, sheet=sheet, sort="chain", spot="car", part=chain, seen=None)
        runs.append(ran(evening, days=4, car=car))
        for part in (chain, other, tyre):
            having = [
                run
                for run in Run.objects.current()
                if any(place.part == part for place in parts_in(run))
            ]
            life = lives([part], people.team)[part.pk]
            assert life.counted.runs == len(having), part.sort
            assert life.counted.nights == len({run.ran_at for run in having})
        assert {
            car: each.runs for car, each in lives([chain], people.team)[chain.pk].by_car.items()
        } == {
            evening.garage.car.pk: 2,
            car.pk: 1,
        }


def test_another_sprocket_is_another_gearing(evening: Evening) -> None:
    sprocket = made(evening, "sprocket", "62")
    fit(evening, sprocket)
    ran(evening)
    with viewing_as(evening.by.pk):
        note_track_change(
            by=evening.by,
            sheet=evening.sheet,
            adjuster="gearing",
            spot="car",
            amount=Decimal(1),
            unit="tooth",
            made_at=EVENING + timedelta(hours=1),
        )
    ran(evening, days=1)
    assert life_of(evening, sprocket).counted.runs == 1


def test_a_chain_is_on_the_car_and_a_tyre_on_a_corner(evening: Evening, chain: Part) -> None:
    with pytest.raises(Invalid, match="A chain is at one of: car"):
        fit(evening, chain, spot="LF")
    with pytest.raises(Invalid, match="A tyre is at one of: LF, RF, LR, RR"):
        fit(evening, made(evening, "tyre", "T-1"))


def test_what_it_came_with_counts_too(evening: Evening, chain: Part) -> None:
    ran(evening)
    with viewing_as(evening.by.pk):
        set_part_start(by=evening.by, part=chain, nights=12, hours=Decimal("1.5"))
        set_part_start(by=evening.by, part=chain, nights=11, hours=Decimal("1.5"))
        assert PartStart.objects.count() == 2
    life = life_of(evening, chain)
    assert [life.so_far(per) for per in ("nights", "runs")] == [12, 1]
    assert round(life.so_far("hours"), 3) == Decimal("1.506")
    with viewing_as(evening.by.pk):
        assert set_part_start(by=evening.by, part=chain) is None
        with pytest.raises(Invalid, match="from 0 to 5000"):
            set_part_start(by=evening.by, part=chain, nights=6000)
    assert life_of(evening, chain).start is None


def limit(evening: Evening, most: str, per: str = "nights", **whose: Any) -> PartLimit:
    with viewing_as(evening.by.pk):
        return set_part_limit(
            by=evening.by,
            team=evening.garage.car.team,
            sort="chain",
            per=per,
            most=Decimal(most),
            **whose,
        )


def told(evening: Evening, part: Part) -> list[tuple[str, bool]]:
    with viewing_as(evening.by.pk):
        limits = limits_of(evening.garage.car.team)
        return [
            (limit_words(each), each.is_near) for each in states(life_of(evening, part), limits)
        ]


@pytest.mark.parametrize(
    ("nights", "words", "near"),
    [
        (5, "3 nights left of 8", False),
        (6, "2 nights left of 8", False),
        (7, "1 night left of 8", True),
        (8, "8 nights reached", True),
        (9, "past 8 nights: 9 nights so far", True),
    ],
)
def test_a_limit_is_told_when_four_fifths_are_used(
    evening: Evening, chain: Part, nights: int, words: str, near: bool
) -> None:
    limit(evening, "8")
    with viewing_as(evening.by.pk):
        set_part_start(by=evening.by, part=chain, nights=nights)
    assert told(evening, chain) == [(words, near)]


def test_exactly_four_fifths_are_near(evening: Evening, chain: Part) -> None:
    limit(evening, "10")
    with viewing_as(evening.by.pk):
        set_part_start(by=evening.by, part=chain, nights=8)
    assert told(evening, chain) == [("2 nights left of 10", True)]


def test_what_runs_without_laps_leave_open_is_said(evening: Evening, chain: Part) -> None:
    limit(evening, "100", per="laps")
    ran(evening)
    ran(evening, laps=None)
    assert told(evening, chain) == [("at most 97 laps left of 100", False)]


def test_a_parts_own_limit_takes_the_place_of_the_teams_and_not_of_the_clubs(
    evening: Evening, chain: Part, people: People
) -> None:
    limit(evening, "8")
    limit(evening, "20", part=chain)
    with viewing_as(people.steward.pk):
        set_part_limit(
            by=people.steward, club=people.club, sort="chain", per="nights", most=Decimal(10)
        )
    said = [words for words, _ in told(evening, chain)]
    assert said == ["10 nights left of 10", "20 nights left of 20"]
    other = made(evening, "chain", "C-9")
    said = [words for words, _ in told(evening, other)]
    assert said == ["8 nights left of 8", "10 nights left of 10"]


def test_a_limit_is_replaced_and_taken_away(evening: Evening, chain: Part) -> None:
    first = limit(evening, "8")
    second = limit(evening, "9")
    by = evening.by
    with viewing_as(by.pk):
        assert [row.pk for row in PartLimit.objects.current()] == [second.pk]
        with pytest.raises(WrongState, match="no longer holds"):
            remove_part_limit(by=by, limit=first)
        remove_part_limit(by=by, limit=second)
        assert not limits_of(evening.garage.car.team)
        did = TrailLine.objects.filter(on_kind="cars.partlimit").order_by("created_at")
        assert list(did.values_list("did", flat=True)) == ["limited", "limited", "unlimited"]


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"most": Decimal(0)}, "most"),
        ({"most": Decimal("2.5")}, "most"),
        ({"most": Decimal(9_000)}, "most"),
        ({"per": "weeks"}, "per"),
        ({"sort": "wing"}, "sort"),
        ({"team": None}, "team"),
    ],
)
def test_what_is_no_limit_is_refused(evening: Evening, given: dict[str, Any], field: str) -> None:
    right = {"team": evening.garage.car.team, "sort": "chain", "per": "nights", "most": Decimal(8)}
    with viewing_as(evening.by.pk), pytest.raises(Invalid) as refused:
        set_part_limit(by=evening.by, **{**right, **given})
    assert refused.value.field == field


def test_who_sets_limits(evening: Evening, people: People, chain: Part) -> None:
    for who, whose in (
        ("guest", "team"),
        ("coach", "team"),
        ("chief", "club"),
        ("official", "club"),
    ):
        by = getattr(people, who)
        with viewing_as(by.pk), pytest.raises(NotAllowed):
            set_part_limit(
                by=by,
                sort="chain",
                per="nights",
                most=Decimal(8),
                **{whose: getattr(people, whose)},
            )


@pytest.fixture
def near(evening: Evening, chain: Part) -> Part:
    limit(evening, "8")
    with viewing_as(evening.by.pk):
        set_part_start(by=evening.by, part=chain, nights=6)
    ran(evening)
    return chain


def page(people: People, who: str, path: str) -> str:
    client = Client()
    client.force_login(getattr(people, who))
    answer = client.get(path)
    assert answer.status_code == 200, path
    return one_line(answer.content.decode())


def test_it_is_told_on_the_cars_page_and_on_the_list_of_parts(
    evening: Evening, near: Part, people: People
) -> None:
    car, team = evening.garage.car.pk, people.team.pk
    for path in (f"/cars/{car}/", f"/teams/{team}/parts/", f"/parts/{near.pk}/"):
        for who in ("chief", "guest"):
            assert "1 night left of 8" in page(people, who, path), (path, who)
    # A coach who may not see the codes learns nothing of it.
    assert "Parts near a limit" not in page(people, "coach", f"/cars/{car}/")
    with viewing_as(people.chief.pk):
        link_coach(by=people.chief, team=people.team, coach=people.coach, may_see_codes=True)
    assert "Chain C-2" in page(people, "coach", f"/cars/{car}/")
    # Far from its limit, it is told on its own pages alone.
    limit(evening, "80")
    assert "Parts near a limit" not in page(people, "chief", f"/cars/{car}/")
    assert "73 nights left of 80" in page(people, "chief", f"/parts/{near.pk}/")


@pytest.mark.parametrize("who", EVERYBODY)
def test_who_reads_a_parts_life(near: Part, people: People, who: str) -> None:
    client = Client()
    client.force_login(getattr(people, who))
    sees = who in {"chief", "crew", "guest"}
    assert client.get(f"/parts/{near.pk}/").status_code == (200 if sees else 404)
    assert caller(client)("get", f"parts/{near.pk}/life").status_code == (200 if sees else 404)
    limits = done(caller(client)("get", "part-limits"))["results"]
    assert len(limits) == (1 if sees else 0)


def test_the_forms_keep_what_was_typed_and_name_what_is_wrong(
    client: Client, near: Part, people: People
) -> None:
    client.force_login(people.chief)
    wrong = client.post(f"/parts/{near.pk}/limit", {"most": "2.5", "per": "nights"})
    text = one_line(wrong.content.decode())
    assert "Write whole nights." in text
    assert 'value="2.5"' in text
    assert client.post(f"/parts/{near.pk}/start", {"nights": "12"}).status_code == 302
    assert "13 nights" in page(people, "chief", f"/parts/{near.pk}/")
    right = client.post(
        f"/teams/{people.team.pk}/part-limits/new",
        {"sort": "engine", "most": "9.5", "per": "hours"},
    )
    assert right.status_code == 302
    assert "Engine: 9.5 hours" in page(people, "chief", f"/teams/{people.team.pk}/part-limits/")
    client.force_login(people.steward)
    club = f"/clubs/{people.club.pk}/part-limits/"
    client.post(f"{club}new", {"sort": "chain", "most": "7", "per": "nights"})
    assert "Chain: 7 nights" in page(people, "rival", club)
    with viewing_as(people.steward.pk):
        row = PartLimit.objects.current().get(club=people.club)
    client.post(f"/part-limits/{row.pk}/remove")
    assert "Chain: 7 nights" not in page(people, "rival", club)


def test_the_api_says_and_takes_the_same(client: Client, near: Part, people: People) -> None:
    client.force_login(people.chief)
    call = caller(client)
    life = done(call("get", f"parts/{near.pk}/life"))
    assert (life["nights"], life["runs"], life["laps"], life["untimed_runs"]) == (7, 1, 3, 0)
    assert life["limits"][0]["says"] == "1 night left of 8"
    assert life["limits"][0]["is_near"] is True
    assert done(call("put", f"parts/{near.pk}/start", {"nights": 7}))["nights"] == 8
    assert pointer(call("put", f"parts/{near.pk}/start", {"nights": -1})) == "#/nights"
    row = {"team": str(people.team.pk), "sort": "tyre", "per": "laps", "most": "1400"}
    made = done(call("post", "part-limits", row), 201)
    assert done(call("get", f"part-limits/{made['id']}"))["most"] == "1400.00"
    assert pointer(call("post", "part-limits", {**row, "most": "0"})) == "#/most"
    assert call("delete", f"part-limits/{made['id']}").status_code == 204
    assert done(call("get", "part-limits"))["results"][0]["sort"] == "chain"


def test_as_many_queries_for_three_parts_as_for_one(
    evening: Evening, near: Part, people: People
) -> None:
    def asked() -> int:
        with viewing_as(people.chief.pk), CaptureQueriesContext(connection) as queries:
            parts = list(Part.objects.all())
            lives(parts, people.team)
        return len(queries)

    one = asked()
    for code in ("C-7", "C-8"):
        fit(evening, made(evening, "chain", code))
        ran(evening)
    assert asked() == one


def test_numbers_are_written_as_people_say_them() -> None:
    said = [count(Decimal(value), per) for value, per in (("1", "nights"), ("0", "runs"))]
    assert said == ["1 night", "0 runs"]
    assert [count(Decimal(value), "hours") for value in ("1.04", "2.25", "0.04")] == [
        "1 hour",
        "2.3 hours",
        "0 hours",
    ]
    assert Counted().hours == 0
