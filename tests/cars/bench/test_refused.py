"""A figure that was refused stands apart from what is on the sheet, and its step says so."""

import html
import json
import re
from typing import Any

import pytest
from django.test import Client

from cars.models import Reading, Sheet
from cars.sheets.actions.readings import take_typed
from clubsetup.access.viewer import viewing_as
from tests.cars.bench.conftest import Post
from tests.markup import tight
from tests.people import People

BOX = "ride-height.LF"
GOOD = "state good"


@pytest.fixture
def taken(sheet: Sheet, people: People) -> Reading:
    """On target, before something else is typed."""
    with viewing_as(people.crew.pk):
        made = take_typed(by=people.crew, sheet=sheet, typed={BOX: "2 1/4"})
    return made[0]


def part(page: str, start: str, end: str) -> str:
    match = re.search(rf"{re.escape(start)}.*?{end}", tight(page), re.S)
    assert match, start
    return " ".join(match[0].split())


def verdict(page: str) -> str:
    return part(page, 'id="v-ride-height--LF"', "</div>")


def test_on_the_bench_as_a_form(crew: Client, sheet: Sheet, taken: Reading) -> None:
    path = f"/sheets/{sheet.pk}/bench/ride-heights/"
    before = crew.get(path).content.decode()
    assert GOOD in verdict(before)
    seen = re.search(r'name="seen" value="([^"]*)"', before)
    assert seen
    sent = {"seen": html.unescape(seen[1]), BOX: "46 9/7"}
    answer = crew.post(path, sent)
    page = answer.content.decode()
    assert answer.status_code == 400
    assert GOOD not in verdict(page)
    assert "not saved" in verdict(page)
    assert "On the sheet: 2 1/4 in, on target" in verdict(page)
    assert 'value="46 9/7"' in page, "what was typed is still there"
    back = part(page, f'name="theirs" value="{BOX}"', "</button>")
    assert "Put back" in back
    assert "2 1/4" in back
    assert "1 not saved" in part(page, 'id="s-ride-heights"', "</a>")
    assert "not saved" not in part(page, 'id="s-tyres"', "</a>")
    # Put back, it says again what stands.
    again = crew.post(path, {**sent, "theirs": BOX}, follow=True).content.decode()
    assert GOOD in verdict(again)


def test_where_nothing_stands_it_says_that(crew: Client, sheet: Sheet) -> None:
    path = f"/sheets/{sheet.pk}/bench/ride-heights/"
    page = crew.post(path, {"seen": "{}", BOX: "46 9/7"}).content.decode()
    assert "On the sheet: nothing yet" in verdict(page)
    assert "Empty it" in page


def test_the_script_is_told_what_stands(crew: Client, post: Post, taken: Reading) -> None:
    wrong, conflict = (
        post(crew, "ride-heights", box=BOX, text=text, **seen).json()["results"][0]
        for text, seen in (("46 9/7", {"seen": str(taken.pk)}), ("2 1/2", {}))
    )
    assert (wrong["status"], wrong["stands"], wrong["seen"]) == ("wrong", "2 1/4", str(taken.pk))
    assert (conflict["status"], conflict["stands"]) == ("conflict", "2 1/4")


class TestTheSheetsPage:
    def save(self, crew: Client, sheet: Sheet, taken: Reading, **more: Any) -> str:
        sent = {"seen": json.dumps({BOX: [str(taken.pk), taken.typed]}), BOX: "46 9/7"}
        return str(crew.post(f"/sheets/{sheet.pk}/readings", sent, **more).content.decode())

    def test_box_by_box(self, crew: Client, sheet: Sheet, taken: Reading) -> None:
        named = {"HX-Request": "true", "HX-Trigger-Name": BOX}
        answer = self.save(crew, sheet, taken, headers=named)
        assert GOOD not in verdict(answer)
        assert "Not saved. On the sheet: 2 1/4 in, on target" in verdict(answer)
        assert "1 not saved" in part(answer, 'id="t-ride-heights"', "</span></span>")

    def test_as_a_whole(self, crew: Client, sheet: Sheet, taken: Reading) -> None:
        page = self.save(crew, sheet, taken)
        assert "Not saved. On the sheet: 2 1/4 in, on target" in verdict(page)
        assert "1 not saved" in part(page, 'id="t-ride-heights"', "</div>")
        assert 'class="car-figure bad"' not in page, "what stands is not off"


class TestTheApi:
    def test_one_box(self, crew: Client, sheet: Sheet, taken: Reading) -> None:
        path = f"/api/v1/sheets/{sheet.pk}/boxes/{BOX}"
        sent = {"typed": "46 9/7", "seen": str(taken.pk)}
        answer = crew.put(path, sent, content_type="application/json")
        assert answer.status_code == 400
        assert answer.json()["stands"] == "2 1/4"
        assert answer.json()["seen"] == str(taken.pk)

    def test_what_waited(self, crew: Client, sheet: Sheet, taken: Reading) -> None:
        sent = {"boxes": [{"box": BOX, "typed": "46 9/7", "seen": str(taken.pk)}]}
        path = f"/api/v1/sheets/{sheet.pk}/boxes"
        result = crew.post(path, sent, content_type="application/json").json()["results"][0]
        assert (result["status"], result["stands"], result["seen"]) == (
            *("wrong", "2 1/4"),
            str(taken.pk),
        )
