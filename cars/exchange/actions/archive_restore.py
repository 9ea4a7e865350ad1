"""An archive put back with the ids it had: for whoever runs the service, as the owner."""

from collections import defaultdict
from typing import Any

from django.db import DatabaseError, transaction

from cars.catalogue.queries import catalogue
from cars.exchange.actions.archive_attachment import attach
from cars.exchange.actions.archive_rows import SETTLED, ArchiveRows, check_whole, refused
from cars.exchange.files.archive_input import FIELD, ArchiveInput, Rows
from cars.exchange.queries.archive_kinds import (
    CLUB_KINDS,
    ArchiveKind,
    Section,
    archive_kinds,
)
from cars.models import Baseline, BaselineValue, Car
from cars.sheets.actions.closed_figures import rebuild_figures
from clubsetup.access.errors import Invalid
from clubsetup.access.models import User
from teams.models import Club, Team

OWNER = "owner"
# By what a club's thing is known where its id is not there.
NAMED_BY: dict[str, tuple[str, ...]] = {
    "tracks": ("name",),
    "race_classes": ("name",),
    "chassis": ("name",),
    "ballast_mounts": ("chassis_id", "name"),
    "baselines": ("chassis_id", "surface", "race_class_id", "version"),
}


def restore_archive(archive: ArchiveInput, club: Club) -> Team:
    """The team in that club with all its rows, each under the id it had; or nothing at all.

    Raises Invalid where one of these ids is taken. What is the club's, and the team's rows point
    at, is what the club has under that id or that name; else it is added. People who are not here
    are there by name alone, and cannot sign in.
    """
    try:
        with transaction.atomic(using=OWNER):
            return _restore(archive, club)
    except DatabaseError as problem:
        raise refused(problem) from problem


def _restore(archive: ArchiveInput, club: Club) -> Team:
    _check_free(archive)
    head = archive.data["team"]
    team = Team(pk=head["id"], club=club, name=head["name"])
    team.save(using=OWNER, force_insert=True)
    _add_people(archive)
    known = _club_things(archive, club)
    rows = ArchiveRows(
        OWNER, {"team_id": str(team.pk), "club_id": str(club.pk)}, lambda pk: known.get(pk, pk), str
    )
    kinds = archive_kinds(Section.TEAM)
    for kind in kinds:
        rows.add(kind, archive.rows(kind))
    for kind in kinds:
        if kind.name in SETTLED:
            rows.settle(kind, archive.rows(kind))
    attach(archive, team, by=None, using=OWNER, source_ids={}, and_rows={})
    check_whole(OWNER)
    measures = catalogue()
    for car in Car.objects.using(OWNER).filter(team=team):
        rebuild_figures(car, measures)
    return team


def _check_free(archive: ArchiveInput) -> None:
    wanted: list[tuple[Any, str, list[str]]] = [(Team, "team", [archive.data["team"]["id"]])]
    for kind in archive_kinds(Section.TEAM):
        wanted.append((kind.model, kind.name, [row["id"] for row in archive.rows(kind)]))
    for model, name, ids in wanted:
        taken = model._default_manager.using(OWNER).filter(pk__in=ids).values_list("pk", flat=True)
        if pk := taken.first():
            raise Invalid(FIELD, f"An id is taken here: {name} {pk}. Nothing was brought in.")


def _add_people(archive: ArchiveInput) -> None:
    here = set(User.objects.using(OWNER).filter(pk__in=archive.people).values_list("pk", flat=True))
    there = {str(pk) for pk in here}
    for pk, name in archive.people.items():
        if pk not in there:
            # An address that is reserved never to be one (RFC 2606), and no password.
            person = User(pk=pk, name=name, email=f"{pk}@archive.invalid", is_active=False)
            person.set_unusable_password()
            person.save(using=OWNER, force_insert=True)


def _club_things(archive: ArchiveInput, club: Club) -> dict[str, str]:
    """Adds what the club has not, and says under which id it has what it has under another."""
    known: dict[str, str] = {}
    rows = ArchiveRows(OWNER, {"club_id": str(club.pk)}, lambda pk: known.get(pk, pk), str)
    added: dict[str, Rows] = defaultdict(list)
    # What is pointed at comes last in an archive, and first here.
    for kind in reversed(CLUB_KINDS):
        if kind.model is User or kind.model is BaselineValue:
            continue
        for row in archive.rows(kind):
            here = _found(kind, rows.here(kind, row), club)
            if here is None:
                added[kind.name].append(row)
            else:
                known[row["id"]] = here
        rows.add(kind, added[kind.name])
    baselines = next(kind for kind in CLUB_KINDS if kind.model is Baseline)
    values = next(kind for kind in CLUB_KINDS if kind.model is BaselineValue)
    new = {row["id"] for row in added[baselines.name]}
    rows.add(values, [row for row in archive.rows(values) if row["baseline"] in new])
    rows.settle(
        baselines, [_in_force_beside(row, rows, baselines) for row in added[baselines.name]]
    )
    return known


def _found(kind: ArchiveKind, row: dict[str, Any], club: Club) -> str | None:
    things = kind.model._default_manager.using(OWNER)
    taken = things.filter(pk=row["id"]).values_list("club_id", flat=True).first()
    if taken is not None:
        if taken != club.pk:
            raise Invalid(FIELD, f"An id is taken by another club: {kind.name} {row['id']}.")
        return str(row["id"])
    named = {name: row[name] for name in NAMED_BY[kind.name]}
    same = things.filter(club=club, **named).values_list("pk", flat=True).first()
    return str(same) if same else None


def _in_force_beside(row: dict[str, Any], rows: ArchiveRows, kind: ArchiveKind) -> dict[str, Any]:
    """A baseline that was in force is retired where the club has another in force."""
    here = rows.here(kind, row)
    where = {name: here[name] for name in ("chassis_id", "surface", "race_class_id")}
    in_force = Baseline.objects.using(OWNER).filter(state="published", **where).exists()
    return {**row, "state": "retired"} if in_force and row["state"] == "published" else row
