"""What anybody is told without signing in: the rule of what is kept, and whom to tell."""

import os
import subprocess
import sys
from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client, override_settings
from django.utils import timezone

from tests.clocks import stand_still


def fields(client: Client) -> dict[str, str]:
    answer = client.get("/.well-known/security.txt")
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/plain; charset=utf-8"
    lines = answer.content.decode().splitlines()
    return dict(line.split(": ", 1) for line in lines)


@override_settings(SECURITY_CONTACT="mailto:safety@club.example")
@pytest.mark.parametrize("year", [2026, 2041])
def test_security_txt_is_valid_on_any_day(
    client: Client, db: None, year: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """RFC 9116: Contact and Expires must be there; Expires lies ahead, by less than a year."""
    now = datetime(year, 2, 28, 23, 59, tzinfo=UTC)
    stand_still(monkeypatch, now)
    found = fields(client)
    assert found["Contact"] == "mailto:safety@club.example"
    until = datetime.fromisoformat(found["Expires"])
    assert timedelta(days=170) < until - timezone.now() < timedelta(days=365)
    assert found["Preferred-Languages"] == "en"
    assert found["Canonical"] == "http://testserver/.well-known/security.txt"


def test_without_a_contact_there_is_none(client: Client, db: None) -> None:
    assert client.get("/.well-known/security.txt").status_code == 404
    assert "CLUBSETUP_SECURITY_CONTACT" in client.get("/privacy").content.decode()


def test_the_rule_is_there_for_everybody(client: Client, db: None) -> None:
    page = client.get("/privacy")
    assert page.status_code == 200
    for said in ("number and display name", "Lines of formats 1 and 2", "30 days after"):
        assert said in page.content.decode()


@pytest.mark.parametrize("contact", ["safety@club.example", "mailto:a b", "http://club.example"])
def test_a_contact_that_cannot_be_right_is_refused(contact: str) -> None:
    given = {**os.environ, "CLUBSETUP_SECURITY_CONTACT": contact}
    found = subprocess.run(
        [sys.executable, "-c", "import clubsetup.settings.safety"],
        env=given,
        capture_output=True,
        text=True,
        check=False,
    )
    assert found.returncode != 0
    assert "CLUBSETUP_SECURITY_CONTACT: begin with mailto:" in found.stderr
