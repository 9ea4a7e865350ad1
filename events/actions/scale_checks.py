"""Checks of the scales with reference masses, before the first car; and whether they count."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.reading import Typed
from events.actions.display_steps import refuse_between_steps
from events.models import ScaleCheck, ScaleSet
from events.permissions import check_can_keep_scales
from events.queries.scales import pads_of
from events.records.actions.chain import enter_where_under_way
from events.records.actions.device_time import check_device_time
from events.rules.corrections import checked_load
from events.rules.scales import ScaleError
from teams.permissions import check_can_officiate

# What a refusal of the computation is about, as the page asks for it.
ASKED = {"load": "reference", "added mass": "added", "shown": "indicated"}


@dataclass(frozen=True)
class LoadRead:
    """One pad with a reference mass on it: what the mass is, what the display showed, and the
    extra mass at which it went up one step, where somebody laid that on."""

    pad: str
    reference: Typed
    indicated: Typed
    added: Typed | None = None


@action
def check_scales(
    *,
    by: User,
    scale_set: ScaleSet,
    loads: Sequence[LoadRead],
    pads_level: bool,
    level_note: str = "",
    device_at: datetime | None = None,
    check_id: UUID | None = None,
) -> ScaleCheck:
    """Keeps one check of every pad. It passes if every error is within class III in service and
    the pads stand level; the newest check of a set stands for the day."""
    check_can_officiate(by, scale_set.club)
    check_device_time(device_at)
    given = [one.pad for one in loads]
    for pad in pads_of(scale_set):
        if pad not in given:
            raise Invalid(f"{pad}_indicated", f"Lay the reference mass on {pad} too.")
    for pad in given:
        if pad not in pads_of(scale_set):
            raise Invalid("loads", f"{scale_set} has no pad {pad}.")
    for one in loads:
        refuse_between_steps(f"{one.pad}_indicated", one.indicated, scale_set)
    checked = [_checked(one, float(scale_set.division)) for one in loads]
    check = ScaleCheck.objects.create(
        pk=check_id or new_id(),
        scale_set=scale_set,
        club_id=scale_set.club_id,
        by=by,
        device_at=device_at,
        division=scale_set.division,
        pads_level=pads_level,
        level_note=level_note.strip(),
        loads=checked,
        passed=pads_level and all(one["within"] for one in checked),
    )
    record(by=by, did="checked", on=check, club_id=check.club_id, passed=check.passed)
    enter_where_under_way(check)
    return check


def _checked(one: LoadRead, e: float) -> dict[str, Any]:
    added = None if one.added is None else float(one.added.value)
    try:
        result = checked_load(float(one.indicated.value), float(one.reference.value), e, added)
    except ScaleError as refusal:
        field = f"{one.pad}_{ASKED.get(refusal.quantity, 'reference')}"
        raise Invalid(field, f"This {refusal.problem}.") from refusal
    typed = {"reference": one.reference.text, "indicated": one.indicated.text}
    return {
        "pad": one.pad,
        "reference": f"{one.reference.value:f}",
        "indicated": f"{one.indicated.value:f}",
        "added": f"{one.added.value:f}" if one.added else None,
        "error": _text(result.error),
        "allowed": _text(result.allowed),
        "u": _text(result.u),
        "within": result.within,
        "typed": {**typed, "added": one.added.text} if one.added else typed,
    }


def _text(number: float) -> str:
    return f"{Decimal(repr(number)).quantize(Decimal('1e-9')):f}"


@action
def set_corrections(*, by: User, scale_set: ScaleSet, applied: bool) -> ScaleSet:
    """Whether weights on this set count with the corrections of the day's check from now on."""
    check_can_keep_scales(by, scale_set)
    scale_set.apply_corrections = applied
    scale_set.save(update_fields=["apply_corrections"])
    record(by=by, did="set_corrections", on=scale_set, club_id=scale_set.club_id, applied=applied)
    return scale_set
