"""The API of clubs, teams and drivers: the same rules as the pages, told as JSON."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from clubsetup.access.viewer import viewing_as
from teams.models import ClubMember, CoachLink, Invitation, TeamMember
from tests.people import People
from tests.teams.conftest import EVERYBODY, IN_CLUB, IN_TEAM, Things

SignedIn = Callable[[str], Client]
API = "/api/v1/"
JSON = "application/json"
INSIDE = {*IN_TEAM, "coach"}


def ids(client: Client, path: str) -> list[str]:
    answer = client.get(API + path)
    assert answer.status_code == 200
    return [row["id"] for row in answer.json()["results"]]


def post(client: Client, path: str, **given: Any) -> Any:
    return client.post(API + path, given, content_type=JSON)


# What is listed, the id that is looked for, and who finds it.
LISTS: list[tuple[str, Callable[[People, Things], object], set[str]]] = [
    ("clubs", lambda p, t: p.club.pk, set(IN_CLUB)),
    ("teams", lambda p, t: p.team.pk, set(IN_CLUB)),
    ("tracks", lambda p, t: t.track.pk, set(IN_CLUB)),
    ("race-classes", lambda p, t: t.race_class.pk, set(IN_CLUB)),
    ("club-members", lambda p, t: _row(ClubMember, p.steward, p.official), set(IN_CLUB)),
    ("team-members", lambda p, t: _row(TeamMember, p.chief, p.guest), {*INSIDE, "steward"}),
    ("coach-links", lambda p, t: _link(p), {*INSIDE, "steward"}),
    ("invitations", lambda p, t: _invitation(p), {"chief", "steward", "crew"}),
    ("drivers", lambda p, t: t.driver.pk, INSIDE),
    ("driver-weights", lambda p, t: t.weight.pk, INSIDE - {"guest"}),
]


def _row(model: Any, viewer: Any, user: Any) -> object:
    with viewing_as(viewer.pk):
        return model.objects.get(user=user).pk


def _link(people: People) -> object:
    with viewing_as(people.chief.pk):
        return CoachLink.objects.get().pk


def _invitation(people: People) -> object:
    with viewing_as(people.chief.pk):
        return Invitation.objects.get(role="crew").pk


@pytest.mark.parametrize(("path", "of", "seen"), LISTS, ids=[row[0] for row in LISTS])
def test_who_finds_what(
    people: People,
    things: Things,
    signed_in: SignedIn,
    path: str,
    of: Callable[[People, Things], object],
    seen: set[str],
) -> None:
    wanted = str(of(people, things))
    if path == "invitations":
        seen = seen - {"crew"}  # who took it up does not see it afterwards
    listed = {who for who in EVERYBODY if wanted in ids(signed_in(who), path)}
    fetched = {
        who for who in EVERYBODY if signed_in(who).get(f"{API}{path}/{wanted}").status_code == 200
    }
    assert listed == fetched == seen
    missing = signed_in("stranger").get(f"{API}{path}/{wanted}")
    absent = signed_in("stranger").get(f"{API}{path}/{uuid4()}")
    assert (missing.status_code, missing.json()) == (404, absent.json())
    out = Client().get(f"{API}{path}/{wanted}")
    assert out.status_code == 401
    assert out["Content-Type"] == "application/problem+json"
    assert Client().get(API + path).status_code == 401


CREATES: list[tuple[str, Callable[[People, Things], dict[str, Any]], set[str], set[str]]] = [
    (
        "teams",
        lambda p, t: {"club": str(p.club.pk), "name": "Larks"},
        {"steward"},
        set(IN_CLUB) - {"steward"},
    ),
    (
        "tracks",
        lambda p, t: {"club": str(p.club.pk), "name": "Bowl", "surface": "dirt"},
        {"steward"},
        set(IN_CLUB) - {"steward"},
    ),
    (
        "race-classes",
        lambda p, t: {"club": str(p.club.pk), "name": "Novice"},
        {"steward"},
        set(IN_CLUB) - {"steward"},
    ),
    (
        "invitations",
        lambda p, t: {"club": str(p.club.pk), "role": "coach"},
        {"steward"},
        set(IN_CLUB) - {"steward"},
    ),
    (
        "invitations",
        lambda p, t: {"club": str(p.club.pk), "team": str(p.team.pk), "role": "guest"},
        {"chief"},
        set(IN_CLUB) - {"chief"},
    ),
    (
        "coach-links",
        lambda p, t: {"team": str(p.team.pk), "coach": str(p.unlinked_coach.pk)},
        {"chief"},
        set(IN_CLUB) - {"chief"},
    ),
    (
        "drivers",
        lambda p, t: {"team": str(p.team.pk), "display_name": "Juno"},
        {"chief", "crew"},
        set(IN_CLUB) - {"chief", "crew"},
    ),
    (
        "driver-weights",
        lambda p, t: {"driver": str(t.driver.pk), "weighed_on": "2026-04-01", "mass": "72 lb"},
        {"chief", "crew"},
        {"guest", "coach"},
    ),
]


@pytest.mark.parametrize("who", EVERYBODY)
@pytest.mark.parametrize(
    ("path", "of", "may", "refused"), CREATES, ids=[f"{c[0]} {i}" for i, c in enumerate(CREATES)]
)
def test_who_creates_what(
    people: People,
    things: Things,
    signed_in: SignedIn,
    who: str,
    path: str,
    of: Callable[[People, Things], dict[str, Any]],
    may: set[str],
    refused: set[str],
) -> None:
    """To whom the thing's owner is invisible it does not exist: 400, as for an id never used."""
    answer = post(signed_in(who), path, **of(people, things))
    assert answer.status_code == (201 if who in may else 403 if who in refused else 400)
    if who not in may:
        assert answer["Content-Type"] == "application/problem+json"
    if who not in may | refused:
        assert "names nothing that is there" in answer.json()["detail"]


class TestClubs:
    def test_tell_what_the_person_is_there(self, people: People, signed_in: SignedIn) -> None:
        [club] = signed_in("steward").get(API + "clubs").json()["results"]
        assert club["my_roles"] == ["steward"]
        [club] = signed_in("guest").get(API + "clubs").json()["results"]
        assert (club["name"], club["my_roles"]) == ("Fernbank Oval Club", [])

    def test_units_are_the_stewards(self, people: People, signed_in: SignedIn) -> None:
        path = f"{API}clubs/{people.club.pk}"
        given = {"preferred_units": {"mass": "kg"}}
        assert signed_in("chief").patch(path, given, content_type=JSON).status_code == 403
        assert signed_in("stranger").patch(path, given, content_type=JSON).status_code == 404
        done = signed_in("steward").patch(path, given, content_type=JSON)
        assert done.json()["preferred_units"] == {"mass": "kg"}
        bad = signed_in("steward").patch(
            path, {"preferred_units": {"mass": "mm"}}, content_type=JSON
        )
        assert bad.json()["errors"][0]["pointer"] == "#/preferred_units"

    def test_the_name_is_not_changed_here(self, people: People, signed_in: SignedIn) -> None:
        path = f"{API}clubs/{people.club.pk}"
        done = signed_in("steward").patch(path, {"name": "Mine"}, content_type=JSON)
        assert done.json()["name"] == "Fernbank Oval Club"

    def test_nobody_deletes_a_club(self, people: People, signed_in: SignedIn) -> None:
        answer = signed_in("steward").delete(f"{API}clubs/{people.club.pk}")
        assert answer.status_code == 405

    def test_the_last_steward_is_kept(self, people: People, signed_in: SignedIn) -> None:
        mine = _row(ClubMember, people.steward, people.steward)
        answer = signed_in("steward").delete(f"{API}club-members/{mine}")
        assert answer.status_code == 409
        assert "without a steward" in answer.json()["detail"]
        official = _row(ClubMember, people.steward, people.official)
        assert signed_in("coach").delete(f"{API}club-members/{official}").status_code == 403
        assert signed_in("steward").delete(f"{API}club-members/{official}").status_code == 204

    def test_members_are_found_by_role(self, people: People, signed_in: SignedIn) -> None:
        rows = signed_in("guest").get(API + "club-members?role=coach").json()["results"]
        assert {row["user"]["name"] for row in rows} == {"Coach", "Unlinked Coach"}
        assert "@" not in str(rows)

    def test_a_track_tells_its_shape_exactly_and_takes_it_typed(
        self, people: People, signed_in: SignedIn
    ) -> None:
        given = {"club": str(people.club.pk), "name": "Bowl", "surface": "dirt"}
        client = signed_in("steward")
        made = post(client, "tracks", **given, corner_radius="29 1/2 ft", banking="4°").json()
        assert made["corner_radius"] == {"value": "8991.6", "unit": "mm", "typed": "8991.6 mm"}
        assert made["lap_length"] is None
        path = f"{API}tracks/{made['id']}"
        again = {"name": "Bowl", "surface": "paved", "lap_length": "80 m", "banking": None}
        done = client.put(path, again, content_type=JSON).json()
        assert (done["surface"], done["corner_radius"], done["banking"]) == ("paved", None, None)
        assert done["lap_length"]["value"] == "80000"
        assert signed_in("chief").put(path, again, content_type=JSON).status_code == 403
        bad = client.put(path, {**again, "lap_length": "80 psi"}, content_type=JSON)
        assert bad.json()["errors"] == [{"pointer": "#/lap_length", "detail": bad.json()["detail"]}]


class TestInvitations:
    def test_from_making_to_taking_up(self, people: People, signed_in: SignedIn) -> None:
        given = {"club": str(people.club.pk), "team": str(people.team.pk), "role": "guest"}
        given["id"] = str(uuid4())
        made = post(signed_in("chief"), "invitations", **given).json()
        assert made["id"] == given["id"]
        secret = made["link"].rpartition("/")[2]
        again = post(signed_in("chief"), "invitations", **given)
        assert again.status_code == 200
        assert "link" not in again.json()
        taken = post(signed_in("stranger"), "invitations/accept", secret=secret)
        assert taken.status_code == 200
        assert str(people.team.pk) in ids(signed_in("stranger"), "teams")
        late = post(signed_in("rival"), "invitations/accept", secret=secret)
        assert late.status_code == 409
        over = signed_in("chief").post(f"{API}invitations/{made['id']}/withdraw")
        assert over.status_code == 409

    def test_withdrawing(self, people: People, signed_in: SignedIn) -> None:
        given = {"club": str(people.club.pk), "team": str(people.team.pk), "role": "guest"}
        made = post(signed_in("chief"), "invitations", **given).json()
        path = f"{API}invitations/{made['id']}/withdraw"
        assert signed_in("crew").post(path).status_code == 404
        assert signed_in("chief").post(path).json()["withdrawn_at"]
        secret = made["link"].rpartition("/")[2]
        assert post(signed_in("stranger"), "invitations/accept", secret=secret).status_code == 409

    def test_a_team_of_another_club_is_refused(self, people: People, signed_in: SignedIn) -> None:
        given = {"club": str(people.other_club.pk), "role": "guest"}
        answer = post(signed_in("chief"), "invitations", **given, team=str(people.team.pk))
        assert answer.status_code == 400


class TestTeams:
    def test_tell_what_the_person_is_there(self, people: People, signed_in: SignedIn) -> None:
        def mine(who: str) -> str:
            role = signed_in(who).get(f"{API}teams/{people.team.pk}").json()["my_role"]
            assert isinstance(role, str)
            return role

        assert [mine(w) for w in ("chief", "crew", "guest", "coach", "rival", "steward")] == [
            *("chief", "crew", "guest", "coach", "", "")
        ]

    def test_roles_are_the_chiefs(self, people: People, signed_in: SignedIn) -> None:
        path = f"{API}team-members/{_row(TeamMember, people.chief, people.guest)}"
        for who, status in (("crew", 403), ("coach", 403), ("steward", 403), ("rival", 404)):
            answer = signed_in(who).patch(path, {"role": "chief"}, content_type=JSON)
            assert answer.status_code == status
        done = signed_in("chief").patch(path, {"role": "crew"}, content_type=JSON)
        assert done.json()["role"] == "crew"
        assert signed_in("chief").delete(path).status_code == 204
        mine = f"{API}team-members/{_row(TeamMember, people.chief, people.chief)}"
        assert signed_in("chief").delete(mine).status_code == 409

    def test_a_member_is_not_moved_to_another_team(
        self, people: People, signed_in: SignedIn
    ) -> None:
        path = f"{API}team-members/{_row(TeamMember, people.chief, people.guest)}"
        given = {"team": str(people.rival_team.pk), "user": str(people.rival.pk)}
        done = signed_in("chief").patch(path, given, content_type=JSON).json()
        assert done["team"] == str(people.team.pk)
        assert done["user"]["id"] == str(people.guest.pk)

    def test_a_coach_link_is_changed_and_ended(self, people: People, signed_in: SignedIn) -> None:
        path = f"{API}coach-links/{_link(people)}"
        assert (
            signed_in("coach").patch(path, {"may_write": True}, content_type=JSON).status_code
            == 403
        )
        done = signed_in("chief").patch(path, {"may_write": True}, content_type=JSON).json()
        assert (done["may_write"], done["may_see_codes"]) == (True, False)
        done = signed_in("chief").patch(path, {"may_see_codes": True}, content_type=JSON).json()
        assert (done["may_write"], done["may_see_codes"]) == (True, True)
        assert signed_in("coach").delete(path).status_code == 204
        assert ids(signed_in("coach"), "drivers") == []

    def test_an_official_is_not_linked_as_coach(self, people: People, signed_in: SignedIn) -> None:
        given = {"team": str(people.team.pk), "coach": str(people.official.pk)}
        answer = post(signed_in("chief"), "coach-links", **given)
        assert answer.json()["errors"][0]["pointer"] == "#/coach"


class TestDrivers:
    def test_the_birth_date_is_the_crews(
        self, people: People, things: Things, signed_in: SignedIn
    ) -> None:
        path = f"{API}drivers/{things.driver.pk}/birth-date"
        found = {who: signed_in(who).get(path).status_code for who in EVERYBODY}
        assert {who for who, status in found.items() if status == 200} == {"chief", "crew"}
        assert set(found.values()) == {200, 404}
        given = {"birth_date": "2015-05-05"}
        for who, status in (("guest", 403), ("coach", 403), ("official", 404), ("crew", 200)):
            assert signed_in(who).put(path, given, content_type=JSON).status_code == status
        assert signed_in("chief").get(path).json() == given
        late = signed_in("crew").put(path, {"birth_date": "2099-01-01"}, content_type=JSON)
        assert late.json()["errors"][0]["pointer"] == "#/birth_date"

    def test_a_driver_is_a_name_and_nothing_else(
        self, people: People, things: Things, signed_in: SignedIn
    ) -> None:
        path = f"{API}drivers/{things.driver.pk}"
        row = signed_in("guest").get(path).json()
        assert set(row) == {"id", "team", "display_name"}
        assert signed_in("guest").patch(path, {}, content_type=JSON).status_code == 403
        done = signed_in("crew").patch(path, {"display_name": "Pippa"}, content_type=JSON)
        assert done.json()["display_name"] == "Pippa"

    def test_a_weight_is_told_exactly_and_struck(
        self, people: People, things: Things, signed_in: SignedIn
    ) -> None:
        path = f"{API}driver-weights/{things.weight.pk}"
        row = signed_in("coach").get(path).json()
        assert row["mass"] == {"value": "32.20505827", "unit": "kg", "typed": "71 lb"}
        assert signed_in("coach").delete(path).status_code == 403
        assert signed_in("guest").delete(path).status_code == 404
        assert signed_in("crew").delete(path).status_code == 204

    @pytest.mark.parametrize(
        ("mass", "says"),
        [("heavy", "digits"), ("3 lb", "between"), ("40 mm", "length"), (40, "text")],
    )
    def test_a_weight_that_is_none_is_refused_with_a_pointer(
        self, people: People, things: Things, signed_in: SignedIn, mass: object, says: str
    ) -> None:
        given = {"driver": str(things.driver.pk), "weighed_on": "2026-04-01", "mass": mass}
        answer = post(signed_in("crew"), "driver-weights", **given)
        assert answer.status_code == 400
        assert answer.json()["errors"][0]["pointer"] == "#/mass"
        assert says in answer.json()["detail"]


class TestPagesOfAList:
    def test_lose_and_repeat_nothing(self, people: People, signed_in: SignedIn) -> None:
        client = signed_in("steward")
        for i in range(7):
            post(client, "teams", club=str(people.club.pk), name=f"Team {i}")
        seen: list[str] = []
        path = API + "teams?page_size=2"
        while path:
            page = client.get(path).json()
            assert len(page["results"]) <= 2
            seen += [row["id"] for row in page["results"]]
            path = page["next"]
        assert len(seen) == len(set(seen)) == 9

    def test_a_body_that_is_no_json_is_refused(self, people: People, signed_in: SignedIn) -> None:
        answer = signed_in("steward").post(API + "teams", "{", content_type=JSON)
        assert answer.status_code == 400
        assert answer["Content-Type"] == "application/problem+json"
        form = signed_in("steward").post(API + "teams", {"name": "x"})
        assert form.status_code == 415
