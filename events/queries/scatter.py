"""How much weighings of an unchanged car scattered on a set of scales so far that day."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.utils import timezone

from events.models import Event, ScaleSet, WeighIn
from events.queries.scales import HOLDS
from events.rules.repeats import pooled, prior

_KEPT = Decimal("1e-6")


def scatter_before(
    event: Event,
    scale_set: ScaleSet,
    u_total: Decimal,
    *,
    apart_from: Iterable[WeighIn] = (),
    at: datetime | None = None,
) -> dict[str, Any]:
    """What a weigh-in keeps of the day's repeats before it: one query.

    Pooled with the prior over every car weighed more than once, unchanged, on these scales at
    the event; without those that it is itself weighed together with (`apart_from`), which the
    mean counts in. A day is counted in hours, as for the check of the scales.
    """
    since = (at or timezone.now()) - HOLDS
    groups = _repeats(event, scale_set, since, {one.pk for one in apart_from})
    scatter = pooled(prior(float(u_total)), groups)
    return {"scatter": Decimal(repr(scatter.s)).quantize(_KEPT), "scatter_dof": int(scatter.dof)}


def _repeats(
    event: Event, scale_set: ScaleSet, since: datetime, apart_from: set[Any]
) -> list[Sequence[float]]:
    """The totals of each car as it stood, in groups of those that stand together."""
    today = WeighIn.objects.filter(entry__event=event, created_at__gt=since)
    repeated = today.filter(scale_set=scale_set, again=True).values("entry")
    # Those on other scales too: one of them may say that the car was changed.
    rows = today.filter(entry__in=repeated).order_by("created_at", "pk")
    groups: dict[tuple[Any, ...], list[list[float]]] = {}
    for row in rows.values_list(
        "entry", "stage", "driver_in", "tank_empty", "again", "scale_set", "void", "pk", "total"
    ):
        *kind, again, scales, void, pk, total = row
        of_kind = groups.setdefault(tuple(kind), [[]])
        if not again:
            of_kind.append([])
        if scales == scale_set.pk and void is None and pk not in apart_from:
            of_kind[-1].append(float(total))
    return [group for of_kind in groups.values() for group in of_kind if len(group) > 1]
