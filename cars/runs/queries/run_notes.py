"""Runs with what stands of each: its details, how it felt, its laps, the entry it was for."""

from collections.abc import Sequence

from django.db.models import Prefetch

from cars.models import Feel, Laps, Run, RunDetails
from cars.models.run import RunQuerySet
from cars.runs.queries.run_entries import RunEntry, run_entries


def with_notes(runs: RunQuerySet) -> RunQuerySet:
    """The runs with what stands of each, of the laps how many there are. Three queries more."""
    # A run has as many rows of each as it was corrected; what stands is the one that counts.
    details = RunDetails.objects.current().select_related("by")
    laps = Laps.objects.current().only("run_id", "timed_by", "by_id")
    return runs.prefetch_related(
        Prefetch("details", details, to_attr="standing_details"),
        Prefetch("feels", Feel.objects.current().order_by("said_by"), to_attr="standing_feels"),
        Prefetch("laps", laps, to_attr="standing_laps"),
    )


def laps_of(run: Run) -> Laps | None:
    """The laps that stand."""
    return Laps.objects.current().filter(run=run).first()


def entries_of(runs: Sequence[Run]) -> dict[Run, RunEntry]:
    """What each was entered for, where it was. One query for all of them."""
    found = run_entries([run.pk for run in runs])
    return {run: found[run.pk] for run in runs if run.pk in found}
