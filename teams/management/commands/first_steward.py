"""Founds the club with its first steward, once; asks on the terminal for what is not given."""

import os
import sys
from getpass import getpass
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.core.validators import validate_email
from django.db import transaction
from django.utils.text import slugify

from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.actions.clubs import found_club
from teams.models import Club

QUESTIONS = {
    "club_name": "The club's name",
    "name": "The first steward's name",
    "email": "The steward's e-mail, to sign in with",
    "password": "A password of 10 characters or more",
}


class Command(BaseCommand):
    """Does nothing where there is a club already."""

    help = "Makes the first club and its steward. Environment: CLUBSETUP_STEWARD_NAME, ..."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """No option for the password: command lines can be read by others."""
        parser.add_argument("--club-name")
        parser.add_argument("--name")
        parser.add_argument("--email")

    def handle(self, *args: Any, **options: Any) -> None:
        """Asks, checks, founds."""
        # The owner sees every club; nobody is looking yet.
        if Club.objects.using("owner").exists():
            return
        given = {key: options.get(key) or os.environ.get(_variable(key)) for key in QUESTIONS}
        if all(given.values()):
            steward = _found(**given)  # type: ignore[arg-type]  # all are there
        elif sys.stdin.isatty():
            self.stdout.write("There is no club yet. Its first steward invites everybody else.")
            steward = self._ask(given)
        else:
            missing = ", ".join(_variable(key) for key, value in given.items() if not value)
            raise CommandError(
                f"There is no club yet and no terminal to ask for its first steward. Set {missing}."
            )
        self.stdout.write(f"Founded {given['club_name']}; its steward signs in as {steward.email}.")

    def _ask(self, given: dict[str, str | None]) -> User:
        while True:
            for key, question in QUESTIONS.items():
                given[key] = given[key] or _answer(key, question)
            try:
                return _found(**given)  # type: ignore[arg-type]  # all are there
            except CommandError as problem:
                self.stderr.write(str(problem))
                given.update(dict.fromkeys(QUESTIONS))


def _variable(key: str) -> str:
    return "CLUBSETUP_CLUB_NAME" if key == "club_name" else f"CLUBSETUP_STEWARD_{key.upper()}"


def _answer(key: str, question: str) -> str:
    ask = getpass if key == "password" else input
    while not (answer := ask(f"{question}: ").strip()):
        pass
    return answer


def _found(*, club_name: str, name: str, email: str, password: str) -> User:
    try:
        validate_email(email)
        validate_password(password, User(email=email, name=name))
        with transaction.atomic():
            steward = User.objects.create_user(email, password, name=name)
            with viewing_as(steward.pk):
                short = slugify(club_name)[:20].strip("-") or "club"
                found_club(by=steward, name=club_name, short_name=short)
    except ValidationError as problem:
        raise CommandError(" ".join(problem.messages)) from problem
    return steward
