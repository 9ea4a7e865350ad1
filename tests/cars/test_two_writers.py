"""Two people write at once, through each door there is: nobody writes over what they never saw."""

import html
import json
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client

from cars.models import Change, Part, PartFitted, Plan, Reading, Sheet
from cars.plans.queries.ballast import ballast_seen
from cars.plans.queries.turns import turn_table
from cars.sheets.actions.ballast import move_ballast_piece
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.parts_fitted import fit_part
from cars.sheets.actions.readings import take_typed
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.cars.plans.evening import Evening
from tests.cars.plans.test_tools import piece
from tests.cars.seen import reading_seen, seen_by, seen_on
from tests.people import People

BOX, SPOT = "weight.LF", ("weight", "LF")
JSON = "application/json"


@pytest.fixture
def crew(client: Client, people: People) -> Client:
    """Who opened the page first, and writes last."""
    client.force_login(people.crew)
    return client


def chief_writes(people: People, evening: Evening, text: str = "81") -> None:
    with viewing_as(people.chief.pk):
        take_typed(by=people.chief, sheet=evening.sheet, typed={BOX: text})


def stands(people: People, sheet: Sheet) -> str:
    with viewing_as(people.chief.pk):
        return str(sheet.readings.current().at(*SPOT, 1).get().typed)


class TestTheSheetsForm:
    def test_a_box_sent_alone(self, crew: Client, people: People, evening: Evening) -> None:
        sent = {"seen": seen_by(people.crew, evening.sheet), BOX: "79"}
        chief_writes(people, evening)
        headers = {"HX-Request": "true", "HX-Trigger-Name": BOX}
        address = f"/sheets/{evening.sheet.pk}/readings"
        answer = crew.post(address, sent, headers=headers)
        text = answer.content.decode()
        assert f"{people.chief} wrote 81 a moment ago; you typed 79." in html.unescape(text)
        assert "Write mine in its place" in text
        assert stands(people, evening.sheet) == "81"
        # The answer carries what stands now: who has read that may put theirs in its place.
        crew.post(address, {BOX: "79", "seen": seen_on(answer.content.decode())}, headers=headers)
        assert stands(people, evening.sheet) == "79"

    def test_the_whole_form(self, crew: Client, people: People, evening: Evening) -> None:
        seen = seen_by(people.crew, evening.sheet)
        typed = {name: text for name, (_, text) in json.loads(seen).items()}
        chief_writes(people, evening)
        address = f"/sheets/{evening.sheet.pk}/readings"
        refused = crew.post(address, {**typed, BOX: "79", "seen": seen})
        assert refused.status_code == 409
        text = html.unescape(refused.content.decode())
        assert f"{people.chief} wrote 81 a moment ago; you typed 79." in text
        assert 'value="79"' in text, "what was typed is still there"
        assert stands(people, evening.sheet) == "81"
        meant = {**typed, BOX: "79", "seen": seen_on(refused.content.decode()), "over": BOX}
        assert crew.post(address, meant).status_code == 302
        assert stands(people, evening.sheet) == "79"

    def test_another_box_is_saved_all_the_same(
        self, crew: Client, people: People, evening: Evening
    ) -> None:
        seen = seen_by(people.crew, evening.sheet)
        typed = {name: text for name, (_, text) in json.loads(seen).items()}
        chief_writes(people, evening)
        crew.post(
            f"/sheets/{evening.sheet.pk}/readings",
            {**typed, BOX: "79", "weight.RF": "71", "seen": seen},
        )
        with viewing_as(people.crew.pk):
            rows = evening.sheet.readings.current()
            assert rows.at("weight", "RF", 1).get().typed == "71"

    def test_who_read_the_same_is_not_asked(
        self, crew: Client, people: People, evening: Evening
    ) -> None:
        sent = {"seen": seen_by(people.crew, evening.sheet), BOX: "81"}
        chief_writes(people, evening)
        headers = {"HX-Request": "true", "HX-Trigger-Name": BOX}
        answer = crew.post(f"/sheets/{evening.sheet.pk}/readings", sent, headers=headers)
        assert "wrote" not in answer.content.decode()

    def test_read_again_and_the_same(self, crew: Client, people: People, evening: Evening) -> None:
        seen = reading_seen(people.crew, evening.sheet, *SPOT)
        chief_writes(people, evening)
        sent = {"again": f"{BOX} {seen}"}
        answer = crew.post(f"/sheets/{evening.sheet.pk}/same-again", sent, follow=True)
        assert "wrote 81 since you looked" in html.unescape(answer.content.decode())
        with viewing_as(people.crew.pk):
            assert evening.sheet.readings.current().at(*SPOT, 1).get().by == people.chief


class TestTheApiOfReadings:
    def post(self, crew: Client, evening: Evening, **seen: Any) -> HttpResponse:
        row = {"measure": "weight", "spot": "LF", "typed": "79", **seen}
        path = f"/api/v1/sheets/{evening.sheet.pk}/readings"
        return crew.post(path, {"readings": [row]}, JSON)  # type: ignore[return-value]

    def test_what_was_not_seen_is_refused_by_name(
        self, crew: Client, people: People, evening: Evening
    ) -> None:
        seen = reading_seen(people.crew, evening.sheet, *SPOT)
        chief_writes(people, evening)
        refused = self.post(crew, evening, seen=seen)
        assert refused.status_code == 409
        problem = json.loads(refused.content)
        assert (problem["box"], problem["theirs"]) == (BOX, "81")
        assert stands(people, evening.sheet) == "81"
        assert self.post(crew, evening, seen=problem["seen"]).status_code == 200
        assert stands(people, evening.sheet) == "79"

    def test_over_anything_is_said_expressly(
        self, crew: Client, people: People, evening: Evening
    ) -> None:
        missing = self.post(crew, evening)
        assert missing.status_code == 400
        assert json.loads(missing.content)["errors"][0]["pointer"] == "#/readings/0/seen"
        assert self.post(crew, evening, seen="whatever").status_code == 400
        assert self.post(crew, evening, seen="anything").status_code == 200
        assert stands(people, evening.sheet) == "79"

    def test_an_empty_box_that_somebody_filled(
        self, crew: Client, people: People, evening: Evening
    ) -> None:
        assert self.post(crew, evening, seen=None).status_code == 409


class TestThePlansPage:
    def test_weighed_by_two(self, crew: Client, people: People, evening: Evening) -> None:
        sent = {BOX: "79", "weight.RF": "70", "seen": seen_by(people.crew, evening.sheet)}
        chief_writes(people, evening)
        with viewing_as(people.crew.pk):
            before = Reading.objects.count()
        refused = crew.post(f"/sheets/{evening.sheet.pk}/weigh", sent)
        assert refused.status_code == 400
        text = html.unescape(refused.content.decode())
        assert f"{people.chief} wrote 81 a moment ago; you typed 79." in text
        with viewing_as(people.crew.pk):
            assert Reading.objects.count() == before, "four pads are one weighing: all or none"

    def test_turns_worked_out_from_other_weights(
        self, crew: Client, people: People, evening: Evening
    ) -> None:
        with viewing_as(people.crew.pk):
            seen = turn_table(evening.sheet, people.crew).seen
        chief_writes(people, evening)
        sent = {"turns": "0.5,-0.5,-0.5,0.5", "seen": seen}
        page = crew.post(f"/sheets/{evening.sheet.pk}/turn/accept", sent, follow=True)
        assert "A reading has changed since" in page.content.decode()
        unseen = {"turns": "0.5,-0.5,-0.5,0.5"}
        crew.post(f"/sheets/{evening.sheet.pk}/turn/accept", unseen)
        api = {"sheet": str(evening.sheet.pk), "turns": {"LF": "0.5"}, "seen": seen}
        assert crew.post("/api/v1/plans", api, JSON).status_code == 409
        del api["seen"]
        assert crew.post("/api/v1/plans", api, JSON).status_code == 400
        with viewing_as(people.crew.pk):
            assert not Plan.objects.exists()
            assert not Change.objects.exists()

    @pytest.mark.parametrize(
        ("path", "sent"),
        [
            ("rods", {"turns": [{"side": "left", "rod": "upper", "turns": "0.5"}]}),
            ("block-marks", {"side": "left", "marks": ["2", "1"]}),
        ],
    )
    def test_rods_and_marks_say_what_was_seen(
        self, crew: Client, people: People, evening: Evening, path: str, sent: dict[str, Any]
    ) -> None:
        answer = crew.post(f"/api/v1/sheets/{evening.sheet.pk}/{path}", sent, JSON)
        assert answer.status_code == 400
        assert json.loads(answer.content)["errors"][0]["pointer"] == "#/seen"

    def test_ballast_that_was_moved_meanwhile(
        self, crew: Client, people: People, evening: Evening, garage: Garage
    ) -> None:
        with viewing_as(people.chief.pk):
            moved = piece(people, "7", "12 lb")
            seen = ballast_seen(evening.sheet)
            move_ballast_piece(by=people.chief, piece=moved, car=garage.car, mount=None)
        sent = {"move": f"{moved.pk}:", "seen": seen}
        page = crew.post(f"/sheets/{evening.sheet.pk}/ballast/fitted", sent, follow=True)
        assert "Ballast was moved since" in page.content.decode()
        moves = [{"piece": str(moved.pk), "mount": None}]
        path = f"/api/v1/sheets/{evening.sheet.pk}/ballast"
        assert crew.post(path, {"moves": moves, "seen": seen}, JSON).status_code == 409
        assert crew.post(path, {"moves": moves}, JSON).status_code == 400
        with viewing_as(people.chief.pk):
            assert not Change.objects.exists()
        assert crew.post(path, {"moves": moves, "seen": "anything"}, JSON).status_code == 201


class TestTheParts:
    def test_a_corner_that_somebody_filled(
        self, crew: Client, people: People, evening: Evening
    ) -> None:
        with viewing_as(people.chief.pk):
            one, other = (Part.objects.create(team=people.team, sort="tyre") for _ in range(2))
            fit_part(
                by=people.chief,
                sheet=evening.sheet,
                sort="tyre",
                spot="LF",
                part=one,
                seen=OVER_ANYTHING,
            )
        sent = {"tyre-LF": str(other.pk), "was-tyre-LF": ""}
        page = crew.post(f"/sheets/{evening.sheet.pk}/parts", sent, follow=True)
        assert "Another tyre is at LF than when you looked" in page.content.decode()
        with viewing_as(people.chief.pk):
            assert PartFitted.objects.current().get(sheet=evening.sheet).part == one
