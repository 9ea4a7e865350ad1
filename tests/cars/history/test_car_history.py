"""A car over its seasons: the figures as set and as found, their targets, what happened, laps."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from cars.models import ClosedFigures
from cars.runs.actions.runs import RunFacts, correct_run
from cars.runs.actions.track_changes import note_track_change
from cars.sheets.actions.conflicts import Unseen
from clubsetup.access.viewer import viewing_as
from clubsetup.clock.writing import day
from teams.actions.drivers import add_driver
from teams.actions.places import add_track
from teams.models import Driver, Track
from tests.cars.garage import Garage
from tests.cars.history.test_back_to_track import WEIGHED, page, ran, set_there, text_of
from tests.owner import as_owner
from tests.people import People

DAY = date(2026, 3, 14)


@pytest.fixture
def track(people: People) -> Track:
    with viewing_as(people.steward.pk):
        return add_track(by=people.steward, club=people.club, name="Fern Bowl", surface="paved")


@pytest.fixture
def driver(people: People) -> Driver:
    with viewing_as(people.chief.pk):
        return add_driver(by=people.chief, team=people.team, display_name="Pip")


def test_a_sheet_as_set_keeps_its_figure_whatever_is_turned_later(
    people: People, garage: Garage, track: Track
) -> None:
    sheet = set_there(people, garage, track, {**WEIGHED, "ride-height.RF": "2 1/2"}, DAY)
    with viewing_as(people.chief.pk):
        note_track_change(
            by=people.chief,
            sheet=sheet,
            adjuster="spring-seat",
            spot="RF",
            amount=Decimal("0.5"),
            unit="turn",
        )
    path = f"/cars/{garage.car.pk}/history"
    answer = page(people, "chief", f"/api/v1{path}?measure=cross.car&measure=ride-height.RF").json()
    (shown,) = answer["sheets"]
    cross, height = shown["figures"]
    assert cross["value"] == pytest.approx(100 * (56 + 95) / 270)
    assert height["value"] == pytest.approx(63.5)
    # As the baseline asks for: 52 and 2 3/8 in.
    assert (cross["target"], cross["tolerance"]) == (52.0, 0.5)
    assert height["target"] == pytest.approx(60.325)
    text = text_of(page(people, "chief", path))
    assert "14 Mar 2026, as set" in text
    assert "1 closed sheet, 1 as set." in text
    assert 'class="plot"' in text


def test_a_season_says_what_was_changed_most_and_what_happened(
    people: People, garage: Garage, track: Track
) -> None:
    by = people.chief
    sheet = set_there(people, garage, track, WEIGHED, DAY)
    with viewing_as(by.pk):
        for spot, amounts in {"RF": ("0.5", "-0.5"), "LR": ("1",)}.items():
            for amount in amounts:
                note_track_change(
                    by=by,
                    sheet=sheet,
                    adjuster="spring-seat",
                    spot=spot,
                    amount=Decimal(amount),
                    unit="turn",
                )
    year = timezone.localdate().year
    text = text_of(page(people, "chief", f"/cars/{garage.car.pk}/seasons/{year}"))
    assert '<dt>Spring seat RF</dt> <dd class="num"> 2 times </dd>' in text
    assert '<dt>Spring seat LR</dt> <dd class="num"> once </dd>' in text
    assert text.count("at the track spring seat RF") == 1


def test_how_it_was_set_is_kept_beside_what_was_not_changed_since(
    people: People, garage: Garage, track: Track
) -> None:
    """Where it was kept before this was, it is read off the readings, and is the same."""
    by, path = people.chief, f"/api/v1/cars/{garage.car.pk}/history?measure=cross.car"
    sheet = set_there(people, garage, track, WEIGHED, DAY)
    seat: dict[str, Any] = {"adjuster": "spring-seat", "spot": "RF", "unit": "turn"}
    with viewing_as(by.pk):
        note_track_change(by=by, sheet=sheet, amount=Decimal("0.5"), **seat)
        kept = ClosedFigures.objects.get(sheet=sheet)
    assert kept.as_set is not None
    assert kept.as_set["cross.car"] == pytest.approx(100 * (56 + 95) / 270)
    assert "cross.car" not in kept.values
    assert not kept.values.keys() & kept.as_set.keys()
    shown = page(people, "chief", path).json()["sheets"]
    as_owner("UPDATE cars_closedfigures SET as_set = NULL WHERE sheet_id = %s", sheet.pk)
    assert page(people, "chief", path).json()["sheets"] == shown


def test_damage_stands_as_a_mark_that_leads_to_its_run(
    people: People, garage: Garage, track: Track, driver: Driver
) -> None:
    set_there(people, garage, track, WEIGHED, DAY)
    run = ran(
        people,
        garage,
        "7.50",
        30,
        driver=driver,
        track=track,
        damage="hit the wall",
        damage_spots=["RF"],
    )
    text = text_of(page(people, "chief", f"/cars/{garage.car.pk}/history"))
    assert "hit the wall, RF" in text
    assert f'href="/runs/{run.pk}/"' in text


def test_a_season_tells_the_nights_by_track(
    people: People, garage: Garage, track: Track, driver: Driver
) -> None:
    for ago, middle in ((9, "7.50"), (8, "7.54"), (7, "7.46")):
        run = ran(
            people, garage, middle, ago, driver=driver, track=track, kind="main", finish=ago - 6
        )
    year = run.ran_at.year
    text = text_of(page(people, "chief", f"/cars/{garage.car.pk}/seasons/{year}"))
    assert "Fern Bowl, paved" in text
    assert "7.50" in text  # the median of the three medians
    assert "main 3, main 2, main 1" in text
    of_driver = text_of(page(people, "chief", f"/drivers/{driver.pk}/seasons"))
    assert "3 runs" in of_driver
    assert page(people, "chief", f"/cars/{garage.car.pk}/seasons/1999").status_code == 404


def test_points_of_many_years_stand_for_months(
    people: People, garage: Garage, track: Track, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number, height in enumerate(("2 1/4", "2 3/4", "2 3/8")):
        day = DAY + timedelta(days=number)
        set_there(people, garage, track, {"ride-height.RF": height}, day)
    path = f"/cars/{garage.car.pk}/history?measure=ride-height.RF"
    assert text_of(page(people, "chief", path)).count("<circle") == 3
    monkeypatch.setattr("cars.history.presenters.car_history.MOST_POINTS", 2)
    text = text_of(page(people, "chief", path))
    assert text.count("<circle") == 1
    assert "14 Mar 2026 to 16 Mar 2026, 3 sheets" in text
    assert "A point stands for a month" in text


@pytest.mark.parametrize(
    ("who", "status"),
    [
        *(("chief", 200), ("crew", 200), ("guest", 200), ("coach", 200)),
        *(("official", 404), ("steward", 404), ("rival", 404)),
        *(("unlinked_coach", 404), ("stranger", 404)),
    ],
)
def test_who_reads_the_teams_sheets_reads_its_history(
    people: People, garage: Garage, track: Track, driver: Driver, who: str, status: int
) -> None:
    run = ran(people, garage, "7.50", 9, driver=driver, track=track)
    base = f"/cars/{garage.car.pk}"
    for path in (
        f"{base}/history",
        f"{base}/seasons/{run.ran_at.year}",
        f"/drivers/{driver.pk}/seasons",
        f"/api/v1{base}/history",
        f"/api/v1/drivers/{driver.pk}/seasons",
    ):
        assert page(people, who, path).status_code == status, path


@pytest.mark.parametrize(
    "asked",
    ["measure=x", "measure=cross.LF", "measure=a.b.c", "season=1990", "season=²", "season=x"],
)
def test_what_is_asked_wrongly_is_named(people: People, garage: Garage, asked: str) -> None:
    path = f"/cars/{garage.car.pk}/history?{asked}"
    assert page(people, "chief", path).status_code == 400
    answer = page(people, "chief", f"/api/v1{path}")
    assert answer.status_code == 400
    assert asked.split("=", maxsplit=1)[0] in answer.content.decode()


def test_as_many_queries_for_three_sheets_as_for_one(
    people: People, garage: Garage, track: Track, driver: Driver
) -> None:
    counts = []
    for number in range(3):
        set_there(people, garage, track, WEIGHED, DAY + timedelta(days=number))
        ran(people, garage, "7.50", 30 - number, driver=driver, track=track)
        path = f"/cars/{garage.car.pk}/history"
        page(people, "chief", path)
        with CaptureQueriesContext(connection) as seen:
            text_of(page(people, "chief", path))
        counts.append(len(seen))
    assert counts == [counts[0]] * 3


def test_a_run_that_was_another_drivers_is_no_more_on_the_page_of_the_first(
    people: People, garage: Garage, track: Track, driver: Driver
) -> None:
    run = ran(people, garage, "7.50", 9, driver=driver, track=track)
    with viewing_as(people.chief.pk):
        other = add_driver(by=people.chief, team=people.team, display_name="Sol")
        facts = RunFacts(driver=other, track=track)
        correct_run(by=people.chief, run=run, facts=facts, expected=Unseen.OVER_ANYTHING)
    of_first = text_of(page(people, "chief", f"/drivers/{driver.pk}/seasons"))
    assert "No run is noted." in of_first
    of_other = text_of(page(people, "chief", f"/drivers/{other.pk}/seasons"))
    assert "1 run" in of_other


def test_a_change_at_the_track_is_a_letter_that_leads_to_its_sheet(
    people: People, garage: Garage, track: Track
) -> None:
    sheet = set_there(people, garage, track, WEIGHED, DAY)
    with viewing_as(people.chief.pk):
        note_track_change(
            by=people.chief,
            sheet=sheet,
            adjuster="spring-seat",
            spot="RF",
            amount=Decimal("0.5"),
            unit="turn",
            made_at=datetime(2026, 3, 14, 20, tzinfo=UTC),
        )
    path = f"/cars/{garage.car.pk}/history"
    text = text_of(page(people, "chief", path))
    words, goes_to = "14 Mar 2026: at the track spring seat RF +1/2 turn", f"/sheets/{sheet.pk}/"
    assert f'<a href="{goes_to}" aria-label="{words}">' in text
    assert text.count(words) >= 4  # the letter in each drawing, the list below and the table
    (happened,) = page(people, "chief", f"/api/v1{path}").json()["happened"]
    assert (happened["kind"], happened["event"]) == ("change", None)
    assert happened["what"] == "spring-seat RF 0.5 turn"


def test_points_and_rows_of_the_nights_lead_to_their_runs(
    people: People, garage: Garage, track: Track, driver: Driver
) -> None:
    a_day = 24 * 60
    first = ran(people, garage, "7.50", 9 * a_day, driver=driver, track=track)
    last = ran(people, garage, "7.54", 8 * a_day, driver=driver, track=track)
    text = text_of(page(people, "chief", f"/drivers/{driver.pk}/seasons"))
    for run in (first, last):
        # Its point, its night, its number.
        assert text.count(f'<a href="/runs/{run.pk}/"') == 3
        assert (
            f'<a href="/runs/{run.pk}/" aria-label="{day(timezone.localdate(run.ran_at))}: ' in text
        )


def test_the_api_has_what_the_page_of_a_drivers_seasons_shows(
    people: People, garage: Garage, track: Track, driver: Driver
) -> None:
    run = ran(people, garage, "7.50", 9, driver=driver, track=track)
    path = f"/api/v1/drivers/{driver.pk}/seasons"
    answer = page(people, "coach", path).json()
    assert (answer["driver"], answer["season"]) == (str(driver.pk), None)
    assert [(car["car"], car["runs"]) for car in answer["cars"]] == [(str(garage.car.pk), 1)]
    (night,) = answer["nights"]
    assert (night["track"], round(night["median_s"], 4)) == ("Fern Bowl", 7.505)
    assert night["run_ids"] == [str(run.pk)]
    assert page(people, "chief", f"{path}?season={run.ran_at.year}").json()["nights"] == [night]
    assert page(people, "chief", f"{path}?season=1000").status_code == 400
