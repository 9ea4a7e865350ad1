"""People by their roles alone, without a database: what each permission is decided by.

Fernbank is the club and Wrens its team, as in tests/people.py; Kestrels is another team of the
club, Marl Heath another club.
"""

from collections.abc import Callable

from clubsetup.access.errors import NotAllowed
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from teams.models import Club, Team
from teams.queries.roles import CoachRights, Roles

CLUB = Club(pk=new_id(), name="Fernbank")
OTHER_CLUB = Club(pk=new_id(), name="Marl Heath")
TEAM = Team(pk=new_id(), name="Wrens", club=CLUB)
RIVALS = Team(pk=new_id(), name="Kestrels", club=CLUB)
# A team of the other club.
AWAY_TEAM = Team(pk=new_id(), name="Herons", club=OTHER_CLUB)

RESTS = (
    "Fernbank asks its stewards and officials for a second factor. Set one up under “Me”, "
    "“Passkeys and one-time codes”; until then these roles of yours rest."
)


def _somebody(
    name: str,
    club: str = "",
    team: str = "",
    link: CoachRights | None = None,
    *,
    of: Club = CLUB,
    in_team: Team = TEAM,
    rests: bool = False,
) -> User:
    user = User(pk=new_id(), name=name)
    user._roles = Roles(  # type: ignore[attr-defined]
        clubs={of.pk: frozenset({club} if club else ())} if club or rests else {},
        teams={in_team.pk: team} if team else {},
        coached={in_team.pk: link} if link else {},
        zones=frozenset(),
        resting=frozenset({of.pk}) if rests else frozenset(),
    )
    return user


EVERYBODY = {
    user.name: user
    for user in (
        _somebody("steward", "steward"),
        _somebody("official", "official"),
        _somebody("coach of nobody", "coach"),
        _somebody("coach", "coach", link=CoachRights(may_write=False, may_see_codes=False)),
        _somebody(
            "coach who writes", "coach", link=CoachRights(may_write=True, may_see_codes=False)
        ),
        _somebody(
            "coach who sees codes", "coach", link=CoachRights(may_write=False, may_see_codes=True)
        ),
        _somebody("chief", team="chief"),
        _somebody("crew", team="crew"),
        _somebody("guest", team="guest"),
        _somebody("rival", team="chief", in_team=RIVALS),
        _somebody("member of both clubs", "coach", "crew", of=OTHER_CLUB),
        _somebody("other steward", "steward", of=OTHER_CLUB),
        _somebody("other official", "official", of=OTHER_CLUB),
        _somebody("resting", rests=True),
        _somebody("stranger"),
    )
}
COACHES = {"coach", "coach who writes", "coach who sees codes"}
CREW = {"chief", "crew", "member of both clubs"}


def who_may(
    check: Callable[..., None], *given: object, refusal: str, resting: str | None = None
) -> set[str]:
    """Everybody whom the check lets; the others are told `refusal`, who rests what `resting` says.

    Each time the person goes first, as in every check.
    """
    found = set()
    for name, user in EVERYBODY.items():
        said = resting if name == "resting" and resting else refusal
        told = answer(check, user, *given)
        if told is None:
            found.add(name)
        else:
            assert told == said, name
    return found


def answer(check: Callable[..., None], user: User, *given: object) -> str | None:
    """Why the check refuses; None where it does not."""
    try:
        check(user, *given)
    except NotAllowed as refusal:
        return str(refusal)
    return None
