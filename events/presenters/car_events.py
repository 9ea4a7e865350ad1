"""The events that a car was entered at, for the plots of its history."""

from datetime import date

from django.urls import reverse

from cars.history.queries.car_events import CarEvent
from cars.models import Car
from events.models import Event


def events_entered(car: Car, first: date, last: date) -> list[CarEvent]:
    """Those that it was entered at and not withdrawn from, the first one first. One query."""
    rows = Event.objects.filter(
        entries__car=car,
        entries__team=car.team_id,
        entries__withdrawn_at=None,
        starts_on__gte=first,
        starts_on__lte=last,
    )
    named = rows.order_by("starts_on", "pk").values_list("pk", "starts_on", "name").distinct()
    return [CarEvent(pk, day, name, reverse("event", args=[pk])) for pk, day, name in named]


PROVIDERS = (events_entered,)
