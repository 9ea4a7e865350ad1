"""A team's parts under the marks it keeps to itself."""

from uuid import UUID

from cars.models import Part, PartCode
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.reading import Typed
from teams.models import Team
from teams.permissions import check_can_crew


@action
def add_part(
    *,
    by: User,
    team: Team,
    sort: str,
    code: str = "",
    note: str = "",
    rate: Typed | None = None,
    part_id: UUID | None = None,
) -> Part:
    """A part, and the team's own mark on it where it has one."""
    check_can_crew(by, team)
    if sort not in Part.Sort.values:
        raise Invalid("sort", f"Choose one of: {', '.join(Part.Sort.values)}.")
    if rate is not None and sort != Part.Sort.SPRING:
        raise Invalid("rate", "Only a spring has a rate.")
    if rate is not None and rate.value <= 0:
        raise Invalid("rate", "A spring's rate is more than nothing.")
    part = Part.objects.create(
        pk=part_id or new_id(),
        team=team,
        sort=sort,
        rate=rate.value if rate else None,
        rate_typed=rate.text if rate else "",
    )
    # The mark is the team's secret and the trail lasts: the mark stays out of it.
    record(by=by, did="added", on=part, team_id=team.pk, sort=sort)
    if code.strip():
        set_part_code(by=by, part=part, code=code, note=note)
    return part


@action
def set_part_code(*, by: User, part: Part, code: str, note: str = "") -> PartCode:
    """The team's mark on a part, and what it stands for; set again, it is replaced."""
    check_can_crew(by, part.team)
    code = code.strip()
    if not code:
        raise Invalid("code", "Write the code of the part.")
    if PartCode.objects.filter(team=part.team, code=code).exclude(part=part).exists():
        raise Invalid("code", "Another part has this code already.")
    given = {"code": code, "note": note.strip()}
    row, _ = PartCode.objects.update_or_create(
        part=part, defaults=given, create_defaults={"team_id": part.team_id, **given}
    )
    record(by=by, did="marked", on=part, team_id=part.team_id)
    return row
