"""Wearing the service out: what one person may do in a while."""

from typing import Any

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from rest_framework.throttling import UserRateThrottle

from clubsetup.access.models import User
from tests.people import People

pytestmark = pytest.mark.django_db


def signed_in(who: User) -> Client:
    client = Client()
    client.force_login(who)
    return client


def limit(settings: Any, **limits: tuple[int, int]) -> None:
    cache.clear()  # what the people did to be there does not count
    settings.PERSON_LIMITS = {**settings.PERSON_LIMITS, **limits}


def test_invitations(people: People, settings: Any) -> None:
    limit(settings, invitations=(2, 3600))
    client, where = signed_in(people.steward), reverse("club-invite", args=[people.club.pk])
    for _ in range(2):
        assert client.post(where, {"role": "coach"}).status_code == 200
    third = client.post(where, {"role": "coach"})
    assert (third.status_code, third["Retry-After"]) == (429, "3600")
    assert "more than 2 invitations in 60 minutes" in third.content.decode()
    # It is that person's limit, and nobody else's.
    chiefs = reverse("team-invite", args=[people.team.pk])
    assert signed_in(people.chief).post(chiefs, {"role": "crew"}).status_code == 200


def test_invitations_through_the_api(people: People, settings: Any) -> None:
    limit(settings, invitations=(1, 120))
    client = signed_in(people.steward)
    asked = {"club": str(people.club.pk), "role": "coach"}
    first = client.post("/api/v1/invitations", asked, content_type="application/json")
    assert first.status_code == 201, first.content
    second = client.post("/api/v1/invitations", asked, content_type="application/json")
    assert (second.status_code, second["Retry-After"]) == (429, "120")
    assert second["Content-Type"] == "application/problem+json"
    assert "Nothing was done" in second.json()["detail"]


def test_prints(people: People, settings: Any) -> None:
    limit(settings, prints=(0, 60))
    asked = {"document": "setup-sheet", "subject_id": str(people.team.pk)}
    assert signed_in(people.chief).post(reverse("print-ask"), asked).status_code == 429


def test_calls(people: People, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(UserRateThrottle, "THROTTLE_RATES", {"user": "2/min"})
    client = signed_in(people.chief)
    assert [client.get("/api/v1/me").status_code for _ in range(3)] == [200, 200, 429]
    answer = client.get("/api/v1/me")
    assert int(answer["Retry-After"]) > 0
    assert answer.json()["detail"].startswith("Too many requests. Try again in ")
