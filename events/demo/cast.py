"""The demo's people, and doing things as one of them."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from allauth.account.models import EmailAddress
from django.contrib.auth.hashers import make_password

from clubsetup.access.models import User
from clubsetup.access.viewer import signing_in, viewing_as
from teams.actions.invitations import accept_invitation, invite
from teams.models import Club, Team
from teams.queries.roles import forget_roles


class Cast:
    """Everybody by their key, with an account and a confirmed address."""

    def __init__(self, people: list[dict[str, Any]], password: str) -> None:
        # One hash for all of them: a good hash is slow, and they share the password anyway.
        password_hash = make_password(password)
        self.people = {p["key"]: self._account(p, password_hash) for p in people}

    def _account(self, person: dict[str, Any], password_hash: str) -> User:
        email = f"{person['key']}@alder-hollow.example"
        with signing_in(address=email):
            user = User.objects.filter(email=email).first()
            if user is None:
                user = User.objects.create(email=email, name=person["name"], password=password_hash)
                EmailAddress.objects.create(user=user, email=email, verified=True, primary=True)
        return user

    def __getitem__(self, key: str) -> User:
        return self.people[key]

    def key_of(self, user: User) -> str:
        """The key of somebody of the cast."""
        (key,) = (key for key, person in self.people.items() if person.pk == user.pk)
        return str(key)

    @contextmanager
    def acting(self, key: str) -> Iterator[User]:
        """A transaction in which this person is looking."""
        user = self.people[key]
        # As in a new request: somebody else may have given them a role since.
        forget_roles(user)
        with viewing_as(user.pk):
            yield user

    def join(self, host: str, guest: str, club: Club, role: str, team: Team | None = None) -> None:
        """One invites, the other follows the link."""
        with self.acting(host) as by:
            _, secret = invite(by=by, club=club, team=team, role=role)
        with self.acting(guest) as by:
            accept_invitation(by=by, secret=secret)
