"""Back to a track: the sheets as set there, which was fastest, and the way back to one of them."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from cars.garage.actions.parts import add_part
from cars.history.queries.back_to_track import fastest_of, sheets_at, with_runs
from cars.models import Run, Sheet, SheetTargetSource
from cars.runs.actions.runs import RunFacts, TimedLaps, note_run
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.parts_fitted import fit_part
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import close_sheet, open_sheet
from clubsetup.access.viewer import viewing_as
from teams.actions.drivers import add_driver, log_driver_weight
from teams.actions.places import add_track
from teams.models import Driver, Surface, Track
from tests.cars.garage import Garage, typed
from tests.cars.runs.test_helped import SCATTER
from tests.markup import one_line
from tests.people import People

THEN, LATER = date(2026, 3, 14), date(2026, 6, 6)
WEIGHED = {"weight.LF": "64", "weight.RF": "56", "weight.LR": "95", "weight.RR": "55"}
HEIGHTS = {
    "ride-height.LF": "2 1/4",
    "ride-height.RF": "2 1/2",
    "ride-height.LR": "2 1/4",
    "ride-height.RR": "2 3/4",
}


@pytest.fixture
def track(people: People) -> Track:
    with viewing_as(people.steward.pk):
        return add_track(by=people.steward, club=people.club, name="Fern Bowl", surface="paved")


@pytest.fixture
def driver(people: People) -> Driver:
    with viewing_as(people.chief.pk):
        return add_driver(by=people.chief, team=people.team, display_name="Pip")


def set_there(
    people: People,
    garage: Garage,
    track: Track,
    readings: dict[str, str],
    day: date,
    **given: Any,
) -> Sheet:
    """Read and closed there; closed later than its day, as everything in a test is."""
    with viewing_as(people.chief.pk):
        by, car = people.chief, garage.car
        sheet = open_sheet(by=by, car=car, role="set", made_on=day, track=track, **given)
        take_typed(by=by, sheet=sheet, typed=readings)
        return close_sheet(by=by, sheet=sheet)


def ran(people: People, garage: Garage, middle: str, ago: int, **facts: Any) -> Run:
    laps = TimedLaps(
        [Decimal(middle) + Decimal(off) for off in SCATTER], [""] * len(SCATTER), "transponder"
    )
    with viewing_as(people.chief.pk):
        return note_run(
            by=people.chief,
            car=garage.car,
            facts=RunFacts(**facts),
            laps=laps,
            ran_at=timezone.now() - timedelta(minutes=ago),
        )


def page(people: People, who: str, path: str, **headers: str) -> Any:
    client = Client()
    client.force_login(getattr(people, who))
    return client.get(path, headers=headers or None)


def text_of(answer: Any) -> str:
    assert answer.status_code == 200
    return one_line(answer.content.decode())


def test_the_sheets_set_there_stand_with_what_their_runs_came_to(
    people: People, garage: Garage, track: Track, driver: Driver
) -> None:
    set_there(people, garage, track, {"pressure.LF": "9"}, THEN, driver=driver)
    for ago, middle in ((9, "7.50"), (8, "7.52"), (7, "7.48")):
        ran(people, garage, middle, ago, driver=driver, track=track, kind="heat", finish=2)
    text = text_of(page(people, "chief", f"/cars/{garage.car.pk}/back-to-track"))
    assert "As set 14 Mar 2026" in text
    assert "3 runs, Pip" in text
    assert "finished heat 2, heat 2, heat 2" in text
    assert "7.50" in text
    assert "Fern Bowl, paved" in text


def test_a_run_at_another_track_is_none_of_this_one(
    people: People, garage: Garage, track: Track, driver: Driver
) -> None:
    with viewing_as(people.steward.pk):
        other = add_track(by=people.steward, club=people.club, name="Elm", surface="paved")
    set_there(people, garage, track, {"pressure.LF": "9"}, THEN, driver=driver)
    ran(people, garage, "7.50", 9, driver=driver, track=other)
    text = text_of(page(people, "chief", f"/cars/{garage.car.pk}/back-to-track"))
    assert "no run noted" in text


def test_the_fastest_is_named_only_where_it_is_shown(
    people: People, garage: Garage, track: Track, driver: Driver
) -> None:
    """Half a second between evenings of four runs is shown; two hundredths are not."""
    url = f"/cars/{garage.car.pk}/back-to-track"
    asks = {"HX-Request": "true"}
    set_there(people, garage, track, {"pressure.LF": "9"}, THEN, driver=driver)
    assert "None of these was timed" in text_of(page(people, "chief", url, **asks))
    for ago in (400, 390, 380, 370):
        ran(people, garage, "7.50", ago * 60, driver=driver, track=track)
    assert "nothing to hold it against" in text_of(page(people, "chief", url, **asks))
    set_there(people, garage, track, {"pressure.LF": "10"}, LATER, driver=driver)
    for ago in (40, 39, 38, 37):
        ran(people, garage, "7.48", ago * 60, driver=driver, track=track)
    text = text_of(page(people, "chief", url, **asks))
    assert "As set 6 Jun 2026 has the fastest median, 7.48 s." in text
    assert "Against as set 14 Mar 2026, different days: cannot tell." in text
    with viewing_as(people.chief.pk):
        there = with_runs(garage.car, list(sheets_at(garage.car, track, Surface.PAVED)))
        fastest = fastest_of(garage.car, there)
        assert fastest is not None
        assert fastest.verdict != "faster"


def test_the_way_back_says_what_to_set_and_by_how_much(
    people: People, garage: Garage, track: Track, driver: Driver
) -> None:
    then = set_there(
        people,
        garage,
        track,
        {**WEIGHED, **HEIGHTS, "pressure.LF": "9", "pressure.RR": "12", "teeth-driven.car": "62"},
        THEN,
        driver=driver,
    )
    now = {**WEIGHED, **HEIGHTS, "weight.RF": "60", "weight.LF": "60"}
    set_there(
        people,
        garage,
        track,
        {**now, "pressure.LF": "10", "pressure.RR": "12", "teeth-driven.car": "63"},
        LATER,
        driver=driver,
    )
    url = f"/sheets/{then.pk}/way-back"
    text = text_of(page(people, "chief", url))
    assert "From the car as it stands: as set 6 Jun 2026." in text
    assert "10 psi" in text
    assert "1 psi, let down" in text
    assert "1 less" in text  # a tooth
    assert "Cold pressure, right rear" not in text  # the same then
    assert now
    assert "Last, at the spring seats" in text
    api = page(people, "chief", f"/api/v1{url}").json()
    assert [step["name"] for step in api["steps"]] == ["Tyres", "Gearing"]  # the order of work
    assert api["turns"]
    assert {turn["corner"] for turn in api["turns"]} <= {"LF", "RF", "LR", "RR"}
    assert "Cross" in api["turns_make"]


def test_what_cannot_be_had_again_comes_with_what_is_nearest(
    people: People, garage: Garage, track: Track, driver: Driver
) -> None:
    with viewing_as(people.chief.pk):
        by, team = people.chief, people.team
        log_driver_weight(by=by, driver=driver, weighed_on=THEN, mass=typed("mass", "60 lb"))
        log_driver_weight(by=by, driver=driver, weighed_on=LATER, mass=typed("mass", "66 lb"))
        tyres = [add_part(by=by, team=team, sort="tyre", code=code) for code in ("T1", "T2", "T3")]
    with viewing_as(people.chief.pk):
        sheets = []
        for day, tyre, out in ((THEN, 0, "33.5"), (date(2026, 4, 4), 1, "33.75"), (LATER, 2, "35")):
            sheet = open_sheet(
                by=by, car=garage.car, role="set", made_on=day, track=track, driver=driver
            )
            part, seen = tyres[tyre], OVER_ANYTHING
            fit_part(by=by, sheet=sheet, sort="tyre", spot="LF", part=part, seen=seen)
            take_typed(by=by, sheet=sheet, typed={"circumference.LF": out})
            sheets.append(close_sheet(by=by, sheet=sheet))
    text = text_of(page(people, "chief", f"/sheets/{sheets[0].pk}/way-back"))
    assert "Tyre LF: T1, where T3 is on now." in text
    assert "If tyre T1 for LF is worn out: T2 comes nearest" in text
    assert "Pip is 6 lb heavier than then" in text
    assert "less ballast" in text
    # A guest sees neither the log of weights nor, without the team's leave, codes.
    guest = text_of(page(people, "guest", f"/sheets/{sheets[0].pk}/way-back"))
    assert "heavier" not in guest


def test_taking_one_opens_the_bench_with_its_figures_as_targets(
    people: People, garage: Garage, track: Track, driver: Driver
) -> None:
    then = set_there(people, garage, track, {"pressure.LF": "9"}, THEN, driver=driver)
    url = f"/sheets/{then.pk}/way-back"
    client = Client()
    client.force_login(people.crew)
    answer = client.post(url)
    with viewing_as(people.chief.pk):
        opened = Sheet.objects.get(role="found", state="open")
        assert answer.headers["Location"] == f"/sheets/{opened.pk}/bench/"
        assert SheetTargetSource.objects.get(sheet=opened).target_id == then.pk
        assert opened.track_id == track.pk
    # Somebody else comes: one is open, it is said and led to, and no second one is made.
    client.force_login(people.chief)
    assert f"/sheets/{opened.pk}/bench/" in client.get(url).content.decode()
    again = client.post(url, follow=True)
    assert f"/sheets/{opened.pk}/bench/" in again.content.decode()
    with viewing_as(people.chief.pk):
        assert Sheet.objects.filter(role="found").count() == 1
    for who in ("guest", "coach"):
        client.force_login(getattr(people, who))
        assert "Open the bench" not in client.get(url).content.decode()
        assert client.post(url).status_code == 403


@pytest.mark.parametrize(
    ("who", "status"),
    [
        *(("chief", 200), ("crew", 200), ("guest", 200), ("coach", 200)),
        *(("official", 404), ("steward", 404), ("rival", 404)),
        *(("unlinked_coach", 404), ("stranger", 404)),
    ],
)
def test_who_reads_the_teams_sheets_goes_back(
    people: People, garage: Garage, track: Track, who: str, status: int
) -> None:
    then = set_there(people, garage, track, {"pressure.LF": "9"}, THEN)
    base = f"/cars/{garage.car.pk}/back-to-track"
    for path in (
        base,
        f"/sheets/{then.pk}/way-back",
        f"/api/v1{base}",
        f"/api/v1/sheets/{then.pk}/way-back",
    ):
        assert page(people, who, path).status_code == status, path


def test_what_is_asked_wrongly_is_named(people: People, garage: Garage, track: Track) -> None:
    open_one = set_there(people, garage, track, {"pressure.LF": "9"}, THEN)
    base = f"/cars/{garage.car.pk}/back-to-track"
    for asked in (f"?track={garage.car.pk}", "?track=x", f"?track={track.pk}&surface=dirt"):
        assert page(people, "chief", base + asked).status_code == 404
        answer = page(people, "chief", f"/api/v1{base}{asked}")
        assert answer.status_code == 400
        assert "track" in answer.content.decode()
    with viewing_as(people.chief.pk):
        found = garage.sheet(people.chief)
    for pk in (garage.car.pk, found.pk):
        assert page(people, "chief", f"/sheets/{pk}/way-back").status_code == 404
        assert page(people, "chief", f"/api/v1/sheets/{pk}/way-back").status_code == 404
    assert page(people, "chief", f"{base}?track={track.pk}").status_code == 200
    assert open_one.state == "closed"


def test_as_many_queries_for_three_sheets_as_for_one(
    people: People, garage: Garage, track: Track, driver: Driver
) -> None:
    counts = []
    for number in range(3):
        day = THEN + timedelta(days=number)
        then = set_there(people, garage, track, {**WEIGHED, "pressure.LF": "9"}, day, driver=driver)
        ran(people, garage, "7.50", 30 - number, driver=driver, track=track)
        base = f"/cars/{garage.car.pk}/back-to-track"
        for path in (base, f"/sheets/{then.pk}/way-back"):
            page(people, "chief", path)
            with CaptureQueriesContext(connection) as seen:
                text_of(page(people, "chief", path))
            counts.append(len(seen))
    assert [*counts[0::2], *counts[1::2]] == [*[counts[0]] * 3, *[counts[1]] * 3]
