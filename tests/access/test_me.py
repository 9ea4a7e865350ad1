"""One's own account on pages and in the API: name, units, tokens."""

import re
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from clubsetup.access import account
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.models import ApiToken, TrailLine, User
from clubsetup.access.viewer import viewing_as
from tests.owner import bend
from tests.people import People, browser_of, close_account


def token_of(user: User, *scopes: str, days: int = 30) -> str:
    with viewing_as(user.pk):
        return account.make_token(by=user, name="script", scopes=scopes, days=days)[1]


def bearer(secret: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {secret}"}


class TestPages:
    @pytest.mark.parametrize("name", ["me", "my-name", "my-units", "my-colours", "token-new"])
    def test_are_for_who_is_signed_in(self, client: Client, people: People, name: str) -> None:
        assert client.get(reverse(name)).status_code == 302
        assert browser_of(people.stranger).get(reverse(name)).status_code == 200

    def test_the_name_is_changed(self, client: Client, people: People) -> None:
        client.force_login(people.crew)
        client.post(reverse("my-name"), {"name": "  Uncle Dan "})
        assert b"Uncle Dan" in client.get(reverse("me")).content

    def test_an_empty_name_is_refused_beside_its_box(self, client: Client, people: People) -> None:
        client.force_login(people.crew)
        answer = client.post(reverse("my-name"), {"name": " "})
        assert answer.status_code == 200
        assert 'aria-invalid="true"' in answer.content.decode()
        people.crew.refresh_from_db()
        assert people.crew.name == "Crew"

    def test_units_are_kept_where_they_differ(self, client: Client, people: People) -> None:
        client.force_login(people.crew)
        client.post(reverse("my-units"), {"length": "mm", "mass": ""})
        people.crew.refresh_from_db()
        assert people.crew.preferred_units == {"length": "mm"}
        assert people.crew.units().length == "mm"
        assert people.crew.units().mass == "lb"
        shown = client.get(reverse("my-units")).content.decode()
        assert '<option value="mm" selected>' in shown

    def test_a_unit_of_another_kind_is_refused(self, client: Client, people: People) -> None:
        client.force_login(people.crew)
        answer = client.post(reverse("my-units"), {"length": "kg"})
        assert b"is not among its choices" in answer.content

    @pytest.mark.parametrize(
        ("chosen", "drawn", "grounds"),
        [
            ("light", ' data-scheme="light"', ["#ffffff"]),
            ("dark", ' data-scheme="dark"', ["#0f1415"]),
            ("", "", ["#ffffff", "#0f1415"]),
        ],
    )
    def test_light_or_dark_is_kept_and_every_page_drawn_so(
        self, client: Client, people: People, chosen: str, drawn: str, grounds: list[str]
    ) -> None:
        client.force_login(people.crew)
        client.post(reverse("my-colours"), {"colour_scheme": "dark"})
        answer = client.post(reverse("my-colours"), {"colour_scheme": chosen}, follow=True)
        people.crew.refresh_from_db()
        assert people.crew.colour_scheme == chosen
        for page in (answer, client.get(reverse("start")), client.get("/nowhere")):
            text = page.content.decode()
            assert f'<html lang="en"{drawn}>' in text
            found = re.findall(r'name="theme-color"\s+content="(#\w+)"', text)
            assert found == grounds
        shown = client.get(reverse("my-colours")).content.decode()
        assert re.search(rf'value="{chosen}"[^>]* checked', shown)

    def test_a_scheme_that_is_none_is_refused(self, client: Client, people: People) -> None:
        client.force_login(people.crew)
        answer = client.post(reverse("my-colours"), {"colour_scheme": "sepia"})
        assert answer.status_code == 200
        assert 'aria-invalid="true"' in answer.content.decode()
        people.crew.refresh_from_db()
        assert people.crew.colour_scheme == ""

    def test_nobody_else_sees_or_changes_it(self, client: Client, people: People) -> None:
        with viewing_as(people.crew.pk):
            account.set_my_colour_scheme(by=people.crew, colour_scheme="dark")
        with viewing_as(people.chief.pk):
            seen = User.objects.get(pk=people.crew.pk)
            assert (seen.name, seen.colour_scheme) == ("Crew", "")
            assert User.objects.filter(pk=people.crew.pk).update(colour_scheme="light") == 0
        client.force_login(people.chief)
        assert "data-scheme" not in client.get(reverse("me")).content.decode()
        people.crew.refresh_from_db()
        with viewing_as(people.crew.pk):
            assert User.objects.get(pk=people.crew.pk).colour_scheme == "dark"

    def test_a_token_is_shown_once_and_works_until_it_is_ended(
        self, client: Client, people: People
    ) -> None:
        client = browser_of(people.crew)
        made = client.post(
            reverse("token-new"), {"name": "pit board", "scopes": ["read"], "days": "30"}
        )
        assert "no-store" in made["Cache-Control"]
        found = re.search(r'id="secret"[^>]*value="([^"]+)"', made.content.decode())
        assert found
        headers = bearer(found.group(1))
        assert Client().get(reverse("api-me"), headers=headers).json()["name"] == "Crew"
        listed = client.get(reverse("me")).content.decode()
        assert "pit board" in listed
        assert found.group(1) not in listed
        with viewing_as(people.crew.pk):
            token = ApiToken.objects.get()
        asked = client.get(reverse("token-end", args=[token.pk])).content.decode()
        assert "End the token pit board?" in asked
        assert asked.index("Keep it") < asked.rindex("End the token")
        assert Client().get(reverse("api-me"), headers=headers).status_code == 200
        client.post(reverse("token-end", args=[token.pk]))
        assert Client().get(reverse("api-me"), headers=headers).status_code == 401
        assert "ended" in client.get(reverse("me")).content.decode()

    def test_nobody_ends_another_ones_token(self, client: Client, people: People) -> None:
        token_of(people.crew, "read")
        with viewing_as(people.crew.pk):
            token = ApiToken.objects.get()
        client.force_login(people.chief)
        assert client.post(reverse("token-end", args=[token.pk])).status_code == 404


class TestActions:
    def test_a_token_needs_a_scope_a_name_and_an_end(self, people: People) -> None:
        good: dict[str, Any] = {"by": people.crew, "name": "x", "scopes": ["read"], "days": 30}
        for field, bad in (("scopes", []), ("scopes", ["all"]), ("name", " "), ("days", 0)):
            with viewing_as(people.crew.pk), pytest.raises(Invalid) as refused:
                account.make_token(**{**good, field: bad})
            assert refused.value.field == field

    def test_ending_twice_is_too_late(self, people: People) -> None:
        with viewing_as(people.crew.pk):
            token, _ = account.make_token(by=people.crew, name="x", scopes=["read"], days=1)
            account.end_token(by=people.crew, token=token)
            with pytest.raises(WrongState):
                account.end_token(by=people.crew, token=token)

    def test_what_was_done_is_in_the_trail_for_that_person_alone(self, people: People) -> None:
        token_of(people.crew, "read")
        with viewing_as(people.crew.pk):
            assert TrailLine.objects.filter(on_kind="access.apitoken", did="made").count() == 1
        for other in (people.chief, people.steward):
            with viewing_as(other.pk):
                assert not TrailLine.objects.filter(on_kind="access.apitoken").exists()

    def test_only_the_hash_of_a_token_is_kept(self, people: People) -> None:
        secret = token_of(people.crew, "read")
        with viewing_as(people.crew.pk):
            token = ApiToken.objects.get()
            trail = str(list(TrailLine.objects.values_list("detail", flat=True)))
        assert secret not in str(vars(token))
        assert secret not in trail


class TestApi:
    def test_tells_who_is_asking(self, client: Client, people: People) -> None:
        assert client.get(reverse("api-me")).status_code == 401
        client.force_login(people.crew)
        assert client.get(reverse("api-me")).json() == {
            "id": str(people.crew.pk),
            "email": "crew@example.org",
            "name": "Crew",
            "preferred_units": {},
            "colour_scheme": "",
        }

    def test_changes_name_and_units(self, client: Client, people: People) -> None:
        client.force_login(people.crew)
        wanted = {"name": "Dan", "preferred_units": {"mass": "kg"}}
        answer = client.patch(reverse("api-me"), wanted, content_type="application/json")
        assert answer.json()["name"] == "Dan"
        assert client.get(reverse("api-me")).json()["preferred_units"] == {"mass": "kg"}

    def test_changes_light_or_dark(self, client: Client, people: People) -> None:
        client.force_login(people.crew)
        for given, code in ({"colour_scheme": "dark"}, 200), ({"colour_scheme": "sepia"}, 400):
            answer = client.patch(reverse("api-me"), given, content_type="application/json")
            assert answer.status_code == code
        assert client.get(reverse("api-me")).json()["colour_scheme"] == "dark"

    @pytest.mark.parametrize("units", [{"mass": "mm"}, {"weight": "kg"}])
    def test_refuses_a_unit_that_is_none_of_its_kind(
        self, client: Client, people: People, units: dict[str, str]
    ) -> None:
        client.force_login(people.crew)
        given = {"name": "Changed", "preferred_units": units}
        answer = client.patch(reverse("api-me"), given, content_type="application/json")
        assert answer.status_code == 400
        assert answer["Content-Type"] == "application/problem+json"
        assert answer.json()["errors"][0]["pointer"] == "#/preferred_units"
        # Nothing of a refused request is saved, not even what was right in it.
        people.crew.refresh_from_db()
        assert people.crew.name == "Crew"

    def test_a_token_reads_with_read_and_writes_with_write(
        self, client: Client, people: People
    ) -> None:
        reading = bearer(token_of(people.crew, "read"))
        assert client.get(reverse("api-me"), headers=reading).status_code == 200
        change: dict[str, Any] = {"data": {"name": "D"}, "content_type": "application/json"}
        assert client.patch(reverse("api-me"), headers=reading, **change).status_code == 403
        writing = bearer(token_of(people.crew, "write"))
        assert client.get(reverse("api-me"), headers=writing).status_code == 403
        assert client.patch(reverse("api-me"), headers=writing, **change).status_code == 200

    def test_a_token_that_is_too_old_or_of_a_closed_account_is_refused(
        self, client: Client, people: People
    ) -> None:
        secret = bearer(token_of(people.crew, "read"))
        with viewing_as(people.crew.pk):
            token = ApiToken.objects.get()
        bend(token, expires_at=timezone.now() - timedelta(seconds=1))
        assert client.get(reverse("api-me"), headers=secret).status_code == 401
        bend(token, expires_at=timezone.now() + timedelta(days=1))
        assert client.get(reverse("api-me"), headers=secret).status_code == 200
        close_account(people.crew)
        assert client.get(reverse("api-me"), headers=secret).status_code == 401

    def test_a_made_up_token_is_refused_with_a_challenge(
        self, client: Client, people: People
    ) -> None:
        answer = client.get(reverse("api-me"), headers=bearer("made-up"))
        assert answer.status_code == 401
        assert answer["WWW-Authenticate"] == "Bearer"
        assert answer["Content-Type"] == "application/problem+json"

    def test_tokens_are_made_in_a_session_and_not_by_a_token(
        self, client: Client, people: People
    ) -> None:
        wanted = {"id": str(uuid4()), "name": "board", "scopes": ["read"], "days": 5}
        path = reverse("api-token-list")
        by_token = client.post(
            path,
            wanted,
            content_type="application/json",
            headers=bearer(token_of(people.crew, "read", "write")),
        )
        assert by_token.status_code == 403
        client = browser_of(people.crew)
        made = client.post(path, wanted, content_type="application/json")
        assert made.status_code == 201
        secret = made.json()["secret"]
        assert Client().get(reverse("api-me"), headers=bearer(secret)).status_code == 200
        again = client.post(path, wanted, content_type="application/json")
        assert again.status_code == 200
        assert "secret" not in again.json()
        listed = client.get(path).json()["results"]
        assert [row["name"] for row in listed] == ["board", "script"]
        assert "secret" not in str(listed)
        ended = client.delete(reverse("api-token-detail", args=[wanted["id"]]))
        assert ended.status_code == 204
        assert Client().get(reverse("api-me"), headers=bearer(secret)).status_code == 401

    def test_another_ones_token_does_not_exist(self, client: Client, people: People) -> None:
        token_of(people.crew, "read")
        with viewing_as(people.crew.pk):
            token = ApiToken.objects.get()
        client.force_login(people.chief)
        assert client.get(reverse("api-token-list")).json()["results"] == []
        assert client.delete(reverse("api-token-detail", args=[token.pk])).status_code == 404

    def test_writing_in_a_session_needs_the_csrf_token(self, people: People) -> None:
        strict = Client(enforce_csrf_checks=True)
        strict.force_login(people.crew)
        answer = strict.patch(reverse("api-me"), {"name": "D"}, content_type="application/json")
        assert answer.status_code == 403
        assert answer["Content-Type"] == "application/problem+json"
