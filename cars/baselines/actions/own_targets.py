"""A team's own targets for a car, and moving the car to the baseline in force."""

from typing import Any
from uuid import UUID

from django.db.models import Max
from django.utils import timezone

from cars.models import Baseline, Car, Measure, OwnTarget
from cars.models.catalogue import Taken
from cars.permissions import check_can_keep_car
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.quantities.reading import Typed
from teams.models import Surface

LONGEST_REASON = 200


@action
def set_own_target(
    *,
    by: User,
    car: Car,
    measure: Measure,
    spot: str,
    target: Typed,
    tolerance: Typed,
    reason: str,
    surface: str = "",
    own_target_id: UUID | None = None,
) -> OwnTarget:
    """The team's own target for a box of this car, and why; the one before is kept as replaced."""
    check_can_keep_car(by, car)
    _check(measure, spot, surface, tolerance)
    reason = reason.strip()
    if not 0 < len(reason) <= LONGEST_REASON:
        raise Invalid("reason", "Say in a few words why you want it so.")
    car = _held(car)
    line = OwnTarget.objects.filter(
        car=car, team_id=car.team_id, surface=surface, measure=measure, spot=spot
    )
    _end(by, line.current().first())
    row = OwnTarget(
        pk=own_target_id or new_id(),
        car=car,
        team_id=car.team_id,
        surface=surface,
        measure=measure,
        spot=spot,
        target=target.value,
        tolerance=tolerance.value,
        target_typed=target.text,
        tolerance_typed=tolerance.text,
        reason=reason,
        version=(line.aggregate(last=Max("version"))["last"] or 0) + 1,
        by=by,
    )
    row.save(force_insert=True)
    _trail(by, "set_own_target", row, target=row.target_typed, reason=reason)
    return row


@action
def drop_own_target(*, by: User, own_target: OwnTarget, reason: str = "") -> OwnTarget:
    """The team goes by the baseline again; its own target is kept as replaced.

    Why, where somebody says it, stands in the team's trail.
    """
    check_can_keep_car(by, own_target.car)
    _held(own_target.car)
    now = OwnTarget.objects.get(pk=own_target.pk)
    if now.replaced_at is not None:
        raise WrongState("This target of your own stands no longer.")
    if len(reason := reason.strip()) > LONGEST_REASON:
        raise Invalid("reason", f"Say why in at most {LONGEST_REASON} letters.")
    _end(by, now)
    _trail(by, "dropped_own_target", now, **({"reason": reason} if reason else {}))
    now.refresh_from_db()
    return now


@action
def move_to_baseline(*, by: User, car: Car, baseline: Baseline) -> Car:
    """The car goes by this baseline, which is in force, from now on; its sheets keep theirs."""
    check_can_keep_car(by, car)
    car = _held(car)
    if baseline.chassis_id != car.chassis_id:
        raise Invalid("baseline", f"Choose a baseline of the {car.chassis}.")
    if Baseline.objects.get(pk=baseline.pk).state != Baseline.State.PUBLISHED:
        raise WrongState("This version is not in force. Look at the car again for the one that is.")
    if car.baseline_id == baseline.pk:
        raise WrongState("The car goes by this version already.")
    was = car.baseline
    car.baseline = baseline
    car.save(update_fields=["baseline"])
    record(
        by=by,
        did="moved_to_baseline",
        on=car,
        team_id=car.team_id,
        was=was.version if was else None,
        now=baseline.version,
        baseline=str(baseline.pk),
    )
    return car


def _held(car: Car) -> Car:
    """The car as it is now, held until the transaction ends."""
    held = Car.objects.select_for_update(of=("self",))
    return held.select_related("team", "chassis", "baseline").get(pk=car.pk)


def _check(measure: Measure, spot: str, surface: str, tolerance: Typed) -> None:
    if measure.taken not in (Taken.QUANTITY, Taken.DERIVED):
        raise Invalid("measure", f"{measure} is not a figure and has no target.")
    if spot not in measure.spots:
        raise Invalid("spot", f"{measure} is read at {', '.join(measure.spots)}.")
    if surface not in ("", *Surface.values):
        raise Invalid("surface", "Choose paved, dirt or both.")
    if tolerance.value < 0:
        raise Invalid("tolerance", "A tolerance is zero or more: how far off is still on target.")


def _end(by: User, standing: OwnTarget | None) -> None:
    if standing is not None:
        OwnTarget.objects.filter(pk=standing.pk).update(replaced_at=timezone.now(), replaced_by=by)


def _trail(by: User, did: str, row: OwnTarget, **detail: Any) -> None:
    record(
        by=by,
        did=did,
        on=row.car,
        team_id=row.team_id,
        measure=row.measure_id,
        spot=row.spot,
        surface=row.surface,
        **detail,
    )
