"""The pages and the API of tables of suggestions."""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from cars.models import SuggestionTable
from clubsetup.access.ids import new_id
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from tests.guards.test_api import LOOSE
from tests.markup import one_line
from tests.people import People, browser_of

ROW = {
    **{"balance": "pushes", "place": "entry", "hands": "", "steering": "", "surface": "paved"},
    **{"surface_state": "hot", "adjuster": "pressure", "spot": "RF", "amount": "-1/2"},
    **{"unit": "psi", "minutes": "2", "why": "It stands lower.", "caution": "Not below 8 psi."},
    **{"source": "club", "source_note": "two seasons"},
}


def page(client: Client, name: str, pk: Any, sent: dict[str, Any] | None = None) -> str:
    path = reverse(name, args=[pk])
    answer = client.get(path) if sent is None else client.post(path, sent, follow=True)
    assert answer.status_code == 200
    return one_line(answer.content.decode())


@pytest.mark.parametrize(
    ("who", "listed", "draft"),
    [
        ("steward", "club-suggestions", "club-suggestions-draft"),
        ("coach", "club-suggestions", "coach-suggestions-draft"),
        ("crew", "team-suggestions", "team-suggestions-draft"),
    ],
)
def test_a_table_is_drafted_filled_and_published_on_the_pages(
    people: People, who: str, listed: str, draft: str
) -> None:
    person = getattr(people, who)
    client = browser_of(person)
    owner = people.team.pk if who == "crew" else people.club.pk
    assert reverse(draft, args=[owner]) in page(client, listed, owner)  # what comes first
    started = page(client, draft, owner, {"begin": "empty", "note": "Our own."})
    assert "No suggestion yet" in started
    with viewing_as(person.pk):
        table = SuggestionTable.objects.get()
    wrong = page(client, "suggestion-add", table.pk, {**ROW, "spot": "front"})
    assert "Choose where the tyre pressure is: LF, RF, LR, RR." in wrong
    assert 'value="-1/2"' in wrong  # what was typed is still there
    assert "Write it as" in page(client, "suggestion-add", table.pk, {**ROW, "amount": "some"})
    shown = page(client, "suggestion-add", table.pk, ROW)
    assert "Pushes at entry · paved, hot track" in shown
    assert "pressure RF" in shown
    assert "let down" in shown
    assert "The club's experience: two seasons" in shown.replace("&#x27;", "'")
    with viewing_as(person.pk):
        row = table.suggestions.get()
    assert 'value="−1/2"' in (changing := page(client, "suggestion-edit", row.pk)) or (
        'value="-1/2"' in changing
    )
    assert "4 minutes" not in page(client, "suggestion-edit", row.pk, {**ROW, "minutes": "4"})
    page(client, "suggestion-add", table.pk, {**ROW, "balance": "loose", "amount": "+1/2"})
    with viewing_as(person.pk):
        first, second = table.suggestions.all()
        assert (first.minutes, second.position) == (4, 2)
    assert "Taken out." in page(client, "suggestion-remove", second.pk, {})
    in_force = page(client, "suggestions-publish", table.pk, {"note": "The first."})
    assert "These suggestions are in force." in in_force
    assert "in force" in page(client, listed, owner)
    page(client, draft, owner, {"begin": "published", "note": ""})
    with viewing_as(person.pk):
        copy = SuggestionTable.objects.get(version=2)
    assert "Say in a few words" in page(client, "suggestions-publish", copy.pk, {"note": ""})
    assert "Retired." in page(client, "suggestions-retire", table.pk, {})


def test_a_team_reads_what_stands_below_its_own(people: People) -> None:
    chief = browser_of(people.chief)
    assert "Neither a coach nor the club" in page(chief, "team-suggestions", people.team.pk)
    steward = browser_of(people.steward)
    page(steward, "club-suggestions-draft", people.club.pk, {"begin": "starter"})
    with viewing_as(people.steward.pk):
        table = SuggestionTable.objects.get()
    page(steward, "suggestions-publish", table.pk, {"note": ""})
    below = page(chief, "team-suggestions", people.team.pk)
    assert reverse("suggestion-table", args=[table.pk]) in below
    shown = page(chief, "suggestion-table", table.pk)
    for heading in ("Anywhere in the corner", "At entry", "In the middle", "At exit", "Hands"):
        assert heading in shown
    assert "Common practice, no source" in shown
    assert "Take out" not in shown


def test_a_coach_who_reads_a_teams_own_stands_in_its_trail(people: People) -> None:
    crew, coach = browser_of(people.crew), browser_of(people.coach)
    page(crew, "team-suggestions-draft", people.team.pk, {"begin": "starter"})
    with viewing_as(people.crew.pk):
        table = SuggestionTable.objects.get()
    page(coach, "suggestion-table", table.pk)
    assert coach.get(f"/api/v1/suggestion-tables/{table.pk}").status_code == 200
    with viewing_as(people.crew.pk):
        read = TrailLine.objects.filter(did="read", on_id=table.pk)
        assert [line.by_id for line in read] == [people.coach.pk]
    trail = page(crew, "team-trail", people.team.pk)
    assert "drafted a table of suggestions" in trail
    assert "read a table of suggestions" in trail


def test_one_row_of_a_teams_own_is_read_into_its_trail_too(people: People) -> None:
    crew, coach = browser_of(people.crew), browser_of(people.coach)
    page(crew, "team-suggestions-draft", people.team.pk, {"begin": "starter"})
    with viewing_as(people.crew.pk):
        table = SuggestionTable.objects.get()
        row = table.suggestions.first()
    assert row is not None
    assert coach.get(f"/api/v1/suggestions/{row.pk}").status_code == 200
    with viewing_as(people.crew.pk):
        read = TrailLine.objects.filter(did="read", on_id=table.pk)
        assert [line.by_id for line in read] == [people.coach.pk]


def call(client: Client, method: str, path: str, sent: Any = None) -> Any:
    return getattr(client, method)(f"/api/v1/{path}", sent, content_type="application/json")


def test_a_table_is_kept_over_the_api(people: People) -> None:
    coach = browser_of(people.coach)
    sent = {"club": str(people.club.pk), "as_coach": True, "id": str(new_id())}
    made = call(coach, "post", "suggestion-tables", sent)
    assert made.status_code == 201
    assert call(coach, "post", "suggestion-tables", sent).status_code == 200  # sent twice, one made
    table = made.json()
    assert (table["coach"], table["team"], table["state"]) == (str(people.coach.pk), None, "draft")
    rows = f"suggestion-tables/{table['id']}/suggestions"
    row_sent = {"id": str(new_id()), **LOOSE}
    row = call(coach, "post", rows, row_sent).json()
    assert call(coach, "post", rows, row_sent).json() == row
    assert (row["amount"], row["position"]) == ("0.5000", 1)
    wrong = call(coach, "put", f"suggestions/{row['id']}", {**LOOSE, "unit": "psi"})
    assert wrong.status_code == 400
    assert [each["pointer"] for each in wrong.json()["errors"]] == ["#/unit"]
    changed = call(coach, "put", f"suggestions/{row['id']}", {**LOOSE, "minutes": 5}).json()
    assert changed == {**row, "minutes": 5}
    assert call(coach, "get", rows).json() == [changed]
    chief = browser_of(people.chief)
    assert call(chief, "get", rows).status_code == 404
    done = call(coach, "post", f"suggestion-tables/{table['id']}/publish", {})
    assert (done.status_code, done.json()["state"]) == (200, "published")
    assert call(chief, "get", rows).json() == [changed]
    assert call(coach, "delete", f"suggestions/{row['id']}").status_code == 409
    for who in (people.rival, people.steward, people.unlinked_coach):
        listed = call(browser_of(who), "get", "suggestion-tables").json()["results"]
        assert listed == []
    (listed,) = call(chief, "get", "suggestion-tables?state=published").json()["results"]
    assert listed["id"] == table["id"]
    done = call(coach, "post", f"suggestion-tables/{table['id']}/retire", None)
    assert done.json()["state"] == "retired"


def test_pages_and_lists_take_as_many_queries_for_one_row_as_for_three(people: People) -> None:
    steward = browser_of(people.steward)

    def queries(path: str) -> int:
        steward.get(path)
        with CaptureQueriesContext(connection) as seen:
            assert steward.get(path).status_code == 200
        return len([one for one in seen if "SAVEPOINT" not in one["sql"]])

    def draft() -> None:
        page(steward, "club-suggestions-draft", people.club.pk, {"begin": "empty"})

    def add(spot: str) -> None:
        page(steward, "suggestion-add", table.pk, {**ROW, "spot": spot})

    draft()
    with viewing_as(people.steward.pk):
        table = SuggestionTable.objects.get()
    add("LF")
    paths = (
        reverse("club-suggestions", args=[people.club.pk]),
        reverse("suggestion-table", args=[table.pk]),
        "/api/v1/suggestion-tables",
        f"/api/v1/suggestion-tables/{table.pk}/suggestions",
    )
    one = [queries(path) for path in paths]
    for spot in ("RF", "LR"):
        draft()
        add(spot)
    assert [queries(path) for path in paths] == one
