"""Chassis: what a steward keeps of each make and model."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from cars.figures.geometry import checked_geometry
from cars.models import Chassis
from cars.permissions import check_can_keep_chassis
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from teams.models import Club
from teams.permissions import check_can_steward


@action
def add_chassis(
    *,
    by: User,
    club: Club,
    name: str,
    geometry: Mapping[str, Any] | None = None,
    note: str = "",
    chassis_id: UUID | None = None,
) -> Chassis:
    """A chassis by its name; its geometry (mm, N/mm) may follow, but never half of it."""
    check_can_steward(by, club)
    chassis = Chassis.objects.create(
        pk=chassis_id or new_id(),
        club=club,
        name=_free_name(club, name),
        geometry=checked_geometry(geometry or {}),
        note=note.strip(),
    )
    record(by=by, did="added", on=chassis, club_id=club.pk)
    return chassis


@action
def edit_chassis(
    *,
    by: User,
    chassis: Chassis,
    name: str | None = None,
    geometry: Mapping[str, Any] | None = None,
    note: str | None = None,
) -> Chassis:
    """Changes what is given; the trail keeps the geometry that was."""
    check_can_keep_chassis(by, chassis)
    before = chassis.geometry
    if name is not None and name.strip() != chassis.name:
        chassis.name = _free_name(chassis.club, name)
    if geometry is not None:
        chassis.geometry = checked_geometry(geometry)
    if note is not None:
        chassis.note = note.strip()
    chassis.save(update_fields=["name", "geometry", "note"])
    record(by=by, did="edited", on=chassis, club_id=chassis.club_id, geometry_before=before)
    return chassis


def _free_name(club: Club, name: str) -> str:
    name = name.strip()
    if not name or Chassis.objects.filter(club=club, name=name).exists():
        raise Invalid("name", "Give the chassis a name that the club has not used yet.")
    return name
