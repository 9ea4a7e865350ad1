"""Somebody who reads the log, or runs another site, looks for links that still open something."""

import io
import logging
from collections.abc import Iterator
from logging.config import dictConfig
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from clubsetup.access.viewer import viewing_as
from teams.actions.invitations import invite
from tests.people import People


@pytest.fixture
def log() -> Iterator[io.StringIO]:
    """The log as the service writes it, in place of the screen."""
    to = io.StringIO()
    as_served: dict[str, Any] = settings.LOGGING
    console = {**as_served["handlers"]["console"], "stream": to}
    dictConfig({**as_served, "handlers": {"console": console}})
    yield to
    dictConfig(as_served)


def test_a_link_that_still_opens_is_in_no_log(
    people: People, client: Client, log: io.StringIO
) -> None:
    """Somebody who is in the team already follows it: it is refused, logged, and stays open."""
    with viewing_as(people.chief.pk):
        _, secret = invite(by=people.chief, club=people.club, team=people.team, role="guest")
    client.force_login(people.crew)
    assert client.post(reverse("join-accept", args=[secret])).status_code == 409
    assert client.get(f"/join/{secret}/nonsense").status_code == 404
    logging.getLogger("django.request").error("Forbidden: /accounts/login/?next=/join/%s", secret)
    logging.getLogger("django.request").error("Gone: ?next=%%2Fjoin%%2F%s", secret)
    logging.getLogger("django.request").error("Internal Server Error: %s", f"/join/{secret}")
    try:
        raise ValueError(f"/accounts/password/reset/key/{secret}/")
    except ValueError:
        logging.getLogger("somewhere").exception("It failed at /join/%s", secret)
    assert "/join/…/accept" in log.getvalue()
    assert "/password/reset/key/…/" in log.getvalue()
    assert secret not in log.getvalue()


def test_no_other_site_is_told_the_link(people: People, client: Client) -> None:
    with viewing_as(people.chief.pk):
        _, secret = invite(by=people.chief, club=people.club, team=people.team, role="guest")
    answer = client.get(reverse("join", args=[secret]))
    assert answer["Referrer-Policy"] == "same-origin"
    assert "http" not in answer.content.decode().replace("http://testserver", "").split("<main")[-1]


def test_a_strange_referer_becomes_no_link(people: People, settings: object) -> None:
    """The page that refuses a form with a stale token leads back, to our own pages alone."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(people.crew)
    for referer in ("https://evil.example/phish", "//evil.example/x", "javascript:alert(1)"):
        answer = client.post(reverse("my-name"), {"name": "x"}, HTTP_REFERER=referer)
        assert answer.status_code == 403
        assert "evil.example" not in answer.content.decode()
        assert "javascript:" not in answer.content.decode()
