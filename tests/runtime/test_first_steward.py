"""Founding the club: asked for on a terminal, or given, and never twice."""

import os
import pty
import select
import subprocess
import sys
from collections.abc import Iterator
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from pytest_django.plugin import DjangoDbBlocker

from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.models import Club, ClubMember
from tests.people import account_of
from tests.runtime.service import HOUSE, STEWARD, Service
from tests.standing_people import nobody_there

both = pytest.mark.django_db(databases=["default", "owner"])


@pytest.fixture(scope="module", autouse=True)
def _nobody_yet(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    with django_db_blocker.unblock(), nobody_there():
        yield


@pytest.fixture
def given(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    """Everything in the environment, as for `up` on a machine without a terminal."""
    for name, value in STEWARD.items():
        monkeypatch.setenv(name, value)
    return monkeypatch


@both
def test_given_in_the_environment(given: pytest.MonkeyPatch) -> None:
    said = StringIO()
    call_command("first_steward", stdout=said)
    assert "Alder Bend Oval Club" in said.getvalue()
    assert STEWARD["CLUBSETUP_STEWARD_PASSWORD"] not in said.getvalue()
    steward = account_of("avery@example.org")
    assert steward is not None
    assert steward.check_password(STEWARD["CLUBSETUP_STEWARD_PASSWORD"])
    with viewing_as(steward.pk):
        club = Club.objects.get()
        assert (club.name, club.short_name) == ("Alder Bend Oval Club", "alder-bend-oval-club")
        assert ClubMember.objects.get().role == "steward"


@both
def test_what_is_missing_is_named(given: pytest.MonkeyPatch) -> None:
    given.delenv("CLUBSETUP_STEWARD_EMAIL")
    given.delenv("CLUBSETUP_CLUB_NAME")
    with pytest.raises(CommandError, match="CLUBSETUP_CLUB_NAME, CLUBSETUP_STEWARD_EMAIL"):
        call_command("first_steward")


@both
@pytest.mark.parametrize(
    ("name", "value", "because"),
    [
        ("CLUBSETUP_STEWARD_PASSWORD", "short", "too short"),
        ("CLUBSETUP_STEWARD_PASSWORD", "1234567890123", "numeric"),
        ("CLUBSETUP_STEWARD_EMAIL", "not an address", "valid email"),
        ("CLUBSETUP_CLUB_NAME", "x" * 100, "at most 80"),
    ],
)
def test_what_will_not_do_founds_nothing(
    given: pytest.MonkeyPatch, name: str, value: str, because: str
) -> None:
    given.setenv(name, value)
    with pytest.raises(CommandError, match=because):
        call_command("first_steward")
    assert not User.objects.exists()


def _read_until(terminal: int, word: bytes, seconds: float = 300) -> bytes:
    said = b""
    while word not in said:
        ready, _, _ = select.select([terminal], [], [], seconds)
        assert ready, f"waited for {word!r} after {said[-2000:].decode()}"
        said += os.read(terminal, 4096)
    return said


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """A folder in which nothing was founded yet, and an environment that says nothing about it."""
    one = Service(tmp_path_factory.mktemp("up") / "data", new=True)
    for name in STEWARD:
        del one.env[name]
    yield one
    one.kill_everything()


def test_up_without_a_terminal_says_what_to_set_and_stops_the_database(service: Service) -> None:
    with service.log.open("wb") as log:
        process = service.command("up", stdout=log, stdin=subprocess.DEVNULL)
        assert process.wait(300) == 1
    assert "CLUBSETUP_STEWARD_EMAIL" in service.said()
    assert not service.processes()


def test_up_asks_on_the_terminal_and_asks_again(service: Service) -> None:
    answers = {
        b"club's name": "Marl Hollow Oval",
        b"steward's name": "Robin Vale",
        b"e-mail": "robin@example.org",
    }
    command = [sys.executable, str(HOUSE / "manage.py"), "up", "--port", str(service.port)]
    process_id, terminal = pty.fork()
    if process_id == 0:
        os.chdir(HOUSE)
        os.execve(sys.executable, command, service.env)
    try:
        said = b""
        for password in ("short", "quarter-panel-8"):
            for question, answer in answers.items():
                said += _read_until(terminal, question)
                os.write(terminal, answer.encode() + b"\n")
            said += _read_until(terminal, b"A password")
            os.write(terminal, password.encode() + b"\n")
        said += _read_until(terminal, b"Ctrl-C stops it.")
        assert b"too short" in said
        assert b"Founded Marl Hollow Oval" in said
        assert b"quarter-panel-8" not in said
        os.write(terminal, b"\x03")  # Ctrl-C, typed
        said = _read_until(terminal, b"Stopped.")
        assert os.waitstatus_to_exitcode(os.waitpid(process_id, 0)[1]) == 0
        assert not service.processes()
    finally:
        os.close(terminal)
