"""The places for ballast on a chassis."""

from uuid import UUID

from cars.figures.geometry import refuse_outside
from cars.models import BallastMount, Chassis
from cars.permissions import check_can_keep_chassis
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.reading import Typed


@action
def add_mount(
    *,
    by: User,
    chassis: Chassis,
    name: str,
    x: Typed,
    y: Typed,
    capacity: Typed,
    mount_id: UUID | None = None,
) -> BallastMount:
    """A place on the chassis (x forward of the rear axle, y left) and what it may carry."""
    check_can_keep_chassis(by, chassis)
    name = name.strip()
    if not name or BallastMount.objects.filter(chassis=chassis, name=name).exists():
        raise Invalid("name", "Give the mount a name that this chassis has not used yet.")
    if capacity.value <= 0:
        raise Invalid("capacity", "A mount carries more than nothing.")
    refuse_outside(chassis.geometry, x, y)
    mount = BallastMount.objects.create(
        pk=mount_id or new_id(),
        chassis=chassis,
        club_id=chassis.club_id,
        name=name,
        x=x.value,
        y=y.value,
        capacity=capacity.value,
        typed={"x": x.text, "y": y.text, "capacity": capacity.text},
    )
    record(by=by, did="added", on=mount, club_id=chassis.club_id)
    return mount
