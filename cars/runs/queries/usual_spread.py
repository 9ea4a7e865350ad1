"""How a driver's laps usually scatter, from the team's record: what stands out is marked by it."""

from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from cars.mechanics.laps import usual_spread
from cars.models import Run, RunDetails

MOST_RUNS = 30  # the newest: a driver of ten gets steadier within a season


class UsualSpread(NamedTuple):
    """Seconds, and from how many earlier runs."""

    seconds: float
    runs: int


def usual_spread_of(run: Run, times: Sequence[Decimal]) -> UsualSpread | None:
    """Of whoever drove, on this surface, with these laps of the run too; None without a record."""
    details = RunDetails.objects.current().filter(run=run).first()
    if details is None or details.driver_id is None:
        return None
    rows = (
        Run.objects.current()
        .filter(
            team=run.team_id,
            details__replaced_at=None,
            details__driver=details.driver_id,
            details__surface=details.surface,
            laps__replaced_at=None,
            laps__isnull=False,
        )
        .exclude(pk=run.pk)
        .order_by("-ran_at", "-pk")
    )
    record = list(rows.values_list("laps__times", flat=True)[:MOST_RUNS])
    if not record:
        return None
    seconds = usual_spread([[float(each) for each in laps] for laps in (times, *record)])
    return UsualSpread(seconds, len(record))
