"""What a part had run before, and how long one may run before it is looked at."""

from decimal import Decimal
from typing import Any
from uuid import UUID

from django.utils import timezone

from cars.models import Part, PartLimit, PartStart
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from teams.models import Club, Team
from teams.permissions import check_can_crew, check_can_steward

# More than any part of a small car has run; a slip of the finger is caught.
MOST = {"runs": 20_000, "laps": 500_000, "nights": 5_000, "hours": 20_000}


@action
def set_part_start(
    *,
    by: User,
    part: Part,
    nights: int | None = None,
    runs: int | None = None,
    laps: int | None = None,
    hours: Decimal | None = None,
) -> PartStart | None:
    """What the part came with, in place of what was said before; all empty takes it away."""
    check_can_crew(by, part.team)
    given: dict[str, Any] = {"nights": nights, "runs": runs, "laps": laps, "hours": hours}
    for name, value in given.items():
        _check(name, value)
    _replace(by, PartStart.objects.current().filter(part=part))
    made = None
    if any(value is not None for value in given.values()):
        made = PartStart.objects.create(part=part, team_id=part.team_id, by=by, **given)
    record(by=by, did="started", on=part, team_id=part.team_id)
    return made


@action
def set_part_limit(
    *,
    by: User,
    sort: str,
    per: str,
    most: Decimal,
    team: Team | None = None,
    club: Club | None = None,
    part: Part | None = None,
    limit_id: UUID | None = None,
) -> PartLimit:
    """How long a part may run before somebody looks at it, in place of what stood for the same.

    Of a club for a sort (its stewards), of a team for a sort or for one part (its crew). It says
    when to look, and no more: the maker's and the club's rules come first.
    """
    _check_whose(by, team, club)
    if sort not in Part.Sort.values:
        raise Invalid("sort", f"Choose one of: {', '.join(Part.Sort.values)}.")
    if per not in PartLimit.Per.values:
        raise Invalid("per", f"Choose one of: {', '.join(PartLimit.Per.values)}.")
    if part is not None and (team is None or part.team_id != team.pk or part.sort != sort):
        raise Invalid("part", f"Choose a {sort} of the team.")
    if most <= 0:
        raise Invalid("most", "Write more than zero; a limit that no longer holds is taken away.")
    if per != PartLimit.Per.HOURS and most != most.to_integral_value():
        raise Invalid("most", f"Write whole {per}.")
    _check(per, most, "most")
    whose = {"club": club, "team": team, "part": part, "sort": sort, "per": per}
    _replace(by, PartLimit.objects.current().filter(**_same(whose)))
    limit = PartLimit.objects.create(pk=limit_id or new_id(), by=by, most=most, **whose)
    _note(by, limit, "limited", most=f"{most.normalize():f}")
    return limit


@action
def remove_part_limit(*, by: User, limit: PartLimit) -> PartLimit:
    """It no longer holds."""
    _check_whose(by, limit.team, limit.club)
    limit = PartLimit.objects.select_for_update(of=("self",)).get(pk=limit.pk)
    if limit.replaced_at is not None:
        raise WrongState("This limit no longer holds. Reload the page.")
    limit.replaced_at, limit.replaced_by = timezone.now(), by
    limit.save(update_fields=["replaced_at", "replaced_by"])
    _note(by, limit, "unlimited")
    return limit


def _check_whose(by: User, team: Team | None, club: Club | None) -> None:
    if team is not None and club is None:
        check_can_crew(by, team)
    elif club is not None and team is None:
        check_can_steward(by, club)
    else:
        raise Invalid("team", "Say whose limit it is: one team's or one club's.")


def _check(per: str, value: Decimal | int | None, field: str = "") -> None:
    if value is not None and not 0 <= value <= MOST[per]:
        raise Invalid(field or per, f"Write a number from 0 to {MOST[per]}.")


def _same(whose: dict[str, Any]) -> dict[str, Any]:
    """Rows of the same owner, part, sort and kind of count."""
    return {
        (name if value is not None else f"{name}__isnull"): (value if value is not None else True)
        for name, value in whose.items()
    }


def _replace(by: User, standing: Any) -> None:
    for row in standing.select_for_update(of=("self",)):
        row.replaced_at, row.replaced_by = timezone.now(), by
        row.save(update_fields=["replaced_at", "replaced_by"])


def _note(by: User, limit: PartLimit, did: str, **detail: Any) -> None:
    record(
        by=by,
        did=did,
        on=limit,
        team_id=limit.team_id,
        club_id=limit.club_id,
        sort=limit.sort,
        per=limit.per,
        **detail,
    )
