"""Lets somebody back in: a code for a new password, shown on the terminal this once."""

from datetime import timedelta
from typing import Any

from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import transaction
from django.utils import timezone

from clubsetup.access.models import ResetCode, TrailLine, User
from clubsetup.access.notices import tell
from clubsetup.access.reset_codes import MINUTES, new_code

OWNER = "owner"


class Command(BaseCommand):
    """For whoever keeps the service; nobody else reaches the command line."""

    help = "Makes a code by which a person sets a new password, used once within 30 minutes."

    def add_arguments(self, parser: CommandParser) -> None:
        """Whom, and what else stands in their way."""
        parser.add_argument("email")
        parser.add_argument(
            "--remove-second-factors",
            action="store_true",
            help="for a lost phone or key, once you are sure who asks",
        )
        parser.add_argument(
            "--confirm-address",
            action="store_true",
            help="take the address as confirmed, where the link by mail cannot be had",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Does it as the owner, who sees everybody; nobody is looking."""
        with transaction.atomic(using=OWNER):
            user = User.objects.using(OWNER).filter(email__iexact=options["email"]).first()
            if user is None:
                raise CommandError(f"Nobody signs in as {options['email']}.")
            if options["remove_second_factors"]:
                Authenticator.objects.using(OWNER).filter(user_id=user.pk).delete()
            if options["confirm_address"]:
                _confirm(user)
            code = _made(user, removed=options["remove_second_factors"])
        tell(user, "Whoever keeps the service made a code that sets a new password for you.")
        self.stdout.write(f"Code for {user.email}: {code}")
        self.stdout.write(f"It is typed at /me/code, once, within {MINUTES} minutes.")


def _made(user: User, *, removed: bool) -> str:
    code, codes = new_code(), ResetCode.objects.using(OWNER)
    codes.filter(user_id=user.pk, used_at=None).delete()
    ends = timezone.now() + timedelta(minutes=MINUTES)
    codes.create(user_id=user.pk, digest=ResetCode.digest_of(code), expires_at=ends)
    TrailLine.objects.using(OWNER).create(
        by_id=user.pk,
        did="reset_by_keeper",
        on_kind=User._meta.label_lower,
        on_id=user.pk,
        detail={"second_factors_removed": removed},
    )
    return code


def _confirm(user: User) -> None:
    EmailAddress.objects.using(OWNER).update_or_create(
        user_id=user.pk, email=user.email, defaults={"verified": True, "primary": True}
    )
