"""Which baseline a car goes by."""

from django.db.models import F, Q

from cars.models import Baseline, Car


def baseline_for(car: Car, surface: str) -> Baseline | None:
    """The car's own baseline while it is in force for this surface; else the one in force for its
    chassis, this surface and its class; else the one for all classes.
    """
    own = car.baseline
    if own is not None and own.surface == surface and own.state == Baseline.State.PUBLISHED:
        return own
    in_force = Baseline.objects.filter(
        Q(race_class_id=car.race_class_id) | Q(race_class__isnull=True),
        chassis_id=car.chassis_id,
        surface=surface,
        state=Baseline.State.PUBLISHED,
    )
    return in_force.order_by(F("race_class").asc(nulls_last=True)).first()
