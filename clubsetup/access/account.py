"""What people do to their own account: name, units, light or dark, tokens."""

import secrets
from collections.abc import Mapping, Sequence
from datetime import timedelta
from uuid import UUID

from django.db import connection
from django.utils import timezone

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import ApiToken, ColourScheme, SignIn, User
from clubsetup.access.notices import tell
from clubsetup.quantities.units import Units

LONGEST_DAYS = 366


@action
def set_my_name(*, by: User, name: str) -> User:
    """What team mates read."""
    name = name.strip()
    if not name or len(name) > 80:
        raise Invalid("name", "Give a name of at most 80 letters.")
    by.name = name
    by.save(update_fields=["name"])
    record(by=by, did="set_name", on=by)
    return by


@action
def set_my_units(*, by: User, units: Mapping[str, str]) -> User:
    """What a bare number means when this person types it; a kind left out is as the club has it."""
    by.preferred_units = checked_units(units)
    by.save(update_fields=["preferred_units"])
    record(by=by, did="set_units", on=by, units=by.preferred_units)
    return by


@action
def set_my_colour_scheme(*, by: User, colour_scheme: str) -> User:
    """Light, dark, or as the device says: how pages are drawn for this person."""
    if colour_scheme not in ColourScheme.values:
        raise Invalid("colour_scheme", "Choose light, dark, or as the device.")
    by.colour_scheme = colour_scheme
    by.save(update_fields=["colour_scheme"])
    record(by=by, did="set_colour_scheme", on=by, colour_scheme=colour_scheme)
    return by


def checked_units(units: Mapping[str, str]) -> dict[str, str]:
    """The kinds for which a unit was chosen. Raises Invalid for a unit that is not of its kind."""
    chosen = {kind: unit for kind, unit in units.items() if unit}
    try:
        Units.imperial().merged(chosen)
    except ValueError as error:
        raise Invalid("preferred_units", f"{error}.") from error
    return chosen


@action
def make_token(
    *, by: User, name: str, scopes: Sequence[str], days: int, token_id: UUID | None = None
) -> tuple[ApiToken, str]:
    """A personal token for the API; its text is returned once and kept nowhere."""
    name = name.strip()
    if not name or len(name) > 60:
        raise Invalid("name", "Say in at most 60 letters what the token is for.")
    if not scopes or set(scopes) - set(ApiToken.Scope.values):
        raise Invalid("scopes", f"Choose at least one of: {', '.join(ApiToken.Scope.values)}.")
    if not 1 <= days <= LONGEST_DAYS:
        raise Invalid("days", f"A token holds for 1 to {LONGEST_DAYS} days.")
    secret = secrets.token_urlsafe(32)
    token = ApiToken.objects.create(
        pk=token_id or new_id(),
        user=by,
        name=name,
        digest=ApiToken.digest_of(secret),
        scopes=sorted(set(scopes)),
        expires_at=timezone.now() + timedelta(days=days),
    )
    record(by=by, did="made", on=token, scopes=token.scopes)
    tell(by, f"A token for programs was made: {name}. It holds for {days} days.")
    return token, secret


@action
def end_token(*, by: User, token: ApiToken) -> ApiToken:
    """From now on the token opens nothing."""
    if token.ended_at:
        raise WrongState("This token was ended before.")
    token.ended_at = timezone.now()
    token.save(update_fields=["ended_at"])
    record(by=by, did="ended", on=token)
    tell(by, f"A token for programs was ended: {token.name}.")
    return token


@action
def end_my_tokens(*, by: User) -> int:
    """From now on none of them opens anything; how many there were."""
    ended = 0
    for token in ApiToken.objects.filter(user=by, ended_at=None):
        end_token(by=by, token=token)
        ended += 1
    return ended


@action
def end_sign_in(*, by: User, sign_in: SignIn) -> None:
    """One browser of the person's own is signed out."""
    _end(sign_in.pk, "")
    record(by=by, did="ended", on=sign_in, device=sign_in.device)
    tell(by, f"A sign-in was ended: {sign_in.device}.")


@action
def end_elsewhere(*, by: User, current: str, tokens: bool) -> int:
    """Signs out every other browser, and ends the tokens too if asked; how many things ended."""
    ended = end_sign_ins(by=by, current=current)
    if ended:
        tell(by, "Your sign-ins on other devices were ended.")
    return ended + (end_my_tokens(by=by) if tokens else 0)


@action
def end_sign_ins(*, by: User, current: str = "") -> int:
    """Every browser is signed out but the one whose session's digest is `current`; how many."""
    if ended := _end(None, current):
        record(by=by, did="ended_sign_ins", on=by, count=ended)
    return ended


def _end(one: UUID | None, current: str) -> int:
    # The sessions themselves are nobody's to read; the function ends the viewer's own.
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.end_sign_ins(%s, %s)", [one, current or None])
        row = cursor.fetchone()
    return int(row[0]) if row else 0
