"""How a line of the trail is told."""

from typing import Any
from uuid import uuid4

import pytest

from clubsetup.access.actions import record
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.presenters import trail
from teams.presenters.trail import team_trail
from tests.people import People
from tests.teams.conftest import fresh


def told(people: People, did: str = "changed", **detail: Any) -> tuple[str, str]:
    crew: User = fresh(people.crew)
    with viewing_as(crew.pk):
        record(by=crew, did=did, on=people.team, team_id=people.team.pk, **detail)
        line = team_trail(people.team).lines[0]
    return line.what, line.detail


@pytest.mark.parametrize(
    ("detail", "words"),
    [
        ({}, ""),
        ({"role": "guest"}, "role: guest"),
        ({"may_write": True, "may_see_codes": False}, "may write: yes; may see codes: no"),
        ({"sheet": str(uuid4())}, ""),
        ({"now": {"car": str(uuid4()), "mount": ""}}, "now: mount "),
        ({"ids": {str(uuid4()): "done"}}, ""),
        ({"units": {"mass": "kg", "length": "mm"}}, "units: mass kg, length mm"),
        ({"readings": {f"cross {i}": ["", "1"] for i in range(62)}}, "62 readings"),
        ({"readings": {"lead car": ["1/2", "5/8"]}}, "readings: lead car 1/2, 5/8"),
        ({"scopes": ["read", "write"]}, "scopes: read, write"),
        ({"reason": "x" * 90}, f"reason: {'x' * 59}…"),
        ({"none": None, "empty": ""}, ""),
        ({"who": str(uuid4())}, "somebody"),
        ({"who": "a guest"}, "who: a guest"),
    ],
)
def test_detail_is_told_short_and_without_ids(
    people: People, detail: dict[str, Any], words: str
) -> None:
    assert told(people, **detail)[1] == words


def test_a_person_is_told_by_name(people: People) -> None:
    assert told(people, who=str(people.guest.pk))[1] == "Guest"


def test_what_was_done_reads_as_words(people: People, monkeypatch: pytest.MonkeyPatch) -> None:
    assert told(people, did="set_mark")[0] == "set mark a team"
    monkeypatch.setitem(trail._words.spoken, ("set_mark", "teams.team"), "marked the team")
    assert told(people, did="set_mark")[0] == "marked the team"
