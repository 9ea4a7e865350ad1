"""After a run: hot pressures and their gain, roll-outs, and which of the team's parts were on."""

import re
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from cars.catalogue.keys import Key
from cars.garage.actions.parts import add_part
from cars.models import Part, PartFitted, Run, RunPart, RunReading, TrackReading
from cars.runs.actions.after_run import note_run_part, note_run_readings
from cars.runs.actions.runs import NotedMeanwhile, RunFacts, note_run, strike_run
from cars.runs.actions.track_changes import note_track_change
from cars.runs.queries.after_run import after_run
from cars.runs.queries.car_now import car_now
from cars.runs.queries.run_parts import parts_in
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.parts_fitted import fit_part
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from teams.actions.teams import link_coach
from tests.cars.plans.evening import Evening
from tests.markup import one_line
from tests.people import People, join, person

PSI = 6.894757293168361  # kPa; NIST SP 811, appendix B.8
CODE = "zq-violet-ring"


@pytest.fixture
def run(evening: Evening) -> Run:
    """It went out with three cold pressures known and two roll-outs."""
    with viewing_as(evening.by.pk):
        cold = {"pressure.LF": "9", "pressure.RF": "10", "pressure.RR": "12"}
        evening.take({**cold, "circumference.LR": "33 1/2", "circumference.RR": "34 1/4"})
        return note_run(by=evening.by, car=evening.garage.car, facts=RunFacts())


def psi(text: str) -> Any:
    return parse(text, Kind.PRESSURE)


def fields(html: str) -> dict[str, str]:
    """What the page of boxes sends back untouched."""
    found: dict[str, str] = {}
    for tag in re.findall(r"<input[^>]*>", html):
        name, value = (re.search(rf'{part}="([^"]*)"', tag) for part in ("name", "value"))
        if name and name[1] != "csrfmiddlewaretoken":
            found[name[1]] = value[1] if value else ""
    return found


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


def test_the_gain_is_what_the_pressure_rose_over_the_cold_one(
    chief: Client, run: Run, people: People
) -> None:
    sent = fields(chief.get(f"/runs/{run.pk}/after").content.decode())
    hot = {"pressure.LF": "11.25", "pressure.RF": "10", "pressure.LR": "13", "pressure.RR": "11"}
    rolled = {"circumference.LR": "33 5/8", "circumference.RR": "34 1/2"}
    told = chief.post(f"/runs/{run.pk}/after", {**sent, **hot, **rolled})
    assert told.headers["Location"] == f"/runs/{run.pk}/"
    with viewing_as(people.chief.pk):
        after = after_run(run)
        assert after is not None
        gains = [tyre.gain for tyre in after.tyres]
        assert gains[0] == pytest.approx(2.25 * PSI)
        assert gains[1] == pytest.approx(0.0, abs=1e-9)
        assert gains[2] is None
        assert gains[3] == pytest.approx(-PSI)
        assert after.staggers == {"front": None, "rear": pytest.approx(0.875 * 25.4)}
        # It says nothing of how the car stands.
        now = car_now(run.car, people.chief)
        assert now is not None
        assert not now.read
        assert not TrackReading.objects.exists()
    page = one_line(chief.get(f"/runs/{run.pk}/").content.decode())
    row = page.split('<th scope="row">LF</th>')[1].split("</tr>")[0]
    assert [re.sub(r"<[^>]*>", "", cell).strip() for cell in row.split("</td>")][:3] == [
        *("9.00 psi", "11.25 psi", "+2.25 psi"),
    ]
    assert "Stagger after the run: rear 7/8 in" in page
    assert "No cold pressure is on the sheet" in page


def test_a_correction_keeps_what_stood_and_two_phones_do_not_meet(
    chief: Client, run: Run, people: People
) -> None:
    path = f"/runs/{run.pk}/after"
    mine = fields(chief.get(path).content.decode())
    theirs = dict(mine)
    assert chief.post(path, {**mine, "pressure.LF": "11"}).status_code == 302
    # Another wheel: both stand. The same wheel: told, and what was typed is there still.
    assert chief.post(path, {**theirs, "pressure.RF": "12"}).status_code == 302
    met = chief.post(path, {**theirs, "pressure.LF": "15"})
    assert met.status_code == 400
    assert "noted this run since you looked" in met.content.decode()
    assert fields(met.content.decode())["pressure.LF"] == "15"
    again = fields(chief.get(path).content.decode())
    assert (again["pressure.LF"], again["pressure.RF"]) == ("11", "12")
    assert chief.post(path, {**again, "pressure.LF": "11.5", "pressure.RF": ""}).status_code == 302
    assert chief.post(path, fields(chief.get(path).content.decode())).status_code == 302
    with viewing_as(people.chief.pk):
        standing = RunReading.objects.current().get()
        assert standing.typed == "11.5"
        assert RunReading.objects.count() == 3
        lines = TrailLine.objects.filter(on_id=run.pk, did="read_after")
        assert [line.detail["boxes"] for line in lines.order_by("pk")] == [
            *(["pressure.LF"], ["pressure.RF"], ["pressure.LF", "pressure.RF"]),
        ]


@pytest.mark.parametrize("text", ["hot", "10,000", "-3", "1e9", "99 kg", "'; drop", "12 psi psi"])
def test_nonsense_is_named_at_its_box_and_stays_there(
    chief: Client, run: Run, people: People, text: str
) -> None:
    path = f"/runs/{run.pk}/after"
    sent = {**fields(chief.get(path).content.decode()), "pressure.LF": text, "pressure.RR": "13"}
    refused = chief.post(path, {**sent, "circumference.RF": "wide"})
    html = refused.content.decode()
    assert refused.status_code == 400
    assert html.count('aria-invalid="true"') == 2
    kept = fields(html)
    assert (kept["pressure.RR"], kept["circumference.RF"]) == ("13", "wide")
    with viewing_as(people.chief.pk):
        assert not RunReading.objects.exists()


def test_what_cannot_be_is_refused(run: Run, people: People) -> None:
    by = people.chief
    with viewing_as(by.pk):
        for key in (Key("weight", "LF"), Key("pressure", "front"), Key("stagger", "rear")):
            with pytest.raises(Invalid):
                note_run_readings(by=by, run=run, readings={key: psi("12")}, expected=OVER_ANYTHING)
        with pytest.raises(Invalid):
            note_run_readings(by=by, run=run, readings={}, expected=OVER_ANYTHING)
        strike_run(by=by, run=run, reason="None.")
        with pytest.raises(WrongState, match="struck"):
            note_run_readings(
                by=by,
                run=run,
                readings={Key("pressure", "LF"): psi("12")},
                expected=OVER_ANYTHING,
            )


@pytest.fixture
def spring(people: People) -> Part:
    with viewing_as(people.chief.pk):
        return add_part(by=people.chief, team=people.team, sort="spring", code=CODE)


def fitted_run(evening: Evening, spring: Part) -> Run:
    """A spring is on RF by the sheet when the run is noted."""
    fit_part(
        by=evening.by,
        sheet=evening.sheet,
        sort="spring",
        spot="RF",
        part=spring,
        seen=OVER_ANYTHING,
    )
    return note_run(by=evening.by, car=evening.garage.car, facts=RunFacts())


def at(run: Run, sort: str, spot: str) -> Any:
    return next(place for place in parts_in(run) if (place.sort, place.spot) == (sort, spot))


def test_the_parts_are_those_of_the_sheet_at_that_time(evening: Evening, spring: Part) -> None:
    with viewing_as(evening.by.pk):
        run = fitted_run(evening, spring)
        assert at(run, "spring", "RF").part == spring
        assert at(run, "spring", "LF").part is None
        # Nothing later moves under the run.
        sheet = evening.sheet
        fit_part(
            by=evening.by, sheet=sheet, sort="spring", spot="RF", part=None, seen=OVER_ANYTHING
        )
        assert at(run, "spring", "RF").part == spring
        assert PartFitted.objects.current().count() == 0


def test_what_was_swapped_at_the_track_is_not_known_until_it_is_said(
    client: Client, evening: Evening, spring: Part, people: People
) -> None:
    by = evening.by
    with viewing_as(by.pk):
        other = add_part(by=by, team=people.team, sort="spring", code="other-one")
        evening_run = fitted_run(evening, spring)
        assert evening_run.pk
        note_track_change(
            by=by, sheet=evening.sheet, adjuster="spring", spot="RF", amount=Decimal(1), unit="1"
        )
        run = note_run(by=by, car=evening.garage.car, facts=RunFacts())
        place = at(run, "spring", "RF")
        assert (place.part, place.swapped) == (None, True)
    client.force_login(by)
    assert "RF swapped, not said for what" in client.get(f"/runs/{run.pk}/").content.decode()
    page = client.get(f"/runs/{run.pk}/parts").content.decode()
    sent = fields(page)
    told = client.post(f"/runs/{run.pk}/parts", {**sent, "spring-RF": str(other.pk)})
    assert told.headers["Location"] == f"/runs/{run.pk}/"
    assert "RF other-one" in client.get(f"/runs/{run.pk}/").content.decode()
    # Somebody who looked before that is told.
    client.post(f"/runs/{run.pk}/parts", {**sent, "spring-RF": str(spring.pk)})
    with viewing_as(by.pk):
        assert at(run, "spring", "RF").part == other
        with pytest.raises(NotedMeanwhile):
            note_run_part(by=by, run=run, sort="spring", spot="RF", part=None, expected=None)
        said = RunPart.objects.current().get()
        note_run_part(by=by, run=run, sort="spring", spot="RF", part=None, expected=said.pk)
        assert at(run, "spring", "RF").part is None
        assert RunPart.objects.count() == 2
        assert CODE not in str(list(TrailLine.objects.values_list("detail", flat=True)))


def test_codes_are_for_those_who_may_see_them(
    client: Client, evening: Evening, spring: Part, people: People
) -> None:
    with viewing_as(evening.by.pk):
        run = fitted_run(evening, spring)
    writer = person("writing coach")
    join(people.steward, writer, people.club, "coach")
    with viewing_as(people.chief.pk):
        link_coach(by=people.chief, team=people.team, coach=writer, may_write=True)
    seen: dict[User, bool] = {
        **dict.fromkeys((people.chief, people.crew, people.guest), True),
        **dict.fromkeys((people.coach, writer), False),
    }
    for who, may in seen.items():
        client.force_login(who)
        page = client.get(f"/runs/{run.pk}/")
        assert page.status_code == 200
        assert (CODE in page.content.decode()) == may
        answer = client.get(f"/api/v1/runs/{run.pk}/parts")
        assert answer.status_code == (200 if may else 403)
    # A coach who writes and may not see the codes notes a run; its parts are those of the sheet.
    with viewing_as(writer.pk):
        theirs = note_run(by=writer, car=evening.garage.car, facts=RunFacts())
        with pytest.raises(NotAllowed):
            note_run_part(by=writer, run=theirs, sort="spring", spot="RF", part=None, expected=None)
    with viewing_as(people.chief.pk):
        assert at(theirs, "spring", "RF").part == spring


def test_the_api_says_the_same(
    client: Client, run: Run, people: People, spring: Part, evening: Evening
) -> None:
    client.force_login(people.chief)
    path = f"/api/v1/runs/{run.pk}/readings"
    assert client.get(path).json() == {"tyres": [], "readings": []}
    sent = [{"measure": "pressure", "spot": "LF", "typed": "11.25 psi", "seen": None}]
    kept = client.put(path, {"readings": sent}, "application/json").json()
    assert kept["tyres"][0]["gain"] == pytest.approx(2.25 * PSI)
    assert kept["readings"][0]["quantity"]["typed"] == "11.25 psi"
    assert client.put(path, {"readings": sent}, "application/json").status_code == 409
    wrong = {"readings": [{"measure": "pressure", "spot": "LF", "typed": "warm"}]}
    refused = client.put(path, wrong, "application/json").json()
    assert refused["errors"][0]["pointer"] == "#/readings/0/typed"
    twice = client.put(path, {"readings": sent * 2}, "application/json")
    assert twice.status_code == 400
    away = {"readings": [{"measure": "pressure", "spot": "LF", "typed": ""}]}
    assert client.put(path, away, "application/json").json()["readings"] == []
    parts = f"/api/v1/runs/{run.pk}/parts"
    said = {"parts": [{"sort": "spring", "spot": "LR", "part": str(spring.pk), "seen": None}]}
    places = client.put(parts, said, "application/json").json()
    (place,) = (one for one in places if (one["sort"], one["spot"]) == ("spring", "LR"))
    assert place["part"]["code"]["code"] == CODE
    assert client.put(parts, said, "application/json").status_code == 409
