"""The scales a club weighs with."""

from uuid import UUID

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.reading import Typed
from events.models import ScaleSet
from events.permissions import check_can_keep_scales
from teams.models import Club


@action
def add_scale_set(
    *,
    by: User,
    club: Club,
    name: str,
    division: Typed,
    pads: int = 4,
    scale_set_id: UUID | None = None,
) -> ScaleSet:
    """Four pads or one platform, with what the display of one steps by."""
    check_can_keep_scales(by, club)
    name = name.strip()
    if not name or ScaleSet.objects.filter(club=club, name=name).exists():
        raise Invalid("name", "Give the scales a name that the club has not used yet.")
    if division.value <= 0:
        raise Invalid("division", "A display steps by more than nothing.")
    if pads not in (1, 4):
        raise Invalid("pads", "Choose four pads or one platform.")
    scale_set = ScaleSet.objects.create(
        pk=scale_set_id or new_id(),
        club=club,
        name=name,
        pads=pads,
        division=division.value,
        division_typed=division.text,
    )
    record(by=by, did="added", on=scale_set, club_id=club.pk, division=division.text)
    return scale_set
