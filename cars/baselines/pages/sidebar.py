"""News of a car's baseline, for the car's page."""

from typing import Any

from cars.baselines.queries.versions import newer_than
from cars.models import Car
from cars.permissions import check_can_keep_car
from clubsetup.access.errors import is_allowed
from clubsetup.access.models import User


def car_sidebar(car: Car, by: User) -> dict[str, Any]:
    """Whether a newer version of its baseline is in force, and what that changed."""
    return {
        "newer": newer_than(car.baseline, by),
        "may_move": is_allowed(check_can_keep_car, by, car),
    }
