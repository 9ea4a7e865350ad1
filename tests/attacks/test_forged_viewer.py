"""Naming a viewer, or who is signing in, without the service having said so to this connection."""

import hashlib
import hmac
from collections.abc import Iterator
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection, connections, transaction

from clubsetup.access import signing
from clubsetup.access.viewer import SIGNING_IN, VIEWER, set_local, set_viewer, viewing_as
from clubsetup.runtime.signing_key import signing_key
from teams.models import Team
from tests.attacks.held import Held, outcome


def mac(text: str) -> str:
    return hmac.new(signing_key(), text.encode(), hashlib.sha256).hexdigest()


def here() -> int:
    return int(connection.connection.info.backend_pid)


def forged(held: Held) -> dict[str, str]:
    """Every way to name the victim as the viewer without the service having said so here."""
    who = str(held.victim.pk)
    own = signing.signed(signing.VIEWER, str(held.attacker.pk))
    return {
        "bare": who,
        "zeros": f"{'0' * 64} {who}",
        "no space": f"{'0' * 64}{who}",
        "short": f"0 {who}",
        "not hex": f"{'x' * 64} {who}",
        "own MAC on another": f"{own[:64]} {who}",
        "own and another": f"{own} {who}",
        "of another process": f"{mac(f'viewer {here() + 1} {who}')} {who}",
        "of no process": f"{mac(f'viewer {who}')} {who}",
        "of signing in": signing.signed(signing.SIGNING_IN, f"person {who}"),
        "of signing in, cut": f"{signing.signed(signing.SIGNING_IN, who)[:64]} {who}",
        "of a session's person": signing.signed(signing.ACCOUNT, who),
        "in capitals": signing.signed(signing.VIEWER, who).upper(),
        "with the wrong key": hmac.new(b"", f"viewer {here()} {who}".encode(), "sha256").hexdigest()
        + f" {who}",
        "shifted": f"{mac(f'viewer {here()} x {who}')} {who}",
        "null": "",
    }


def test_a_viewer_is_the_one_that_the_service_signed(held: Held) -> None:
    for how, value in forged(held).items():
        with transaction.atomic():
            set_local(VIEWER, value)
            found = repr(outcome("SELECT access.viewer()", {}))
            assert str(held.victim.pk) not in found, how
            assert not Team.objects.exists(), how
            set_local(VIEWER, "")


def test_who_signs_in_is_the_one_that_the_service_signed(held: Held) -> None:
    who = str(held.victim.pk)
    values = [f"{'0' * 64} person {who}", f"person {who}"]
    values += [f"{mac(f'signing_in {here() + 1} person {who}')} person {who}"]
    values += [signing.signed(label, f"person {who}") for label in ("viewer", "account")]
    values += [signing.signed("viewer", f"address {held.victim.email}")]
    values += [signing.signed("viewer", who)]
    with viewing_as(held.attacker.pk):
        for value in values:
            set_local(SIGNING_IN, value)
            seen = repr(outcome("SELECT * FROM access_user; SELECT access.signing_in()", {}))
            assert not [secret for secret in held.secrets() if secret in seen], value
            assert outcome("SELECT access.signing_address()", {}) == [(None,)], value
        set_local(SIGNING_IN, "")


def test_a_session_s_person_is_the_one_that_the_service_signed(held: Held) -> None:
    who = str(held.victim.pk)
    for value in (signing.signed("viewer", who), f"{mac(f'account 1 {who}')} {who}"):
        assert outcome("SELECT * FROM access.account(%(value)s)", {"value": value}) == []


@pytest.fixture
def other_key(settings: Any, held: Held) -> Iterator[None]:
    """The service with a new secret key, and the old one again in the database afterwards."""
    was = settings.SECRET_KEY
    settings.SECRET_KEY = "another key " * 5
    yield
    settings.SECRET_KEY = was
    call_command("migrate", verbosity=0)
    connections["owner"].close()


def test_a_new_secret_key_holds_from_the_next_migrate_on(held: Held, other_key: None) -> None:
    with (
        pytest.raises(signing.KeyUnknown, match="does not know"),
        transaction.atomic(),
    ):
        set_viewer(held.victim.pk)
    call_command("migrate", verbosity=0)
    with viewing_as(held.victim.pk):
        assert Team.objects.exists()
