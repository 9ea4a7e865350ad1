"""The end of a bench asks once more where something on it is to be taken again, and names it."""

import re
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from cars.models import Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.people import People

READ = {"weight.LF": "75", "ride-height.RR": "2 1/2", "nuts-bolts.car": "done", "toe.front": "0"}


@pytest.fixture
def stale(people: People, garage: Garage) -> Sheet:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew, role="set")
        take_typed(by=people.crew, sheet=sheet, typed=READ)
        for adjuster, spot in (("tyre", "RF"), ("spring-seat", "LF")):
            given: dict[str, Any] = {"adjuster": adjuster, "spot": spot, "amount": Decimal(1)}
            unit = "1" if adjuster == "tyre" else "turn"
            note_change(by=people.crew, sheet=sheet, unit=unit, **given)
    return sheet


def state(sheet: Sheet, people: People) -> str:
    with viewing_as(people.crew.pk):
        return Sheet.objects.get(pk=sheet.pk).state


def test_it_asks_and_names_them(crew: Client, people: People, stale: Sheet) -> None:
    answer = crew.post(f"/sheets/{stale.pk}/bench/close")
    page = " ".join(answer.content.decode().split())
    assert answer.status_code == 409
    assert state(stale, people) == "open"
    for name in ("Weight, left front", "Ride height, right rear", "Nuts and bolts"):
        assert f"{name}</a>: tyre RF +1, spring seat LF +1 turn" in page
    assert "Toe" not in page
    assert "all the same" in page


def test_told_once_it_closes(crew: Client, people: People, stale: Sheet) -> None:
    again = ["weight.LF", "ride-height.RR", "nuts-bolts.car"]
    crew.post(f"/sheets/{stale.pk}/bench/close", {"again": again[:2]})
    assert state(stale, people) == "open", "the third was never named"
    crew.post(f"/sheets/{stale.pk}/bench/close", {"again": again})
    assert state(stale, people) == "closed"


def test_the_sheets_page_leads_to_the_question(crew: Client, people: People, stale: Sheet) -> None:
    answer = crew.post(f"/sheets/{stale.pk}/close")
    assert answer["Location"] == f"/sheets/{stale.pk}/bench/done"
    assert "Weight, left front (tyre RF" in crew.get(answer["Location"]).content.decode()
    assert state(stale, people) == "open"


def test_the_api_names_them(crew: Client, people: People, stale: Sheet) -> None:
    path = f"/api/v1/sheets/{stale.pk}/close"
    refused = crew.post(path, {}, content_type="application/json")
    assert refused.status_code == 409
    again = refused.json()["again"]
    assert set(again) == {"weight.LF", "ride-height.RR", "nuts-bolts.car"}
    assert "tyre RF +1, spring seat LF +1 turn" in refused.json()["detail"]
    crew.post(path, {"again": again}, content_type="application/json")
    assert state(stale, people) == "closed"


def test_nothing_to_take_again_asks_nothing(crew: Client, people: People, sheet: Sheet) -> None:
    with viewing_as(people.crew.pk):
        take_typed(by=people.crew, sheet=sheet, typed=READ)
    crew.post(f"/sheets/{sheet.pk}/bench/close")
    assert state(sheet, people) == "closed"


def test_every_cause_is_named_where_the_cause_is_told(
    crew: Client, people: People, stale: Sheet
) -> None:
    said = "take again: tyre RF +1, spring seat LF +1 turn"
    assert said in crew.get(f"/sheets/{stale.pk}/bench/scales/").content.decode()
    page = crew.get(f"/sheets/{stale.pk}/").content.decode()
    assert said in page
    assert re.search(r"retake: [^<]*tyre RF \+1", page)
    assert re.search(r"retake: [^<]*spring seat LF \+1 turn", page)
    step = crew.get(f"/api/v1/sheets/{stale.pk}/bench/scales").json()
    box = next(b for m in step["measures"] for b in m["boxes"] if b["box"] == "weight.LF")
    assert box["text"] == said
    assert [each["text"] for each in box["causes"]] == ["tyre RF +1", "spring seat LF +1 turn"]
    plans = crew.get(f"/sheets/{stale.pk}/turn").content.decode()
    assert "tyre RF +1, spring seat LF +1 turn since it was read" in plans
