"""Codes for a new password, where no letter can bring a link.

Who may make one for whom is held by the database (access.reset_reach); a code is used once, holds
for 30 minutes, and sets the password alone: a second factor is asked for as before.
"""

import secrets
from uuid import UUID

from allauth.account.adapter import get_adapter
from django.conf import settings
from django.db import connection, transaction
from django.http import HttpRequest

from clubsetup.access import account
from clubsetup.access.actions import action, record
from clubsetup.access.devices import has_signed_in_here
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.limits import count_against_limit
from clubsetup.access.models import ResetCode, User
from clubsetup.access.notices import tell
from clubsetup.access.viewer import viewing_as

# Crockford's base 32: no letter looks like another or like a figure. 15 of them have 75 bits.
LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
GROUPS, GROUP = 3, 5
MINUTES = 30
REFUSED = (
    "This code opens nothing here. It may be mistyped, used, or older than 30 minutes. A code from "
    "a steward for somebody in a team opens only where that person has signed in before."
)
MAIL_DOES = "Mail leaves this service: they ask for a link on the page “Forgotten your password?”."
NOT_YOURS = (
    "You cannot make a code for them: they hold, or held, more than you do. A steward of all their "
    "clubs can, or whoever keeps the service."
)


def new_code() -> str:
    """Three groups of five, easy to read out."""
    picked = ("".join(secrets.choice(LETTERS) for _ in range(GROUP)) for _ in range(GROUPS))
    return "-".join(picked)


def reach_of(person_id: UUID) -> str:
    """How far a code of the viewer's for that person would reach: any, known, or '' for none."""
    return str(_ask("SELECT access.may_make_reset_code(%s)", person_id) or "")


@action
def make_reset_code(*, by: User, who: User) -> tuple[str, str]:
    """A code for another person, and its reach; the code is returned once and kept nowhere."""
    if settings.MAIL_IS_SET_UP:
        raise WrongState(MAIL_DOES)
    count_against_limit(by, "codes")
    code = new_code()
    # The function writes the trail too: by itself the maker may write into few of them.
    given = (new_id(), who.pk, ResetCode.digest_of(code))
    reach = str(_ask("SELECT access.make_reset_code(%s, %s, %s)", *given) or "")
    if not reach:
        raise NotAllowed(NOT_YOURS)
    tell(who, f"{by.name or 'Somebody'} made a code that sets a new password for your account.")
    return code, reach


def use_reset_code(request: HttpRequest, user: User | None, *, code: str, password: str) -> User:
    """Sets the password of `user` by the code. Raises Invalid where it opens nothing."""
    if user is None:
        raise Invalid("code", REFUSED)
    with transaction.atomic():
        given = (user.email, ResetCode.digest_of(code), has_signed_in_here(request, user))
        owner_id = _ask("SELECT access.use_reset_code(%s, %s, %s)", *given)
        if owner_id != user.pk:
            raise Invalid("code", REFUSED)
        with viewing_as(user.pk):
            get_adapter(request).set_password(user, password)
            account.end_sign_ins(by=user)
            account.end_my_tokens(by=user)
            record(by=user, did="reset_password", on=user)
            tell(user, "Your password was set anew by a code.")
    return user


def _ask(statement: str, *given: UUID | str | bool) -> object:
    with connection.cursor() as cursor:
        cursor.execute(statement, given)
        row = cursor.fetchone()
    return row[0] if row else None
