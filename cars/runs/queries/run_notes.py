"""Runs with what stands of each: its details, how it felt, its laps, the entry it was for."""

from collections.abc import Sequence
from typing import Any

from django.db.models import Prefetch

from cars.models import Feel, Laps, Run, RunDetails
from cars.models.run import RunQuerySet
from cars.runs.queries.run_entries import RunEntry, run_entries


def with_notes(runs: RunQuerySet, *, whole: bool = False) -> RunQuerySet:
    """The runs with what stands of each. Three queries more.

    Of the laps the id alone; `whole`: the laps too, and the names of whom and where.
    """
    details = RunDetails.objects.current()
    laps = Laps.objects.current()
    feels = Feel.objects.current().order_by("said_by")
    if whole:
        # Asked apart: joined, all drivers and tracks of a small team would be looked through.
        details = details.select_related("weather", "by").prefetch_related("driver", "track")
        laps, feels = laps.select_related("by"), feels.select_related("by")
    else:
        laps = laps.only("run_id")
    standing: list[Prefetch[Any, Any, Any]] = [
        Prefetch("details", details, to_attr="standing_details"),
        Prefetch("feels", feels, to_attr="standing_feels"),
        Prefetch("laps", laps, to_attr="standing_laps"),
    ]
    return runs.prefetch_related(*standing)


def laps_of(run: Run) -> Laps | None:
    """The laps that stand."""
    return Laps.objects.current().filter(run=run).first()


def entries_of(runs: Sequence[Run]) -> dict[Run, RunEntry]:
    """What each was entered for, where it was. One query for all of them."""
    found = run_entries([run.pk for run in runs])
    return {run: found[run.pk] for run in runs if run.pk in found}
