"""Runs that came with a car, as rows of the team that took it."""

from collections.abc import Collection, Iterator, Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Model

from cars.models import (
    Feel,
    HandedRun,
    Handover,
    Laps,
    Run,
    RunDetails,
    RunReading,
    Sheet,
)
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from teams.models import Surface, Team

# What becomes rows of its own; the rest stands beside the run as text.
AS_ROWS = {"laps", "seen", "said", "readings", "car_state", "source", "sheet", "ran_at"}


def unpack_runs(
    by: User,
    team: Team,
    handover: Handover,
    sheets: Mapping[str, Sheet],
    tracks: Collection[UUID],
) -> None:
    """The runs of a package on the copies of their `sheets`; `tracks` are the receiver's own."""
    runs, hung, origins = [], list[Any](), []
    for content in reversed(handover.package.get("runs", [])):
        run = Run(
            pk=new_id(),
            car=handover.car,
            team=team,
            ran_at=datetime.fromisoformat(content["ran_at"]),
            sheet=sheets.get(content["sheet"]),
            car_state=content["car_state"],
            by=by,
        )
        runs.append(run)
        hung += _hanging(by, run, content, tracks)
        words = {k: v for k, v in content.items() if k not in AS_ROWS}
        words["chassis"] = handover.package["chassis"]["name"]
        origins.append(
            HandedRun(
                run=run, team=team, handover=handover, source=content["source"], content=words
            )
        )
    Run.objects.bulk_create(runs)
    models: tuple[type[Model], ...] = (RunDetails, Feel, Laps, RunReading)
    for model in models:
        model._default_manager.bulk_create(row for row in hung if type(row) is model)
    # After all that hangs on them: what is younger the receiver has written.
    HandedRun.objects.bulk_create(origins)


def _hanging(
    by: User, run: Run, content: dict[str, Any], tracks: Collection[UUID]
) -> Iterator[Model]:
    whose: dict[str, Any] = {"run": run, "team_id": run.team_id, "by": by}
    track = UUID(content["track"]["id"]) if content["track"] else None
    fuel = content.get("fuel") or {"value": None, "typed": ""}
    yield RunDetails(
        pk=new_id(),
        kind=content["kind"],
        track_id=track if track in tracks else None,
        surface=content["surface"] or Surface.PAVED,
        surface_state=content.get("surface_state", ""),
        finish=content.get("finish"),
        fuel=None if fuel["value"] is None else Decimal(fuel["value"]),
        fuel_typed=fuel["typed"],
        **whose,
    )
    for said_by, name in ((Feel.SaidBy.HANDLER, "seen"), (Feel.SaidBy.DRIVER, "said")):
        if content.get(name):
            yield Feel(pk=new_id(), said_by=said_by, **content[name], **whose)
    if laps := content["laps"]:
        times = [Decimal(time) for time in laps["times"]]
        timed = {"marks": laps["marks"], "timed_by": laps["timed_by"]}
        yield Laps(pk=new_id(), times=times, **timed, **whose)
    for row in content["readings"]:
        figures = {name: Decimal(row[name]) for name in ("value", "resolution")}
        box = {"measure_id": row["measure"], "spot": row["spot"]}
        yield RunReading(
            pk=new_id(), typed=row["typed"], unit=row["unit"], **box, **figures, **whose
        )
