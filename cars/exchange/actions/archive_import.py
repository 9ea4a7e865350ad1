"""An archive brought into a team that is here, under new ids: for the team's own crew."""

from collections.abc import Iterable, Mapping
from typing import Any
from uuid import UUID

from django.db import DatabaseError, transaction

from cars.exchange.actions.archive_attachment import attach
from cars.exchange.actions.archive_rows import SETTLED, ArchiveRows, check_whole, refused
from cars.exchange.files.archive_input import FIELD, ArchiveInput, Rows
from cars.exchange.queries.archive_kinds import ArchiveKind, Section, archive_kinds
from cars.models import (
    BallastMount,
    Car,
    Chassis,
    ImportedArchive,
    PartCode,
    SuggestionTable,
)
from cars.permissions import check_can_import_archive
from cars.sheets.actions.closed_figures import keep_figures
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.limits import count_against_limit
from clubsetup.access.models import User
from clubsetup.clock.writing import day
from teams.models import Driver, RaceClass, Team, Track

# Only a coach advises: nobody brings a coach's words in as rows.
OF_COACHES = {"advice", "advice_replies"}
OF_SUGGESTIONS = {"suggestion_tables", "suggestions"}


@action
def import_archive(
    *, by: User, team: Team, archive: ArchiveInput, archive_id: UUID | None = None
) -> ImportedArchive:
    """All of the archive's own rows into the team, under new ids, in the name of whoever brings
    them; the ids they had stand beside. Tracks, classes, mounts and chassis are those of the same
    name in the team's club.

    Raises Invalid with what to do where the club has no such chassis, or the team has a car, driver
    or code of that name already. What officials and coaches wrote is attached, to be read.
    """
    check_can_import_archive(by, team)
    count_against_limit(by, "archives")
    _check_new(archive, team)
    things = _club_things(archive, team)
    apart = OF_COACHES | _suggestions_apart(team)
    kinds = [kind for kind in archive_kinds(Section.TEAM) if kind.name not in apart]
    ids = {kind.name: {row["id"]: str(new_id()) for row in archive.rows(kind)} for kind in kinds}
    known: dict[str, str | None] = {**things}
    for of_kind in ids.values():
        known.update(of_kind)
    try:
        with transaction.atomic():
            _write(archive, by, team, kinds, known)
    except DatabaseError as problem:
        raise refused(problem) from problem
    imported = attach(
        archive,
        team,
        by=by,
        using="default",
        source_ids={name: {new: old for old, new in each.items()} for name, each in ids.items()},
        and_rows={
            **{kind.name: archive.rows(kind) for kind in _read_alone(apart)},
        },
        archive_id=archive_id or new_id(),
    )
    rows = sum(map(len, ids.values()))
    record(by=by, did="imported", on=imported, team_id=team.pk, rows=rows)
    return imported


def _write(
    archive: ArchiveInput,
    by: User,
    team: Team,
    kinds: Iterable[ArchiveKind],
    known: Mapping[str, str | None],
) -> None:
    whose = {"team_id": str(team.pk), "club_id": str(team.club_id)}
    rows = ArchiveRows("default", whose, known.get, lambda _: str(by.pk))
    for kind in kinds:
        rows.add(kind, _said(archive, kind))
    for kind in kinds:
        if kind.name in SETTLED:
            rows.settle(kind, archive.rows(kind))
    check_whole("default")
    cars = next(kind for kind in kinds if kind.model is Car)
    for row in archive.rows(cars):
        keep_figures(UUID(known[row["id"]]))


def _said(archive: ArchiveInput, kind: ArchiveKind) -> Rows:
    """The rows; a comment begins with the name of whoever wrote it, for it stands under another."""
    rows = archive.rows(kind)
    if kind.name != "comments":
        return rows
    people = archive.people
    return [{**row, "text": f"{people.get(row['by'], '?')}: {row['text']}"} for row in rows]


def _read_alone(apart: set[str]) -> list[ArchiveKind]:
    baselines = {"baselines", "baseline_values"}
    return [
        kind
        for section, names in ((Section.TEAM, apart), (Section.CLUB, baselines))
        for kind in archive_kinds(section)
        if kind.name in names
    ]


def _suggestions_apart(team: Team) -> set[str]:
    """A team that has a table of its own keeps it in force."""
    return OF_SUGGESTIONS if SuggestionTable.objects.filter(team=team).exists() else set()


def _check_new(archive: ArchiveInput, team: Team) -> None:
    before = ImportedArchive.objects.filter(team=team, digest=archive.digest).first()
    if before is not None:
        raise Invalid(
            FIELD, f"This archive came in on {day(before.created_at.date())}. It is there already."
        )
    rows: dict[str, Rows] = archive.data["rows"][Section.TEAM]
    for name, column, model, what in (
        ("cars", "number", Car, "car"),
        ("drivers", "display_name", Driver, "driver"),
        ("part_codes", "code", PartCode, "part with the code"),
    ):
        wanted = [row[column] for row in rows[name]]
        here: Any = model._default_manager.filter(team=team, **{f"{column}__in": wanted})
        if taken := here.order_by(column).values_list(column, flat=True).first():
            raise Invalid(
                FIELD,
                f"{team} has a {what} {taken} already. Give it another name here first, or bring "
                "the archive into another team.",
            )


def _club_things(archive: ArchiveInput, team: Team) -> dict[str, str | None]:
    """What the club here has under the name that the archive gives: its id by the archive's."""
    known: dict[str, str | None] = {}
    rows: dict[str, Rows] = archive.data["rows"][Section.CLUB]
    for name, model in (("chassis", Chassis), ("tracks", Track), ("race_classes", RaceClass)):
        named = model.objects.filter(club=team.club_id).values_list("name", "pk")
        here = {there: str(pk) for there, pk in named}
        known.update({row["id"]: here.get(row["name"]) for row in rows[name]})
    for row in rows["ballast_mounts"]:
        mounts = BallastMount.objects.filter(name=row["name"], chassis__club=team.club_id)
        mount = (
            mounts.filter(chassis=_uuid(known[row["chassis"]])).values_list("pk", flat=True).first()
        )
        known[row["id"]] = str(mount) if mount else None
    _check_chassis(archive, known, team)
    return known


def _check_chassis(archive: ArchiveInput, known: Mapping[str, str | None], team: Team) -> None:
    cars: Rows = archive.data["rows"][Section.TEAM]["cars"]
    missing = {car["chassis"] for car in cars if known.get(car["chassis"]) is None}
    if missing:
        names = " and ".join(sorted(archive.name_of("chassis", pk) for pk in missing))
        raise Invalid(
            FIELD,
            f"{team.club} has no chassis named {names}, and a car of the archive is one. Ask a "
            "steward to add it under this name, then bring the archive in.",
        )


def _uuid(text: str | None) -> UUID | None:
    return UUID(text) if text else None
