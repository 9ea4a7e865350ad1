"""A draft of suggestions is put in order, and thrown away."""

import json
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from cars.models import Suggestion, SuggestionTable
from cars.runs.actions.suggestions import (
    add_suggestion,
    draft_suggestions,
    move_suggestion,
    publish_suggestions,
    throw_away_draft,
)
from clubsetup.access.errors import NotAllowed, WrongState
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from tests.cars.runs.trying import suggested
from tests.markup import one_line
from tests.people import People, browser_of

ENTRY = ["pressure RF -0.5 psi", "pressure LF +0.5 psi", "pressure RR +0.5 psi"]
KEEPERS = ["steward", "coach", "crew"]


def drafted(people: People, who: str) -> SuggestionTable:
    """Three rows for entry, with one for the middle after the first."""
    by = getattr(people, who)
    whose: dict[str, Any] = {}
    if who != "steward":
        whose = {"coach": people.coach} if who == "coach" else {"team": people.team}
    with viewing_as(by.pk):
        table = draft_suggestions(by=by, club=people.club, **whose)
        for text, place in zip(
            [ENTRY[0], "pressure LR -0.5 psi", *ENTRY[1:]],
            ["entry", "middle", "entry", "entry"],
            strict=True,
        ):
            given = suggested(text, balance="pushes", place=place)
            add_suggestion(by=by, table=table, given=given)
    return table


def rows(people: People, who: str, table: SuggestionTable) -> list[Suggestion]:
    with viewing_as(getattr(people, who).pk):
        return list(table.suggestions.all())


def order(people: People, who: str, table: SuggestionTable) -> str:
    return " ".join(row.spot for row in rows(people, who, table))


def call(client: Client, method: str, path: str, sent: Any = None) -> Any:
    content = json.dumps(sent)
    return client.generic(method, f"/api/v1/{path}", content, content_type="application/json")


@pytest.mark.parametrize("who", KEEPERS)
def test_rows_are_moved_by_buttons_and_the_order_is_kept(people: People, who: str) -> None:
    client, table = browser_of(getattr(people, who)), drafted(people, who)
    first, _, second, third = rows(people, who, table)
    assert order(people, who, table) == "RF LR LF RR"
    page = one_line(client.get(reverse("suggestion-table", args=[table.pk])).content.decode())
    # Of three rows the first goes down alone and the last up alone; a row by itself nowhere.
    assert page.count('value="up"') == page.count('value="down"') == 2

    def press(row: Suggestion, way: str) -> str:
        path = reverse("suggestion-move", args=[row.pk])
        answer = client.post(path, {"way": way}, follow=True)
        return one_line(answer.content.decode())

    # Past the one for the middle, which stands elsewhere on the page.
    assert "Moved up." in press(second, "up")
    assert order(people, who, table) == "LF LR RF RR"
    press(second, "up")  # it stands first already
    assert order(people, who, table) == "LF LR RF RR"
    assert "Moved down." in press(first, "down")
    assert order(people, who, table) == "LF LR RR RF"
    with viewing_as(getattr(people, who).pk):
        assert [row.position for row in table.suggestions.all()] == [1, 2, 3, 4]
    moved = call(client, "post", f"suggestions/{third.pk}/move", {"way": "up"})
    assert (moved.status_code, moved.json()["position"]) == (200, 1)
    assert order(people, who, table) == "RR LR LF RF"
    wrong = call(client, "post", f"suggestions/{third.pk}/move", {"way": "sideways"})
    assert wrong.status_code == 400
    assert "way" in wrong.content.decode()


@pytest.mark.parametrize("who", KEEPERS)
def test_a_draft_is_thrown_away_after_asking(people: People, who: str) -> None:
    by = getattr(people, who)
    client, table = browser_of(by), drafted(people, who)
    path = reverse("suggestions-throw-away", args=[table.pk])
    assert path in client.get(reverse("suggestion-table", args=[table.pk])).content.decode()
    asked = one_line(client.get(path).content.decode())
    assert "This draft and its 4 suggestions are gone for good." in asked
    with viewing_as(by.pk):
        assert SuggestionTable.objects.filter(pk=table.pk).exists()
    assert "Thrown away." in client.post(path, follow=True).content.decode()
    with viewing_as(by.pk):
        assert not SuggestionTable.objects.exists()
        assert not Suggestion.objects.exists()
        assert TrailLine.objects.filter(on_id=table.pk, did="threw_away").exists()
    other = drafted(people, who)
    assert call(client, "delete", f"suggestion-tables/{other.pk}").status_code == 204
    with viewing_as(by.pk):
        assert not SuggestionTable.objects.exists()


def test_what_was_in_force_is_never_thrown_away_nor_moved(people: People) -> None:
    by, table = people.steward, drafted(people, "steward")
    first = rows(people, "steward", table)[0]
    with viewing_as(by.pk):
        table = publish_suggestions(by=by, table=table)
        with pytest.raises(WrongState, match="stays as it is"):
            throw_away_draft(by=by, table=table)
        with pytest.raises(WrongState, match="stays as it is"):
            move_suggestion(by=by, suggestion=first, up=False)
        # The database says so too.
        assert SuggestionTable.objects.filter(pk=table.pk).delete()[0] == 0
    client = browser_of(by)
    assert client.get(reverse("suggestions-throw-away", args=[table.pk])).status_code == 409
    assert call(client, "delete", f"suggestion-tables/{table.pk}").status_code == 409
    with viewing_as(by.pk):
        assert SuggestionTable.objects.get().suggestions.count() == 4


@pytest.mark.parametrize(
    ("who", "sees"), [("coach", True), ("guest", True), ("official", False), ("stranger", False)]
)
def test_nobody_else_moves_or_throws_away_a_teams_draft(
    people: People, who: str, sees: bool
) -> None:
    table, by = drafted(people, "crew"), getattr(people, who)
    row, client = rows(people, "crew", table)[0], browser_of(by)
    refused = 403 if sees else 404
    for path in (f"suggestion-tables/{table.pk}/throw-away", f"suggestions/{row.pk}/move"):
        assert client.post(f"/{path}", {"way": "down"}).status_code in (refused, 302)
    assert call(client, "delete", f"suggestion-tables/{table.pk}").status_code == refused
    assert (
        call(client, "post", f"suggestions/{row.pk}/move", {"way": "down"}).status_code == refused
    )
    with viewing_as(by.pk):
        with pytest.raises((NotAllowed, WrongState)):
            throw_away_draft(by=by, table=table)
        assert SuggestionTable.objects.filter(pk=table.pk).delete()[0] == 0
    assert order(people, "crew", table) == "RF LR LF RR"
