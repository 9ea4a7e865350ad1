"""Keeping what closed sheets say, so that no page computes a car's whole past."""

from uuid import UUID

from django.db import transaction

from cars.catalogue.queries import Catalogue, catalogue
from cars.models import Car, ClosedFigures, Sheet
from cars.sheets.queries.closed_figures import values_to_keep
from cars.sheets.queries.sheets import newest_found_and_set

# So many are looked through for one whose figures are not kept: more than any page goes back.
LOOKED_THROUGH = 120
OWNER = "owner"


def keep_figures(car: UUID) -> None:
    """Keeps the figures of the car's newest closed sheets that are not kept yet.

    Part of the action that closes a sheet. Beside that one it finds those that a change noted since
    made another, and all of them after a release that changed what makes what stale.
    """
    closed = [
        sheet
        for sheet in newest_found_and_set(car, most=LOOKED_THROUGH)
        if sheet.state == Sheet.State.CLOSED
    ]
    kept = set(ClosedFigures.objects.filter(sheet__in=closed).values_list("sheet_id", flat=True))
    _keep([sheet for sheet in closed if sheet.pk not in kept], catalogue(), "default")


def rebuild_figures(car: Car, known: Catalogue) -> int:
    """Computes anew what is kept of a car's sheets, of all its teams; how many sheets. As the
    owner."""
    with transaction.atomic(using=OWNER):
        rows = Sheet.objects.using(OWNER).current().filter(car=car, state=Sheet.State.CLOSED)
        closed = list(rows.exclude(role=Sheet.Role.TARGET))
        ClosedFigures.objects.using(OWNER).filter(sheet__car=car).delete()
        _keep(closed, known, OWNER)
    return len(closed)


def _keep(sheets: list[Sheet], known: Catalogue, using: str) -> None:
    if not sheets:
        return
    # Held, so that whoever notes a change on a sheet based on one of them waits, and then removes
    # what is kept here (access.forget_closed_figures).
    held = Sheet.objects.using(using).select_for_update(no_key=True).order_by("pk")
    mine = list(held.filter(pk__in=[sheet.pk for sheet in sheets]))
    kept = values_to_keep(mine, known, using)
    rows = [
        ClosedFigures(sheet=sheet, team_id=sheet.team_id, values=values, as_set=as_set)
        for sheet in mine
        for values, as_set in [kept[sheet.pk]]
    ]
    ClosedFigures.objects.using(using).bulk_create(rows, ignore_conflicts=True)
