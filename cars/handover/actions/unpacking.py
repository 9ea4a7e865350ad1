"""What came with a car, as rows of the team that took it: under new ids, the source's beside."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any, NamedTuple
from uuid import UUID

from django.utils import timezone

from cars.handover.actions.run_unpacking import unpack_runs
from cars.models import (
    Baseline,
    Car,
    Change,
    HandedSheet,
    Handover,
    Reading,
    Sheet,
    TrackChange,
    TrackReading,
)
from cars.sheets.actions.closed_figures import keep_figures
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from teams.models import Team, Track

# What becomes rows of its own; the rest stands beside the sheet as text.
AS_ROWS = {"readings", "changes", "track_changes", "track_readings", "source"}


class _Known(NamedTuple):
    """The receiver's own rows that a package of the same club names."""

    tracks: frozenset[UUID]
    baselines: frozenset[UUID]


def unpack(by: User, team: Team, handover: Handover) -> None:
    """The copies of a package that was taken: as many statements for one sheet as for many."""
    package = handover.package
    known = _Known(frozenset(), frozenset())
    if package["club"] == str(team.club_id):
        tracks = Track.objects.filter(club=team.club_id).values_list("pk", flat=True)
        baselines = Baseline.objects.filter(club=team.club_id).values_list("pk", flat=True)
        known = _Known(frozenset(tracks), frozenset(baselines))
    # What is of the car and not of a sheet is read with each.
    head = {name: package.get(name) for name in ("chassis", "race_class", "own_targets")}
    sheets: dict[str, Sheet] = {}
    hung: dict[Any, list[Any]] = {Reading: [], Change: [], TrackChange: [], TrackReading: []}
    origins = []
    # The oldest first, so that ids and moments stand in the order of the sheets.
    for content in reversed(package["sheets"]):
        sheet = _sheet(by, team, handover.car, content, known)
        sheets[content["source"]] = sheet
        for model, name in _KEPT_IN.items():
            hung[model] += [_ROW[model](by, sheet, row) for row in content.get(name, [])]
        words = {k: v for k, v in content.items() if k not in AS_ROWS} | head
        origins.append(
            HandedSheet(
                sheet=sheet, team=team, handover=handover, source=content["source"], content=words
            )
        )
    Sheet.objects.bulk_create(sheets.values())
    for model, rows in hung.items():
        model.objects.bulk_create(rows)
    # After all that hangs on them: what is younger the receiver has written.
    HandedSheet.objects.bulk_create(origins)
    if sheets:
        of_these = Sheet.objects.filter(pk__in=[sheet.pk for sheet in sheets.values()])
        of_these.update(state=Sheet.State.CLOSED, closed_at=timezone.now(), closed_by=by)
        keep_figures(handover.car_id)
    unpack_runs(by, team, handover, sheets, known.tracks)


def _sheet(by: User, team: Team, car: Car, content: dict[str, Any], known: _Known) -> Sheet:
    track = UUID(content["track"]["id"]) if content["track"] else None
    baseline = UUID(content["targets"]["id"]) if content["targets"] else None
    fuel = content["fuel"]
    return Sheet(
        pk=new_id(),
        car=car,
        team=team,
        role=content["role"],
        made_on=date.fromisoformat(content["made_on"]),
        surface=content["surface"],
        track_id=track if track in known.tracks else None,
        baseline_id=baseline if baseline in known.baselines else None,
        fuel=_figure(fuel["value"]),
        fuel_typed=fuel["typed"],
        opened_by=by,
    )


def _read(sheet: Sheet, row: dict[str, Any]) -> dict[str, Any]:
    return {
        "pk": new_id(),
        "sheet": sheet,
        "team_id": sheet.team_id,
        "measure_id": row["measure"],
        "spot": row["spot"],
        "typed": row["typed"],
        "unit": row["unit"],
        "value": _figure(row["value"]),
        "resolution": _figure(row["resolution"]),
        "taken_at": datetime.fromisoformat(row["taken_at"]),
    }


def _made(sheet: Sheet, row: dict[str, Any]) -> dict[str, Any]:
    return {
        "pk": new_id(),
        "sheet": sheet,
        "team_id": sheet.team_id,
        "adjuster": row["adjuster"],
        "spot": row["spot"],
        "amount": Decimal(row["amount"]),
        "unit": row["unit"],
        "made_at": datetime.fromisoformat(row["made_at"]),
    }


_KEPT_IN: dict[Any, str] = {
    Reading: "readings",
    Change: "changes",
    TrackChange: "track_changes",
    TrackReading: "track_readings",
}
_ROW: dict[Any, Any] = {
    Reading: lambda by, sheet, row: Reading(by=by, take=row["take"], **_read(sheet, row)),
    Change: lambda by, sheet, row: Change(by=by, **_made(sheet, row)),
    TrackChange: lambda by, sheet, row: TrackChange(by=by, **_made(sheet, row)),
    TrackReading: lambda by, sheet, row: TrackReading(by=by, **_read(sheet, row)),
}


def _figure(text: str | None) -> Decimal | None:
    """A figure of a package."""
    return None if text is None else Decimal(text)
