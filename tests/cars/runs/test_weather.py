"""The weather at a track as it is typed, and corrected; and what is read again there."""

import re
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from cars.models import RunDetails, TrackReading, Weather
from cars.runs.actions.runs import RunFacts, correct_run, note_run, strike_run
from cars.runs.actions.weather import correct_weather, note_weather
from cars.runs.queries.runs import weather_now
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from teams.actions.places import add_track
from tests.cars.plans.evening import Evening
from tests.markup import one_line
from tests.people import People, join

AIR: dict[str, Any] = {
    **{"temperature": Decimal(20), "humidity": Decimal(55), "pressure": Decimal(990)},
    "pressure_of": "place",
}
TYPED = {
    **{"temperature": "68 F", "humidity": "55", "pressure": "29.92 inHg"},
    **{"pressure_of": "sea-level", "altitude": "900 ft"},
}
NONSENSE = ("warm", "", "10,000", "-400", "1,2,3", "1e400", "50 kg", "½½")


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


@pytest.fixture
def weather(evening: Evening, people: People) -> Weather:
    with viewing_as(people.chief.pk):
        return note_weather(by=people.chief, team=people.team, **AIR)


def errors(html: str) -> dict[str, str]:
    """What is said beside each field that is wrong, by its name."""
    found = {}
    for field in re.split(r'<div class="field', html)[1:]:
        name = re.search(r'name="([^"]+)"', field)
        said = re.search(r'<(?:p|ul) class="error[^>]*>(.*?)</(?:p|ul)>', field, re.DOTALL)
        if name and said and (text := re.sub(r"<[^>]*>", "", said[1]).strip()):
            found[name[1]] = text
    return found


def values(html: str) -> dict[str, str]:
    found = {}
    for tag in re.findall(r"<input[^>]*>", html):
        name, value = (re.search(rf'{part}="([^"]*)"', tag) for part in ("name", "value"))
        if name:
            found[name[1]] = value[1] if value else ""
    return found


@pytest.mark.parametrize("text", NONSENSE)
def test_every_field_that_is_wrong_says_so_and_keeps_what_was_typed(
    chief: Client, evening: Evening, people: People, text: str
) -> None:
    path = f"/cars/{evening.garage.car.pk}/track/weather"
    names = ("temperature", "humidity", "pressure", "altitude")
    refused = chief.post(path, {**TYPED, **dict.fromkeys(names, text)})
    html = refused.content.decode()
    assert refused.status_code == 200  # as every page with one form
    said = errors(html)
    assert set(said) == set(names), html
    assert all(said[name].endswith(".") for name in said)
    kept = values(one_line(html).replace("&#x27;", "'"))
    assert [kept[name] for name in names] == [text] * 4
    with viewing_as(people.chief.pk):
        assert not Weather.objects.exists()
    assert chief.post(path, TYPED).status_code == 302
    with viewing_as(people.chief.pk):
        assert Weather.objects.get().altitude == Decimal("274320")


@pytest.mark.parametrize("text", [each for each in NONSENSE if each not in {"", "50 kg"}])
def test_every_box_that_is_wrong_says_so_and_keeps_what_was_typed(
    chief: Client, evening: Evening, people: People, text: str
) -> None:
    path = f"/cars/{evening.garage.car.pk}/track/readings"
    measures = ("weight", "ride-height", "pressure", "circumference")
    boxes = [f"{measure}.{corner}" for measure in measures for corner in ("LF", "RF", "LR", "RR")]
    refused = chief.post(path, {**dict.fromkeys(boxes, text), "weight.LF": "90"})
    html = refused.content.decode()
    assert refused.status_code == 400
    assert html.count('aria-invalid="true"') == 15
    assert len(re.findall(r'<p class="error"\s+id="w-[^"]+"\s*>[^<]+\.</p>', html)) == 15
    kept = values(one_line(html).replace("&#x27;", "'"))
    assert kept["weight.LF"] == "90"
    assert kept["pressure.RR"] == text
    with viewing_as(people.chief.pk):
        assert not TrackReading.objects.exists()


def test_an_altitude_says_its_unit(chief: Client, evening: Evening, people: People) -> None:
    """The club's unit of length is the inch: 900 of them are a track in a cellar."""
    path = f"/cars/{evening.garage.car.pk}/track/weather"
    refused = chief.post(path, {**TYPED, "altitude": "900"}).content.decode()
    assert errors(refused) == {"altitude": "Write the altitude with its unit: 300 ft or 90 m."}
    sent = {**TYPED, "team": str(people.team.pk), "altitude": "900"}
    answer = chief.post("/api/v1/weather", sent, "application/json").json()
    assert answer["errors"][0]["pointer"] == "#/altitude"
    assert chief.post(path, {**TYPED, "altitude": "0"}).status_code == 302


def test_nothing_typed_at_all_is_said(chief: Client, evening: Evening) -> None:
    refused = chief.post(f"/cars/{evening.garage.car.pk}/track/readings", {})
    assert refused.status_code == 400
    assert "Write what was read." in refused.content.decode()


def test_a_correction_stands_in_place_and_its_runs_rest_on_it(
    chief: Client, weather: Weather, evening: Evening, people: People
) -> None:
    by, car = people.chief, evening.garage.car
    with viewing_as(by.pk):
        facts = RunFacts(weather=weather, note="Quick.", kind="heat", finish=2)
        run = note_run(by=by, car=car, facts=facts)
        struck = note_run(by=by, car=car, facts=facts)
        strike_run(by=by, run=struck, reason="Twice.")
        without = note_run(by=by, car=car, facts=RunFacts())
    page = chief.get(f"/runs/{run.pk}/").content.decode()
    path = f"/cars/{car.pk}/track/weather/{weather.pk}"
    assert path in page
    shown = values(one_line(chief.get(path).content.decode()))
    assert [shown[name] for name in ("temperature", "humidity", "pressure", "altitude")] == [
        *("68 °F", "55", "990 hPa", ""),
    ]
    told = chief.post(path, {**TYPED, "temperature": "86 F"})
    assert told.headers["Location"] == f"/cars/{car.pk}/track"
    with viewing_as(by.pk):
        right = Weather.objects.current().get()
        weather.refresh_from_db()
        assert (weather.replaced_by, weather.temperature) == (by, Decimal(20))
        assert (right.noted_at, right.temperature) == (weather.noted_at, Decimal(30))
        assert weather_now(car) == right
        for each in (run, struck):
            now = RunDetails.objects.current().get(run=each)
            assert (now.weather, now.note, now.finish) == (right, "Quick.", 2)
            was = RunDetails.objects.get(run=each, replaced_at__isnull=False)
            assert was.weather == weather
        assert RunDetails.objects.current().get(run=without).weather is None
        line = TrailLine.objects.get(on_id=right.pk)
        assert (line.did, line.detail["runs"]) == ("corrected", 2)
    # Once; and no run is noted on what does not stand.
    again = chief.post(path, {**TYPED, "temperature": "70 F"})
    assert "was corrected since you looked" in again.content.decode()
    assert values(one_line(again.content.decode()))["temperature"] == "70 F"
    with viewing_as(by.pk):
        with pytest.raises(Invalid, match="corrected since"):
            note_run(by=by, car=car, facts=RunFacts(weather=weather))
        now = RunDetails.objects.current().get(run=run)
        facts = RunFacts(weather=right, note="Quicker.", surface="paved")
        assert correct_run(by=by, run=run, facts=facts, expected=now.pk).weather == right


def test_a_correction_that_cannot_be_changes_nothing(
    chief: Client, weather: Weather, evening: Evening, people: People
) -> None:
    path = f"/cars/{evening.garage.car.pk}/track/weather/{weather.pk}"
    refused = chief.post(path, {**TYPED, "pressure": "10 hPa", "altitude": ""})
    assert set(errors(refused.content.decode())) == {"pressure", "altitude"}
    refused = chief.post(path, {**TYPED, "altitude": ""})
    assert "altitude" in errors(refused.content.decode())
    with viewing_as(people.chief.pk):
        assert Weather.objects.get().replaced_at is None


def test_who_may_correct_it(weather: Weather, people: People) -> None:
    for name in ("guest", "coach", "official", "steward", "rival", "stranger"):
        who = getattr(people, name)
        with viewing_as(who.pk), pytest.raises(NotAllowed):
            correct_weather(by=who, weather=weather, **AIR)
    with viewing_as(people.crew.pk):
        right = correct_weather(by=people.crew, weather=weather, **AIR)
        with pytest.raises(WrongState):
            correct_weather(by=people.crew, weather=weather, **AIR)
    client = Client()
    client.force_login(people.crew)
    sent = {"temperature": "25 C", "humidity": "40", "pressure": "990 hPa", "pressure_of": "place"}
    path = f"/api/v1/weather/{right.pk}/correct"
    answer = client.put(path, sent, "application/json")
    assert answer.json()["temperature"]["value"] == "25"
    assert answer.json()["replaced_at"] is None
    assert client.put(path, sent, "application/json").status_code == 409
    wrong = client.put(path, {**sent, "humidity": "many"}, "application/json")
    assert wrong.json()["errors"][0]["pointer"] == "#/humidity"


def test_no_track_of_another_club_however_well_its_person_knows_it(people: People) -> None:
    join(people.other_steward, people.chief, people.other_club, "official")
    with viewing_as(people.other_steward.pk):
        track = add_track(
            by=people.other_steward,
            club=people.other_club,
            name="Far Oval",
            surface="paved",
        )
    with viewing_as(people.chief.pk):
        with pytest.raises(Invalid, match="of the team's club"):
            note_weather(by=people.chief, team=people.team, track=track, **AIR)
        assert not Weather.objects.exists()
